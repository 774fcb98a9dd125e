/* The inside of the reader of tool paths. */
#ifndef SP_TOOLPATH_PATH_PARTS_H
#define SP_TOOLPATH_PATH_PARTS_H

#include <stdio.h>

#include "toolpath/toolpath.h"

enum { PATH_BEADS_MAX = 400000, PATH_LAYERS_MAX = 20000 };

/* A straight piece of extrusion. */
typedef struct path_bead {
    double a[2], b[2]; /* [mm] */
    double area;       /* metered volume per length [mm2] */
    long chain;        /* pieces with the same number follow each other without a break */
} path_bead;

typedef struct path_beads {
    int count, capacity;
    path_bead *bead; /* owned */
} path_beads;

/* One printed layer of a path. */
typedef struct path_layer {
    double z, height; /* top, and above the layer before [mm] */
    double volume;    /* [mm3] */
    path_beads beads;
} path_layer;

double sp_toolpath_length(const path_bead *bead);
/* Return the width of a printed bead: a rectangle with round ends, as high as the layer (E210). */
double sp_toolpath_width(double area, double height);

/* Read a stream of motion words. Each finished layer is handed to `take`, which may keep its beads
 * (and then empties them). Filament that is metered without a line is added to *without. Errors:
 * SP_NO_READ with file:line. */
typedef struct path_reader {
    const char *file;
    double filament; /* area of the filament's section [mm2] */
    double turn[2];  /* cosine and sine of the turn */
    long lines, moves;
    double without;
    sp_hash hash;
    size_t size;
    sp_status (*take)(sp_context *context, void *user, path_layer *layer);
    void *user;
} path_reader;
sp_status sp_toolpath_read(sp_context *context, FILE *stream, path_reader *reader);

sp_status sp_toolpath_add(sp_context *context, const char *file, path_beads *beads,
                          const path_bead *bead);
void sp_toolpath_free(path_beads *beads);

/* pieces.c: keep the largest connected piece of a layer. Beads that touch, within `gap` of a bead,
 * belong to one piece, also by way of the layers `below` and `above` it (NULL: there is none). What
 * is left out is counted. SP_NO_READ when two pieces are alike in size and none is chosen. */
typedef struct path_left {
    int pieces;
    double volume_length; /* sum of area x length that is left out [mm3 per height] */
    double length;        /* of lines inside the box of the piece [mm] */
} path_left;
sp_status sp_toolpath_keep_piece(sp_context *context, const char *file, const path_layer *below,
                                 const path_layer *above, double gap, int has_box,
                                 path_layer *layer, path_left *left);
/* Return 1 when two layers lie on each other within half a bead. -1: out of memory. */
int sp_toolpath_alike(const path_beads *a, const path_beads *b, double cell);

/* walls.c: make one bead of beads that follow each other in line, and one wall of beads side by
 * side. */
typedef struct path_line {
    double a[2], b[2], thickness;
} path_line;
sp_status sp_toolpath_walls(sp_context *context, const char *file, double height, double gap,
                            const path_beads *beads, path_line **line, int *count);

/* ends.c: move free ends to the middle of the lines that their beads touch. */
sp_status sp_toolpath_draw_ends(sp_context *context, const char *file, double bead, double gap,
                                path_line *line, int count);

#endif
