/* Yielding: elastic, then plastic with isotropic hardening, from the tension rows of a free strut
 * (E63).
 *
 *   e = ln l                log strain of a fibre; in plane strain 2/sqrt 3 of it (E67)
 *   ep, alpha               plastic strain and its accumulated amount
 *   y(x), I(x)              true stress of the tension curve (docs/theory.md: curve), its integral
 *   x = |e - ep| + alpha    the place on the tension curve where the fibre would be (e_y there)
 *
 * The tension curve itself is the hardening law: with alpha = x - y(x)/E at every place of it, the
 * fibre of least energy under the strain e is at x, its energy since it was unloaded is I(x), and
 * nothing has to be solved (E65). It is kept as cubics of the true stress P l over ln l from the
 * onset of yield on; before it lies the straight line E e. Compression is the mirror image in true
 * stress, unless there are rows of it: then the law is that of two_sided.c.
 *
 * table, constant[]: see curve.h. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "dissipative/curve.h"
#include "law/invariants.h"

enum { PLASTIC, ACCUMULATED, HARDENED, DISSIPATED, HISTORY }; /* history of a fibre */
/* HARDENED is the elastic limit strain y(x)/E less the one at the onset. */

static const double warn_beyond = 1; /* strain that a coupon reaches */
/* [strain] A fibre this near to its elastic limit counts as one whose loading continues, as in the
 * comparison solid of Hill 1958: an accepted state stands exactly there. */
static const double at_limit = 1e-12;

/* ---- preparing ---- */

/* Return the factor by which the elastic part of a fibre in plane strain is stiffer with this
 * Poisson ratio than with 1/2, for which the factor 2/sqrt 3 of stress and strain stands: E/(1 -
 * nu^2) over 4 E/3. E149 */
static double elastic_share(const sp_law *law)
{
    if (law->strain_state == SP_UNIAXIAL) return 1;
    return 0.75 / (1 - law->poisson_ratio * law->poisson_ratio);
}

static int count_compression(const sp_table_rows *rows)
{
    int count = 0;
    for (int i = 0; i < rows->count; i++) count += rows->row[i].strain < 0;
    return count;
}

/* Say where the rows of one side end. */
static void tell_end(sp_context *context, const char *file, double end, double beyond)
{
    if (end >= warn_beyond || end <= -warn_beyond / (1 + warn_beyond)) return;
    sp_warn(context,
            "%s: no rows in %s beyond strain %g: the true stress goes on rising by %.3g MPa "
            "per log strain, the mean of the last fifth of the rows",
            file, end < 0 ? "compression" : "tension", end, beyond);
}

static void take_curve(const sp_yield_curve *curve, sp_yield_side side, sp_law *law)
{
    double *c = law->constant + SP_YIELD_OF_A_CURVE * (int)side;
    c[SP_YIELD_MODULUS] = curve->modulus;
    c[SP_YIELD_ONSET] = curve->onset;
    c[SP_YIELD_BEYOND] = curve->beyond;
}

/* Put the rows of compression behind those of tension. */
static sp_status add_second(sp_context *context, const sp_yield_curve *second, sp_law *law)
{
    const size_t first = (size_t)law->term_count * SP_CUBIC_COLUMNS,
                 more = (size_t)second->count * SP_CUBIC_COLUMNS;
    double *both = sp_alloc(first + more, sizeof *both);
    if (!both) return sp_fail(context, SP_NO_MEMORY, "no memory for the table of a law");
    memcpy(both, law->table, first * sizeof *both);
    memcpy(both + first, second->row, more * sizeof *both);
    sp_free(law->table);
    law->table = both;
    law->constant[SP_YIELD_COMPRESSION_ROWS] = second->count;
    law->own = &sp_law_two_sided_history;
    law->has_corner = 1;
    take_curve(second, SP_YIELD_COMPRESSION, law);
    return SP_OK;
}

