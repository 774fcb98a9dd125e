/* Messages on stderr: cautions, the progress line, and the cost of a run.
 *
 * A thread writes the progress line again while the run reports nothing, so that it counts the
 * seconds even where a library works for long without a report. It only writes: signals go to the
 * thread that presses. */
#include <pthread.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "terminal/cli.h"

static const double progress_period = 1.0 / 6; /* seconds between two progress lines */
static const double progress_delay = 0.5;      /* short runs show none */
static const double longest_silence = 1;       /* [s]; after it the line is written again */

static struct {
    double start, shown;
    double part;   /* start of the present stage of the work */
    char text[64]; /* name of that stage */
    /* Printed beside the seconds: share done and time left; "" when not known. */
    char estimate[120];
    double left_low, left_high; /* seconds left by the next report; high 0: not known */
    int is_told;                /* 1: the run has reported something */
} talk;

/* `turn` guards `talk` and what is written to stderr. */
static struct {
    pthread_mutex_t turn;
    pthread_cond_t ended;
    pthread_t thread;
    int runs, stop;
} beat = {.turn = PTHREAD_MUTEX_INITIALIZER};

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

/* Write a whole line that is not the progress line. */
static void write_line(const char *head, const char *line)
{
    pthread_mutex_lock(&beat.turn);
    clear_line();
    fprintf(stderr, "%s%s\n", head, line);
    pthread_mutex_unlock(&beat.turn);
}

static void say_caution(void *user, const char *line)
{
    (void)user;
    write_line("caution: ", line);
}

static void write_progress(double time)
{
    fprintf(stderr, "\r\033[K%s%s ... %.0f s", talk.estimate, talk.text, time - talk.start);
    fflush(stderr);
    talk.shown = time;
}

/* A new stage may take long before it reports again, so its name is shown at once. The remaining
 * time is estimated from here on. */
static void take_progress(double fraction, const char *text, double time)
{
    const double elapsed = time - talk.part;
    const int is_new = text && strcmp(text, talk.text) != 0;
    if (!(fraction > 0)) talk.part = time;
    if (!text) return;
    talk.is_told = 1;
    snprintf(talk.text, sizeof talk.text, "%.*s", (int)sizeof talk.text - 1, text);
    talk.estimate[0] = '\0';
    if (fraction > 0) {
        const double left = elapsed * (1 - fraction) / fraction;
        const int told = talk.left_high > 0;
        char words[96];
        sp_forecast_left_text(told ? talk.left_low : left, told ? talk.left_high : left, words,
                              sizeof words);
        snprintf(talk.estimate, sizeof talk.estimate, "%3.0f %%  %s  ", 100 * fraction, words);
    }
    talk.left_high = 0;
    if (fraction > 0 ? time - talk.start < progress_delay || time - talk.shown < progress_period
                     : !is_new && time - talk.shown < progress_period)
        return;
    write_progress(time);
}

static void say_progress(void *user, double fraction, const char *text)
{
    (void)user;
    pthread_mutex_lock(&beat.turn);
    take_progress(fraction, text, now());
    pthread_mutex_unlock(&beat.turn);
}

/* What is left is shown with the report that follows. */
static void say_left(void *user, double low, double high)
{
    (void)user;
    pthread_mutex_lock(&beat.turn);
    talk.left_low = low;
    talk.left_high = high;
    pthread_mutex_unlock(&beat.turn);
}

static const char *line_head = "forecast";

static void say_line(void *user, const char *line)
{
    (void)user;
    char head[32];
    snprintf(head, sizeof head, "%-10s ", line_head);
    write_line(head, line);
}

void head_lines(const char *head)
{
    line_head = head;
}

/* ---- while the run reports nothing ----------------------------------------------- */

static void *keep_talking(void *unused)
{
    (void)unused;
    pthread_mutex_lock(&beat.turn);
    while (!beat.stop) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec++;
        pthread_cond_timedwait(&beat.ended, &beat.turn, &until);
        const double time = now();
        if (!beat.stop && talk.is_told && time - talk.shown >= 0.9 * longest_silence)
            write_progress(time);
    }
    pthread_mutex_unlock(&beat.turn);
    return NULL;
}

/* Where no thread can be made, only the reports of the run are shown. */
static void start_beat(void)
{
    sigset_t all, before;
    if (beat.runs) return;
    sigfillset(&all);
    pthread_cond_init(&beat.ended, NULL);
    pthread_sigmask(SIG_BLOCK, &all, &before);
    beat.stop = 0;
    beat.runs = pthread_create(&beat.thread, NULL, keep_talking, NULL) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
}

static void end_beat(void)
{
    if (!beat.runs) return;
    pthread_mutex_lock(&beat.turn);
    beat.stop = 1;
    pthread_cond_signal(&beat.ended);
    pthread_mutex_unlock(&beat.turn);
    pthread_join(beat.thread, NULL);
    beat.runs = 0;
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
    if (!isatty(STDERR_FILENO) || quiet) return;
    context->progress = say_progress;
    context->left = say_left;
    start_beat();
}

void end_talk(int quiet)
{
    struct rusage usage;
    end_beat();
    clear_line();
    if (quiet || getrusage(RUSAGE_SELF, &usage)) return;
    fprintf(stderr, "strutpress %s, %.2f s, peak memory %.0f MiB\n", sp_version(),
            now() - talk.start, (double)usage.ru_maxrss / 1024); /* KiB on Linux */
}
