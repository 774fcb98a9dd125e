/* Where the thickness of a strut changes along its length: ends that are printed thicker. */
#ifndef SP_PRINTING_TAPER_H
#define SP_PRINTING_TAPER_H

#include <strutpress/network.h>

enum { SP_CUTS_MAX = 4 };

/* Find the places between which a strut is a cone: the edges of its joint zones, and the places
 * where its tapers end. Distances from joint A [mm], without the ends; returns how many. */
int sp_taper_cuts(const sp_network *network, int strut, double at[SP_CUTS_MAX]);

#endif
