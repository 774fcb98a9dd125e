/* Say in words how a coupon is printed, and how it is pressed. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/network.h>

#include "case/case_parts.h"

/* Height over width and depth: below this a coupon looks like a pad that was printed lying. */
static const double flat_share = 0.5;

int sp_built_is_flat(sp_built built)
{
    return built == SP_BUILT_PANELS || built == SP_BUILT_STACK;
}

void sp_network_printed_text(const sp_network *network, char *text, size_t size)
{
    const double depth = network->size[2];
    switch (network->built) {
    case SP_BUILT_EXTRUDED:
        snprintf(text, size,
                 "layers stacked along the depth (%.4g mm); each is the pattern in the plane of "
                 "width and height",
                 depth);
        break;
    case SP_BUILT_LAYERS:
        snprintf(text, size,
                 "layers stacked along the depth (%.4g mm); each has its own pattern in the plane "
                 "of width and height",
                 depth);
        break;
    case SP_BUILT_STACK:
        snprintf(text, size,
                 "flat: layers stacked along the height (%.4g mm); each has its own pattern in the "
                 "plane of width and depth",
                 network->size[1]);
        break;
    case SP_BUILT_PANELS:
        snprintf(
            text, size,
            "flat: layers stacked along the height (%.4g mm); each is the pattern in the plane "
            "of width and depth",
            network->size[1]);
        if (network->skin > 0) {
            const size_t used = strlen(text);
            snprintf(text + used, size - used, ", between full layers of %.4g mm on top and bottom",
                     network->skin);
        }
        break;
    case SP_BUILT_SPATIAL:
        snprintf(text, size, "struts in space; the way their beads are laid is not modelled");
        break;
    case SP_BUILT_SOLID:
        snprintf(text, size, "full; the way its beads are laid is not modelled");
        break;
    }
}

static int is_of_layers(const sp_network *network)
{
    return network->built == SP_BUILT_EXTRUDED || network->built == SP_BUILT_LAYERS;
}

/* Say the size of the coupon, also where only a block of it is pressed. */
static const double *size_of(const sp_network *network)
{
    return network->block ? network->whole : network->size;
}

void sp_network_pressed_text(const sp_network *network, char *text, size_t size)
{
    snprintf(text, size,
             "along the height (%.4g mm), between platens on the %.4g x %.4g mm faces%s",
             network->size[1], size_of(network)[0], size_of(network)[2],
             is_of_layers(network) ? "; this is in the plane of the layers: the printed part lies "
                                     "on its side"
             : network->built == SP_BUILT_PANELS
                 ? "; this is along the extrusion: the walls stand along the load"
             : network->built == SP_BUILT_STACK
                 ? "; this is through the stack: beads lie across the load"
                 : "");
    const size_t used = strlen(text);
    if (network->block && used < size)
        snprintf(text + used, size - used, "; a block of %.4g x %.4g mm%s is pressed in its place",
                 network->size[0], network->size[2],
                 network->mirror ? " whose sides are planes of symmetry" : "");
}

int sp_network_flat_text(const sp_network *network, const sp_case *request, char *text, size_t size)
{
    const double *all = network->size;
    const int stack = network->built == SP_BUILT_LAYERS;
    text[0] = '\0';
    if (request->origin[sp_case_row_find("press.direction")] == SP_ORIGIN_FILE) return 0;
    if (!is_of_layers(network) || !(all[1] < flat_share * fmin(all[0], all[2]))) return 0;
    snprintf(text, size,
             "Flat coupon: it is taken as printed %.4g mm tall, standing on its %.4g x %.4g mm "
             "side, and is pressed along its height of %.4g mm. A part that is printed flat and "
             "pressed from above is another test: %s. Which of the "
             "two is meant? press.direction: across is this one, %s is that.",
             all[2], all[0], all[1], all[1],
             stack ? "its beads lie across the load" : "its walls stand along the load",
             stack ? "through" : "along");
    return 1;
}

/* In thicker panels shear and compression of the bulk decide before a wall buckles (docs/theory.md,
 * section 16). */
static const double thick_share = 0.15; /* thickness / length of a panel */
static const double some_share = 0.1;   /* share of the walls that is worth a word */

