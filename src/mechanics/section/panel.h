/* This is the section of a bar of a panel. A framework of such bars stands for the plate (E100 to
 * E102 of docs/theory.md).
 *
 * Axis 1 is along the bar, axis 2 normal to the panel, axis 3 in the panel. Fibres are spread
 * through the thickness only: the bar bends out of the panel (about axis 3). It resists twist on
 * free edges only, and bending in the panel by a hundredth of the stiffness of a bar of its width,
 * which keeps its nodes from spinning freely there. */
#ifndef SP_SECTION_PANEL_H
#define SP_SECTION_PANEL_H

#include "section/spatial.h"

/* Make the section. `width` is that of the bar in the panel, `thickness` that of the panel. `rim`
 * serves a bar on a free edge, else it is 0: the width, half a cell, of the strip along the edge
 * that the framework does not twist, so that the bar does [mm]. `points` is the number of Gauss
 * points through the thickness (2 .. 8). Poisson's ratio of the framework is 1/3. The distances of
 * the fibres from the middle are stretched such that the panel bends like one with the ratio of the
 * law, while in its own plane it has the modulus of the law (E101). */
void sp_panel_section(sp_spatial_section *section, const sp_law *law, double width,
                      double thickness, double rim, int points);

#endif
