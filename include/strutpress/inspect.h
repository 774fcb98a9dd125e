/* What can be said of a case without pressing it: names against the rows, the figures of `check`,
 * the tables of `list`.
 *
 * Units: mm, MPa, g, degrees; densities are fractions. Ownership: structures are the caller's;
 * texts of rows live as long as the program. Errors: each function names its own. Threads: from
 * several at once, each with its own case and context. */
#ifndef STRUTPRESS_INSPECT_H
#define STRUTPRESS_INSPECT_H

#include <strutpress/case.h>
#include <strutpress/network.h>

SP_PUBLIC_BEGIN

typedef struct sp_inspection {
    int dimension;                  /* of the network */
    int bonds;                      /* between layers; counted neither as infill nor as walls */
    int infill_struts, wall_struts; /* walls, plates; spatial: face plates and side frames */
    int joints;
    double cells_across; /* coupon width / cell size; NaN for a drawn network */
    double cell_size;    /* [mm]; NaN for a drawn network */
    /* For a planar network these are the two shifts that leave the endless pattern as it is, turned
     * as it lies in the coupon; for random cells one mean cell; NaN for drawn and spatial networks
     * [mm]. */
    double lattice[2][2];
    double solid_fraction, nominal_density;
    double mass; /* [g] */
    /* These lengths are of infill struts between their joint zones. */
    double free_length_median; /* [mm] */
    /* free length / radius of gyration: t / sqrt 12, round d / 4 */
    double slenderness_least, slenderness_median, slenderness_most;
    int short_struts; /* free length below two bead widths or diameters */
    /* the law in its strain state */
    double law_modulus; /* slope at no strain [MPa]; 4/3 of E in plane strain when incompressible */
    double stretch_min, stretch_max; /* stable between these; searched on 0.05 .. 8 */
    /* This is the solid block of the size of the coupon (E84, E85); both are 0 when the law is not
     * reversible. */
    double shape_factor, solid_raise;
    /* Hardness band of Young's modulus, and the value of it that is used [MPa]; all 0 without a
     * hardness. */
    double modulus_centre, modulus_low, modulus_high;
} sp_inspection;

/* Find the figures of a network that was built for this case, and of its law. It warns of what
 * makes a press doubtful: a flat coupon of layers, most struts shorter than two bead widths or
 * diameters between their joints, fewer than 3 cells across, a modulus outside its hardness band, a
 * law that loses stability. Errors: those of the law (SP_BAD_CASE, SP_NO_READ), SP_NO_MEMORY. */
sp_status sp_inspect(sp_context *context, const sp_case *request, const sp_network *network,
                     sp_inspection *inspection);

/* A row for people: a pattern or law by name. Members without content are "". */
typedef struct sp_listed {
    const char *name, *alias, *doc;
    const char *needs; /* laws: the keys of `material` it reads */
    /* patterns: 2 planar, extruded through the depth; 3 spatial; 0 the solid block; laws: 0 */
    int dimension;
    double angle; /* planar patterns: turn of a case that gives none [deg]; NaN: it has none */
} sp_listed;
int sp_list_pattern_count(void);
sp_listed sp_list_pattern_at(int row);
int sp_list_law_count(void);
sp_listed sp_list_law_at(int row);

SP_PUBLIC_END

#endif
