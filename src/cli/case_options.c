/* Options of the commands that take a case, and the case with them applied. */
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"

enum { OPTION_OUT = 'o', OPTION_SET = 's', OPTION_QUIET = 'q', OPTION_HELP = 'h' };

static const struct option options_table[] = {
    {"out", required_argument, NULL, OPTION_OUT},
    {"set", required_argument, NULL, OPTION_SET},
    {"quiet", no_argument, NULL, OPTION_QUIET},
    {"help", no_argument, NULL, OPTION_HELP},
    {NULL, 0, NULL, 0},
};

static sp_status read_option(const char *command, int option, char *word, case_options *options)
{
    switch (option) {
    case OPTION_OUT:
        if (!optarg[0])
            return fail_usage(command, "--out: received ''; valid: the name of a folder");
        options->out = optarg;
        return SP_OK;
    case OPTION_SET:
        if (!strchr(optarg, '='))
            return fail_usage(command, "--set: received '%.60s'; valid: section.name=value",
                              optarg);
        if (options->set_count == SET_MAX)
            return fail_usage(command, "received --set more than %d times; valid: once per key",
                              SET_MAX);
        options->set[options->set_count++] = optarg;
        return SP_OK;
    case OPTION_QUIET:
        options->quiet = 1;
        return SP_OK;
    case OPTION_HELP:
        options->help = 1;
        return SP_OK;
    case ':':
        return fail_usage(command, "received '%.60s' without its value", word);
    default:
        return fail_usage(command, "received '%.60s'; valid: --out, --set, --quiet, --help", word);
    }
}

sp_status read_case_options(int argc, char **argv, case_options *options)
{
    int option;
    sp_status status = SP_OK;
    memset(options, 0, sizeof *options);
    opterr = 0;
    optind = 1;
    while (status == SP_OK &&
           (option = getopt_long(argc, argv, ":o:qh", options_table, NULL)) != -1)
        status = read_option(argv[0], option, argv[optind - 1], options);
    if (status != SP_OK || options->help) return status;
    if (optind == argc) return fail_usage(argv[0], "received no case file");
    if (optind + 1 < argc)
        return fail_usage(argv[0], "received '%.60s' after the case file; valid: one case file",
                          argv[optind + 1]);
    options->file = argv[optind];
    return SP_OK;
}

sp_status read_threads(const char *command, const char *text, int *threads)
{
    char *end;
    const long received = strtol(text, &end, 10);
    if (end == text || *end || received < 1 || received > 1024)
        return fail_usage(command, "--threads: received '%.60s'; valid: 1 .. 1024", text);
    *threads = (int)received;
    return SP_OK;
}

static sp_status set_one(sp_context *context, sp_case *request, const char *text)
{
    char key[2 * SP_NAME_SIZE];
    const char *equals = strchr(text, '=');
    snprintf(key, sizeof key, "%.*s", (int)(equals - text), text);
    sp_status status = sp_case_set(context, request, key, equals + 1);
    return status == SP_OK ? SP_OK : sp_fail(context, status, "--set: %s", context->message);
}

sp_status read_case(sp_context *context, const case_options *options, sp_case *request)
{
    sp_status status = sp_case_read(context, options->file, request);
    for (int i = 0; i < options->set_count && status == SP_OK; i++)
        status = set_one(context, request, options->set[i]);
    if (status != SP_OK) fail_with(context, status);
    return status;
}
