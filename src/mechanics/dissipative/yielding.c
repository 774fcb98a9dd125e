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
 * stress.
 *
 * table: law/cubic.h, x = ln l, y = true stress, first row the onset. constant[]: below. */
#include <math.h>

#include "base/alloc.h"
#include "table/cubic.h"
#include "law/invariants.h"
#include "table/table_file.h"

enum { MODULUS, ONSET, BEYOND, FACTOR };                      /* constant[] */
enum { PLASTIC, ACCUMULATED, HARDENED, DISSIPATED, HISTORY }; /* history of a fibre */
/* HARDENED is the elastic limit strain y(x)/E less the one at the onset. */

static const double chord[2] = {0.0005, 0.0025}; /* ISO 527-1, second hand */
static const double end_share = 0.8; /* the rate beyond the rows is that from here to the last */
/* [strain] a smaller distance below the straight line is round-off. */
static const double on_line = 1e-12;
/* Rows have few digits: so much of a strain, or of a rise of stress, is round-off. */
static const double few_digits = 2e-3;
static const double warn_beyond = 1; /* strain that a coupon reaches */
/* [strain] A fibre this near to its elastic limit counts as one whose loading continues, as in the
 * comparison solid of Hill 1958: an accepted state stands exactly there. */
static const double at_limit = 1e-12;

/* ---- preparing the tension curve ---- */

typedef struct place {
    double strain, stress; /* ln l, true stress */
} place;

static place place_of(const sp_table_row *row)
{
    return (place){log1p(row->strain), row->stress * (1 + row->strain)};
}

/* Return the true stress at a log strain, straight between the sorted rows and the unloaded state.
 */
static double straight(const sp_table_rows *rows, double strain)
{
    place left = {0, 0}, right = {0, 0};
    for (int i = 0; i < rows->count && right.strain < strain; i++) {
        left = right;
        right = place_of(&rows->row[i]);
    }
    if (right.strain <= strain) return right.stress;
    return left.stress +
           (strain - left.strain) / (right.strain - left.strain) * (right.stress - left.stress);
}

/* Keep only the rows in tension, sorted, without the unloaded one. */
static sp_status take_tension(sp_context *context, const char *file, sp_table_rows *rows)
{
    int kept = 0, compression = 0;
    for (int i = 0; i < rows->count; i++) {
        if (rows->row[i].strain > 0) rows->row[kept++] = rows->row[i];
        compression += rows->row[i].strain < 0;
    }
    rows->count = kept;
    if (kept < 2)
        return sp_fail(
            context, SP_NO_READ,
            "%s: received %d rows in tension; valid for law yielding: at least 2 rows of "
            "nominal strain and nominal stress [MPa]",
            file, kept);
    if (compression)
        sp_warn(context, "%s: law yielding does not read its %d rows in compression", file,
                compression);
    return SP_OK;
}

/* Find the last row that is below the straight line E e by this share of its strain at most; -1:
 * the unloaded state. */
static int last_elastic(const sp_table_rows *rows, double modulus, double share)
{
    int last = -1;
    for (int i = 0; i < rows->count; i++) {
        const place p = place_of(&rows->row[i]);
        if (p.strain - p.stress / modulus <= on_line + share * p.strain) last = i;
    }
    return last;
}

/* Find where the curve leaves the line for good, straight between two rows. */
static place onset_of(place above, place below, double modulus)
{
    const double high = above.stress - modulus * above.strain;
    const double low = below.stress - modulus * below.strain;
    const double e = above.strain + high / (high - low) * (below.strain - above.strain);
    return (place){e, modulus * e};
}

static void put_row(double *table, int row, place p)
{
    table[SP_CUBIC_COLUMNS * row + SP_CUBIC_X] = p.strain;
    table[SP_CUBIC_COLUMNS * row + SP_CUBIC_Y] = p.stress;
}

