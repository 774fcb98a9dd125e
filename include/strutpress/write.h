/* Writers make the files of a run, which take their places in a folder as one set, when all are
 * complete; a list in the folder (.strutpress-files) says which files are the program's own.
 *
 * Units in files: mm, N, MPa, mJ, named beside each figure; a point as decimal sign whatever the
 * locale. Ownership: result and stream stay the caller's; rows live as long as the program. Errors:
 * each function names its own; after one, the folder is as it was. Threads: from several at once;
 * two that write into one folder wait for each other. */
#ifndef STRUTPRESS_WRITE_H
#define STRUTPRESS_WRITE_H

#include <stdio.h>

#include <strutpress/run.h>

SP_PUBLIC_BEGIN

/* What a writer needs: bits. */
enum {
    SP_WRITER_NETWORK = 1, /* the network and the case alone: `check` writes it too */
    SP_WRITER_STRUTS = 4,  /* struts: the solid block has no such file */
    SP_WRITER_TIME = 8     /* a press in time; any other has no such file */
};

typedef struct sp_writer_row {
    const char *name; /* "curve-csv" */
    const char *file; /* name of the file inside the output folder; "curve.csv" */
    const char *doc;
    int takes; /* SP_WRITER_* bits */
    sp_status (*write)(sp_context *context, const sp_result *result, FILE *stream);
} sp_writer_row;

const sp_writer_row *sp_writer_rows(int *count);

/* Write the file of every row, and the VTU series with its PVD, into an existing or new folder.
 * Files of an earlier press are replaced or removed; a file that is not in the folder's list is
 * left alone. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_write_all(sp_context *context, const sp_result *result, const char *folder);

/* Find out whether sp_write_all can write into a folder: a file is written and removed again, and
 * none of the names may belong to something else. A folder that was made for the trial is removed.
 * Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_write_try(sp_context *context, const char *folder);
/* The same for files of any name. */
sp_status sp_folder_try(sp_context *context, const char *folder);

/* Print the table of the run for a terminal: header, settings that are not defaults, first buckle,
 * measures. */
sp_status sp_write_table(sp_context *context, const sp_result *result, FILE *stream);

/* Write the files of a network that is not pressed (rows with SP_WRITER_NETWORK), for `check`.
 * `network` is that of the resolved case with its flaws. `written`, when not NULL, is called with
 * the name of each file inside the folder. Errors: SP_NO_WRITE, SP_NO_MEMORY, those of
 * sp_resolved_network. */
sp_status sp_write_network(sp_context *context, const sp_resolved *resolved,
                           const sp_network *network, const char *folder,
                           void (*written)(const char *file, const char *doc));

/* Write the picture of a network alone (SVG), for `check`. */
sp_status sp_write_network_svg(sp_context *context, const sp_network *network, FILE *stream);

SP_PUBLIC_END

#endif
