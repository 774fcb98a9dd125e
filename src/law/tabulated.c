/* Tabulated: nominal stress of a free strut measured against nominal strain, monotone cubics between the rows (E34, E35).
 *
 *   h d     width and secant of an interval        m   slope at a row
 *   uniaxial P(l): cubic Hermite pieces (Fritsch & Carlson 1980), end tangent beyond the last row; W is their exact integral.
 *
 * A curve of one kind of test does not fix the energy of another. Plane strain is taken from the free strut by equal I1:
 * f(x) = +-sqrt(I1_uniaxial - 3) = (x - 1) sqrt(1 + 2/x) and g(l) = +-sqrt(I1_plane - 3) = l - 1/l give the two free struts,
 * one in tension and one in compression, that have the I1 of plane strain l:
 *
 *   W(l) = 1/2 W_uniaxial(x+) + 1/2 W_uniaxial(x-),   f(x+) = g(l),  f(x-) = -g(l).
 *
 * Plane strain has I2 = I1, between free tension (I2 < I1) and free compression (I2 > I1): the mean is exact for laws of I1
 * (neo-Hookean, Yeoh, Gent) and keeps W(l) = W(1/l), which every isotropic incompressible solid has. f and g grow smoothly
 * through 1, so x' = +-g'/f' has no singular point and x'(1)^2 = 4/3, the ratio of the moduli.
 * The side (compression or tension) that was measured less far, or not at all, is continued by the same rule from the other
 * one, f(x) = -f(y), with the stress scaled to join its last row.
 *
 * table: 4 per row: strain, stress, slope, energy; term_count rows, one of them 0 0. constant[0]: that row's index. */
#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "law/invariants.h"
#include "law/table_file.h"

enum { STRAIN, STRESS, SLOPE, ENERGY, COLUMNS };

static const double WARN_MIN = 0.3,
                    WARN_MAX = 2;    /* a coupon gets here: say what was not measured */
static const int MAP_ITERATIONS = 6; /* Halley from a start within 6 %: 3 reach round-off */

/* ---- the map of stretches ---- */

/* f(x) with first and second derivative; q = sqrt(1 + 2/x). */
static void measure_f(double x, double *f, double *df, double *ddf)
{
    const double i = 1 / x, q = sqrt(1 + 2 * i), r = i * i / q, e = x - 1;
    *f = e * q;
    *df = q - e * r;
    *ddf = -2 * r + e * r * (2 * i - i * i / (q * q));
}

/* x with f(x) = g. The starts are right at 1 and far away. */
static double solve_f(double g)
{
    const double near = fabs(g) * 0.57735026918962576; /* 1/f'(1) = 1/sqrt 3 */
    double x = g > 0 ? sqrt(1 + 2 * near + g * g) : 1 / (1 + near + 0.5 * g * g);
    for (int k = 0; k < MAP_ITERATIONS; k++) {
        double f, df, ddf;
        measure_f(x, &f, &df, &ddf);
        const double newton = (g - f) / df, change = newton / (1 + 0.5 * newton * ddf / df);
        x += change;
        if (fabs(change) <= 1e-6 * x)
            break; /* cubic convergence: what is left is below round-off */
    }
    return x;
}

/* ---- preparing the table ---- */

static int by_strain(const void *first, const void *second)
{
    const sp_table_row *a = first, *b = second;
    if (a->strain != b->strain) return a->strain < b->strain ? -1 : 1;
    return (a->line > b->line) - (a->line < b->line);
}

/* Sort by strain; the same strain twice is only fine with the same stress. */
static sp_status sort_rows(sp_context *context, const char *file, sp_table_rows *rows)
{
    if (rows->count > 1) qsort(rows->row, (size_t)rows->count, sizeof *rows->row, by_strain);
    int kept = 0;
    for (int i = 0; i < rows->count; i++) {
        const sp_table_row *row = &rows->row[i], *last = kept ? &rows->row[kept - 1] : NULL;
        if (last && row->strain - last->strain < 1e-9) {
            if (row->stress != last->stress)
                return sp_fail(context, SP_NO_READ,
                               "%s:%d: received stress %g at strain %g, but line %d has %g there; "
                               "valid: one stress per strain",
                               file, row->line, row->stress, row->strain, last->line, last->stress);
            continue;
        }
        rows->row[kept++] = *row;
    }
    rows->count = kept;
    return SP_OK;
}

/* Stress between the sorted rows and the unloaded state, by straight lines. */
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