/* Take the rows from the onset on; where the last elastic row lies on the line, it is the onset. */
static sp_status collect_rows(sp_context *context, const char *file, const sp_table_rows *rows,
                              double modulus, double round_off, sp_law *law)
{
    const int last = last_elastic(rows, modulus, round_off);
    if (last < 0 || last == rows->count - 1)
        return sp_fail(
            context, SP_NO_READ,
            "%s: no row %s the straight line of the modulus %.4g MPa (chord of 0.05 %% to "
            "0.25 %% strain); valid for law yielding: a tension curve that starts "
            "straight and bends, else see law tabulated",
            file, last < 0 ? "reaches" : "bends below", modulus);
    place before = onset_of(place_of(&rows->row[last]), place_of(&rows->row[last + 1]), modulus);
    law->table = sp_alloc((size_t)(rows->count - last) * SP_CUBIC_COLUMNS, sizeof *law->table);
    if (!law->table) return sp_fail(context, SP_NO_MEMORY, "no memory for the table of a law");
    law->term_count = rows->count - last;
    put_row(law->table, 0, before);
    for (int i = last + 1; i < rows->count; i++) {
        place p = place_of(&rows->row[i]);
        const double most = modulus * (p.strain - before.strain);
        if (!(p.stress - before.stress < most)) {
            if (!(p.stress - before.stress < most + round_off * fabs(p.stress))) {
                sp_law_free(law);
                return sp_fail(context, SP_NO_READ,
                               "%s:%d: from the row before, true stress rises by %.4g MPa, more "
                               "than the modulus %.4g MPa allows; valid for law yielding: no "
                               "steeper rise beyond the first bend",
                               file, rows->row[i].line, p.stress - before.stress, modulus);
            }
            p.stress = before.stress + (1 - few_digits) * most;
        }
        put_row(law->table, i - last, p);
        before = p;
    }
    return SP_OK;
}

/* Prepare the rows as they stand; where they are refused so, treat them as rows with few digits, as
 * an ideal curve of two straight lines is. */
static sp_status take_rows(sp_context *context, const char *file, const sp_table_rows *rows,
                           double modulus, sp_law *law)
{
    sp_context quiet = {0};
    const sp_status status = collect_rows(&quiet, file, rows, modulus, 0, law);
    if (status == SP_OK) return SP_OK;
    if (status == SP_NO_MEMORY) return sp_fail(context, status, "%s", quiet.message);
    sp_free(law->table);
    law->table = NULL;
    return collect_rows(context, file, rows, modulus, few_digits, law);
}

/* E65: make cubics that start with the slope of the line where the rows allow it, and are nowhere
 * steeper, so that alpha grows. */
static void fill_curve(double modulus, sp_law *law)
{
    double *onset = law->table;
    const int n = law->term_count;
    sp_cubic_slopes(law->table, n);
    onset[SP_CUBIC_SLOPE] = modulus;
    sp_cubic_limit(law->table, n);
    sp_cubic_limit_slope(law->table, n, modulus);
    onset[SP_CUBIC_INTEGRAL] = 0.5 * onset[SP_CUBIC_Y] * onset[SP_CUBIC_X];
    sp_cubic_integrals(law->table, n, 0);
}

/* Return the factor by which the elastic part of a fibre in plane strain is stiffer with this
 * Poisson ratio than with 1/2, for which the factor 2/sqrt 3 of stress and strain stands: E/(1 -
 * nu^2) over 4 E/3. E149 */
static double elastic_share(const sp_law *law)
{
    if (law->strain_state == SP_UNIAXIAL) return 1;
    return 0.75 / (1 - law->poisson_ratio * law->poisson_ratio);
}

/* Turn the rows into those of another modulus: the same true stress, the same plastic strain. */
static void soften_elastic(double from, double to, sp_law *law)
{
    for (int i = 0; i < law->term_count; i++) {
        double *row = law->table + SP_CUBIC_COLUMNS * i;
        row[SP_CUBIC_X] += row[SP_CUBIC_Y] * (1 / to - 1 / from);
    }
}

/* Return the mean rate of the true stress over the last fifth of the measured strain, never below
 * 0. */
static double rate_beyond(const sp_law *law)
{
    const double *last = law->table + SP_CUBIC_COLUMNS * (law->term_count - 1), *from = law->table;
    while (from[SP_CUBIC_COLUMNS + SP_CUBIC_X] <= end_share * last[SP_CUBIC_X])
        from += SP_CUBIC_COLUMNS;
    return fmax(0, (last[SP_CUBIC_Y] - from[SP_CUBIC_Y]) / (last[SP_CUBIC_X] - from[SP_CUBIC_X]));
}

static sp_status prepare(sp_context *context, const char *file, sp_table_rows *rows, sp_law *law)
{
    sp_status status = take_tension(context, file, rows);
    if (status != SP_OK) return status;
    const double modulus =
        (straight(rows, chord[1]) - straight(rows, chord[0])) / (chord[1] - chord[0]);
    if (!(modulus > 0))
        return sp_fail(context, SP_NO_READ,
                       "%s: the chord from 0.05 %% to 0.25 %% strain gives a modulus of %g MPa; "
                       "valid: above 0",
                       file, modulus);
    status = take_rows(context, file, rows, modulus, law);
    if (status != SP_OK) return status;
    const double elastic = elastic_share(law) * modulus;
    if (elastic < modulus) soften_elastic(modulus, elastic, law);
    fill_curve(elastic, law);
    law->constant[MODULUS] = elastic;
    law->constant[ONSET] = law->table[SP_CUBIC_X];
    law->constant[BEYOND] = rate_beyond(law);
    law->constant[FACTOR] = law->strain_state == SP_UNIAXIAL ? 1 : 2 / sqrt(3);
    law->shear_modulus = modulus / (2 * (1 + law->poisson_ratio));
    const double end = rows->row[rows->count - 1].strain;
    if (end < warn_beyond)
        sp_warn(
            context,
            "%s: no rows in tension beyond strain %g: the true stress goes on rising by %.3g MPa "
            "per log strain, the mean of the last fifth of the rows",
            file, end, law->constant[BEYOND]);
    return SP_OK;
}

