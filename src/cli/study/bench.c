/* bench: a page on this machine on which coupons are described, pressed, compared and chosen. */
#include <getopt.h> /* optind */

#include <strutpress/bench.h>

#include "terminal/cli.h"

typedef struct bench_options {
    const char *folder;
    int port, threads;
} bench_options;

void explain_bench(FILE *stream)
{
    fprintf(
        stream,
        "  --port N                 port of this machine, 1024 .. 65535; default one that is "
        "free\n"
        "  --threads N              cores that press; default all\n\n"
        "FOLDER, the present one unless given, holds all that the bench keeps: its store\n"
        "(bench.store), the case files, plans and targets that are saved, in coupons/ the case\n"
        "and the states of every coupon, and in queue/ what waits. All of them are files of the\n"
        "other commands. A coupon is pressed with as many seeds of its flaws as `press` would.\n\n"
        "Prints a link for a browser on this machine; nobody else is answered, and the link\n"
        "is good until the bench ends. Ctrl-C ends it: what was finished is on the shelf the\n"
        "next time, and what was pressed then or waited is pressed then. After a kill, what was\n"
        "pressed then is offered.\n");
}

static sp_status read_port(const char *command, const char *text, void *target)
{
    return read_count(command, "--port", text, 1024, 65535, target);
}

static void print_link(void *user, const char *link)
{
    (void)user;
    printf("bench    %s\n", link);
    printf("         open it in a browser on this machine; Ctrl-C ends the bench\n");
    fflush(stdout);
}

sp_status command_bench(int argc, char **argv)
{
    bench_options options = {.folder = "."};
    int help = 0;
    sp_context context = {0};
    const option_row rows[] = {
        {"port", 0, read_port, &options.port},
        {"threads", 0, option_threads, &options.threads},
    };
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    if (argc - optind > 1)
        return fail_usage(argv[0], "received %d folders; valid: one, or none", argc - optind);
    if (argc > optind) options.folder = argv[optind];
    catch_interrupt(&context);
    const sp_bench_options how = {.folder = options.folder,
                                  .port = options.port,
                                  .threads = options.threads,
                                  .ready = print_link};
    status = sp_bench_serve(&context, &how);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}
