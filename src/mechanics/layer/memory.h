/* This is the memory of the layers of one press: what each has seen in time. A layer stands between
 * a contact point and each piece or platen on which the point was pressed in an accepted state.
 *
 * A point that slides on to another piece of a strut finds a fresh layer there; where the same
 * place of a strut is pressed again by another point, it is fresh, too. */
#ifndef SP_LAYER_MEMORY_H
#define SP_LAYER_MEMORY_H

#include <stdint.h>

#include <strutpress/context.h>

#include "layer/layer.h"

/* This says where a layer is: at point `which` of `points` on a segment (`side` 0: the first of the
 * pair, 1: the second). */
typedef struct sp_layer_place {
    uint64_t pair;                          /* sp_layer_pair */
    int side, which, points, points_beyond; /* `beyond`: on the other segment */
} sp_layer_place;

/* Return the key of a pair of segments at one level of the depth; where `to` is below 0, it is a
 * platen. */
static inline uint64_t sp_layer_pair(int from, int to, int level)
{
    return ((uint64_t)(4 * (int64_t)from + level) << 32) | (uint32_t)(to + 2);
}

/* This is a layer that is pressed now and was not at the last accepted state. */
typedef struct sp_layer_fresh {
    sp_layer_place place;
    double stiffness, w;
} sp_layer_fresh;

typedef struct sp_layer_memory {
    const sp_law *law;
    int on;           /* 0: not a law in time; then nothing below is used */
    double modulus;   /* see layer.h */
    int count;        /* doubles of a history */
    double step_time; /* of the present step [s] ... */
    int armed;        /* ... 0: the layers are armed for it when the next evaluation begins */
    double *fresh;    /* history of a layer that was never pressed, for the present step */

    int slot_count, slot_capacity;
    double *stiffness, *now; /* 1 per slot; `now`: w at the last evaluation, 0: not pressed */
    double *strain;          /* 1 per slot: work space */
    double *history;         /* count per slot */

    /* The pairs that have slots are in a table by their key, with open addressing, beside the slots
     * that each pair owns. */
    int pair_count, pair_capacity; /* capacity: a power of 2 */
    uint64_t *key;                 /* 0: empty */
    int *first;                    /* of a pair: slots of its points (-1: none), side 0 first */
    int place_count, place_capacity, *slot;

    int fresh_count, fresh_capacity; /* at the last evaluation */
    sp_layer_fresh *pressed;
    int no_room; /* 1: some found no room, see sp_layer_reserve */
} sp_layer_memory;

sp_status sp_layer_memory_create(sp_context *context, const sp_law *law, double modulus,
                                 sp_layer_memory *memory);
void sp_layer_memory_free(sp_layer_memory *memory);
/* Copy the histories of one state to another state of an equal coupon, whose own histories are
 * replaced. Errors: SP_NO_MEMORY. */
sp_status sp_layer_memory_copy(sp_context *context, const sp_layer_memory *from,
                               sp_layer_memory *to);

/* Begin an evaluation, then give every layer that is pressed in it. The potential gets `stiffness`
 * times the answer. */
void sp_layer_begin(sp_layer_memory *memory);
sp_layer_answer sp_layer_press(sp_layer_memory *memory, const sp_layer_place *place,
                               double stiffness, double w);
/* Make room after an evaluation, so that it can be accepted. Errors: SP_NO_MEMORY. */
sp_status sp_layer_reserve(sp_context *context, sp_layer_memory *memory);

/* Make the layers ready for a step of dt seconds. */
void sp_layer_memory_arm(sp_layer_memory *memory, double dt);
/* Accept the last evaluation. */
void sp_layer_memory_keep(sp_layer_memory *memory);
/* Sum what all layers store and have dissipated at the last evaluation, less their part of the
 * potential [mJ]; and what they have dissipated up to the last accepted state, in which ways. */
double sp_layer_memory_difference(const sp_layer_memory *memory);
void sp_layer_memory_add_lost(const sp_layer_memory *memory, sp_law_lost *lost);

#endif
