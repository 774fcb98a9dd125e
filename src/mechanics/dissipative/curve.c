/* This file prepares one curve of a yielding law from its rows, and reads it. */
#include "dissipative/curve.h"

#include <math.h>

#include "base/alloc.h"
#include "table/cubic.h"

static const double chord[2] = {0.0005, 0.0025}; /* ISO 527-1, second hand */
static const double end_share = 0.8; /* the rate beyond the rows is that from here to the last */
/* [strain] a smaller distance below the straight line is round-off. */
static const double on_line = 1e-12;
/* Rows have few digits: this share of a strain, or of a rise of stress, is round-off. */
static const double few_digits = 2e-3;
static const int place_steps = 60;

/* ---- preparing ---- */

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

/* Copy the rows of one side, sorted, without the unloaded one. Those of compression become the rows
 * of tension with the same true stress at the same log strain, so that one rule is for both. */
static sp_status take_side(sp_context *context, const char *file, const sp_table_rows *rows,
                           sp_yield_side side, sp_table_rows *out)
{
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < rows->count; i++) {
        const sp_table_row *row = &rows->row[side == SP_YIELD_TENSION ? i : rows->count - 1 - i];
        const double l = 1 + row->strain;
        if (side == SP_YIELD_TENSION && row->strain > 0)
            status = sp_table_add(context, out, row->strain, row->stress, row->line);
        if (side == SP_YIELD_COMPRESSION && row->strain < 0)
            status = sp_table_add(context, out, 1 / l - 1, -row->stress * l * l, row->line);
    }
    if (status != SP_OK || out->count >= 2) return status;
    return sp_fail(context, SP_NO_READ,
                   "%s: received %d rows in %s; valid for law yielding: at least 2 rows of "
                   "nominal strain and nominal stress [MPa]",
                   file, out->count, side == SP_YIELD_TENSION ? "tension" : "compression");
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
                              double modulus, double round_off, sp_yield_curve *curve)
{
    const int last = last_elastic(rows, modulus, round_off);
    if (last < 0 || last == rows->count - 1)
        return sp_fail(
            context, SP_NO_READ,
            "%s: no row %s the straight line of the modulus %.4g MPa (chord of 0.05 %% to "
            "0.25 %% strain); valid for law yielding: a curve that starts straight "
            "and bends, else see law tabulated",
            file, last < 0 ? "reaches" : "bends below", modulus);
    place before = onset_of(place_of(&rows->row[last]), place_of(&rows->row[last + 1]), modulus);
    curve->row = sp_alloc((size_t)(rows->count - last) * SP_CUBIC_COLUMNS, sizeof *curve->row);
    if (!curve->row) return sp_fail(context, SP_NO_MEMORY, "no memory for the table of a law");
    curve->count = rows->count - last;
    put_row(curve->row, 0, before);
    for (int i = last + 1; i < rows->count; i++) {
        place p = place_of(&rows->row[i]);
        const double most = modulus * (p.strain - before.strain);
        if (!(p.stress - before.stress < most)) {
            if (!(p.stress - before.stress < most + round_off * fabs(p.stress))) {
                sp_free(curve->row);
                curve->row = NULL;
                return sp_fail(context, SP_NO_READ,
                               "%s:%d: from the row before, true stress rises by %.4g MPa, more "
                               "than the modulus %.4g MPa allows; valid for law yielding: no "
                               "steeper rise beyond the first bend",
                               file, rows->row[i].line, p.stress - before.stress, modulus);
            }
            p.stress = before.stress + (1 - few_digits) * most;
        }
        put_row(curve->row, i - last, p);
        before = p;
    }
    return SP_OK;
}

/* Prepare the rows as they stand; where they are refused so, treat them as rows with few digits, as
 * an ideal curve of two straight lines is. */
static sp_status take_rows(sp_context *context, const char *file, const sp_table_rows *rows,
                           double modulus, sp_yield_curve *curve)
{
    sp_context quiet = {0};
    const sp_status status = collect_rows(&quiet, file, rows, modulus, 0, curve);
    if (status == SP_OK) return SP_OK;
    if (status == SP_NO_MEMORY) return sp_fail(context, status, "%s", quiet.message);
    sp_free(curve->row);
    curve->row = NULL;
    return collect_rows(context, file, rows, modulus, few_digits, curve);
}

/* E65: make cubics that start with the slope of the line where the rows allow it, and are nowhere
 * steeper, so that alpha grows. */
static void fill_curve(double modulus, sp_yield_curve *curve)
{
    double *onset = curve->row;
    const int n = curve->count;
    sp_cubic_slopes(curve->row, n);
    onset[SP_CUBIC_SLOPE] = modulus;
    sp_cubic_limit(curve->row, n);
    sp_cubic_limit_slope(curve->row, n, modulus);
    onset[SP_CUBIC_INTEGRAL] = 0.5 * onset[SP_CUBIC_Y] * onset[SP_CUBIC_X];
    sp_cubic_integrals(curve->row, n, 0);
}

