/* The network of a coupon while it is built: joints and struts inside a box, planar or spatial.
 *
 * A room that has lines in mm (of a pattern, of a lattice, of a drawing) adds them to a graph,
 * cleans the graph and finishes it to a network. Joints have three coordinates; z is 0 in a planar
 * graph. Planar and spatial graphs differ in what sp_graph_rules hold, and only planar ones have
 * walls.
 *
 * Walls are no struts of the graph: they follow from the joints that lie on the sides of the box
 * (wall.c) and are added when the graph is finished. The box of a planar graph is the centreline of
 * its wall; without a wall it is the coupon, as it is for a spatial graph. */
#ifndef SP_GRAPH_GRAPH_H
#define SP_GRAPH_GRAPH_H

#include <strutpress/network.h>

#include "graph/join.h"

/* The sides of the box on which a joint lies: bit 2 k is the low side along axis k, bit 2 k + 1 the
 * high side. A corner lies on two sides, or three. */
enum {
    SP_SIDE_LEFT = 1,
    SP_SIDE_RIGHT = 2,
    SP_SIDE_LOWER = 4,
    SP_SIDE_UPPER = 8,
    SP_SIDE_FRONT = 16,
    SP_SIDE_BACK = 32,
    SP_SIDE_PLATENS = SP_SIDE_LOWER | SP_SIDE_UPPER,
    SP_SIDE_AROUND =
        SP_SIDE_LEFT | SP_SIDE_RIGHT | SP_SIDE_PLATENS /* the sides along which a wall runs */
};

typedef struct sp_joint {
    double at[3]; /* [mm] */
    int side;     /* SP_SIDE_* bits */
    int origin;   /* number in the perfect network, for the flaws; -1 before that is known */
} sp_joint;

typedef struct sp_strut {
    int joint[2];     /* joint[0] < 0: removed */
    double thickness; /* diameter, or size along `up` [mm] */
    double height;    /* spatial; 0: round; else size of the rectangle across strut and `up` [mm] */
    /* Spatial; unit vector across the strut; 0 0 0: chosen when the graph is finished. */
    double up[3];
    int role;   /* SP_ROLE_*; flaws touch infill only */
    int origin; /* number in the perfect network */
} sp_strut;

typedef struct sp_graph_rules sp_graph_rules;

typedef struct sp_graph {
    const sp_graph_rules *rules;
    double low[3], high[3]; /* the box [mm] */
    double same;            /* a point closer to a side lies on it [mm] */
    double bead;            /* planar: width of a bead [mm] */
    double wall;            /* planar: thickness of the wall on the sides; 0: no wall [mm] */
    int standing;           /* planar; 1: the lines are panels, which all stand on both platens */
    /* This is 1 for one of several planar layers that hold each other, so that loose ends and
     * pieces that reach no platen stay. */
    int stacked;
    /* This is 1 where lines in the face of a platen are plates (planar, drawn without a wall). */
    int plates;
    int joint_count, joint_capacity;
    sp_joint *joint;
    int strut_count, strut_capacity;
    sp_strut *strut;
    int dropped_stubs, dropped_pieces, dropped_flat;
    sp_left_out left_out; /* of dropped_pieces */
    double compared;      /* see near.h */
} sp_graph;

/* The grid of cells in which struts that meet are sought. */
typedef struct sp_graph_grid {
    double edge; /* of a cell [mm] */
    int n[3];    /* cells along each axis */
} sp_graph_grid;

/* What planar and spatial graphs do differently. */
struct sp_graph_rules {
    int dimension;
    /* Share of the thinner strut: joints that are closer become one joint, and a joint closer to a
     * strut lies on it. */
    double near;
    double shortest; /* share of a strut's thickness: shorter ones are drawn together; 0: none */
    int slides;      /* 1: joint flaws move a joint along the side it lies on; 0: it stays */
    /* What would be valid when nothing reaches both platens, for the message. */
    const char *nothing_left;

    /* Return the distance of two points [mm]. */
    double (*distance)(const double a[3], const double b[3]);
    /* Give ends at the same place one joint. */
    sp_status (*join_ends)(sp_context *context, sp_graph *graph);
    /* Choose the cells for struts of this total length that meet within `near` [mm]. */
    void (*choose_grid)(const sp_graph *graph, double total, double near, sp_graph_grid *grid);
    /* Return 1 when a joint lies on a strut, closer than `near` and away from its ends, and how far
     * along. `loose` is where a joint with one strut was drawn, NULL for any other joint; such a
     * joint may be moved. `along` grows from the first joint of the strut; so below. */
    int (*lies_on)(sp_graph *graph, int joint, int strut, double near, const double *loose,
                   double *along);
    /* Return 1 when two struts without a common joint cross, closer than `near` and away from their
     * ends, how far along each of them, and where. */
    int (*cross)(const sp_graph *graph, int s, int t, double near, double along[2], double at[3]);
    /* Return 1 when a strut may keep its free end; other_degree is the number of struts at its
     * other end. */
    int (*may_stay)(const sp_graph *graph, int strut, int end, int other, int other_degree);
    /* Remove struts that lie where a wall or a platen is, and return how many; NULL: no strut is
     * removed so. */
    int (*drop_on_sides)(sp_graph *graph);
    /* Find the density of the infill as drawn: line length x section / volume inside the walls. */
    double (*density)(const sp_graph *graph, const sp_network *network);
    /* Find the solid fraction of a finished network, as it comes out of the printer. */
    sp_status (*fill_solid)(sp_context *context, const sp_case *request, const sp_graph *graph,
                            sp_network *network);
};

