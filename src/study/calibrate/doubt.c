/* What a fit leaves open: the Gauss-Newton matrix of the fit, values that cannot be told apart,
 * errors of ranges of strain that are left out, and the error of the model (E240 to E243). */
#include <math.h>
#include <string.h>

#include "calibrate/calibrate_parts.h"
#include "write/text.h"

enum { VALUES = SEEK_VARIABLE_MAX };

/* A pair whose correlation is larger is reported. */
static const double told_correlation = 0.9;
/* A run of residuals that go together ends here: no more than 60 stretches count as one. */
static const double most_run = 60;
/* A pivot below this share of the largest element of the scaled matrix belongs to a value that the
 * curves do not depend on. */
static const double least_pivot = 1e-9;

typedef double matrix[VALUES][VALUES];

/* ---- the matrix ----------------------------------------------- */

/* Return the residual of a stretch by fitted forces, over the mean force of its coupon; NaN: not
 * reached. */
static double residual_of(const sp_calibration *c, int i, int k)
{
    const cal_coupon *coupon = &c->tested->tested[i];
    return (c->fitted[i * CAL_NUMBERS + k] - coupon->measured[k]) / coupon->mean;
}

/* Invert a symmetric positive definite matrix by Gauss and Jordan, scaled to a unit diagonal; at
 * most 6 rows. */
static void invert(int n, matrix a, matrix inverse)
{
    double scale[VALUES];
    for (int i = 0; i < n; i++) scale[i] = a[i][i] > 0 ? 1 / sqrt(a[i][i]) : 1;
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) {
            a[i][j] *= scale[i] * scale[j];
            inverse[i][j] = i == j;
        }
    for (int i = 0; i < n; i++) a[i][i] += least_pivot;
    for (int p = 0; p < n; p++) {
        const double pivot = fmax(a[p][p], least_pivot * least_pivot);
        for (int j = 0; j < n; j++) a[p][j] /= pivot, inverse[p][j] /= pivot;
        for (int i = 0; i < n; i++) {
            const double share = a[i][p];
            if (i == p) continue;
            for (int j = 0; j < n; j++) {
                a[i][j] -= share * a[p][j];
                inverse[i][j] -= share * inverse[p][j];
            }
        }
    }
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) inverse[i][j] *= scale[i] * scale[j];
}

/* Sum J^T J and J^T r over all stretches except those of one range (-1: all of them). E241 */
static void sum_normal(const sp_calibration *c, int range, matrix normal, double right[VALUES])
{
    const sp_tested *t = c->tested;
    const int n = t->variable_count;
    memset(normal, 0, sizeof(matrix));
    memset(right, 0, VALUES * sizeof *right);
    for (int i = 0; i < t->tested_count; i++)
        for (int k = 0; k < CAL_STRETCHES; k++) {
            const double r = residual_of(c, i, k), weight = t->tested[i].weight;
            double slope[VALUES];
            int known = isfinite(r) && (range < 0 || k * CAL_RANGES / CAL_STRETCHES != range);
            for (int v = 0; v < n; v++) {
                slope[v] = sp_cal_slope(c, i, v)[k] / t->tested[i].mean;
                known = known && isfinite(slope[v]);
            }
            for (int v = 0; v < n && known; v++) {
                right[v] += weight * slope[v] * r;
                for (int w = 0; w < n; w++) normal[v][w] += weight * slope[v] * slope[w];
            }
        }
}

/* What is known of the values before any test: a range says as much as a normal distribution of its
 * own variance, a twelfth of its square. */
static void add_ranges(const sp_tested *t, double variance, matrix normal)
{
    for (int v = 0; v < t->variable_count; v++) {
        const double range = t->variable[v].high - t->variable[v].low;
        normal[v][v] += variance * 12 / (range * range);
    }
}

/* ---- residuals that go together ----------------------------------------------- */

typedef struct residuals {
    double square, product, weights; /* sums: of r^2, of r times the next r, of weights */
    int count;
} residuals;

static void add_residuals(const double r[CAL_STRETCHES], double weight, residuals *sum)
{
    for (int k = 0; k < CAL_STRETCHES; k++) {
        if (!isfinite(r[k])) continue;
        sum->square += weight * r[k] * r[k];
        if (k > 0 && isfinite(r[k - 1])) sum->product += weight * r[k] * r[k - 1];
        sum->weights += weight;
        sum->count++;
    }
}

