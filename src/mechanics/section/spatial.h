/* Sections of struts in space are integrated by quadrature of a law over the area, with bending
 * about both axes.
 *
 * Section axis 1 is along the strut, 2 and 3 are across it. For a fibre at (y, z) on axes 2 and 3:
 *   stretch   l = 1 + e + z k2 - y k3
 *   energy    U = sum w W(l)  [N],    N = dU/de,  M2 = dU/dk2,  M3 = dU/dk3
 * (E49, E50 of docs/theory.md). Shear and torsion are linear, with the stiffnesses below. */
#ifndef SP_SECTION_SPATIAL_H
#define SP_SECTION_SPATIAL_H

#include "law/law.h"

#define SP_SPATIAL_POINTS_MAX 64
#define SP_SPATIAL_FIBRES_MAX (SP_SPATIAL_POINTS_MAX + 1)
#define SP_SPATIAL_SIDE_MAX 8 /* points along one side of a rectangle, rings of a circle */

typedef enum sp_shape {
    SP_SHAPE_CIRCLE,
    SP_SHAPE_RECTANGLE,
    SP_SHAPE_PANEL,
    SP_SHAPE_SKIN
} sp_shape;

typedef struct sp_spatial_section {
    const sp_law *law;
    sp_shape shape;
    double size[2]; /* along axes 2 and 3; a circle has its diameter twice        [mm] */
    int points;
    double y[SP_SPATIAL_FIBRES_MAX];      /* [mm] */
    double z[SP_SPATIAL_FIBRES_MAX];      /* [mm] */
    double weight[SP_SPATIAL_FIBRES_MAX]; /* area of each point                   [mm2] */
    double spread;          /* length that stretches over length that bends, 1 or more (E148) */
    double axial_stiffness; /* small strain E' A                    [N] */
    double bending_stiffness[2]; /* E' I about axes 2 and 3              [N mm2] */
    double shear_stiffness[2];   /* ks G A along axes 2 and 3            [N] */
    double torsion_stiffness;    /* G J                                  [N mm2] */
} sp_spatial_section;

typedef struct sp_spatial_resultants {
    double energy;
    double force[3];      /* N, M2, M3 */
    double tangent[3][3]; /* d(N, M2, M3)/d(e, k2, k3), symmetric */
} sp_spatial_resultants;

/* Make a circle: `rings` Gauss points of the squared radius times 4 rings places around, at most 4
 * rings; exact for polynomials of degree 4 rings - 1 (product rule of the disc: Stroud 1971). Shear
 * factor 6 (1 + nu)/(7 + 6 nu) (Cowper 1966), J = pi d^4/32. */
void sp_spatial_circle(sp_spatial_section *section, const sp_law *law, double diameter, int rings);

/* Make a rectangle of sizes on axes 2 and 3, with `points` x `points` Gauss points (2 ..
 * SP_SPATIAL_SIDE_MAX). Shear factor 5/6 as in the plane (E25), J of Saint-Venant's torsion
 * (sp_rectangle_torsion). */
void sp_spatial_rectangle(sp_spatial_section *section, const sp_law *law, double size2,
                          double size3, int points);

/* Set another shear factor than that of the section's shape, along both axes. */
void sp_spatial_set_shear_factor(sp_spatial_section *section, double factor);

/* Do what sp_section_spread does. */
void sp_spatial_spread(sp_spatial_section *section, double spread);

/* Make the section stiffer in torsion, like a rectangle whose ends, `length` apart, cannot warp:
 * the mean stiffness of such a bar (Vlasov 1961; E83). */
void sp_spatial_hold_warping(sp_spatial_section *section, double length);

/* Return the torsion constant J [mm4] of a rectangle, with its sides in either order (Timoshenko &
 * Goodier 1970, article 109; E51). */
double sp_rectangle_torsion(double a, double b);

/* Find the resultants at strains (e, k2, k3), after the history of the fibres (points x count of
 * the law; NULL: none). energy = +inf when a fibre leaves the domain of the law. No allocation. */
void sp_spatial_section_eval(const sp_spatial_section *section, const double strain[3],
                             const double *history, sp_spatial_resultants *out);

/* Enter the strains into the history of a law that has one; returns the energy dissipated so far
 * [N]. */
double sp_spatial_section_keep(const sp_spatial_section *section, const double strain[3],
                               double *history);

/* Return the energy that the fibres store and have dissipated when a step of a law in time ends at
 * this state [N], see sp_law_spent. */
double sp_spatial_section_spent(const sp_spatial_section *section, const double strain[3],
                                const double *history);

/* Return the largest |fibre strain| on the outline. */
double sp_spatial_fibre_strain(const sp_spatial_section *section, const double strain[3]);

#endif
