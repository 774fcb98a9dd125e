/* The model of a coupon ends at these states: no press goes beyond them, whatever its steps. */
#ifndef SP_RANGE_H
#define SP_RANGE_H

#include "state/system.h"

/* Beside each end stand the words that follow "at a strain of ..., where". A law that is linear has
 * no end of its own, but lets a strut pass through no length at all. */
#define SP_RANGE_ROWS(X)                                                                           \
    X(SP_RANGE_INSIDE, "")                                                                         \
    X(SP_RANGE_LAW, "a strut is strained to the end of its law")                                   \
    X(SP_RANGE_SHORT, "a piece of a strut is squeezed to no length")                               \
    X(SP_RANGE_FOLDED, "a short strut is folded flat, its ends turned against each other by 180 "  \
                       "degrees")                                                                  \
    X(SP_RANGE_CRUSHED, "the material between the middles of two struts is squeezed to nothing")   \
    X(SP_RANGE_FLAT, "the coupon is pressed flat by a mass that still falls")

typedef enum {
#define SP_RANGE_ENUM(code, words) code,
    SP_RANGE_ROWS(SP_RANGE_ENUM)
#undef SP_RANGE_ENUM
} sp_range;

/* Return the end at which the last evaluated state stands, if any. SP_RANGE_FLAT is found by drops
 * instead (press/drop.c). */
sp_range sp_range_of(sp_system *system);
/* Return 1 when material between two struts is squeezed to nothing there (SP_RANGE_CRUSHED). */
int sp_range_is_crushed(sp_system *system);

const char *sp_range_text(sp_range range);

#endif