/* Return how many stretches count as one: (1 + corr)/(1 - corr), corr the correlation of
 * neighbours, at least 1: the sum 1 + 2 (corr + corr^2 + ...) of those of all distances, which
 * lecture notes call autocorrelation time (read; Bayley & Hammersley 1946, J. R. Stat. Soc. Suppl.
 * 8, 184, was not). E242 */
static double run_of(const residuals *sum)
{
    const double rho = sum->square > 0 ? fmax(0, sum->product / sum->square) : 0;
    return fmin(most_run, (1 + rho) / fmax(1e-9, 1 - rho));
}

static void find_residual(sp_calibration *c)
{
    residuals sum = {0};
    cal_doubt *d = &c->doubt;
    for (int i = 0; i < c->tested->tested_count; i++) {
        double r[CAL_STRETCHES];
        for (int k = 0; k < CAL_STRETCHES; k++) r[k] = residual_of(c, i, k);
        add_residuals(r, c->tested->tested[i].weight, &sum);
    }
    d->run = run_of(&sum);
    d->effective = sum.count / d->run;
    const double free_ones = fmax(1, d->effective - c->tested->variable_count);
    d->residual = sum.weights > 0 ? sqrt(sum.square / sum.weights * d->effective / free_ones) : NAN;
}

static void find_covariance(sp_calibration *c)
{
    cal_doubt *d = &c->doubt;
    const int n = c->tested->variable_count;
    matrix normal;
    double right[VALUES];
    sum_normal(c, -1, normal, right);
    /* A run of residuals counts once, and no fit is better than its curves can be read. */
    const double variance = fmax(1e-8, d->residual * d->residual) * d->run;
    add_ranges(c->tested, variance, normal);
    invert(n, normal, d->covariance);
    for (int v = 0; v < n; v++)
        for (int w = 0; w < n; w++) d->covariance[v][w] *= variance;
    for (int v = 0; v < n; v++)
        for (int w = 0; w < n; w++)
            d->correlation[v][w] =
                v == w ? 1 : d->covariance[v][w] / sqrt(d->covariance[v][v] * d->covariance[w][w]);
}

/* ---- what is left out ----------------------------------------------- */

/* Residuals of the stretches of a range after the step that the fit takes without them, the others
 * NaN (linearised deletion: Belsley, Kuh & Welsch 1980, ch. 2; from memory). E243 */
static void leave_range_out(const sp_calibration *c, int range, int coupon, const double *step,
                            double r[CAL_STRETCHES])
{
    for (int k = 0; k < CAL_STRETCHES; k++) {
        r[k] = k * CAL_RANGES / CAL_STRETCHES == range ? residual_of(c, coupon, k) : NAN;
        for (int v = 0; v < c->tested->variable_count; v++)
            r[k] -= sp_cal_slope(c, coupon, v)[k] / c->tested->tested[coupon].mean * step[v];
    }
}

static void find_step(const sp_calibration *c, int range, double step[VALUES])
{
    matrix normal, inverse;
    double right[VALUES];
    const double variance = fmax(1e-8, c->doubt.residual * c->doubt.residual) * c->doubt.run;
    sum_normal(c, range, normal, right);
    add_ranges(c->tested, variance, normal);
    invert(c->tested->variable_count, normal, inverse);
    for (int v = 0; v < c->tested->variable_count; v++) {
        const seek_variable *variable = &c->tested->variable[v];
        step[v] = 0;
        for (int w = 0; w < c->tested->variable_count; w++) step[v] += inverse[v][w] * right[w];
        /* A step that ends outside the range ends at its edge. */
        step[v] = c->x[v] - fmin(variable->high, fmax(variable->low, c->x[v] - step[v]));
    }
}

/* List the left-out residuals of a tested coupon, NaN where there are none: of the coupon as a
 * whole, or for a single coupon range by range. */
