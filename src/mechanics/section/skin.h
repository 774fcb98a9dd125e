/* This file says how a skin acts under the edge of a panel: it is a solid layer on a platen,
 * pressed and turned along a strip as wide as the panel is thick (E225 to E228 of
 * docs/theory.md). */
#ifndef SP_SECTION_SKIN_H
#define SP_SECTION_SKIN_H

#include "section/spatial.h"

/* Return how far a layer of thickness `layer` on a rigid base gives way under a strip of width
 * `strip` with a load of 1 per length, divided by (1 - nu^2)/E (E226); and by what angle the strip
 * turns under a moment of 1 per length, divided by (1 - nu^2)/(E (strip/2)^2) (E227). */
double sp_skin_squash(double layer, double strip, double poisson_ratio);
double sp_skin_turn(double layer, double strip, double poisson_ratio);

/* Make the section of the element that stands for a stretch of the skin `width` long: axis 1
 * upright, axis 2 normal to the panel; its length is the thickness of the skin. Two fibres carry
 * both loads. */
void sp_skin_section(sp_spatial_section *section, const sp_law *law, double width, double thickness,
                     double skin);

#endif
