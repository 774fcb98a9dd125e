/* These functions check by brute force whether struts come too near each other, or pass through
 * each other, in the shapes of a press: all pieces of all struts, in all kept frames, in space and
 * in the plane. */
#ifndef TESTS_NO_CROSSING_H
#define TESTS_NO_CROSSING_H

#include <strutpress/network.h>
#include <strutpress/path.h>

typedef struct no_crossing {
    double nearest;      /* smallest distance of two pieces, over that at which they touch */
    int frame, strut[2]; /* where */
    int passed;          /* pairs of pieces that pass through each other between two frames */
    int passed_frame, passed_strut[2]; /* the last of these pairs; the frame is the one after */
    /* Pairs of pieces that may or may not pass through each other: they meet on the straight way
     * between two frames, but that way is long. */
    int unsure;
} no_crossing;

/* Look at the pairs of pieces that press on each other: not those of one strut, nor those that are
 * one body at a joint. Distances are checked for pairs that do not overlap in the unloaded coupon,
 * passing for all of them. */
no_crossing no_crossing_look(const sp_network *network, const sp_shapes *shapes);

/* Fail the test when any two pieces are nearer than `least` of touching, or have passed. */
void no_crossing_check(const sp_network *network, const sp_shapes *shapes, double least);

#endif