int sp_network_panel_text(const sp_network *network, char *text, size_t size)
{
    double all = 0, thick = 0, low = 0;
    text[0] = '\0';
    for (int i = 0; i < network->panel_count; i++) {
        const sp_panel *panel = &network->panel[i];
        if (panel->role != SP_ROLE_INFILL) continue;
        const double whole = (panel->halved ? 2 : 1) * panel->length;
        all += panel->length;
        thick += panel->thickness > thick_share * whole ? panel->length : 0;
        low += network->size[1] - 2 * network->skin < whole ? panel->length : 0;
    }
    const double share = fmax(thick, low) / all;
    const char *how = thick > low ? "thicker than 0.15 of their length between joints"
                                  : "lower than they are long between joints";
    if (!(share > some_share)) return 0;
    if (share > 0.5)
        snprintf(text, size,
                 "Most walls are %s: walls as plates that buckle are not the model of such a "
                 "coupon, whose shear and bulk decide; its forces are indicative.",
                 how);
    else
        snprintf(text, size,
                 "Of the infill, %.0f %% by length is walls %s: their shear and bulk decide, and "
                 "plates that buckle are a poor model of them.",
                 100 * share, how);
    return 1;
}

/* Say what bonds between beads do not model (E272). */
int sp_network_stack_text(const sp_network *network, char *text, size_t size)
{
    text[0] = '\0';
    if (network->built != SP_BUILT_STACK) return 0;
    snprintf(text, size,
             "Pressed through the stack beads are beams that squash where they cross, over the "
             "patch in which two overlap and bonded as firmly as the filament itself: prints "
             "whose beads part, sag between the lines below or have round flanks are softer. "
             "Layers that lie on each other all along are walls: press.direction: along, without "
             "layers of their own, is their model.");
    return 1;
}

/* Folding walls lift a skin that is thinner than they are. E229 */
int sp_network_skin_text(const sp_network *network, const sp_case *request, char *text, size_t size)
{
    double thickest = 0;
    text[0] = '\0';
    if (!(network->skin > 0)) return 0;
    for (int i = 0; i < network->panel_count; i++)
        if (network->panel[i].role == SP_ROLE_INFILL)
            thickest = fmax(thickest, network->panel[i].thickness);
    if (request->platens != SP_PLATENS_BONDED)
        snprintf(text, size,
                 "The skins hold the ends of the walls sideways, whatever platens.hold is: a skin "
                 "is taken as one that neither stretches nor slides on its platen.");
    const size_t used = strlen(text);
    if (network->skin < thickest && used < size)
        snprintf(text + used, size - used,
                 "%sThe skins (%.3g mm) are thinner than the walls (%.3g mm): walls that fold "
                 "would lift them off the platens, and turn more easily at their ends than here.",
                 used ? " " : "", network->skin, thickest);
    return text[0] != '\0';
}

int sp_network_block_text(const sp_network *network, const sp_case *request, char *text,
                          size_t size)
{
    text[0] = '\0';
    if (!network->block && (network->built != SP_BUILT_PANELS || request->block == 0)) return 0;
    if (!network->block) {
        snprintf(
            text, size,
            "coupon.block %d is not used, and the whole coupon is pressed: there is no smaller "
            "block of at least that many cells a side that is cut as the coupon is.",
            request->block);
        return 1;
    }
    if (network->mirror) {
        snprintf(
            text, size,
            "A block of %.4g x %.4g mm between planes of symmetry is pressed in the place of "
            "the coupon of %.4g x %.4g mm (coupon.block_sides mirror): forces and energies are "
            "%.3g times its own, those of the middle of a wide part. Sides that are free and "
            "bulge are not in it, nor walls that press on their images beyond a side.",
            network->size[0], network->size[2], network->whole[0], network->whole[2],
            network->stands_for[SP_ROLE_INFILL]);
        return 1;
    }
    snprintf(text, size,
             "A block of %.4g x %.4g mm is pressed in the place of the coupon of "
             "%.4g x %.4g mm (coupon.block): forces and energies are those on its infill times "
             "%.3g and those on its perimeter walls times %.3g. What a wide coupon does sideways "
             "as a whole is not in it.",
             network->size[0], network->size[2], network->whole[0], network->whole[2],
             network->stands_for[SP_ROLE_INFILL], network->stands_for[SP_ROLE_WALL]);
    return 1;
}
