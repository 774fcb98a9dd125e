/* This is the layer between a contact point and a straight piece of the centreline of another
 * strut.
 *
 * A strut squashes like a plane-strain incompressible neo-Hookean layer: per length of strut, layer
 * thickness R ("rest") and shear modulus G, the energy is R G w(l) with w = (l^2 + l^-2 - 2)/2 and
 * l = distance / R (E8; w is U_c in docs/theory.md). Instead of looking for a nearest point, which
 * jumps at bends, the energy of a point is an integral over all of the other centreline, w = int
 * chi(distance^2/R^2) ds/R, with the kernel chi of E9 chosen such that an endless straight line
 * gives w(l). The integral over a straight piece has a closed form, pieces add up, nothing is
 * searched, and the result is smooth at bends, joints and ends. It grows without bound as the
 * distance goes to zero.
 *
 * Round struts begin to touch on a line or in a point: they have a kernel of their own, which
 * follows a roller between plates side by side and Hertz's force where they cross (E246). */
#ifndef SP_LINE_H
#define SP_LINE_H

/* Two kinds of faces press on each other: flat faces press all over at once, round struts with more
 * and more of their width. */
typedef enum sp_faces { SP_FLAT_FACES, SP_ROUND_FACES } sp_faces;

/* Return energy / (R G) of the point at v = p - a against the piece from a to a + length * n, where
 * n is its unit direction, all in mm; the layer reaches as far as `rest` (0: not at all). gradient
 * (4) and Hessian (16, both triangles) are by v and e = length * n. It is 0 out of reach, and both
 * are untouched then; it is +inf when the point lies on the piece. */
double sp_line_energy(const double v[2], const double n[2], double length, double rest,
                      double gradient[4], double hessian[16]);

/* Do the same in space: gradient (6) and Hessian (36, both triangles) are by v and e = length * n.
 * For flat faces it equals sp_line_energy where everything lies in one plane (E57). */
double sp_line_energy_spatial(sp_faces faces, const double v[3], const double n[3], double length,
                              double rest, double gradient[6], double hessian[36]);

/* Return the energy w(l) of E8, and the pressure / G, which is -dw/dl; both are 0 where nothing
 * touches. Tests compare the layer with them. */
double sp_layer_energy(double l);
double sp_layer_pressure(double l);

/* Find the layer between a contact point and a flat platen: w, and its first and second derivative
 * by l < 1. The pressure is -dw/dl. For flat faces it is exactly that of E8 beyond a squash of 5 %,
 * and rises smoothly from zero before that (E10); for round ones it is that of the kernel for an
 * endless line. */
void sp_layer_smooth(sp_faces faces, double l, double w[3]);

/* Return the square of the distance of the point from the piece. It is inlined, because most points
 * near a piece are out of reach. */
static inline double sp_line_square(const double v[2], const double n[2], double length)
{
    const double along = v[0] * n[0] + v[1] * n[1], aside = v[1] * n[0] - v[0] * n[1];
    const double beyond = along < 0 ? along : along > length ? along - length : 0;
    return aside * aside + beyond * beyond;
}

static inline double sp_line_square_spatial(const double v[3], const double n[3], double length)
{
    const double along = v[0] * n[0] + v[1] * n[1] + v[2] * n[2];
    const double foot = along < 0 ? 0 : along > length ? length : along;
    const double x = v[0] - foot * n[0], y = v[1] - foot * n[1], z = v[2] - foot * n[2];
    return x * x + y * y + z * z;
}

/* Return the distance of the point from the piece. */
double sp_line_distance(const double v[2], const double e[2]);

#endif
