/* The spatial network while it is built: joints and struts inside the box of the coupon, 0 .. size.
 *
 * Whoever has joints and struts in mm - a lattice, layers, a drawing - fills an sp_space and calls sp_space_finish, which
 * cuts, joins and drops, applies the flaws and fills zones and figures. It knows nothing of patterns. */
#ifndef SP_SPATIAL_SPACE_H
#define SP_SPATIAL_SPACE_H

#include <strutpress/network.h>

#include "network/join.h"

/* Faces of the box a joint lies on: bit 2 k for 0, bit 2 k + 1 for size[k]. Both y bits are the platens. */
enum {
    SP_BOX_LEFT = 1,
    SP_BOX_RIGHT = 2,
    SP_BOX_LOWER = 4,
    SP_BOX_UPPER = 8,
    SP_BOX_FRONT = 16,
    SP_BOX_BACK = 32,
    SP_BOX_PLATENS = SP_BOX_LOWER | SP_BOX_UPPER
};

typedef struct sp_space_joint {
    double at[3]; /* [mm] */
    int face;     /* SP_BOX_* bits */
    int origin;   /* number in the perfect network, for the flaws; -1 before that is known */
} sp_space_joint;

typedef struct sp_space_strut {
    int joint[2];     /* joint[0] < 0: removed */
    double thickness; /* diameter, or size along `up` [mm] */
    double height;    /* 0: round; else size of the rectangle across strut and `up` [mm] */
    double up[3];     /* unit vector across the strut; 0 0 0: chosen by the builder */
    int role;         /* SP_ROLE_*; flaws touch infill only */
    int origin;       /* number in the perfect network */
} sp_space_strut;

typedef struct sp_space {
    double size[3]; /* width, height, depth [mm] */
    int joint_count, joint_capacity;
    sp_space_joint *joint;
    int strut_count, strut_capacity;
    sp_space_strut *strut;
    int dropped_stubs, dropped_pieces;
    sp_left_out left_out; /* of dropped_pieces */
    double compared;      /* see near.h */
} sp_space;

void sp_space_free(sp_space *space);

/* Add a joint inside the box or on it; within 1e-6 of the smallest side of a face it is put on that face. Its number is
 * joint_count - 1. Errors: SP_BAD_NETWORK (too many), SP_NO_MEMORY. */
sp_status sp_space_add_joint(sp_context *context, sp_space *space, const double at[3]);
/* Add a strut between two joints; `like` gives all but the joints and the origin. */
sp_status sp_space_add_strut(sp_context *context, sp_space *space, int a, int b,
                             const sp_space_strut *like);
/* Add the part of the segment A B inside the box with joints of its own; nothing when there is none. Joints at the same
 * place become one in sp_space_finish. */
sp_status sp_space_add_clipped(sp_context *context, sp_space *space, const double a[3],
                               const double b[3], const sp_space_strut *like);

/* From raw joints and struts to a network with zones, flaws and figures; `space` is used up (free it all the same).
 * Struts are cut where they meet, joints closer than 0.3 of the thinner strut joined, doubles and struts with a free end
 * that no platen holds dropped, joints in straight runs dissolved, and the pieces that reach both platens are
 * kept. Uses flaws, model.joint_zone and flaws.seed of the case; with_flaws 0: a perfect network. cell_size is left to
 * the caller. Errors: SP_BAD_CASE at `key` when nothing is left that reaches both platens, SP_NO_MEMORY. On failure
 * *network is empty. */
sp_status sp_space_finish(sp_context *context, const sp_case *request, const char *key,
                          int with_flaws, sp_space *space, sp_network *network);

/* ---- parts of it ---- */

double sp_space_distance(const double a[3], const double b[3]);
double sp_space_length(const sp_space *space, int strut);
double sp_space_slimmest(const sp_space_strut *strut); /* diameter or smaller side [mm] */
/* Take removed struts and joints without struts out. */
sp_status sp_space_compact(sp_context *context, sp_space *space);
/* Struts at each joint: those of joint n are list[first[n]] .. list[first[n+1]-1]. Both are the caller's to free. */
sp_status sp_space_incidence(sp_context *context, const sp_space *space, int **first, int **list);

/* split.c: cut struts where a joint lies on them and where two of them cross, closer than `share` of the thinner;
 * *changed counts the cuts. */
sp_status sp_space_split(sp_context *context, sp_space *space, double share, int *changed);
/* merge.c: put joints beside a platen onto it, join those that are close; *changed counts them. */
sp_status sp_space_merge(sp_context *context, sp_space *space, double share, int *changed);
/* merge.c: share x the thinnest strut at each joint; NULL without memory, else the caller's to free. */
double *sp_space_reach(const sp_space *space, double share);
/* drop.c: remove doubles and loose ends, dissolve joints in straight runs; *changed counts them. */
sp_status sp_space_drop(sp_context *context, sp_space *space, int *changed);
/* drop.c: keep the connected pieces that reach both platens; *spans is 0 when there is none. */
sp_status sp_space_keep_spanning(sp_context *context, sp_space *space, int *spans);
/* clean.c: give ends at the same place one joint. */
sp_status sp_space_join_ends(sp_context *context, sp_space *space);
/* clean.c: the four above until nothing changes. */
sp_status sp_space_clean(sp_context *context, const sp_case *request, const char *key,
                         sp_space *space);

/* flaws.c: drop infill struts and move joints; fill thickness, bow and section axes of a finished network. */
sp_status sp_space_flaws_missing(sp_context *context, const sp_case *request, sp_space *space);
sp_status sp_space_flaws_move_joints(sp_context *context, const sp_case *request, int origin_count,
                                     sp_space *space);
sp_status sp_space_flaws_struts(sp_context *context, const sp_case *request, const int *origin,
                                int origin_count, sp_network *network);

/* figures.c: section of a strut [mm2]. */
double sp_space_section(double thickness, double height);
/* Length of the infill x section / volume of the box: a strut in a face counts half, on an edge a quarter. */
double sp_space_line_share(const sp_network *network);
/* Volume of the union of all struts inside the box / volume of the box (docs/theory.md E54). */
sp_status sp_space_solid(sp_context *context, sp_network *network);

#endif
