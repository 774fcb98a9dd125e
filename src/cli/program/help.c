/* help: print the overview, or the help of one command. */
#include <string.h>

#include "terminal/cli.h"

void print_overview(FILE *stream)
{
    int count;
    const command_row *row = command_rows(&count);
    fprintf(stream,
            "strutpress %s presses printed strut networks between platens, on the computer.\n\n"
            "usage: strutpress COMMAND ...\n",
            sp_version());
    for (int i = 0; i < count; i++) fprintf(stream, "  %-8s %s\n", row[i].name, row[i].doc);
    fprintf(stream,
            "  --help, --version\n\n"
            "begin: strutpress start FOLDER, then press the case that it writes\n\n"
            "Results are predictions for choosing which coupons to print. They are no proof of a\n"
            "part that protects people.\n\n"
            "exit status:\n");
#define SP_STATUS_LINE(code, exit_status, text) fprintf(stream, "  %-4d %s\n", exit_status, text);
    SP_STATUS_ROWS(SP_STATUS_LINE)
#undef SP_STATUS_LINE
}

void print_command_help(const command_row *command, FILE *stream)
{
    fprintf(stream, "strutpress %s: %s\n\nusage: strutpress %s %s\n\n", command->name, command->doc,
            command->name, command->arguments);
    command->explain(stream);
}

void explain_help(FILE *stream)
{
    fprintf(stream,
            "Without a command: the overview. With one: what it reads, prints and writes.\n");
}

sp_status command_help(int argc, char **argv)
{
    if (argc > 2) return fail_usage("help", "received %d arguments; valid: one command", argc - 1);
    if (argc < 2 || !strcmp(argv[1], "--help") || !strcmp(argv[1], "-h")) {
        print_overview(stdout);
        return SP_OK;
    }
    const command_row *command = command_find(argv[1]);
    if (!command) return fail_usage(NULL, "received '%.60s'; valid: %s", argv[1], command_names());
    print_command_help(command, stdout);
    return SP_OK;
}
