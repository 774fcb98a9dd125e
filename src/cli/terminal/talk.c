/* Talk on stderr: cautions, the progress line, and what a run cost. */
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "terminal/cli.h"

static const double progress_period = 1.0 / 6; /* seconds between two progress lines */
static const double progress_delay = 0.5;      /* short runs show none */

static struct {
    double start, shown;
    double part;   /* start of the present stage of the work */
    char text[64]; /* what that is */
} talk;

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void clear_line(void)
{
    if (talk.shown > 0) fputs("\r\033[K", stderr);
    talk.shown = 0;
}

static void say_caution(void *user, const char *line)
{
    (void)user;
    clear_line();
    fprintf(stderr, "caution: %s\n", line);
}

/* A new stage may take long before it reports again, so its name is shown at once. The remaining
 * time is estimated from here on. */
static void begin_part(const char *text, double time)
{
    const int same = text && !strcmp(text, talk.text);
    talk.part = time;
    if (!text || (same && time - talk.shown < progress_period)) return;
    snprintf(talk.text, sizeof talk.text, "%.*s", (int)sizeof talk.text - 1, text);
    fprintf(stderr, "\r\033[K%s ... %.0f s", talk.text, time - talk.start);
    fflush(stderr);
    talk.shown = time;
}

static void say_progress(void *user, double fraction, const char *text)
{
    (void)user;
    const double time = now();
    if (!(fraction > 0)) {
        begin_part(text, time);
        return;
    }
    const double elapsed = time - talk.part;
    if (time - talk.start < progress_delay || time - talk.shown < progress_period) return;
    fprintf(stderr, "\r\033[K%3.0f %%  %.48s  %.0f s left", 100 * fraction, text ? text : "",
            elapsed * (1 - fraction) / fraction);
    fflush(stderr);
    talk.shown = time;
}

static const char *line_head = "forecast";

static void say_line(void *user, const char *line)
{
    (void)user;
    clear_line();
    fprintf(stderr, "%-10s %s\n", line_head, line);
}

void head_lines(const char *head)
{
    line_head = head;
}

const char *shown(const char *name)
{
    static char clean[3][4 * SP_FILE_SIZE];
    static int turn;
    turn = (turn + 1) % 3;
    sp_printable(name, clean[turn], sizeof clean[turn]);
    return clean[turn];
}

void start_talk(sp_context *context, int quiet)
{
    talk.start = talk.part = now();
    context->warn = say_caution;
    if (!quiet) context->say = say_line;
    if (isatty(STDERR_FILENO) && !quiet) context->progress = say_progress;
}

void end_talk(int quiet)
{
    struct rusage usage;
    clear_line();
    if (quiet || getrusage(RUSAGE_SELF, &usage)) return;
    fprintf(stderr, "strutpress %s, %.2f s, peak memory %.0f MiB\n", sp_version(),
            now() - talk.start, (double)usage.ru_maxrss / 1024); /* KiB on Linux */
}
