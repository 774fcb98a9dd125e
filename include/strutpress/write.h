/* Writers: every file goes to a temporary name beside its target first and is renamed when complete. */
#ifndef STRUTPRESS_WRITE_H
#define STRUTPRESS_WRITE_H

#include <stdio.h>

#include <strutpress/run.h>

/* What a writer takes: bits. */
enum {
    SP_WRITER_NETWORK = 1, /* the network and the case alone: `check` writes it too */
    SP_WRITER_SPATIAL = 2, /* spatial networks only; planar ones have no such file */
    SP_WRITER_STRUTS = 4   /* struts: the solid block has no such file */
};

typedef struct sp_writer_row {
    const char *name; /* "curve-csv" */
    const char *file; /* name of the file inside the output folder; "curve.csv" */
    const char *doc;
    int takes; /* SP_WRITER_* bits */
    sp_status (*write)(sp_context *context, const sp_result *result, FILE *stream);
} sp_writer_row;

const sp_writer_row *sp_writer_rows(int *count);

/* Write every row (plus the VTU series and its PVD) into an existing or new folder. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_write_all(sp_context *context, const sp_result *result, const char *folder);

/* The table of the run for a terminal: header, non-default settings, first buckle, measures. */
sp_status sp_write_table(sp_context *context, const sp_result *result, FILE *stream);

/* The files of a network that is not pressed (rows with SP_WRITER_NETWORK), for `check`; `written` may be NULL, else it is
 * called with the name of each file inside the folder. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_write_network(sp_context *context, const sp_case *request, const sp_network *network,
                           const char *folder, void (*written)(const char *file, const char *doc));

/* Picture of a network alone (SVG), for `check`. */
sp_status sp_write_network_svg(sp_context *context, const sp_network *network, FILE *stream);

#endif
