/* Writers: every file goes to a temporary name beside its target first and is renamed when complete. */
#ifndef STRUTPRESS_WRITE_H
#define STRUTPRESS_WRITE_H

#include <stdio.h>

#include <strutpress/run.h>

typedef struct sp_writer_row {
    const char *name; /* "curve-csv" */
    const char *file; /* name of the file inside the output folder; "curve.csv" */
    const char *doc;
    sp_status (*write)(sp_context *context, const sp_result *result, FILE *stream);
} sp_writer_row;

const sp_writer_row *sp_writer_rows(int *count);

/* Write every row (plus the VTU series and its PVD) into an existing or new folder. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_write_all(sp_context *context, const sp_result *result, const char *folder);

/* The table of the run for a terminal: header, non-default settings, first buckle, measures. */
sp_status sp_write_table(sp_context *context, const sp_result *result, FILE *stream);

/* Picture of a network alone (SVG), for `check`. */
sp_status sp_write_network_svg(sp_context *context, const sp_network *network, FILE *stream);

#endif
