/* Do struts in space come too near each other, or pass through each other? Looked for with brute
 * force in the shapes of a press: all pieces of all struts, in all kept frames, in the plane too.
 */
#ifndef TESTS_NO_CROSSING_H
#define TESTS_NO_CROSSING_H

#include <strutpress/network.h>
#include <strutpress/path.h>

typedef struct no_crossing {
    double nearest;      /* smallest distance of two pieces, over that at which they touch */
    int frame, strut[2]; /* where */
    int passed;          /* pairs of pieces that pass through each other between two frames */
    int passed_frame, passed_strut[2]; /* the last of them, the frame after */
    /* Pairs of pieces that may or may not pass through each other: they meet on the straight way
     * between two frames, but it is long. */
    int unsure;
} no_crossing;

/* Pairs are those that press on each other: not those of one strut, not what is one body at a
 * joint. Distances are looked at where a pair is clear of each other unloaded, passing also where
 * it overlaps. */
no_crossing no_crossing_look(const sp_network *network, const sp_shapes *shapes);

/* Fail the test when any two pieces are nearer than `least` of touching, or have passed. */
void no_crossing_check(const sp_network *network, const sp_shapes *shapes, double least);

#endif
