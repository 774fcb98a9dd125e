/* The strut network of one coupon: joints, struts, walls, joint zones and flaws, all in the
 * unloaded state.
 *
 * Units: mm, densities are fractions. Ownership: sp_network_build fills a structure of the caller,
 * whose arrays belong to it until sp_network_free; a network that sp_result_network returned
 * belongs to its result. Errors: those of sp_network_build; the other functions never fail.
 * Threads: from several at once; a finished network may be read by all.
 *
 * x runs across the coupon (0 to width), y along the pressing direction (0 = lower platen, height =
 * upper platen), z through the depth. A planar network has z = 0 everywhere and is extruded through
 * the depth; a spatial one lies in the box of the coupon, z from 0 to depth. */
#ifndef STRUTPRESS_NETWORK_H
#define STRUTPRESS_NETWORK_H

#include <strutpress/case.h>
#include <strutpress/context.h>

SP_PUBLIC_BEGIN

enum { SP_ROLE_INFILL = 0, SP_ROLE_WALL = 1 }; /* wall: a plate or a side frame, too */
enum { SP_FACE_LOWER = 1, SP_FACE_UPPER = 2 }; /* bits: the joint is held by that platen */

/* How a coupon is printed. The solid block has neither joints nor struts. */
typedef enum {
    SP_BUILT_EXTRUDED,
    SP_BUILT_LAYERS,
    SP_BUILT_SPATIAL,
    SP_BUILT_SOLID,
    SP_BUILT_PANELS,
    SP_BUILT_STACK /* layers of their own, stacked along the height and pressed through the stack */
} sp_built;

/* 1 for a coupon that is printed flat and pressed from above, along its walls or through its stack:
 * z of the print is the height of the press then. */
int sp_built_is_flat(sp_built built);

/* Where a strut of stacked layers (infill.layers) comes from: it is a bond between two of them, or
 * a piece of a strut that bonds cut. */
typedef struct sp_layer_piece {
    int layer;           /* -1: a bond */
    int whole;           /* the strut that was cut, counted over all layers; -1: a bond */
    int joint[2];        /* where the whole begins and ends */
    double from, length; /* start of the piece along the whole, length of the whole [mm] */
    double zone[2];      /* joint zones of the whole [mm] */
    double firm[4];      /* the same of strut_firm */
    double arm[2][2]; /* bonds: x and y from its joints to where it ends, inside their zones [mm] */
} sp_layer_piece;

/* A panel is the wall between two joint lines of a coupon that is pressed along its extrusion. It
 * is a plate, and its struts are the bars of a framework that stands for the plate. */
typedef struct sp_panel {
    int line[2];      /* joint lines at its ends: joints of the pattern */
    int role;         /* SP_ROLE_* */
    double thickness; /* [mm] */
    double length;    /* from line to line [mm] */
    int halved;       /* 1: a plane of symmetry cuts it in half, and `length` is that of one half */
    int across, up;   /* cells of its framework along its length and over its height */
} sp_panel;

/* Where a strut stands in a panel. */
typedef struct sp_panel_bar {
    int panel;
    double along[2]; /* how far its two ends are from the first joint line [mm] */
    double rim;      /* on a free edge: width of the strip whose twist it carries, else 0 [mm] */
    /* Of the layer that the bar stands for where panels press on each other, E107 [mm]. */
    double line_width;
    /* Round flanks: section and bending stiffness / those of a flat wall; 1: flat. */
    double flank[2];
    int is_foot; /* 1: no bar, but the skin under its stretch of the panel's edge, E225 */
} sp_panel_bar;

/* This is one cell of a panel. `end` gives end 0 or 1 of a strut as 2 x strut + end, which is also
 * its point in the shapes of a path. */
typedef struct sp_sheet {
    int panel, role;
    int corner[4]; /* ends, round about */
    int bar[6];    /* first ends of its bars */
} sp_sheet;

