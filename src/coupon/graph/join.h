/* Parts of building a graph: pairs of joints that are close, places where struts are cut. */
#ifndef SP_GRAPH_JOIN_H
#define SP_GRAPH_JOIN_H

#include <strutpress/context.h>

#include "network/groups.h"

/* Struts left out because the piece they belong to does not reach from platen to platen. */
typedef struct sp_left_out {
    int one_platen, no_platen; /* pieces that touch one platen only; that touch none */
} sp_left_out;

/* Return 1 when a piece with these faces has both bits of `platens`; else count its strut. */
int sp_piece_spans(int face, int platens, sp_left_out *left_out);

typedef struct sp_pair {
    int a, b;
    double length;
    double tie; /* pairs whose lengths differ by less count as equal, so that symmetry is kept */
} sp_pair;

/* A pair is joined when it is the shortest pair at both its joints. So all pairs are measured
 * first: `shortest` (1 per joint, infinite before) holds the shortest at each joint. */
void sp_pair_measure(const sp_pair *pair, double *shortest);
/* Join a pair. The smaller number stands for the group, so that its origin stays, and the groups do
 * not depend on the order of the pairs. `parent` (1 per joint) holds each joint's own number
 * before. Returns 1 when two groups became one. */
int sp_pair_unite(const sp_pair *pair, const double *shortest, int *parent);

typedef struct sp_cut_at {
    int strut, joint;
    double along; /* from its first joint; planar [mm], spatial a share of its length */
} sp_cut_at;

typedef struct sp_cuts {
    int count, capacity;
    sp_cut_at *item;
} sp_cuts;

sp_status sp_cuts_add(sp_context *context, sp_cuts *cuts, int strut, int joint, double along);
void sp_cuts_sort(sp_cuts *cuts); /* by strut, then along it */

/* Return the joint after cut i of its strut: that of the next cut, or `last`. */
int sp_cuts_next(const sp_cuts *cuts, int i, int last);

#endif
