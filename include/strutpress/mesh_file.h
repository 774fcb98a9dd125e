/* What a file of triangles holds: the body that it encloses, and where it does not enclose one.
 *
 * Units: mm, mm3. Ownership: nothing is kept. Threads: from several at once, each with its own
 * context. */
#ifndef STRUTPRESS_MESH_FILE_H
#define STRUTPRESS_MESH_FILE_H

#include <strutpress/context.h>

SP_PUBLIC_BEGIN

typedef struct sp_mesh_figures {
    const char *format;      /* "binary STL", "STL in text" or "3MF" */
    int has_unit;            /* 0: the file names none, and 1 is taken as 1 mm */
    long triangles, corners; /* corners at one place are one */
    long flat;               /* triangles of which two corners are one; they enclose nothing */
    int parts;               /* connected parts of the surface */
    double low[3], high[3];  /* of the box around it */
    long open_edges; /* edges that are not passed as often one way as the other; 0: closed */
    double open_from[3], open_to[3]; /* the first of them */
    double enclosed;  /* sum over the parts, each by the divergence theorem; NaN: open */
    double volume;    /* of the body: where parts overlap it is there once; NaN: open */
    double uncertain; /* how far `volume` may be off; 0: it is exact */
} sp_mesh_figures;

/* 1: the name ends as those of files of triangles do. */
int sp_mesh_is_named(const char *file);

/* Read STL (binary or text) or 3MF. The memory it takes grows with the triangles, of which there
 * may be 4 million. Errors: SP_NO_READ, SP_BAD_NETWORK (what the file has is no triangle),
 * SP_NO_MEMORY, SP_INTERRUPTED. */
sp_status sp_mesh_read(sp_context *context, const char *file, sp_mesh_figures *figures);

SP_PUBLIC_END

#endif
