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
#define SP_SECTION_FIBRES_MAX (2 * (SP_SECTION_POINTS_MAX + 1))

/* An element at the end of a strut that yields is asked at two places along it, because its hinge
 * is at the joint: its fibres are those of the place by the joint and then those of the other
 * (E222). */
typedef struct sp_two_places {
    int first;        /* fibres of the place by the joint; 0: an element is asked in its middle */
    double share;     /* of the length of the element, for which the place by the joint stands */
    double back;      /* share / (1 - share): what the other place has less for what it has more */
    double turn, bow; /* of a strain that goes from place to place, see E223 */
} sp_two_places;

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
    sp_two_places two;
} sp_section;

/* Strains of a section. Where it is asked at two places, eps and kappa are means along the element,
 * and the place by the joint has `more_eps` and `more_kappa` more. */
typedef struct sp_section_strain {
    double eps, kappa, more_eps, more_kappa;
} sp_section_strain;

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

/* Let a section stand for two places along an element of `length`, of which the one by the joint
 * stands for the share of three quarters of a thickness, but a quarter at least and a half at most.
 * E222 */
void sp_section_split(sp_section *section, double length);

/* Find the resultants at a strain, after the history of the fibres (points x count of the law;
 * NULL: none). energy = +inf when a fibre leaves the domain of the law. No allocation. */
void sp_section_eval(const sp_section *section, const sp_section_strain *strain,
                     const double *history, sp_resultants *out);

/* Find those of the place by the joint, and those of the other. */
void sp_section_eval_two(const sp_section *section, const sp_section_strain *strain,
                         const double *history, sp_resultants out[2]);

/* Enter a state into the history of a law that has one; returns the energy dissipated so far [N].
 */
double sp_section_keep(const sp_section *section, const sp_section_strain *strain, double *history);

/* Return the energy that the fibres store and have dissipated when a step of a law in time ends at
 * this state [N], see sp_law_spent. */
double sp_section_spent(const sp_section *section, const sp_section_strain *strain,
                        const double *history);

/* Return the largest |fibre strain| at the two faces. */
double sp_section_fibre_strain(const sp_section *section, const sp_section_strain *strain);

#endif
