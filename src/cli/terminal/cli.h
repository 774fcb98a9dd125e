/* What the commands share: rows of commands, options, messages on stderr, output files. */
#ifndef SP_TERMINAL_CLI_H
#define SP_TERMINAL_CLI_H

#include <stdio.h>

#include <strutpress/protocol.h>
#include <strutpress/strutpress.h>

#include "terminal/command_list.h"

/* A command gets its own name as argv[0] and returns a status; it prints its failure line
 * itself. */
typedef struct command_row {
    const char *name, *arguments, *doc;
    sp_status (*run)(int argc, char **argv);
    void (*explain)(FILE *stream); /* the rest of `help COMMAND` */
} command_row;

#define SP_COMMAND_DECLARE(function, name, arguments, doc)                                         \
    sp_status command_##function(int argc, char **argv);                                           \
    void explain_##function(FILE *stream);
SP_COMMAND_ROWS(SP_COMMAND_DECLARE)
#undef SP_COMMAND_DECLARE

const command_row *command_rows(int *count);
const char *command_names(void);                   /* "press, check, ..." */
const command_row *command_find(const char *name); /* NULL when unknown */
void print_overview(FILE *stream);
void print_command_help(const command_row *command, FILE *stream);

/* Print "strutpress COMMAND: ..." and a pointer to the help on stderr, and return SP_BAD_USAGE. */
sp_status fail_usage(const char *command, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Print the failure line of the context on stderr and return the status. */
sp_status fail_with(const sp_context *context, sp_status status);

/* One option of a command. `read` takes its value into `target` and says what is wrong with it;
 * NULL: it has no value, and the int behind `target` gets 1. */
typedef struct option_row {
    const char *name;
    char letter; /* short form, 0: it has none */
    sp_status (*read)(const char *command, const char *text, void *target);
    void *target;
} option_row;

/* Read the options of the command argv[0]; options that are not given keep their values. --help
 * prints the help, and *help gets 1. */
sp_status read_options(int argc, char **argv, const option_row *rows, int count, int *help);
#define ROW_COUNT(rows) ((int)(sizeof(rows) / sizeof *(rows)))
/* Take the one file name that follows the options. `what` names the kind of file that is wanted. */
sp_status read_one_file(int argc, char **argv, const char *what, const char **file);

/* Readers of common options: a text, the file of --store and the folder of --out (const char *),
 * the number of --threads (int). */
sp_status option_text(const char *command, const char *text, void *target);
sp_status option_store(const char *command, const char *text, void *target);
sp_status option_folder(const char *command, const char *text, void *target);
sp_status option_threads(const char *command, const char *text, void *target);
/* Reader of --seeds (int). */
sp_status option_seeds(const char *command, const char *text, void *target);
/* Reader of --try, whole seconds (int). */
sp_status option_try(const char *command, const char *text, void *target);
/* Read a whole number; `name` is the name of the option in words. For readers that check the number
 * further. */
sp_status read_count(const char *command, const char *name, const char *text, long low, long high,
                     int *count);

/* Read `count` numbers from low to high with commas between them; `valid` says this in words. */
sp_status read_numbers(const char *command, const char *option, const char *text, int count,
                       double low, double high, const char *valid, double *number);
/* Reader of --format (sp_record_format). */
sp_status option_format(const char *command, const char *text, void *target);
/* Reader of --width-scale (double). */
sp_status option_scale(const char *command, const char *text, void *target);

enum { SET_MAX = 64 }; /* more than there are parameters */

enum { TRY_USUAL = -1 }; /* --try was not given */

/* The options of the commands that take a case. */
typedef struct case_options {
    const char *file, *out; /* file NULL: the values of a case that gives none; out NULL: none */
    const char *beside;     /* of check: the case beside a mesh; NULL: none */
    int quiet;
    int set_count;
    const char *set[SET_MAX]; /* "section.name=value" each */
    const char *figures;      /* of press: names with commas between; NULL: none */
    int seeds;                /* of press: seeds of the flaws; 0: not given */
    int try_seconds; /* of check: longest time of a coarse press; 0: none [s], or TRY_USUAL */
    sp_record_format format; /* of what is printed */
} case_options;
/* Reader of --set: `target` is the case_options. */
sp_status option_set(const char *command, const char *text, void *target);
/* *help 1: the help is printed and there is nothing to do. */
sp_status read_case_options(int argc, char **argv, case_options *options, int *help);
/* Read the case and apply --set in order. Prints its failure. */
sp_status read_case(sp_context *context, const case_options *options, sp_case *request);

/* Read and resolve a case, and let `work` make files of it in its output folder and print their
 * names. Prints a failure. */
typedef sp_status case_work(sp_context *context, const sp_resolved *resolved, const char *folder,
                            void *user);
sp_status work_into_folder(const case_options *options, case_work *work, void *user);

/* The options of the commands that find an answer by presses which go through a store of their own.
 */
typedef struct store_options {
    const char *file, *store, *out; /* store, out NULL: not given */
    int threads, quiet;
    sp_record_format format; /* of the printed output */
} store_options;
/* Read the options; `what` names the kind of file. *help 1: the help is printed and there is
 * nothing to do. */
sp_status read_store_options(int argc, char **argv, const char *what, store_options *options,
                             int *help);
void explain_store_options(FILE *stream, const char *what);

/* Return a name from outside in a form that is safe on a terminal. The text is valid for the next
 * three calls. */
const char *shown(const char *name);

/* Print cautions and, on a terminal, a progress line on stderr; quiet leaves only cautions. */
void start_talk(sp_context *context, int quiet);
/* Set the word before lines that the library says from now on: "forecast" at first. */
void head_lines(const char *head);
/* The first Ctrl-C, or SIGTERM, stops the press through the context, and the second ends the
 * program. While a set of files is written, a signal that ends the program waits until the set is
 * complete; main then calls end_by_signal. */
void catch_interrupt(sp_context *context);
/* Do the same for a command that cannot be stopped early: here the first signal ends the program.
 */
void guard_files(sp_context *context);
/* End the program as the signal that waited would have; returns when there was none. */
void end_by_signal(void);
/* Clear the progress line and say version, time and peak memory. */
void end_talk(int quiet);

/* Make "out/NAME" from ".../NAME.yaml". */
void default_folder(const char *case_file, char *folder, size_t size);
/* Return `out` when it is given, else the default folder of the file. */
void choose_folder(const char *out, const char *file, char *folder, size_t size);
/* Return 1 when the name ends like those of case files. */
int is_case_file(const char *file);
/* Make a folder and its parents. Errors: SP_NO_WRITE. */
sp_status make_folder(sp_context *context, const char *folder);
/* Make the folder after an answer was printed with the status `printed`. A failed stdout
 * (SP_NO_WRITE) does not keep files from being written; main reports it in the end. */
sp_status make_folder_after(sp_context *context, sp_status printed, const char *folder);
/* Find out whether files can be written into a folder before any work is done for them. `try_it` is
 * sp_write_try for a press, else sp_folder_try. Files of the trial are removed again. Errors:
 * SP_NO_WRITE, SP_NO_MEMORY. */
sp_status try_folder(sp_context *context, const char *folder,
                     sp_status (*try_it)(sp_context *context, const char *folder));
/* Find out the same for the folder in which a file is to stand. */
sp_status try_folder_of(sp_context *context, const char *file);
/* Make the folder in which a file is to stand. */
sp_status make_folder_of(sp_context *context, const char *file);
/* Open a store to write, and make the folder in which it stands: `given`, or when that is NULL
 * out/NAME.store with the name of the plan. `file` gets its name. */
sp_status open_new_store(sp_context *context, const char *plan_file, const char *given, char *file,
                         size_t size, sp_store **store);

/* check of a file of triangles, of a plan, and of a target. */
sp_status check_mesh(const case_options *options);
sp_status check_plan(const char *file, int quiet);
sp_status check_target(const char *file, int quiet);

void print_reference(FILE *stream);
void print_bash_completion(FILE *stream);
void print_zsh_completion(FILE *stream);

/* The curves of --tested, a file of a rig. */
enum { TESTED_MAX = 12 };
typedef struct tested_curves {
    const char *file; /* NULL: none */
    sp_rig *rig;
    sp_curve curve[TESTED_MAX];
} tested_curves;

/* Read the curves of --tested, if there are any, of a part as large as the coupons, which must all
 * have one size; `how` then points to them. Freed with free_tested, also after a failure. */
sp_status read_tested(sp_context *context, const sp_case *request, int count, tested_curves *tested,
                      sp_compare_options *how);
void free_tested(tested_curves *tested);

#endif