static void left_out_residuals(const sp_calibration *c, int coupon, double r[CAL_STRETCHES])
{
    const cal_coupon *own = &c->tested->tested[coupon];
    if (c->left_out) {
        const double *force = sp_cal_left_out_force(c, coupon);
        for (int k = 0; k < CAL_STRETCHES; k++)
            r[k] = (c->left_out[coupon].factor * force[k] - own->measured[k]) / own->mean;
        return;
    }
    for (int range = 0; range < CAL_RANGES; range++) {
        double step[VALUES], part[CAL_STRETCHES];
        find_step(c, range, step);
        leave_range_out(c, range, coupon, step, part);
        for (int k = 0; k < CAL_STRETCHES; k++)
            if (k * CAL_RANGES / CAL_STRETCHES == range) r[k] = part[k];
    }
}

static void find_range_errors(sp_calibration *c)
{
    for (int range = 0; range < CAL_RANGES; range++) {
        residuals sum = {0};
        double step[VALUES];
        find_step(c, range, step);
        for (int i = 0; i < c->tested->tested_count; i++) {
            double r[CAL_STRETCHES];
            leave_range_out(c, range, i, step, r);
            add_residuals(r, c->tested->tested[i].weight, &sum);
        }
        c->doubt.range_error[range] = sum.weights > 0 ? sqrt(sum.square / sum.weights) : NAN;
    }
}

/* The error of the model is the left-out residual less what the values alone explain, and never
 * less than the residual of the fit. E243 */
static void find_model(sp_calibration *c)
{
    cal_doubt *d = &c->doubt;
    residuals sum = {0};
    double explained = 0;
    for (int i = 0; i < c->tested->tested_count; i++) {
        double r[CAL_STRETCHES];
        left_out_residuals(c, i, r);
        add_residuals(r, 1, &sum);
        for (int k = 0; k < CAL_STRETCHES; k++)
            if (isfinite(r[k])) {
                const double mean = c->tested->tested[i].mean;
                explained += sp_cal_variance(c, i, k) / (mean * mean);
            }
    }
    const double all = sum.count ? sum.square / sum.count : NAN;
    const double rest = sum.count ? all - explained / sum.count : NAN;
    d->model = sqrt(fmax(rest, fmin(all, d->residual * d->residual)));
    d->model_run = run_of(&sum);
    const int groups = c->left_out ? c->tested->tested_count : CAL_RANGES;
    d->freedom = fmax(groups - 1, sum.count / d->model_run - 1);
}

double sp_cal_left_out_residuals(const sp_calibration *c, int coupon, double r[CAL_STRETCHES])
{
    double square = 0;
    int count = 0;
    left_out_residuals(c, coupon, r);
    for (int k = 0; k < CAL_STRETCHES; k++)
        if (isfinite(r[k])) square += r[k] * r[k], count++;
    return count ? square / count : NAN;
}

void sp_cal_find_doubt(sp_calibration *c)
{
    find_residual(c);
    find_covariance(c);
    find_range_errors(c);
    find_model(c);
    c->doubt.held = sp_cal_share_held(c);
}

/* ---- in words ----------------------------------------------- */

/* Along the valley one value grows as a power of the other: x_a x_b^p stays constant. */
int sp_cal_pair_words(const sp_calibration *c, int a, int b, char *text, size_t size)
{
    const cal_doubt *d = &c->doubt;
    const double correlation = d->correlation[a][b];
    const seek_variable *first = &c->tested->variable[a], *second = &c->tested->variable[b];
    const double slope = d->covariance[a][b] / d->covariance[a][a]; /* slope of b over a */
    char known[320], more[64], move[64];
    if (!(fabs(correlation) > told_correlation)) return 0;
    if (first->low > 0 && second->low > 0) {
        sp_format(known, sizeof known, "only their product %s x %s^%.2g is known", first->key,
                  second->key, -c->x[b] / (slope * c->x[a]));
    } else {
        const double step = sqrt(d->covariance[a][a]);
        sp_seek_variable_text(first, sp_seek_variable_round(first, c->x[a] + step), more,
                              sizeof more);
        sp_seek_variable_text(second, sp_seek_variable_round(second, c->x[b] + slope * step), move,
                              sizeof move);
        sp_format(known, sizeof known, "%s with %s fits nearly as well", more, move);
    }
    sp_format(text, size, "%s and %s cannot be told apart by these tests: correlation %.2f; %s",
              first->key, second->key, correlation, known);
    return 1;
}
