/* Two struts of one layer (infill.layers) are walls as deep as the layer, which press on each other
 * with their sides.
 *
 * Each contact point measures in the plane across the depth direction n of its own section, which
 * turns with the node nearest to it: there it presses as in the plane, however far the two walls
 * have slipped along n, as long as they lie side by side (E80, E81). */
#ifndef SP_WALL_H
#define SP_WALL_H

#include "contact/parts.h"

/* Sides are flat: they press at two levels of the depth, the points of Gauss (of the height of a
 * layer, from its middle), so that walls do not tilt against each other or against a platen. E82 */
enum { SP_WALL_LEVELS = 2 };
static const double sp_wall_level[SP_WALL_LEVELS] = {-0.28867513459481287, 0.28867513459481287};

/* Return energy / (R G b) of a point at v from the beginning of a piece that goes on by e (not
 * along n), of layers `height` high along n, through the layer R = rest. Gradient (9) and Hessian
 * (81) are by v, e and the spin of n, second derivatives along geodesics; both are untouched when
 * it is 0. It is +inf when the point lies on the piece. */
double sp_wall_energy(const double v[3], const double e[3], const double n[3], double height,
                      double rest, double gradient[9], double hessian[81]);

/* Return the square of the distance from the piece in the plane across n. */
double sp_wall_square(const double v[3], const double e[3], const double n[3]);

/* Return by how much a wall on which this segment presses may be nearer than their middles say,
 * seen in the plane of the upright layer; 0 without layers [mm]. The walls of a pair slip by at
 * most their height, along a depth direction that leans, and press at levels of the depth. */
double sp_wall_aslant(const sp_contact *contact, int segment);
/* Return the same for the turn of one chain point since its depth direction was that in `before` (3
 * per point) [mm]. */
double sp_wall_turned(const sp_contact *contact, int point, const double *before);

/* These are functions of sp_contact_law for two segments of one layer. */
int sp_wall_is_within(sp_contact *contact, sp_candidate *c, double limit, double *distance);
double sp_wall_contact(sp_contact *contact, sp_candidate *c, double *gradient, sp_blocks *blocks);

#endif
