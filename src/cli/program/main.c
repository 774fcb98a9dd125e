/* The program: find the command, run it, and check that everything reached stdout. */
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <string.h>
#include <unistd.h>

#include "terminal/cli.h"

static const command_row rows[] = {
#define SP_COMMAND_ROW(function, name, arguments, doc)                                             \
    {name, arguments, doc, command_##function, explain_##function},
    SP_COMMAND_ROWS(SP_COMMAND_ROW)
#undef SP_COMMAND_ROW
};

#define SP_COMMAND_NAME(function, name, arguments, doc) ", " name
static const char names[] = SP_COMMAND_ROWS(SP_COMMAND_NAME);
#undef SP_COMMAND_NAME

const char *command_names(void)
{
    return names + 2;
}

const command_row *command_rows(int *count)
{
    *count = (int)(sizeof rows / sizeof rows[0]);
    return rows;
}

const command_row *command_find(const char *name)
{
    int count;
    const command_row *row = command_rows(&count);
    for (int i = 0; i < count; i++)
        if (!strcmp(row[i].name, name)) return &row[i];
    return NULL;
}

sp_status fail_usage(const char *command, const char *format, ...)
{
    char line[SP_MESSAGE_SIZE];
    sp_context printable = {
        0}; /* sp_fail keeps control characters of an argument off the terminal */
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    sp_fail(&printable, SP_BAD_USAGE, "strutpress%s%s: %s; see: strutpress help%s%s",
            command ? " " : "", command ? command : "", line, command ? " " : "",
            command ? command : "");
    fprintf(stderr, "%s\n", printable.message);
    return SP_BAD_USAGE;
}

sp_status fail_with(const sp_context *context, sp_status status)
{
    fprintf(stderr, "%s\n", context->message[0] ? context->message : sp_status_text(status));
    return status;
}

static sp_status run_command(int argc, char **argv)
{
    if (argc < 2) return fail_usage(NULL, "received no command; valid: %s", command_names());
    if (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h")) {
        print_overview(stdout);
        return SP_OK;
    }
    if (!strcmp(argv[1], "--version")) {
        printf("strutpress %s\n%s\n", sp_version(), sp_build_text());
        return SP_OK;
    }
    const command_row *command = command_find(argv[1]);
    if (!command)
        return fail_usage(NULL, "received '%.60s'; valid: %s, --help, --version", argv[1],
                          command_names());
    return command->run(argc - 1, argv + 1);
}

/* A caller may have closed stdin, stdout or stderr. Then the next file that is opened would take
 * its number and receive what is meant for it, so the number is taken here. It is opened read-only,
 * so that a write to stdout still fails and is reported. */
static void fill_standard_streams(void)
{
    int opened;
    do {
        opened = open("/dev/null", O_RDONLY);
    } while (opened >= 0 && opened <= STDERR_FILENO);
    if (opened >= 0) close(opened);
}

int main(int argc, char **argv)
{
    static char room[1 << 16];
    fill_standard_streams();
    /* Output that cannot be written mostly stays in the buffer until the end, where the reason is
     * printed. */
    if (!isatty(STDOUT_FILENO)) setvbuf(stdout, room, _IOFBF, sizeof room);
    sp_status status = run_command(argc, argv);
    errno = 0;
    if (fflush(stdout) || ferror(stdout)) { /* a full disk must not look like success */
        fprintf(stderr, "stdout cannot be written: %s\n",
                errno ? strerror(errno) : "an earlier write failed");
        if (status == SP_OK) status = SP_NO_WRITE;
    }
    end_by_signal();
    return sp_status_exit(status);
}
