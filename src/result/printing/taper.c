/* Find the cuts of struts whose ends are thicker. */
#include "printing/taper.h"

#include <math.h>

static const double shortest = 1e-3; /* mm: no piece is shorter than twice this */

int sp_taper_cuts(const sp_network *network, int s, double at[SP_CUTS_MAX])
{
    if (!network->strut_taper || !(network->strut_taper[s] > 0)) return 0;
    const sp_layer_piece *piece = network->strut_piece ? &network->strut_piece[s] : NULL;
    const double own = sp_network_strut_length(network, s), from = piece ? piece->from : 0;
    const double *zone = piece ? piece->zone : network->strut_zone + 2 * (size_t)s;
    const double length = piece ? piece->length : own;
    const double reach = fmin(network->strut_taper[s], 0.5 * (length - zone[0] - zone[1]));
    const double place[SP_CUTS_MAX] = {zone[0], zone[0] + reach, length - zone[1] - reach,
                                       length - zone[1]};
    int count = 0;
    for (int i = 0; i < SP_CUTS_MAX; i++) {
        const double here = place[i] - from, before = count ? at[count - 1] : 0;
        if (here > before + 2 * shortest && here < own - 2 * shortest) at[count++] = here;
    }
    return count;
}
