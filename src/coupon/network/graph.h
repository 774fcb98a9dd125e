/* The network while it is built: infill joints and struts inside one rectangle. Walls are no edges here: they follow
 * from the joints that lie on the rectangle (wall.c) and are added when the graph is finished.
 *
 * With walls the rectangle is the centreline of the wall, without walls it is the face of the coupon. */
#ifndef SP_NETWORK_GRAPH_H
#define SP_NETWORK_GRAPH_H

#include <strutpress/network.h>

#include "network/join.h"
#include "pattern/pattern.h"

/* Sides of the rectangle a node lies on; a corner lies on two. */
enum { SP_SIDE_LEFT = 1, SP_SIDE_RIGHT = 2, SP_SIDE_LOWER = 4, SP_SIDE_UPPER = 8 };

typedef struct sp_node {
    double x, y; /* [mm] */
    int side;    /* SP_SIDE_* bits */
    int origin;  /* number in the perfect network, for the flaws; -1 before that is known */
} sp_node;

typedef struct sp_edge {
    int a, b;   /* nodes; a < 0: removed */
    int origin; /* number in the perfect network */
} sp_edge;

typedef struct sp_graph {
    double low[2], high[2]; /* the rectangle                                   [mm] */
    double bead;            /* bead width                                      [mm] */
    int walls;              /* 1: there is a wall on the rectangle */
    int node_count, node_capacity;
    sp_node *node;
    int edge_count, edge_capacity;
    sp_edge *edge;
    int standing; /* 1: lines are walls along the load: all stand on both platens, none hangs loose */
    int plates;   /* 1: lines in the face of a platen are struts (drawn, without a wall) */
    int dropped_stubs, dropped_pieces, dropped_flat;
    sp_left_out left_out; /* of dropped_pieces */
    double compared;      /* see near.h */
} sp_graph;

void sp_graph_free(sp_graph *graph);
sp_status sp_graph_add_node(sp_context *context, sp_graph *graph, double x, double y, int side);
sp_status sp_graph_add_edge(sp_context *context, sp_graph *graph, int a, int b, int origin);
double sp_graph_length(const sp_graph *graph, int edge);
int sp_graph_is_plate(const sp_graph *graph, int edge); /* 1: it lies in the face of a platen */

/* Take removed edges and nodes without edges out (wall corners stay). */
sp_status sp_graph_compact(sp_context *context, sp_graph *graph);

/* Edges at each node: those of node n are list[first[n]] .. list[first[n+1]-1]. Both arrays are the caller's to free. */
sp_status sp_graph_incidence(sp_context *context, const sp_graph *graph, int **first, int **list);

/* clip.c: add the pieces turned, scaled and shifted into the graph, clipped at the rectangle. */
typedef struct sp_placing {
    double scale;    /* mm per unit of the pieces */
    double turn[2];  /* cosine and sine */
    double shift[2]; /* [mm], after scaling and turning */
} sp_placing;
sp_status sp_graph_add_pieces(sp_context *context, sp_graph *graph, const sp_pieces *pieces,
                              const sp_placing *placing);

/* split.c: cut edges where they cross and where a joint lies on them (within half a bead); *changed counts the cuts. */
sp_status sp_graph_split(sp_context *context, sp_graph *graph, int *changed);

/* merge.c: snap joints near the rectangle onto it, draw joints closer than a bead along a strut or the wall (half a
 * bead otherwise) together; *changed counts them. near_only leaves short struts alone. */
sp_status sp_graph_merge(sp_context *context, sp_graph *graph, int near_only, int *changed);

/* drop.c: remove doubles, edges in a wall or platen, stubs and loose ends; dissolve joints in straight runs. */
sp_status sp_graph_drop(sp_context *context, sp_graph *graph, int *changed);
/* drop.c: keep the connected pieces that reach both platens, as all do that stand; *spans is 0 when there is none. */
sp_status sp_graph_keep_spanning(sp_context *context, sp_graph *graph, int *spans);

/* clean.c: split, merge and drop until nothing changes, then keep what reaches both platens. SP_BAD_CASE at `key` when nothing
 * is left that reaches both platens. */
sp_status sp_graph_clean(sp_context *context, const sp_case *request, const char *key,
                         sp_graph *graph);

/* wall.c: nodes on the rectangle sorted around it from the lower left corner, counter-clockwise. Caller frees. */
sp_status sp_graph_around(sp_context *context, const sp_graph *graph, int **around, int *count);

/* flaws.c: streams of random numbers, one per kind of flaw, counted over the perfect network. */
enum {
    SP_STREAM_MISSING = 1,
    SP_STREAM_JOINTS,
    SP_STREAM_THICKNESS,
    SP_STREAM_BOW,
    SP_STREAM_BOW_DIRECTION
};
/* round(missing x count) of `count` struts: those with the smallest draws, so that more missing keeps those missing.
 * NULL without memory, else the caller's to free. */
int *sp_flaws_choose(const sp_case *request, int count, int *chosen);
/* Normal numbers of a stream; NULL without memory, else the caller's to free. */
double *sp_flaws_normals(const sp_case *request, int stream, size_t count);

/* flaws.c: drop struts and move joints of the graph; fill thickness and bow of a finished network. */
sp_status sp_flaws_missing(sp_context *context, const sp_case *request, sp_graph *graph);
sp_status sp_flaws_move_joints(sp_context *context, const sp_case *request, int origin_count,
                               sp_graph *graph);
sp_status sp_flaws_struts(sp_context *context, const sp_case *request, const int *origin,
                          int origin_count, sp_network *network);

/* network.c: arrays for so many joints and struts, of the network's dimension. Errors: SP_NO_MEMORY. */
sp_status sp_network_room(sp_context *context, sp_network *network, size_t joints, size_t struts);

/* pieces.c: fill piece_count of a finished network. Errors: SP_NO_MEMORY. */
sp_status sp_network_count_pieces(sp_context *context, sp_network *network);

/* zone.c: joint zones of a finished network, scaled by `scale`. */
sp_status sp_network_zones(sp_context *context, double scale, sp_network *network);

/* printed.c: what the print adds to the drawing. Widths and diameters, before the joint zones are worked out: SP_BAD_CASE when
 * nothing is left of a strut. `bead`: drawn width of one line, 0 for round struts. */
sp_status sp_network_print_widths(sp_context *context, const sp_case *request, double bead,
                                  sp_network *network);
/* Thicker ends, after the joint zones (E190). SP_NO_MEMORY. */
sp_status sp_network_thicken(sp_context *context, const sp_case *request, double bead,
                             sp_network *network);

/* figures.c: length of the segment A B inside the box low .. high. */
double sp_length_inside(const double a[2], const double b[2], const double low[2],
                        const double high[2]);
/* figures.c: line length of the infill strictly inside the walls x bead / area; solid area / coupon area. */
double sp_network_line_share(const sp_network *network, double wall, double bead);
sp_status sp_network_solid(sp_context *context, double wall, double bead, sp_network *network);

#endif