sp_status sp_law_yielding_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    sp_table_rows rows = {0};
    law->poisson_ratio = request->poisson_ratio;
    sp_status status = sp_table_of_case(context, request, &rows);
    if (status == SP_OK) status = prepare(context, request->table_file, &rows, law);
    sp_table_free(&rows);
    return status;
}

/* ---- evaluation ---- */

/* Find the integral I, true stress y and slope of the tension curve at x, from the onset on. */
static void tension(const sp_law *law, double x, double *integral, double *y, double *slope)
{
    const double *last = law->table + SP_CUBIC_COLUMNS * (law->term_count - 1);
    const double more = x - last[SP_CUBIC_X];
    if (more < 0) {
        sp_cubic_eval(law->table, law->term_count, x, integral, y, slope);
        return;
    }
    *slope = law->constant[BEYOND];
    *y = last[SP_CUBIC_Y] + *slope * more;
    *integral = last[SP_CUBIC_INTEGRAL] + more * (last[SP_CUBIC_Y] + 0.5 * *slope * more);
}

/* E64, E65: evaluate a stretch inside the domain; h is the HISTORY of the fibre. */
static void eval_fibre(const sp_law *law, double l, const double *h, double *w, double *p,
                       double *a)
{
    const double k = law->constant[FACTOR], i = 1 / l, elastic = k * log(l) - h[PLASTIC];
    double stress = law->constant[MODULUS] * elastic, slope = law->constant[MODULUS];
    if (fabs(elastic) < law->constant[ONSET] + h[HARDENED] - at_limit) {
        *w = 0.5 * stress * elastic + h[DISSIPATED];
    } else {
        tension(law, fabs(elastic) + h[ACCUMULATED], w, &stress, &slope);
        stress = copysign(stress, elastic);
    }
    *p = k * stress * i;
    *a = k * (k * slope - stress) * i * i;
}

/* Find the history of least energy at a stretch (E66). */
static void keep_fibre(const sp_law *law, double l, double *h)
{
    const double modulus = law->constant[MODULUS], onset = law->constant[ONSET];
    const double e = law->constant[FACTOR] * log(l), elastic = e - h[PLASTIC];
    if (fabs(elastic) <= onset + h[HARDENED]) return;
    const double x = fabs(elastic) + h[ACCUMULATED];
    double integral, y, slope;
    tension(law, x, &integral, &y, &slope);
    h[PLASTIC] = e - copysign(y / modulus, elastic);
    h[ACCUMULATED] = x - y / modulus;
    h[HARDENED] = y / modulus - onset;
    h[DISSIPATED] = integral - 0.5 * y * y / modulus;
}

void sp_law_yielding_eval(const sp_law *law, int n, const double *restrict stretch,
                          double *restrict w, double *restrict p, double *restrict a)
{
    static const double fresh[HISTORY] = {0};
    for (int i = 0; i < n; i++) {
        eval_fibre(law, sp_law_inside(stretch[i]), fresh, &w[i], &p[i], &a[i]);
        w[i] = sp_law_energy(stretch[i], w[i]);
    }
}

static void eval_after(const sp_law *law, int n, const double *restrict stretch,
                       const double *restrict history, double *restrict w, double *restrict p,
                       double *restrict a)
{
    for (int i = 0; i < n; i++) {
        eval_fibre(law, sp_law_inside(stretch[i]), history + HISTORY * i, &w[i], &p[i], &a[i]);
        w[i] = sp_law_energy(stretch[i], w[i]);
    }
}

static void keep(const sp_law *law, int n, const double *restrict stretch, double *restrict history)
{
    for (int i = 0; i < n; i++) keep_fibre(law, sp_law_inside(stretch[i]), history + HISTORY * i);
}

const sp_law_history sp_law_yielding_history = {
    .count = HISTORY, .dissipated = DISSIPATED, .eval = eval_after, .keep = keep};
