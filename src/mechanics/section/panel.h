/* Section of a bar of a panel, which is a plate as a framework of such bars (E100 to E102 of
 * docs/theory.md).
 *
 * Axis 1 along the bar, axis 2 normal to the panel, axis 3 in it. Fibres lie through the thickness
 * only: the bar bends out of the panel (about axis 3). It twists on free edges only, and bends in
 * the panel by a hundredth of what a bar of its width does, which keeps its nodes from spinning
 * freely there. */
#ifndef SP_SECTION_PANEL_H
#define SP_SECTION_PANEL_H

#include "section/spatial.h"

/* `width` in the panel, `thickness` of the panel, `rim`: on a free edge the width of the strip
 * along it that the framework does not twist, half a cell, so that the bar does, else 0 [mm];
 * `points` Gauss points through the thickness (2 .. 8). Poisson's ratio of the framework is 1/3;
 * the fibres' distances from the middle are stretched such that the panel bends as one with that of
 * the law, while in its own plane it pulls with the modulus of the law (E101). */
void sp_panel_section(sp_spatial_section *section, const sp_law *law, double width,
                      double thickness, double rim, int points);

#endif