/* The stretch on the other side with the same I1, and the stress there: W(x) = W(y), so P(x) = P(y) dy/dx. */
static double mirror(double y, double stress, double *x)
{
    double f, df_x, df_y, ddf;
    measure_f(y, &f, &df_y, &ddf);
    *x = solve_f(-f);
    measure_f(*x, &f, &df_x, &ddf);
    return -stress * df_x / df_y;
}

/* Continue the side that was measured less far with rows derived from the other one. */
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
        mirror(1 + end.strain, end.stress, &at); /* the stretch of the other side at the junction */
        const double other = stress_between(rows, at - 1);
        scale = end.stress / mirror(at, other, &at);
    }
    if (reach <= 0 || (end.strain > WARN_MIN - 1 && end.strain < WARN_MAX - 1))
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

static sp_status collect_rows(sp_context *context, const char *file, sp_table_rows *rows)
{
    sp_status status = sp_table_read(context, file, rows);
    if (status == SP_OK) status = sort_rows(context, file, rows);
    if (status != SP_OK) return status;
    int has_origin = 0;
    for (int i = 0; i < rows->count; i++) has_origin += rows->row[i].strain == 0;
    if (rows->count - has_origin < 2)
        return sp_fail(context, SP_NO_READ,
                       "%s: received %d rows besides 0 0; valid: at least 2 rows of nominal strain "
                       "and nominal stress [MPa]",
                       file, rows->count - has_origin);
    status = continue_short_side(context, file, rows);
    if (status == SP_OK && !has_origin) status = sp_table_add(context, rows, 0, 0, 0);
    return status == SP_OK ? sort_rows(context, file, rows) : status;
}

static double secant(const double *table, int i)
{
    const double *k = table + COLUMNS * i;
    return (k[COLUMNS + STRESS] - k[STRESS]) / (k[COLUMNS + STRAIN] - k[STRAIN]);
}

static double width(const double *table, int i)
{
    return table[COLUMNS * (i + 1) + STRAIN] - table[COLUMNS * i + STRAIN];
}

/* Slope of the parabola through three rows, at row i inside or at an end. */
static double parabola_slope(const double *table, int n, int i)
{
    const int left = i == 0 ? 0 : i == n - 1 ? n - 3 : i - 1; /* first of the two intervals */
    const double h0 = width(table, left), h1 = width(table, left + 1);
    const double d0 = secant(table, left), d1 = secant(table, left + 1);
    if (i == 0) return d0 + (d0 - d1) * h0 / (h0 + h1);
    if (i == n - 1) return d1 + (d1 - d0) * h1 / (h0 + h1);
    return (h1 * d0 + h0 * d1) / (h0 + h1);
}

/* Slopes after Fritsch & Carlson 1980: parabolas, then limited in every interval to alpha^2 + beta^2 <= 9 with alpha, beta
 * the end slopes over the secant; zero where the rows turn. */
static void fill_slopes(double *table, int n)
{
    for (int i = 0; i < n; i++) {
        double slope = parabola_slope(table, n, i);
        const double left = secant(table, i > 0 ? i - 1 : 0);
        const double right = secant(table, i < n - 1 ? i : n - 2);
        if (left * right <= 0 || slope * left <= 0) slope = 0;
        table[COLUMNS * i + SLOPE] = slope;
    }
    for (int i = 0; i + 1 < n; i++) {
        double *here = &table[COLUMNS * i + SLOPE], *next = here + COLUMNS;
        const double d = secant(table, i), radius = hypot(*here, *next);
        if (radius <= 3 * fabs(d)) continue;
        *here *= 3 * fabs(d) / radius;
        *next *= 3 * fabs(d) / radius;
    }
}

/* Integral of the cubic between two rows, from one of them to the share t of the way to the other (h signed). */
static double cubic_integral(const double *from, const double *to, double h, double t)
{
    const double t2 = t * t, blend = t2 * t * (1 - 0.5 * t);
    const double slopes =
        from[SLOPE] * (0.5 - t * (2.0 / 3 - 0.25 * t)) - to[SLOPE] * t * (1.0 / 3 - 0.25 * t);
    return h * (from[STRESS] * (t - blend) + to[STRESS] * blend + h * t2 * slopes);
}

/* Energies at the rows, from 0 at the unloaded row outwards. */
static void fill_energies(double *table, int n, int origin)
{
    for (int i = origin; i + 1 < n; i++) {
        double *k = table + COLUMNS * i, *next = k + COLUMNS;
        next[ENERGY] = k[ENERGY] + cubic_integral(k, next, width(table, i), 1);
    }
    for (int i = origin; i > 0; i--) {
        double *k = table + COLUMNS * i, *next = k - COLUMNS;
        next[ENERGY] = k[ENERGY] + cubic_integral(k, next, -width(table, i - 1), 1);
    }
}

