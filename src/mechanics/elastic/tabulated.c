/* The tabulated law takes the nominal stress of a free strut, measured against nominal strain, with
 * monotone cubics between the rows (E34, E35).
 *
 * Uniaxial P(l) is given by the cubics of table/cubic.h; W is their exact integral. Beyond the rows
 * the true stress goes on over the log strain with the last tangent, or level where that falls
 * (E250).
 *
 * A curve of one kind of test does not fix the energy of another. Plane strain is taken from the
 * free strut by equal I1: f(x) = +-sqrt(I1_uniaxial - 3) = (x - 1) sqrt(1 + 2/x) and g(l) =
 * +-sqrt(I1_plane - 3) = l - 1/l give the two free struts, one in tension and one in compression,
 * that have the I1 of plane strain l:
 *
 *   W(l) = 1/2 W_uniaxial(x+) + 1/2 W_uniaxial(x-),   f(x+) = g(l),  f(x-) = -g(l).
 *
 * Plane strain has I2 = I1, between free tension (I2 < I1) and free compression (I2 > I1): the mean
 * is exact for laws of I1 (neo-Hookean, Yeoh, Gent) and keeps W(l) = W(1/l), which every isotropic
 * incompressible solid has. f and g grow smoothly through 1, so x' = +-g'/f' has no singular point
 * and x'(1)^2 = 4/3, the ratio of the moduli. The side (compression or tension) that was measured
 * less far, or not at all, is continued by the same rule from the other one, f(x) = -f(y), with the
 * stress scaled to join its last row.
 *
 * Where compression was measured in a test of its own (material.table_compression), a difference of
 * the two sides belongs to the material. Then each side is continued by its own rows, and plane
 * strain takes the one free strut of its own side (E249), W(l) = W_uniaxial(x), f(x) = g(l).
 *
 * Both rules need roots and chain rules at every fibre. So W, which is a function of |g|, is worked
 * out once with its first two derivatives at places that are evenly apart. Between two places it is
 * the polynomial of the fifth degree through their values (E165), which is twice differentiable.
 * Beyond the last place W is worked out as above, and also between the first two places of a law
 * with two sides, whose modulus may change there within much less strain.
 *
 * table: rows of table/cubic.h with x the strain and y the stress, term_count of them, one 0 0; in
 * plane strain then the places, of a law with two sides those in tension and those in
 * compression. */
#include <math.h>

#include "base/alloc.h"
#include "table/cubic.h"
#include "law/invariants.h"
#include "table/table_file.h"

static const double warn_least = 0.3,
                    warn_most = 2;   /* a coupon gets here: say what was not measured */
static const int map_iterations = 6; /* Halley from a start within 6 %: 3 reach round-off */

/* In plane strain the places of |g| are this many per unit, from 0 on, up to stretches of 0.12 and
 * 8.1. */
enum { PLACES_A_UNIT = 64, PLACES = 8 * PLACES_A_UNIT + 1, PLACE_COLUMNS = 3 };

/* This is an index of constant[]: 1 where compression was measured in a test of its own. */
enum { TWO_SIDED };

/* ---- the map of stretches ---- */

/* Return f(x) with first and second derivative; q = sqrt(1 + 2/x). */
static void measure_f(double x, double *f, double *df, double *ddf)
{
    const double i = 1 / x, q = sqrt(1 + 2 * i), r = i * i / q, e = x - 1;
    *f = e * q;
    *df = q - e * r;
    *ddf = -2 * r + e * r * (2 * i - i * i / (q * q));
}

/* Solve f(x) = g for x. The starting values are exact at 1 and far away. */
static double solve_f(double g)
{
    const double near = fabs(g) * 0.57735026918962576; /* 1/f'(1) = 1/sqrt 3 */
    double x = g > 0 ? sqrt(1 + 2 * near + g * g) : 1 / (1 + near + 0.5 * g * g);
    for (int k = 0; k < map_iterations; k++) {
        double f, df, ddf;
        measure_f(x, &f, &df, &ddf);
        const double newton = (g - f) / df, change = newton / (1 + 0.5 * newton * ddf / df);
        x += change;
        if (fabs(change) <= 1e-6 * x)
            break; /* convergence is cubic: what is left is below round-off */
    }
    return x;
}

/* ---- preparing the table ---- */

