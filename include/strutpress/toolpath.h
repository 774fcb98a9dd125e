/* These are figures of what a tool path prints: of the beads, and of the network that is made from
 * them.
 *
 * Units: mm, mm3. Ownership: the caller's. Errors: each function names its own. Threads: from
 * several at once. */
#ifndef STRUTPRESS_TOOLPATH_H
#define STRUTPRESS_TOOLPATH_H

#include <stdio.h>

#include <strutpress/case.h>
#include <strutpress/context.h>

SP_PUBLIC_BEGIN

#define SP_TOOLPATH_BINS 12

typedef struct sp_toolpath_figures {
    long lines;      /* of the file */
    long moves;      /* that print */
    int layers;      /* that are used */
    int first_layer; /* number of the first of them in the file, from 1 */
    int found_layers;
    int repeat;          /* 1: all are alike; 2 to 4: a layer is like the one that many before it */
    double size[3];      /* of what is printed: x, y, z [mm] */
    double layer_height; /* of the layer that was taken [mm] */
    double metered;      /* volume of the filament in the used layers and pieces [mm3] */
    double elsewhere;    /* in other layers and pieces, and without a line [mm3] */
    double network;      /* length x thickness of all struts x depth [mm3] */
    double width_least, width_median, width_most; /* of the beads, weighted by length [mm] */
    double bin_from, bin_width;                   /* histogram [mm] */
    double bin[SP_TOOLPATH_BINS];                 /* shares of the length */
    double flat_median; /* width of the rectangle of the same volume [mm] */
    double loose;       /* length of lines of the layer that touch nothing, left out [mm] */
    int other_pieces;   /* pieces of that layer that were left out */
} sp_toolpath_figures;

struct sp_drawing;

/* Print what a tool path says, beside the network that is made of it; `drawing` is that of a
 * resolved case (resolve.h), which has read the path. Nothing for a drawing that is no tool path.
 * Errors: SP_NO_WRITE. */
sp_status sp_toolpath_table(sp_context *context, const struct sp_drawing *drawing, FILE *stream);

SP_PUBLIC_END

#endif
