/* Say in words that a coupon has very few cells. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/network.h>

/* Cells across or along the load; common practice, no source. */
static const double fewest_cells = 2.0;
static const double round_off = 1e-9;

/* Count the cells that fit into one direction; the case has counted those of stretched cells. */
static double cells_in(const sp_network *network, int counted, double size)
{
    return network->built == SP_BUILT_SPATIAL && counted ? counted : size / network->cell_size;
}

int sp_network_few_cells_text(const sp_network *network, const sp_case *request, char *text,
                              size_t size)
{
    text[0] = '\0';
    if (!(network->cell_size > 0) || network->block)
        return 0; /* a drawn coupon, one without holes, or a block of the whole */
    const double wide = cells_in(network, request->cells_x, network->size[0]);
    const int is_flat = sp_built_is_flat(network->built); /* its pattern is seen from above */
    const double high = cells_in(network, request->cells_y, network->size[is_flat ? 2 : 1]);
    char which[64] = "";
    if (high < fewest_cells * (1 - round_off))
        snprintf(which, sizeof which, "%.2g cells %s", high, is_flat ? "deep" : "high");
    if (wide < fewest_cells * (1 - round_off)) {
        const size_t used = strlen(which);
        snprintf(which + used, sizeof which - used, "%s%.2g cells wide", used ? " and " : "", wide);
    }
    if (!which[0]) return 0;
    snprintf(text, size,
             "The coupon is %s: with less than %g, platens and rim decide what it carries, and "
             "where the "
             "pattern is cut (infill.offset) matters as much as which it is.",
             which, fewest_cells);
    return 1;
}