/* Return the stress between the sorted rows and the unloaded state, by straight lines. */
static double stress_between(const sp_table_rows *rows, double strain)
{
    sp_table_row left = {-1, 0, 0}, right = {INFINITY, 0, 0};
    const sp_table_row unloaded = {0, 0, 0};
    for (int i = -1; i < rows->count; i++) {
        const sp_table_row *row = i < 0 ? &unloaded : &rows->row[i];
        if (row->strain <= strain && row->strain > left.strain) left = *row;
        if (row->strain > strain && row->strain < right.strain) right = *row;
    }
    if (isinf(right.strain)) return left.stress;
    const double share = (strain - left.strain) / (right.strain - left.strain);
    return left.stress + share * (right.stress - left.stress);
}

/* Find the stretch on the other side with the same I1, and the stress there: W(x) = W(y), so P(x) =
 * P(y) dy/dx. */
static double mirror(double y, double stress, double *x)
{
    double f, df_x, df_y, ddf;
    measure_f(y, &f, &df_y, &ddf);
    *x = solve_f(-f);
    measure_f(*x, &f, &df_x, &ddf);
    return -stress * df_x / df_y;
}

/* Continue the side that was measured less far with rows that follow from the other side. */
static sp_status continue_short_side(sp_context *context, const char *file, sp_table_rows *rows)
{
    const int count = rows->count;
    const sp_table_row first = rows->row[0], last = rows->row[count - 1];
    double reach_compression, reach_tension, df, ddf, scale = 1, at;
    measure_f(1 + fmin(first.strain, 0), &reach_compression, &df, &ddf);
    measure_f(1 + fmax(last.strain, 0), &reach_tension, &df, &ddf);
    const int compression_short = -reach_compression < reach_tension;
    const double reach = compression_short ? -reach_compression : reach_tension;
    const sp_table_row end = compression_short ? first : last;
    if (reach > 0) {
        mirror(1 + end.strain, end.stress,
               &at); /* the stretch of the other side where the two sides join */
        const double other = stress_between(rows, at - 1);
        scale = end.stress / mirror(at, other, &at);
    }
    if (reach <= 0 || (end.strain > warn_least - 1 && end.strain < warn_most - 1))
        sp_warn(context,
                "%s: no rows in %s beyond strain %g: continued from the rows in %s (energy by I1)",
                file, compression_short ? "compression" : "tension", reach > 0 ? end.strain : 0.0,
                compression_short ? "tension" : "compression");
    for (int i = 0; i < count; i++) {
        const sp_table_row row = rows->row[i];
        if ((row.strain > 0) != compression_short || row.strain == 0) continue;
        const double stress = scale * mirror(1 + row.strain, row.stress, &at);
        double f;
        measure_f(at, &f, &df, &ddf);
        if (fabs(f) <= 1.01 * reach || at < SP_LAW_SMALLEST_STRETCH) continue;
        const sp_status status = sp_table_add(context, rows, at - 1, stress, 0);
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

/* Warn where the rows of a side end that is continued by its own rule. */
static void tell_end(sp_context *context, const char *file, double strain)
{
    if (strain <= warn_least - 1 || strain >= warn_most - 1) return;
    sp_warn(context,
            "%s: no rows in %s beyond strain %g: the true stress goes on over the log strain with "
            "its last tangent",
            file, strain < 0 ? "compression" : "tension", strain);
}

static sp_status continue_sides(sp_context *context, const sp_case *request, sp_table_rows *rows,
                                sp_law *law)
{
    const double least = rows->row[0].strain, most = rows->row[rows->count - 1].strain;
    law->constant[TWO_SIDED] = law->has_corner = sp_table_has_compression(request);
    if (!sp_table_has_compression(request))
        return continue_short_side(context, request->table_file, rows);
    if (!(most > 0))
        return sp_fail(context, SP_NO_READ,
                       "%s: received no rows in tension, and material.table_compression is given; "
                       "valid: rows of positive strain, or material.table alone",
                       request->table_file);
    tell_end(context, request->table_compression, least);
    tell_end(context, request->table_file, most);
    return SP_OK;
}

static sp_status collect_rows(sp_context *context, const sp_case *request, sp_table_rows *rows,
                              sp_law *law)
{
    const char *file = request->table_file;
    int has_origin = 0;
    for (int i = 0; i < rows->count; i++) has_origin += rows->row[i].strain == 0;
    if (rows->count - has_origin < 2)
        return sp_fail(context, SP_NO_READ,
                       "%s: received %d rows besides 0 0; valid: at least 2 rows of nominal strain "
                       "and nominal stress [MPa]",
                       file, rows->count - has_origin);
    sp_status status = continue_sides(context, request, rows, law);
    if (status == SP_OK && !has_origin) status = sp_table_add(context, rows, 0, 0, 0);
    return status == SP_OK ? sp_table_sort(context, file, rows) : status;
}

/* ---- the places of plane strain ---- */

/* Go on from an end row: the true stress rises over the log strain with the tangent there, or stays
 * where it would fall. E250 */
static void go_on(const double *row, double strain, double *w, double *p, double *a)
{
    const double from = 1 + row[SP_CUBIC_X], l = 1 + strain, e = log(l / from);
    const double stress = row[SP_CUBIC_Y] * from;
    const double tangent = fmax(0, row[SP_CUBIC_SLOPE] * from * from + stress);
    const double now = stress + tangent * e;
    *w = row[SP_CUBIC_INTEGRAL] + e * (stress + 0.5 * tangent * e);
    *p = now / l;
    *a = (tangent - now) / (l * l);
}

static void eval_uniaxial(const sp_law *law, double strain, double *w, double *p, double *a)
{
    const double *first = law->table, *last = first + SP_CUBIC_COLUMNS * (law->term_count - 1);
    if (strain < first[SP_CUBIC_X])
        go_on(first, strain, w, p, a);
    else if (strain > last[SP_CUBIC_X])
        go_on(last, strain, w, p, a);
    else
        sp_cubic_eval(law->table, law->term_count, strain, w, p, a);
}

/* Add a share of the energy of the free strut x with f(x) = g, by the chain rule over x(l): P = P_u
 * x', A = A_u x'^2 + P_u x''. */
static void add_share(const sp_law *law, double share, double x, double dg, double ddg, double *w,
                      double *p, double *a)
{
    double f, df, ddf, energy, stress, tangent;
    measure_f(x, &f, &df, &ddf);
    const double dx = dg / df, ddx = (ddg - ddf * dx * dx) / df;
    eval_uniaxial(law, x - 1, &energy, &stress, &tangent);
    *w += share * energy;
    *p += share * stress * dx;
    *a += share * (tangent * dx * dx + stress * ddx);
}

static void work_out_plane_strain(const sp_law *law, double l, double *w, double *p, double *a)
{
    const double i = 1 / l, g = (l - 1) * (l + 1) * i, dg = 1 + i * i, ddg = -2 * i * i * i;
    /* f(x)^2 = g^2 is x^3 - (3 + g^2) x + 2 = 0, whose roots x, y and -(x + y) have the product -2
     */
    const double x = solve_f(fabs(g)), xx = x * x, y = 4 / (xx + sqrt(xx * xx + 8 * x));
    *w = *p = *a = 0;
    if (law->constant[TWO_SIDED] > 0) {
        add_share(law, 1, g < 0 ? y : x, dg, ddg, w, p, a);
        return;
    }
    add_share(law, 0.5, g < 0 ? y : x, dg, ddg, w, p, a);
    add_share(law, 0.5, g < 0 ? x : y, -dg, -ddg, w, p, a);
}

/* Find W, h W', h^2 W'' by |g| at places h apart, in tension (side 1) or compression (side -1). */
static void fill_places(const sp_law *law, double side, double *place)
{
    const double h = 1.0 / PLACES_A_UNIT;
    for (int k = 0; k < PLACES; k++, place += PLACE_COLUMNS) {
        const double g = k * h, long_one = 0.5 * (g + sqrt(g * g + 4));
        const double l = side > 0 ? long_one : 1 / long_one, i = 1 / l;
        const double dg = 1 + i * i, ddg = -2 * i * i * i;
        double w, p, a;
        work_out_plane_strain(law, l, &w, &p, &a);
        const double slope = k == 0 ? 0 : p / dg;
        place[0] = k == 0 ? 0 : w;
        place[1] = h * side * slope;
        place[2] = h * h * (a - slope * ddg) / (dg * dg);
    }
}

/* Return the stretch in the law's own strain state that has the I1 of a free strut. */
static double stretch_of(const sp_law *law, double strain)
{
    double g, dg, ddg;
    if (law->strain_state == SP_UNIAXIAL) return 1 + strain;
    measure_f(1 + strain, &g, &dg, &ddg);
    const double long_one = 0.5 * (fabs(g) + sqrt(g * g + 4));
    return g < 0 ? 1 / long_one : long_one;
}

static sp_status fill_table(sp_context *context, const sp_table_rows *rows, sp_law *law)
{
    const int n = rows->count;
    const size_t places = PLACES * PLACE_COLUMNS, rows_size = (size_t)n * SP_CUBIC_COLUMNS;
    const size_t sides = law->strain_state == SP_UNIAXIAL ? 0
                         : law->constant[TWO_SIDED] > 0   ? 2
                                                          : 1;
    law->table = sp_alloc(rows_size + sides * places, sizeof *law->table);
    if (!law->table) return sp_fail(context, SP_NO_MEMORY, "no memory for the table of a law");
    law->term_count = n;
    law->rows_least = stretch_of(law, rows->row[0].strain);
    law->rows_most = stretch_of(law, rows->row[n - 1].strain);
    int origin = 0;
    for (int i = 0; i < n; i++) {
        double *row = law->table + SP_CUBIC_COLUMNS * i;
        row[SP_CUBIC_X] = rows->row[i].strain;
        row[SP_CUBIC_Y] = rows->row[i].stress;
        if (rows->row[i].strain == 0) origin = i;
    }
    law->table[SP_CUBIC_COLUMNS * origin + SP_CUBIC_INTEGRAL] = 0;
    sp_cubic_slopes(law->table, n);
    sp_cubic_limit(law->table, n);
    sp_cubic_integrals(law->table, n, origin);
    law->shear_modulus = law->table[SP_CUBIC_COLUMNS * origin + SP_CUBIC_SLOPE] / 3;
    if (sides > 0) fill_places(law, 1, law->table + rows_size);
    if (sides > 1) fill_places(law, -1, law->table + rows_size + places);
    return SP_OK;
}

sp_status sp_law_tabulated_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    sp_table_rows rows = {0};
    sp_status status = sp_table_of_case(context, request, &rows);
    if (status == SP_OK) status = collect_rows(context, request, &rows, law);
    if (status == SP_OK) status = fill_table(context, &rows, law);
    sp_table_free(&rows);
    return status;
}

/* ---- evaluation ---- */

static void eval_plane_strain(const sp_law *law, double l, double *w, double *p, double *a)
{
    const double i = 1 / l, g = (l - 1) * (l + 1) * i, at = PLACES_A_UNIT * fabs(g);
    const int two_sided = law->constant[TWO_SIDED] > 0;
    if (!(at < PLACES - 1) || (two_sided && at < 1)) {
        work_out_plane_strain(law, l, w, p, a);
        return;
    }
    const int side = g < 0 && two_sided, k = (int)at + side * PLACES;
    const double *from = law->table + SP_CUBIC_COLUMNS * law->term_count + PLACE_COLUMNS * k;
    const double *to = from + PLACE_COLUMNS, t = at - (int)at;
    const double rise = to[0] - from[0] - from[1] - 0.5 * from[2];
    const double turn = to[1] - from[1] - from[2], bend = to[2] - from[2];
    const double c3 = 10 * rise - 4 * turn + 0.5 * bend, c4 = -15 * rise + 7 * turn - bend,
                 c5 = 6 * rise - 3 * turn + 0.5 * bend;
    *w = from[0] + t * (from[1] + t * (0.5 * from[2] + t * (c3 + t * (c4 + t * c5))));
    const double dw = from[1] + t * (from[2] + t * (3 * c3 + t * (4 * c4 + t * 5 * c5)));
    const double ddw = from[2] + t * (6 * c3 + t * (12 * c4 + t * 20 * c5));
    const double slope = (g < 0 ? -PLACES_A_UNIT : PLACES_A_UNIT) * dw, dg = 1 + i * i;
    *p = slope * dg;
    *a = (PLACES_A_UNIT * PLACES_A_UNIT) * ddw * dg * dg - 2 * slope * i * i * i;
}

void sp_law_tabulated_eval(const sp_law *law, int n, const double *restrict stretch,
                           double *restrict w, double *restrict p, double *restrict a)
{
    for (int k = 0; k < n; k++) {
        const double l = sp_law_inside(stretch[k]);
        double energy;
        if (law->strain_state == SP_UNIAXIAL)
            eval_uniaxial(law, l - 1, &energy, &p[k], &a[k]);
        else
            eval_plane_strain(law, l, &energy, &p[k], &a[k]);
        w[k] = sp_law_energy(stretch[k], energy);
    }
}