static sp_status fill_table(sp_context *context, const sp_table_rows *rows, sp_law *law)
{
    const int n = rows->count;
    law->table = sp_alloc((size_t)n * COLUMNS, sizeof *law->table);
    if (!law->table) return sp_fail(context, SP_NO_MEMORY, "no memory for the table of a law");
    law->term_count = n;
    int origin = 0;
    for (int i = 0; i < n; i++) {
        law->table[COLUMNS * i + STRAIN] = rows->row[i].strain;
        law->table[COLUMNS * i + STRESS] = rows->row[i].stress;
        if (rows->row[i].strain == 0) origin = i;
    }
    fill_slopes(law->table, n);
    fill_energies(law->table, n, origin);
    law->shear_modulus = law->table[COLUMNS * origin + SLOPE] / 3;
    return SP_OK;
}

sp_status sp_law_tabulated_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    const char *file = request->table_file;
    if (file[0] == '\0')
        return sp_fail(context, SP_BAD_CASE,
                       "law tabulated: material.table_file is missing; valid: a text file with "
                       "rows of nominal strain and nominal stress [MPa]");
    sp_table_rows rows = {0};
    sp_status status = collect_rows(context, file, &rows);
    if (status == SP_OK) status = fill_table(context, &rows, law);
    sp_table_free(&rows);
    return status;
}

/* ---- evaluation ---- */

/* First row of the interval that holds a strain inside the table. */
static int find_interval(const sp_law *law, double strain)
{
    int low = 0, high = law->term_count - 1;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        if (law->table[COLUMNS * middle + STRAIN] <= strain)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Beyond the table: straight on with the end tangent. */
static void extrapolate(const double *row, double strain, double *w, double *p, double *a)
{
    const double e = strain - row[STRAIN];
    *a = row[SLOPE];
    *p = row[STRESS] + row[SLOPE] * e;
    *w = row[ENERGY] + e * (row[STRESS] + 0.5 * row[SLOPE] * e);
}

static void eval_uniaxial(const sp_law *law, double strain, double *w, double *p, double *a)
{
    const double *first = law->table, *last = first + COLUMNS * (law->term_count - 1);
    if (strain <= first[STRAIN] || strain >= last[STRAIN]) {
        extrapolate(strain <= first[STRAIN] ? first : last, strain, w, p, a);
        return;
    }
    /* from the row nearer to the unloaded one, so that a small energy keeps its digits */
    const double *from = first + COLUMNS * find_interval(law, strain), *to = from + COLUMNS;
    if (strain < 0) {
        to = from;
        from += COLUMNS;
    }
    const double h = to[STRAIN] - from[STRAIN], t = (strain - from[STRAIN]) / h;
    const double rise = to[STRESS] - from[STRESS], m0 = h * from[SLOPE], m1 = h * to[SLOPE];
    const double c2 = 3 * rise - 2 * m0 - m1, c3 = m0 + m1 - 2 * rise;
    *w = from[ENERGY] + cubic_integral(from, to, h, t);
    *p = from[STRESS] + t * (m0 + t * (c2 + t * c3));
    *a = (m0 + t * (2 * c2 + t * 3 * c3)) / h;
}

/* Half the energy of the free strut with f(x) = g, chain rule over x(l): P = P_u x', A = A_u x'^2 + P_u x''. */
static void add_half(const sp_law *law, double g, double dg, double ddg, double *w, double *p,
                     double *a)
{
    const double x = solve_f(g);
    double f, df, ddf, energy, stress, tangent;
    measure_f(x, &f, &df, &ddf);
    const double dx = dg / df, ddx = (ddg - ddf * dx * dx) / df;
    eval_uniaxial(law, x - 1, &energy, &stress, &tangent);
    *w += 0.5 * energy;
    *p += 0.5 * stress * dx;
    *a += 0.5 * (tangent * dx * dx + stress * ddx);
}

static void eval_plane_strain(const sp_law *law, double l, double *w, double *p, double *a)
{
    const double i = 1 / l, g = (l - 1) * (l + 1) * i, dg = 1 + i * i, ddg = -2 * i * i * i;
    *w = *p = *a = 0;
    add_half(law, g, dg, ddg, w, p, a);
    add_half(law, -g, -dg, -ddg, w, p, a);
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
