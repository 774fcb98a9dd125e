/* Sections of struts in file formats that have round ones only. */
#ifndef SP_PRINTING_ROUND_SECTION_H
#define SP_PRINTING_ROUND_SECTION_H

#include <math.h>

#include <strutpress/network.h>

/* Return the height of a rectangular strut [mm]; 0 for a round strut and in a planar network. */
static inline double sp_strut_height(const sp_network *network, int strut)
{
    return network->strut_height ? network->strut_height[strut] : 0;
}

/* Return the diameter of a strut of a spatial network at a distance from joint A; for a rectangle
 * it is that of the circle of the same area [mm]. */
static inline double sp_round_diameter_at(const sp_network *network, int strut, double along)
{
    double t = sp_network_thickness_at(network, strut, along), h = sp_strut_height(network, strut);
    return h > 0 ? sqrt(4 / M_PI * t * h) : t;
}

/* Return the diameter of a strut away from its ends [mm]. */
static inline double sp_round_diameter(const sp_network *network, int strut)
{
    double t = network->strut_thickness[strut], h = sp_strut_height(network, strut);
    return h > 0 ? sqrt(4 / M_PI * t * h) : t;
}

#endif
