/* What the commands share: rows, options, talk on stderr, output files. */
#ifndef SP_CLI_CLI_H
#define SP_CLI_CLI_H

#include <stdio.h>

#include <strutpress/strutpress.h>

#include "cli/command_list.h"

/* A command gets its own name as argv[0] and returns a status; it prints its failure line itself. */
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
const command_row *command_find(const char *name); /* NULL when unknown */
void print_overview(FILE *stream);
void print_command_help(const command_row *command, FILE *stream);

/* "strutpress COMMAND: ..." with a pointer to the help on stderr; returns SP_BAD_USAGE. */
sp_status fail_usage(const char *command, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* The failure line of the context on stderr; returns status. */
sp_status fail_with(const sp_context *context, sp_status status);

enum { SET_MAX = 64 }; /* more than there are parameters */

/* The options of the commands that take a case. */
typedef struct case_options {
    const char *file, *out; /* out NULL: not given */
    int quiet, help;
    int set_count;
    const char *set[SET_MAX]; /* "section.name=value" each */
} case_options;
sp_status read_case_options(int argc, char **argv, case_options *options);
/* Read the case and apply --set in order. Prints its failure. */
sp_status read_case(sp_context *context, const case_options *options, sp_case *request);

/* The value of --threads. */
sp_status read_threads(const char *command, const char *text, int *threads);

/* Cautions and, on a terminal, a progress line on stderr; quiet leaves only cautions. */
void start_talk(sp_context *context, int quiet);
/* The first Ctrl-C stops the press through the context, the second ends the program. */
void catch_interrupt(sp_context *context);
/* Clear the progress line and say version, time and peak memory. */
void end_talk(int quiet);

/* "out/NAME" from ".../NAME.yaml". */
void default_folder(const char *case_file, char *folder, size_t size);
/* Make a folder and its parents. Errors: SP_NO_WRITE. */
sp_status make_folder(sp_context *context, const char *folder);
/* Open a store to write, and make the folder it stands in: `given`, or out/, the name of the plan and .store when that is
 * NULL. `file` gets its name. */
sp_status open_new_store(sp_context *context, const char *plan_file, const char *given, char *file,
                         size_t size, sp_store **store);

void print_reference(FILE *stream);

#endif
