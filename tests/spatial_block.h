/* Blocks of cubic cells and made-up states of them, for tests of what is written of spatial
 * coupons. No press. */
#ifndef TESTS_SPATIAL_BLOCK_H
#define TESTS_SPATIAL_BLOCK_H

#include "run/result.h"

enum { BLOCK_SIMPLE, BLOCK_BODY_CENTRED, BLOCK_KELVIN, BLOCK_KINDS };

/* `cells` along every side. Struts in the lower and upper face have role wall; with `rectangles`
 * they are flat bars. Frames: evenly squashed to half the height, struts bent to half sines of
 * growing height. Critical step with a mode. */
void block_make(sp_result *made, int kind, int cells, double cell, double diameter, int rectangles,
                int frames);
void block_free(sp_result *made);

#endif
