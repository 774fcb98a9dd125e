/* From the lines of a pattern to panels that stand on them, each a framework of bars (E100, E101,
 * E106 of docs/theory.md).
 *
 * The pattern lies in its plane as it is printed, seen from above; its lines become panels as high
 * as the coupon, its joints the lines in which panels meet. x of the pattern is x of the coupon, y
 * of the pattern is depth - z. */
#ifndef SP_NETWORK_PANELS_H
#define SP_NETWORK_PANELS_H

#include <strutpress/network.h>

typedef struct sp_panel_mesh {
    double height;        /* of the coupon, from platen to platen [mm] */
    double skin;          /* of the full layer on either face, 0: none [mm] */
    int across;           /* cells along a panel of mean length; 0: chosen */
    double across_layers; /* modulus upright, across the layers / along the panel */
    double flanks;        /* height of the layers whose beads have round flanks, 0: flat [mm] */
    int mirror;           /* 1: the sides of the plan are planes of symmetry */
} sp_panel_mesh;

/* Widths of the bars of one cell of a panel, `along` x `up`: those along it, those upright, the
 * diagonals. As wide as that makes the framework a plate with Poisson's ratio 1/3; of a cell longer
 * than 1.5 times its other side the ratio is less, so that no width is negative, and what it
 * carries along either side alone is still right. Upright it carries `across_layers` times as much
 * as along it. */
void sp_panel_widths(double along, double up, double across_layers, double width[3]);

/* What round flanks leave of a wall that is `thickness` thick where its beads are widest, laid in
 * layers of `flanks`, as shares of a flat one: of its section along and upright, and of its bending
 * stiffness along and upright. E273 */
void sp_panel_flanks(double thickness, double flanks, double section[2], double bending[2]);

/* `plan`: the network of the pattern in its plane. Bars are struts, their crossings joints; figures
 * are those of the plan, with its skins. Errors: SP_NO_MEMORY. On failure *network is empty. */
sp_status sp_panels_build(sp_context *context, const sp_network *plan, const sp_panel_mesh *mesh,
                          sp_network *network);

#endif
