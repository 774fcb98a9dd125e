/* A coupon of which a piece can move without resistance is refused before the press, by the same
 * rule for every kind of hold. */
#ifndef SP_MECHANISM_H
#define SP_MECHANISM_H

#include "model/model.h"

/* This says how a piece of the network can move as a rigid body, if it can. */
typedef struct sp_mechanism {
    /* This is the smallest pivot of G (mechanism.c) of the piece that moves, or, where none can
     * move, of all pieces. */
    double least;
    int moves;        /* 1: a piece can move; else nothing below is set */
    int piece;        /* the first one that can, in the order of their first nodes */
    int lower, upper; /* its joints on the platens */
    int joint;        /* the joint of it that moves furthest */
    double turn[3];   /* about x, y, z, times the size of the piece, and */
    double move[3];   /* of its middle: largest move of a joint 1 */
} sp_mechanism;

/* Look for a piece that can move. Errors: SP_NO_MEMORY. */
sp_status sp_mechanism_find(sp_context *context, const sp_model *model, sp_mechanism *found);

/* Fail with SP_BAD_NETWORK when a piece can move, naming the joint that moves furthest, what it
 * does and what would hold it. */
sp_status sp_mechanism_refuse(sp_context *context, const sp_model *model);

#endif
