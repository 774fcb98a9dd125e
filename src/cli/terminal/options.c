/* Read options: every command names its own in rows. */
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#include "terminal/cli.h"

enum { ROWS_MAX = 15, LONG_FORM = 256 /* above every letter */ };

/* Build the list of options that getopt takes. Every command has "-h" and "--help". */
static void make_table(const option_row *rows, int count, struct option *table, char *letters)
{
    *letters++ = ':'; /* this tells a missing value from an unknown option */
    for (int i = 0; i < count; i++) {
        table[i] = (struct option){rows[i].name, rows[i].read ? required_argument : no_argument,
                                   NULL, LONG_FORM + i};
        if (!rows[i].letter) continue;
        *letters++ = rows[i].letter;
        if (rows[i].read) *letters++ = ':';
    }
    table[count] = (struct option){"help", no_argument, NULL, 'h'};
    table[count + 1] = (struct option){NULL, 0, NULL, 0};
    strcpy(letters, "h");
}

static const option_row *find_row(const option_row *rows, int count, int option)
{
    if (option >= LONG_FORM) return &rows[option - LONG_FORM];
    for (int i = 0; i < count; i++)
        if (rows[i].letter && rows[i].letter == option) return &rows[i];
    return NULL;
}

static sp_status fail_unknown(const char *command, const char *word, const option_row *rows,
                              int count)
{
    char valid[SP_MESSAGE_SIZE] = "";
    for (int i = 0; i < count; i++) {
        const size_t used = strlen(valid);
        snprintf(valid + used, sizeof valid - used, "--%s, ", rows[i].name);
    }
    return fail_usage(command, "received '%.60s'; valid: %s--help", word, valid);
}

sp_status read_options(int argc, char **argv, const option_row *rows, int count, int *help)
{
    struct option table[ROWS_MAX + 2];
    char letters[2 * ROWS_MAX + 3];
    int option;
    *help = 0;
    if (count > ROWS_MAX) return fail_usage(argv[0], "has more options than can be read");
    make_table(rows, count, table, letters);
    opterr = 0;
    optind = 1;
    while ((option = getopt_long(argc, argv, letters, table, NULL)) != -1) {
        const char *word = argv[optind - 1];
        const option_row *row = find_row(rows, count, option);
        sp_status status = SP_OK;
        if (option == 'h')
            *help = 1;
        else if (option == ':')
            status = fail_usage(argv[0], "received '%.60s' without its value", word);
        else if (!row)
            status = fail_unknown(argv[0], word, rows, count);
        else if (row->read)
            status = row->read(argv[0], optarg, row->target);
        else
            *(int *)row->target = 1;
        if (status != SP_OK) return status;
    }
    if (*help) print_command_help(command_find(argv[0]), stdout);
    return SP_OK;
}

sp_status read_one_file(int argc, char **argv, const char *what, const char **file)
{
    if (optind == argc) return fail_usage(argv[0], "received no %s", what);
    if (optind + 1 < argc)
        return fail_usage(argv[0], "received '%.60s' after the %s; valid: one %s", argv[optind + 1],
                          what, what);
    *file = argv[optind];
    return SP_OK;
}

sp_status option_text(const char *command, const char *text, void *target)
{
    (void)command;
    *(const char **)target = text;
    return SP_OK;
}

sp_status option_store(const char *command, const char *text, void *target)
{
    if (!text[0]) return fail_usage(command, "--store: received ''; valid: a file name");
    return option_text(command, text, target);
}

sp_status option_folder(const char *command, const char *text, void *target)
{
    if (!text[0]) return fail_usage(command, "--out: received ''; valid: the name of a folder");
    return option_text(command, text, target);
}

sp_status read_count(const char *command, const char *name, const char *text, long low, long high,
                     int *count)
{
    char *end;
    const long value = strtol(text, &end, 10);
    if (end == text || *end || value < low || value > high)
        return fail_usage(command, "%s: received '%.60s'; valid: %ld .. %ld", name, text, low,
                          high);
    *count = (int)value;
    return SP_OK;
}

sp_status option_threads(const char *command, const char *text, void *target)
{
    return read_count(command, "--threads", text, 1, 1024, target);
}

sp_status option_seeds(const char *command, const char *text, void *target)
{
    return read_count(command, "--seeds", text, 1, 99, target);
}

sp_status option_try(const char *command, const char *text, void *target)
{
    return read_count(command, "--try", text, 0, 86400, target);
}