typedef struct sp_network {
    int dimension;  /* 2: planar, extruded through the depth; 3: spatial */
    sp_built built; /* how the coupon is printed */
    double size[3]; /* width, height, depth of the coupon, or of the block of it [mm] */
    /* Where a block is pressed in the place of a coupon (coupon.block) these are its cells a side,
     * the size of the whole coupon [mm], and by SP_ROLE_* how many walls of the coupon one wall of
     * the block stands for; else they are 0. */
    int block;
    double whole[3], stands_for[2];
    int mirror; /* 1: its sides are planes of symmetry, in which joints stay */
    /* This is the thickness of the solid layers between the panels and either platen, else 0
     * [mm]. */
    double skin;

    int joint_count;
    double *joint_position;    /* 3 per joint [mm] */
    unsigned char *joint_face; /* 1 per joint, SP_FACE_* bits */

    int strut_count;
    int *strut_joint; /* 2 per strut: joints A, B (A != B) */
    /* 1 per strut: in the plane; spatial: diameter, or size along axis 2 [mm] */
    double *strut_thickness;
    /* spatial, else NULL. 1 per strut: 0 round, else size of a rectangle along axis 3 [mm] */
    double *strut_height;
    /* spatial, else NULL. 3 per strut: unit vector across the strut, section axis 2 */
    double *strut_up;
    sp_layer_piece *strut_piece; /* stacked layers, else NULL. 1 per strut */
    int panel_count;             /* pressed along the extrusion, else 0 */
    sp_panel *panel;             /* and NULL */
    sp_panel_bar *strut_panel;   /* panels, else NULL. 1 per strut */
    unsigned char *strut_role;   /* 1 per strut, SP_ROLE_* */
    /* Ends that are printed thicker than their strut; both NULL when none is. 2 per strut: by how
     * much at the edges of the joint zones at A and B [mm], less than 0 for thinner. 1 per strut:
     * over this length from there they taper to the thickness of the strut [mm]. Of a piece of a
     * strut of stacked layers: those of the whole strut. */
    double *strut_end_extra;
    double *strut_taper;
    /* 2 per strut: length of the joint zone at A and at B, which does not bend [mm] */
    double *strut_zone;
    /* 4 per strut: lengths at A that do not stretch and that do not shear, then those at B [mm];
     * NULL: a zone does neither, and the strut beyond it does both */
    double *strut_firm;
    /* 1 per strut: stress-free half-sine bow to the left of A->B, spatial: along strut_up [mm] */
    double *strut_bow;

    double cell_size; /* the pattern's own length (its edge length or spacing)  [mm]; 0 for drawn */
    double nominal_density; /* infill line length x bead width / area, inside the walls */
    double solid_fraction;  /* solid area / coupon area: crossings once, walls included */
    int piece_count;        /* connected pieces; each reaches from platen to platen */
    int dropped_stubs;      /* dangling pieces shorter than a bead that were removed */
    int dropped_pieces; /* struts removed because they carry nothing: loose ends, and these two */
    int dropped_one_platen; /* of those: in pieces that touch one platen only */
    int dropped_no_platen;  /* of those: in pieces that touch no platen */
    int dropped_flat; /* struts of a pattern in the face of a platen, without a wall: left out */
} sp_network;

/* Build the network a case asks for: pattern, clip, walls, joints, joint zones, flaws, figures.
 * `with_flaws` 0 builds the perfect coupon with the same topology rules. Errors: SP_BAD_CASE
 * (spacing beyond the coupon, walls thicker than the coupon, nothing left), SP_BAD_NETWORK and
 * SP_NO_READ (drawn), SP_NO_MEMORY. On failure *network is empty. */
sp_status sp_network_build(sp_context *context, const sp_case *request, int with_flaws,
                           sp_network *network);
void sp_network_free(sp_network *network);

/* Number the connected pieces in the order of their first joints: `piece` (1 per joint). Returns
 * how many there are. */
int sp_network_pieces(const sp_network *network, int *piece);

/* Say what was left out of a network and why, as "3 short stubs, 2 struts with a loose end"; ""
 * when nothing was left out. */
enum { SP_LEFT_OUT_SIZE = 240 };
void sp_network_left_out(const sp_network *network, char text[SP_LEFT_OUT_SIZE]);

/* Return 1 when the strut is a bond between two layers. */
int sp_network_is_bond(const sp_network *network, int strut);

/* Return the undeformed length [mm] of a strut, and its free length between its joint zones. */
double sp_network_strut_length(const sp_network *network, int strut);
double sp_network_free_length(const sp_network *network, int strut);

/* Thickness [mm] of a strut at a distance `along` [mm] from joint A, ends included; of a piece of a
 * strut of stacked layers from where the piece begins. E190 */
double sp_network_thickness_at(const sp_network *network, int strut, double along);

/* Return the number of elements into which a planar strut of this free length is cut when the case
 * does not give a number and the law does not yield. Short struts in space get fewer, planar ones
 * that yield two more at least. */
int sp_network_elements(double free_length, double thickness);
/* Say how the coupon is printed and how it is pressed: the words that follow "printed: " and those
 * that follow "pressed: ". */
void sp_network_printed_text(const sp_network *network, char *text, size_t size);
void sp_network_pressed_text(const sp_network *network, char *text, size_t size);
/* Return 1 and a sentence when the coupon is made of layers and less than half as high as it is
 * wide and deep, and the case does not say which way it is pressed. Such a coupon looks like a pad
 * that is printed flat, but it is pressed along another direction than such a pad. */
int sp_network_flat_text(const sp_network *network, const sp_case *request, char *text,
                         size_t size);
/* Return the number of cells of all panels, 0 for a coupon without panels, and the cells themselves
 * when `sheet` is not NULL. */
int sp_network_sheets(const sp_network *network, sp_sheet *sheet);
/* Return 1 and a caution in words when more than a tenth of the panels of the coupon, by length,
 * are too thick or too low for plates that buckle. */
int sp_network_panel_text(const sp_network *network, char *text, size_t size);
/* Return 1 and a caution in words when the coupon is pressed through its stack: what is not in the
 * model of it. */
int sp_network_stack_text(const sp_network *network, char *text, size_t size);
/* Return 1 and a caution in words when the coupon has skins that act otherwise than the case, or a
 * reader, may expect. */
int sp_network_skin_text(const sp_network *network, const sp_case *request, char *text,
                         size_t size);
/* Return 1 and a sentence when a block is pressed in the place of the coupon, or was asked for and
 * is not. */
int sp_network_block_text(const sp_network *network, const sp_case *request, char *text,
                          size_t size);
/* Return 1 and a caution in words when the coupon that was built for this case is less than two
 * cells high or wide. */
int sp_network_few_cells_text(const sp_network *network, const sp_case *request, char *text,
                              size_t size);

SP_PUBLIC_END

#endif