static sp_status prepare(sp_context *context, const sp_case *request, const sp_table_rows *rows,
                         sp_law *law)
{
    const double elastic = elastic_share(law);
    const char *file = request->table_file,
               *other = sp_table_has_compression(request) ? request->table_compression : file;
    sp_yield_curve curve, second = {0};
    double young, unused;
    sp_status status =
        sp_yield_curve_make(context, file, rows, SP_YIELD_TENSION, elastic, &curve, &young);
    if (status != SP_OK) return status;
    law->table = curve.row;
    law->term_count = curve.count;
    take_curve(&curve, SP_YIELD_TENSION, law);
    law->constant[SP_YIELD_FACTOR] = law->strain_state == SP_UNIAXIAL ? 1 : 2 / sqrt(3);
    law->shear_modulus = young / (2 * (1 + law->poisson_ratio));
    const double most = rows->row[rows->count - 1].strain, least = rows->row[0].strain;
    const double k = law->constant[SP_YIELD_FACTOR];
    law->rows_most = pow(1 + most, 1 / k);
    law->rows_least = 1 / law->rows_most;
    tell_end(context, file, most, curve.beyond);
    if (!count_compression(rows)) return SP_OK;
    status =
        sp_yield_curve_make(context, other, rows, SP_YIELD_COMPRESSION, elastic, &second, &unused);
    if (status == SP_OK) status = add_second(context, &second, law);
    sp_free(second.row);
    if (status != SP_OK) return status;
    law->rows_least = pow(1 + least, 1 / k);
    tell_end(context, other, least, second.beyond);
    return SP_OK;
}

sp_status sp_law_yielding_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    sp_table_rows rows = {0};
    law->poisson_ratio = request->poisson_ratio;
    sp_status status = sp_table_of_case(context, request, &rows);
    if (status == SP_OK) status = prepare(context, request, &rows, law);
    sp_table_free(&rows);
    return status;
}

/* ---- evaluation ---- */

/* E64, E65: evaluate a stretch inside the domain; h is the HISTORY of the fibre. */
static void eval_fibre(const sp_yield_curve *curve, double k, double l, const double *h, double *w,
                       double *p, double *a)
{
    const double i = 1 / l, elastic = k * log(l) - h[PLASTIC];
    double stress = curve->modulus * elastic, slope = curve->modulus;
    if (fabs(elastic) < curve->onset + h[HARDENED] - at_limit) {
        *w = 0.5 * stress * elastic + h[DISSIPATED];
    } else {
        sp_yield_curve_at(curve, fabs(elastic) + h[ACCUMULATED], w, &stress, &slope);
        stress = copysign(stress, elastic);
    }
    *p = k * stress * i;
    *a = k * (k * slope - stress) * i * i;
}

/* Find the history of least energy at a stretch (E66). */
static void keep_fibre(const sp_yield_curve *curve, double k, double l, double *h)
{
    const double modulus = curve->modulus, onset = curve->onset;
    const double e = k * log(l), elastic = e - h[PLASTIC];
    if (fabs(elastic) <= onset + h[HARDENED]) return;
    const double x = fabs(elastic) + h[ACCUMULATED];
    double integral, y, slope;
    sp_yield_curve_at(curve, x, &integral, &y, &slope);
    h[PLASTIC] = e - copysign(y / modulus, elastic);
    h[ACCUMULATED] = x - y / modulus;
    h[HARDENED] = y / modulus - onset;
    h[DISSIPATED] = integral - 0.5 * y * y / modulus;
}

static void eval_after(const sp_law *law, int n, const double *restrict stretch,
                       const double *restrict history, double *restrict w, double *restrict p,
                       double *restrict a)
{
    const sp_yield_curve curve = sp_yield_curve_of(law, SP_YIELD_TENSION);
    const double k = law->constant[SP_YIELD_FACTOR];
    for (int i = 0; i < n; i++) {
        eval_fibre(&curve, k, sp_law_inside(stretch[i]), history + HISTORY * i, &w[i], &p[i],
                   &a[i]);
        w[i] = sp_law_energy(stretch[i], w[i]);
    }
}

void sp_law_yielding_eval(const sp_law *law, int n, const double *restrict stretch,
                          double *restrict w, double *restrict p, double *restrict a)
{
    static const double fresh[SP_TWO_SIDED_HISTORY] = {0};
    for (int i = 0; i < n; i++) law->own->eval(law, 1, &stretch[i], fresh, &w[i], &p[i], &a[i]);
}

static void keep(const sp_law *law, int n, const double *restrict stretch, double *restrict history)
{
    const sp_yield_curve curve = sp_yield_curve_of(law, SP_YIELD_TENSION);
    const double k = law->constant[SP_YIELD_FACTOR];
    for (int i = 0; i < n; i++)
        keep_fibre(&curve, k, sp_law_inside(stretch[i]), history + HISTORY * i);
}

const sp_law_history sp_law_yielding_history = {
    .count = HISTORY, .dissipated = DISSIPATED, .eval = eval_after, .keep = keep};