void sp_graph_free(sp_graph *graph);

/* Add a joint; when it is closer to a side than `same`, it is put on that side. Its number is
 * joint_count - 1. Errors: SP_BAD_NETWORK (too many), SP_NO_MEMORY. */
sp_status sp_graph_add_joint(sp_context *context, sp_graph *graph, const double at[3]);
/* Add a strut between two joints; the rest of it is copied from `like`. */
sp_status sp_graph_add_strut(sp_context *context, sp_graph *graph, int a, int b,
                             const sp_strut *like);
/* Add the part of the segment A B inside the box, with joints of its own, or nothing when no part
 * is inside. Cleaning makes one joint of joints at the same place. */
sp_status sp_graph_add_clipped(sp_context *context, sp_graph *graph, const double a[3],
                               const double b[3], const sp_strut *like);

/* clean.c: join ends, then cut, merge and drop until nothing changes, then keep the pieces that
 * reach both platens. Errors: SP_BAD_CASE at `key` when nothing is left that reaches both platens,
 * SP_BAD_NETWORK, SP_NO_MEMORY. */
sp_status sp_graph_clean(sp_context *context, const sp_case *request, const char *key,
                         sp_graph *graph);

/* finish.c: make a network, with zones, flaws and figures, of a clean graph, which is used up (free
 * it all the same). Uses flaws, size and model.joint_zone of the case; with_flaws 0: a perfect
 * network. The caller sets cell_size. On failure *network is empty. */
sp_status sp_graph_finish(sp_context *context, const sp_case *request, int with_flaws,
                          sp_graph *graph, sp_network *network);

/* ---- parts of these functions ---- */

double sp_graph_distance(const sp_graph *graph, int a, int b); /* of two joints [mm] */
double sp_graph_length(const sp_graph *graph, int strut);      /* [mm] */
double sp_graph_slimmest(const sp_strut *strut);               /* diameter or smaller side [mm] */
int sp_graph_role(const sp_graph *graph, int strut);           /* SP_ROLE_WALL also for plates */
int sp_graph_axes(const sp_graph *graph,
                  int joint); /* number of axes along which the joint lies on a side */

/* Remove struts that were marked, and joints without struts; the corners of a wall stay. */
sp_status sp_graph_compact(sp_context *context, sp_graph *graph);
/* List the struts at each joint: those of joint n are list[first[n]] .. list[first[n+1]-1]. The
 * caller frees both arrays. */
sp_status sp_graph_incidence(sp_context *context, const sp_graph *graph, int **first, int **list);

/* split.c: cut struts where a joint lies on them and where two of them cross; *changed counts the
 * cuts. */
sp_status sp_graph_split(sp_context *context, sp_graph *graph, int *changed);
/* merge.c: move joints beside a platen or a wall onto it, join joints that are closer than `near`
 * of the thinner strut, and join the ends of struts shorter than `shortest` of their thickness (0:
 * none); *changed counts them. */
sp_status sp_graph_merge(sp_context *context, sp_graph *graph, double near, double shortest,
                         int *changed);
/* merge.c: find `share` of the thinnest strut at each joint [mm]; NULL without memory, else the
 * caller frees it. */
double *sp_graph_reach(const sp_graph *graph, double share);
/* drop.c: remove doubles, struts in a wall or platen, stubs and loose ends, and dissolve joints in
 * straight runs; *changed counts them. */
sp_status sp_graph_drop(sp_context *context, sp_graph *graph, int *changed);
/* drop.c: keep the connected pieces that reach both platens; *spans is 0 when there is none. */
sp_status sp_graph_keep_spanning(sp_context *context, sp_graph *graph, int *spans);
/* wall.c: list the joints on the sides in their order around the box, counter-clockwise from the
 * lower left corner. The caller frees the list. */
sp_status sp_graph_around(sp_context *context, const sp_graph *graph, int **around, int *count);

/* flaws.c: drop infill struts and move joints; fill thickness and bow of a finished network.
 * `origin` gives the number of each strut in the perfect network, of which there are origin_count.
 */
sp_status sp_flaws_missing(sp_context *context, const sp_case *request, sp_graph *graph);
sp_status sp_flaws_move_joints(sp_context *context, const sp_case *request, int origin_count,
                               sp_graph *graph);
sp_status sp_flaws_struts(sp_context *context, const sp_case *request, const int *origin,
                          int origin_count, sp_network *network);

#endif
