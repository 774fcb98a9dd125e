/* Options of the commands that take a case, and the case with them applied. */
#include <string.h>

#include "terminal/cli.h"

sp_status option_set(const char *command, const char *text, void *target)
{
    case_options *options = target;
    if (!strchr(text, '='))
        return fail_usage(command, "--set: received '%.60s'; valid: section.name=value", text);
    if (options->set_count == SET_MAX)
        return fail_usage(command, "received --set more than %d times; valid: once per key",
                          SET_MAX);
    options->set[options->set_count++] = text;
    return SP_OK;
}

sp_status read_case_options(int argc, char **argv, case_options *options, int *help)
{
    const option_row rows[] = {
        {"out", 'o', option_folder, &options->out},
        {"set", 0, option_set, options},
        {"figures", 0, option_text, &options->figures},
        {"seeds", 0, option_seeds, &options->seeds},
        {"try", 0, option_try, &options->try_seconds},
        {"format", 0, option_format, &options->format},
        {"case", 0, option_text, &options->beside},
        {"quiet", 'q', NULL, &options->quiet},
    };
    memset(options, 0, sizeof *options);
    options->try_seconds = TRY_USUAL;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), help);
    if (status != SP_OK || *help) return status;
    return read_one_file(argc, argv, "case file", &options->file);
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
    sp_status status = SP_OK;
    if (options->file)
        status = sp_case_read(context, options->file, request);
    else
        sp_case_default(request);
    for (int i = 0; i < options->set_count && status == SP_OK; i++)
        status = set_one(context, request, options->set[i]);
    if (status != SP_OK) fail_with(context, status);
    return status;
}

sp_status work_into_folder(const case_options *options, case_work *work, void *user)
{
    sp_context context = {0};
    sp_case request;
    sp_resolved resolved;
    char folder[SP_FILE_SIZE];
    sp_status status = read_case(&context, options, &request);
    if (status != SP_OK) return status;
    choose_folder(options->out, options->file, folder, sizeof folder);
    start_talk(&context, options->quiet);
    guard_files(&context);
    status = try_folder(&context, folder, sp_folder_try);
    if (status == SP_OK) {
        status = sp_case_resolve(&context, &request, &resolved);
        /* The files create the folder themselves, and remove it again when they fail. */
        if (status == SP_OK) status = make_folder_of(&context, folder);
        if (status == SP_OK) status = work(&context, &resolved, folder, user);
        sp_resolved_free(&resolved);
    }
    end_talk(options->quiet || status != SP_OK);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}