/* Turn the rows into those of another modulus: the same true stress, the same plastic strain. */
static void soften_elastic(double from, double to, sp_yield_curve *curve)
{
    for (int i = 0; i < curve->count; i++) {
        double *row = curve->row + SP_CUBIC_COLUMNS * i;
        row[SP_CUBIC_X] += row[SP_CUBIC_Y] * (1 / to - 1 / from);
    }
}

/* Return the mean rate of the true stress over the last fifth of the measured strain, never below
 * 0. */
static double rate_beyond(const sp_yield_curve *curve)
{
    const double *last = curve->row + SP_CUBIC_COLUMNS * (curve->count - 1), *from = curve->row;
    while (from[SP_CUBIC_COLUMNS + SP_CUBIC_X] <= end_share * last[SP_CUBIC_X])
        from += SP_CUBIC_COLUMNS;
    return fmax(0, (last[SP_CUBIC_Y] - from[SP_CUBIC_Y]) / (last[SP_CUBIC_X] - from[SP_CUBIC_X]));
}

static sp_status find_modulus(sp_context *context, const char *file, const sp_table_rows *rows,
                              double *modulus)
{
    *modulus = (straight(rows, chord[1]) - straight(rows, chord[0])) / (chord[1] - chord[0]);
    if (*modulus > 0) return SP_OK;
    return sp_fail(context, SP_NO_READ,
                   "%s: the chord from 0.05 %% to 0.25 %% strain gives a modulus of %g MPa; "
                   "valid: above 0",
                   file, *modulus);
}

sp_status sp_yield_curve_make(sp_context *context, const char *file, const sp_table_rows *rows,
                              sp_yield_side side, double elastic, sp_yield_curve *curve,
                              double *young)
{
    sp_table_rows taken = {0};
    *curve = (sp_yield_curve){0};
    sp_status status = take_side(context, file, rows, side, &taken);
    if (status == SP_OK) status = find_modulus(context, file, &taken, young);
    if (status == SP_OK) status = take_rows(context, file, &taken, *young, curve);
    sp_table_free(&taken);
    if (status != SP_OK) return status;
    curve->modulus = *young;
    if (elastic < 1) {
        curve->modulus = elastic * *young;
        soften_elastic(*young, curve->modulus, curve);
    }
    fill_curve(curve->modulus, curve);
    curve->onset = curve->row[SP_CUBIC_X];
    curve->beyond = rate_beyond(curve);
    return SP_OK;
}

/* ---- reading ---- */

void sp_yield_curve_at(const sp_yield_curve *curve, double x, double *integral, double *y,
                       double *slope)
{
    const double *last = curve->row + SP_CUBIC_COLUMNS * (curve->count - 1);
    const double more = x - last[SP_CUBIC_X];
    if (more < 0) {
        sp_cubic_eval(curve->row, curve->count, x, integral, y, slope);
        return;
    }
    *slope = curve->beyond;
    *y = last[SP_CUBIC_Y] + *slope * more;
    *integral = last[SP_CUBIC_INTEGRAL] + more * (last[SP_CUBIC_Y] + 0.5 * *slope * more);
}

static double plastic_at_row(const sp_yield_curve *curve, int row)
{
    const double *r = curve->row + SP_CUBIC_COLUMNS * row;
    return r[SP_CUBIC_X] - r[SP_CUBIC_Y] / curve->modulus;
}

double sp_yield_curve_place(const sp_yield_curve *curve, double plastic)
{
    const int last = curve->count - 1;
    int low = 0, high = last;
    const double more = plastic - plastic_at_row(curve, last);
    if (more >= 0)
        return curve->row[SP_CUBIC_COLUMNS * last + SP_CUBIC_X] +
               more / (1 - curve->beyond / curve->modulus);
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        *(plastic_at_row(curve, middle) <= plastic ? &low : &high) = middle;
    }
    double a = curve->row[SP_CUBIC_COLUMNS * low + SP_CUBIC_X],
           b = curve->row[SP_CUBIC_COLUMNS * high + SP_CUBIC_X], x = 0.5 * (a + b);
    for (int i = 0; i < place_steps; i++) { /* Newton's method within a bracket that shrinks */
        double integral, y, slope;
        sp_yield_curve_at(curve, x, &integral, &y, &slope);
        const double off = x - y / curve->modulus - plastic;
        *(off > 0 ? &b : &a) = x;
        const double next = x - off / (1 - slope / curve->modulus);
        const double before = x;
        x = next > a && next < b ? next : 0.5 * (a + b);
        if (fabs(x - before) <= 1e-15 * x) break;
    }
    return x;
}
