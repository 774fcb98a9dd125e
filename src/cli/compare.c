/* compare: what a store says. */
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"

typedef struct compare_options {
    const char *file, *out;
    sp_compare_options how;
    int dump, help;
} compare_options;

void explain_compare(FILE *stream)
{
    fprintf(
        stream,
        "  --out FOLDER             also write CSV and pictures there\n"
        "  --measures A,B,...       columns of the table; see `list measures`\n"
        "  --rank MEASURE           of the ranking at equal mass, the largest first; default\n"
        "                           energy_per_volume_50\n"
        "  --mass GRAMS             of the ranking; default the middle of what all can have\n"
        "  --dump                   print every stored figure and nothing else\n\n"
        "Coupons that differ in the flaw seed alone are one row: median and spread. Coupons that\n"
        "differ in the density alone are one series: exponents of stiffness and plateau stress\n"
        "over the solid fraction, and one place in the ranking. Writes into the folder\n"
        "compare.csv, fits.csv, ranking.csv, curves.svg, energy.svg, stiffness.svg, "
        "plateau.svg.\n");
}

static sp_status read_mass(compare_options *options)
{
    char *end;
    options->how.mass = strtod(optarg, &end);
    if (end == optarg || *end || !(options->how.mass > 0 && options->how.mass < 1e9))
        return fail_usage("compare", "--mass: received '%.60s'; valid: grams above 0", optarg);
    return SP_OK;
}

static sp_status read_option(int option, char *word, compare_options *options)
{
    switch (option) {
    case 'o':
        if (!optarg[0])
            return fail_usage("compare", "--out: received ''; valid: the name of a folder");
        options->out = optarg;
        return SP_OK;
    case 'm':
        options->how.measures = optarg;
        return SP_OK;
    case 'r':
        options->how.rank = optarg;
        return SP_OK;
    case 'g':
        return read_mass(options);
    case 'd':
        options->dump = 1;
        return SP_OK;
    case 'h':
        options->help = 1;
        return SP_OK;
    case ':':
        return fail_usage("compare", "received '%.60s' without its value", word);
    default:
        return fail_usage(
            "compare", "received '%.60s'; valid: --out, --measures, --rank, --mass, --dump, --help",
            word);
    }
}

static sp_status read_options(int argc, char **argv, compare_options *options)
{
    static const struct option table[] = {
        {"out", required_argument, NULL, 'o'},
        {"measures", required_argument, NULL, 'm'},
        {"rank", required_argument, NULL, 'r'},
        {"mass", required_argument, NULL, 'g'},
        {"dump", no_argument, NULL, 'd'},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    int option;
    sp_status status = SP_OK;
    memset(options, 0, sizeof *options);
    opterr = 0;
    optind = 1;
    while (status == SP_OK && (option = getopt_long(argc, argv, ":o:h", table, NULL)) != -1)
        status = read_option(option, argv[optind - 1], options);
    if (status != SP_OK || options->help) return status;
    if (optind == argc) return fail_usage("compare", "received no store");
    if (optind + 1 < argc)
        return fail_usage("compare", "received '%.60s' after the store; valid: one store",
                          argv[optind + 1]);
    options->file = argv[optind];
    return SP_OK;
}

static sp_status compare(const compare_options *options)
{
    sp_context context = {0};
    sp_store *store = NULL;
    sp_compare *found = NULL;
    sp_status status = sp_store_open(&context, options->file, SP_STORE_READ, &store);
    if (status == SP_OK && options->dump) {
        status = sp_store_dump(&context, store, stdout);
    } else if (status == SP_OK) {
        status = sp_compare_read(&context, store, &options->how, &found);
        if (status == SP_OK) status = sp_compare_table(&context, found, stdout);
        if (status == SP_OK && options->out) status = make_folder(&context, options->out);
        if (status == SP_OK && options->out)
            status = sp_compare_write(&context, found, options->out);
        if (status == SP_OK && options->out) printf("files: %s/\n", options->out);
    }
    sp_compare_free(found);
    sp_store_close(store);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}

sp_status command_compare(int argc, char **argv)
{
    compare_options options;
    sp_status status = read_options(argc, argv, &options);
    if (status == SP_OK && options.help)
        print_command_help(command_find("compare"), stdout);
    else if (status == SP_OK)
        status = compare(&options);
    return status;
}
