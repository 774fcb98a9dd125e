/* These are blocks of cubic cells with made-up states, for tests of what is written about spatial
 * coupons. Nothing is pressed. */
#ifndef TESTS_SPATIAL_BLOCK_H
#define TESTS_SPATIAL_BLOCK_H

#include "run/result.h"

enum { BLOCK_SIMPLE, BLOCK_BODY_CENTRED, BLOCK_KELVIN, BLOCK_KINDS };

/* Make a block with `cells` cells along every side. Struts in the lower and upper face have the
 * role wall; with `rectangles` they are flat bars. In the frames the block is evenly squashed to
 * half its height, with struts bent to half sines of growing height. The critical step has a
 * mode. */
void block_make(sp_result *made, int kind, int cells, double cell, double diameter, int rectangles,
                int frames);
void block_free(sp_result *made);

#endif
