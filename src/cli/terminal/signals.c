/* Signals: the first that asks for an end stops the work and keeps what there is; no signal ends
 * the program between two files of one set. */
#include <signal.h>
#include <string.h>
#include <time.h>

#include "terminal/cli.h"

static volatile sig_atomic_t interrupted, writing, waiting;
static volatile sig_atomic_t stops; /* 1: the first signal only interrupts */
static struct timespec first;       /* when it came; CLOCK_MONOTONIC */
static struct sigaction before[NSIG];

/* Signals that ask for an end: from the keyboard, from the system, from a closed terminal, from a
 * time limit. */
static int asks_for_an_end(int number)
{
    return number == SIGINT || number == SIGTERM || number == SIGHUP || number == SIGXCPU;
}

/* True for a fault inside the program, as opposed to a signal that someone sent. After a fault the
 * program must write nothing more. */
static int is_fault(int number, const siginfo_t *info)
{
    static const int fault[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGSYS, SIGTRAP};
    for (size_t i = 0; i < sizeof fault / sizeof fault[0]; i++)
        if (number == fault[i]) return info->si_code > 0;
    return 0;
}

/* timeout(1), shells and schedulers send a signal to the program and once more to its group. Two
 * signals within this time count as one request. */
static int is_echo(int number)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return number != SIGINT && asks_for_an_end(number) && now.tv_sec - first.tv_sec < 2;
}

static void on_signal(int number, siginfo_t *info, void *unused)
{
    (void)unused;
    const int fault = is_fault(number, info);
    if (!fault && stops && !interrupted && asks_for_an_end(number)) {
        clock_gettime(CLOCK_MONOTONIC, &first);
        interrupted = 1;
    } else if (!fault && interrupted && is_echo(number)) {
        return;
    } else if (!fault && writing) {
        waiting = number;
    } else {
        sigaction(number, &before[number], NULL);
        if (!fault) raise(number); /* the faulting instruction raises the signal again */
    }
}

/* Signals that do not end a program, that cannot be caught, or that show as a write that fails. */
static int is_left_alone(int number)
{
    static const int left[] = {SIGKILL, SIGSTOP, SIGCHLD, SIGCONT,  SIGTSTP, SIGTTIN,
                               SIGTTOU, SIGURG,  SIGPIPE, SIGWINCH, SIGXFSZ};
    for (size_t i = 0; i < sizeof left / sizeof left[0]; i++)
        if (number == left[i]) return 1;
    return 0;
}

/* A signal that the caller ignores (nohup) stays ignored. SIGINT is the exception: a shell starts
 * the background jobs of a script with SIGINT ignored, and whoever sends SIGINT to such a job wants
 * it to stop. */
static void catch_all(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_sigaction = on_signal;
    action.sa_flags = SA_SIGINFO | SA_RESTART;
    for (int i = 1; i < NSIG; i++)
        if (!is_left_alone(i) && sigaction(i, NULL, &before[i]) == 0 &&
            (before[i].sa_handler != SIG_IGN || i == SIGINT))
            sigaction(i, &action, NULL);
    /* After a closed pipe or at a limit on file size the write fails, which is reported and cleaned
     * up. */
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN);
}

void guard_files(sp_context *context)
{
    if (context->writing) return;
    context->writing = &writing;
    catch_all();
}

void catch_interrupt(sp_context *context)
{
    guard_files(context);
    stops = 1;
    context->interrupt = &interrupted;
}

void end_by_signal(void)
{
    if (!waiting) return;
    sigaction(waiting, &before[waiting], NULL);
    raise(waiting);
}
