/* A section turns a law into stress resultants by quadrature through the thickness (E22 .. E24).
 *
 * fibre at eta in [-t/2, t/2]: stretch l = 1 + eps - eta kappa  (design: Reissner 1972 strains)
 *   energy  U  = b sum w W(l)          [N]       (per unit length of strut)
 *   force   N  = b sum w P(l)          [N]
 *   moment  M  = -b sum w eta P(l)     [N mm]    = dU/dkappa
 *   tangents Cee = dN/deps, Cek = dN/dkappa, Ckk = dM/dkappa */
#ifndef SP_SECTION_H
#define SP_SECTION_H

#include "law/law.h"

#define SP_SECTION_POINTS_MAX 16
#define SP_SECTION_FIBRES_MAX (SP_SECTION_POINTS_MAX + 1)

typedef struct sp_section {
    const sp_law *law;
    int points;
    double thickness, depth;              /* t, b [mm] */
    double eta[SP_SECTION_FIBRES_MAX];    /* Gauss points [mm] */
    double weight[SP_SECTION_FIBRES_MAX]; /* depth x Gauss weight [mm2] */
    double spread;            /* length that stretches over length that bends, 1 or more (E148) */
    double shear_stiffness;   /* ks G A [N], ks of the .c file */
    double bending_stiffness; /* small-strain E' b t^3 / 12 [N mm2] */
    double axial_stiffness;   /* small-strain E' b t [N] */
} sp_section;

typedef struct sp_resultants {
    double energy, force, moment;
    double c_ee, c_ek, c_kk;
} sp_resultants;

/* Make a rectangle of thickness t and depth b with `points` Gauss points (2 ..
 * SP_SECTION_POINTS_MAX). */
void sp_section_rectangle(sp_section *section, const sp_law *law, double thickness, double depth,
                          int points);

/* Let a strut stretch over `spread` times the length that bends. The parts that stretch without
 * bending, in the bodies of its joints, become a fibre in the middle. The resultants stay those of
 * the length that bends, and eps is its strain. E148 */
void sp_section_spread(sp_section *section, double spread);

/* Find the resultants at (eps, kappa), after the history of the fibres (points x count of the law;
 * NULL: none). energy = +inf when a fibre leaves the domain of the law. No allocation. */
void sp_section_eval(const sp_section *section, double eps, double kappa, const double *history,
                     sp_resultants *out);

/* Enter the state (eps, kappa) into the history of a law that has one; returns the energy
 * dissipated so far [N]. */
double sp_section_keep(const sp_section *section, double eps, double kappa, double *history);

/* Return the energy that the fibres store and have dissipated when a step of a law in time ends at
 * this state [N], see sp_law_spent. */
double sp_section_spent(const sp_section *section, double eps, double kappa, const double *history);

/* Return the largest |fibre strain| at the two faces. */
double sp_section_fibre_strain(const sp_section *section, double eps, double kappa);

#endif
