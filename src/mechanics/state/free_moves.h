/* These are rigid moves of the whole coupon that only the drag of friction platens holds (E76).
 * They are softer than any buckling mode, and must not be taken for one. */
#ifndef SP_FREE_MOVES_H
#define SP_FREE_MOVES_H

#include "state/system.h"

enum {
    SP_FREE_MOVES = 3
}; /* along x; in space along z, and about the upright through the middle */

typedef struct sp_free_moves {
    int count, which[SP_FREE_MOVES];
    double gram[SP_FREE_MOVES]
               [SP_FREE_MOVES]; /* count x count: their products by D of sp_sparse_factor */
} sp_free_moves;

/* Find the moves that are free in the evaluated state, whose matrix is in the solver: a move is
 * free only where all that it drags over the platens slides. Uses system->softest and
 * system->direction. */
void sp_free_moves_find(sp_system *system, sp_free_moves *moves);

/* Take the part along these moves out of v (unknown_count): what is left is orthogonal to them by
 * D. Uses system->direction. */
void sp_free_moves_take_out(sp_system *system, const sp_free_moves *moves, double *v);

#endif
