/* Read a load curve; see curve.h. */
#include "measure/curve.h"

#include <math.h>

/* A curve pressed "to 40 %" reaches 40 % in spite of round-off. */
static const double end_tolerance = 1e-9;
static const double drop_share = 0.01; /* smaller dips of the force are no maximum */
/* The efficiency is not taken below this share of the largest force so far. */
static const double valley_share = 0.5;
/* A parabola is laid through steps whose lengths differ by less. */
static const double even_ratio = 4.0;
static const double start_strain = 0.10; /* the start ends here when there is no maximum before */
/* A first tangent below this share of the steepest slope is a toe. */
static const double toe_share = 0.5;
/* Slopes that differ by less belong to one straight part. */
static const double straight_share = 0.01;
static const double straight_strain = 0.01; /* over at least this much of strain */
/* Strain of the chord that gives a stiffness (common practice, no source). */
static const double chord_strain = 0.01;
static const double round_off = 1e-9; /* mm */
/* Strain over which a slope is taken: short steps around events carry round-off. */
static const double start_window = 0.002;

sp_measure sp_not_reached(void)
{
    return (sp_measure){0, 0.0};
}

sp_measure sp_reached(double value)
{
    return isfinite(value) ? (sp_measure){1, value} : sp_not_reached();
}

/* Return a member of the state i of a view. */
static double value_at(const sp_curve *curve, const double *first, int i)
{
    return *(const double *)((const char *)first + (size_t)i * curve->stride);
}

static double u_at(const sp_curve *curve, int i)
{
    return value_at(curve, curve->shortening, i);
}

static double f_at(const sp_curve *curve, int i)
{
    return value_at(curve, curve->force, i);
}

static double k_at(const sp_curve *curve, int i)
{
    return value_at(curve, curve->stiffness, i);
}

sp_curve sp_curve_of_path(const sp_path *path)
{
    const sp_step *step = path->step;
    if (path->step_count < 1) return (sp_curve){.height = path->size[1]};
    return (sp_curve){.height = path->size[1],
                      .area = path->size[0] * path->size[2],
                      .count = path->step_count,
                      .stride = sizeof *step,
                      .shortening = &step->shortening,
                      .force = &step->force,
                      .stiffness = &step->stiffness};
}

double sp_curve_end(const sp_curve *curve)
{
    return curve->count > 0 ? u_at(curve, curve->count - 1) : 0.0;
}

/* Find the last step with shortening <= u; -1 when there is none. */
static int step_before(const sp_curve *curve, double u)
{
    int last = -1;
    for (int i = 0; i < curve->count; i++)
        if (u_at(curve, i) <= u) last = i;
    return last;
}

static int beyond_end(const sp_curve *curve, double u)
{
    return curve->count < 2 || !(u >= 0.0) ||
           !(u <= sp_curve_end(curve) + end_tolerance * curve->height);
}

sp_measure sp_curve_force(const sp_curve *curve, double u)
{
    if (beyond_end(curve, u)) return sp_not_reached();
    int i = step_before(curve, u);
    if (i < 0) return sp_not_reached();
    const double from = f_at(curve, i), begin = u_at(curve, i);
    if (i == curve->count - 1) return sp_reached(from);
    /* The next shortening is above u, which is not below `begin`, so the difference is positive. */
    const double s = (u - begin) / (u_at(curve, i + 1) - begin);
    return sp_reached(from + s * (f_at(curve, i + 1) - from));
}

/* Use Hermite's cubic through the tangents of both states, where both are known and the step does
 * not jump. */
sp_measure sp_curve_force_by_tangents(const sp_curve *curve, double u)
{
    const sp_measure straight = sp_curve_force(curve, u);
    const int i = straight.reached ? step_before(curve, u) : -1;
    if (i < 0 || i == curve->count - 1 || !curve->stiffness) return straight;
    const double h = u_at(curve, i + 1) - u_at(curve, i), s = (u - u_at(curve, i)) / h;
    const double rise = f_at(curve, i + 1) - f_at(curve, i);
    const double a = k_at(curve, i), b = k_at(curve, i + 1);
    if (!(h > 0) || !isfinite(a) || !isfinite(b) || a <= 0 || b <= 0) return straight;
    const double bend = s * (1 - s) * ((a * h - rise) * (1 - s) - (b * h - rise) * s);
    return sp_reached(straight.value + bend);
}

double sp_curve_step_at(const sp_curve *curve, double u)
{
    const int i = step_before(curve, u);
    if (i < 0 || i == curve->count - 1) return 0;
    return u_at(curve, i + 1) - u_at(curve, i);
}

sp_measure sp_curve_work(const sp_curve *curve, double a, double b)
{
    if (beyond_end(curve, b) || !(a <= b)) return sp_not_reached();
    double work = 0.0;
    for (int i = 0; i + 1 < curve->count; i++) {
        const double begin = u_at(curve, i), end = u_at(curve, i + 1);
        double width = end - begin;
        if (!(width > 0.0)) continue; /* a snap does no platen work */
        double from = fmax(a, begin), to = fmin(b, end);
        if (!(to > from)) continue;
        double slope = (f_at(curve, i + 1) - f_at(curve, i)) / width;
        double middle = f_at(curve, i) + slope * (0.5 * (from + to) - begin);
        work += middle * (to - from);
    }
    return sp_reached(work);
}

sp_measure sp_curve_work_to(const sp_curve *curve, double u)
{
    return sp_curve_work(curve, 0, u);
}

sp_measure sp_curve_mean_stress(const sp_curve *curve, double from, double to)
{
    double height = curve->height;
    sp_measure work = sp_curve_work(curve, from * height, to * height);
    if (!work.reached) return work;
    return sp_reached(work.value / ((to - from) * height * curve->area));
}

int sp_curve_first_maximum(const sp_curve *curve)
{
    int top = 0;
    for (int i = 1; i < curve->count; i++) {
        if (f_at(curve, i) > f_at(curve, top))
            top = i;
        else if (f_at(curve, i) < (1.0 - drop_share) * f_at(curve, top))
            return top;
    }
    return -1;
}

/* Find the last step of the start: the first maximum or start_strain, but at least step 1 (steps
 * may be coarse). */
static int start_end(const sp_curve *curve)
{
    int top = sp_curve_first_maximum(curve), end = 1;
    while (end + 1 < curve->count && end != top &&
           u_at(curve, end + 1) <= start_strain * curve->height * (1.0 + end_tolerance))
        end++;
    return end;
}

/* Find the step at least start_window of strain behind step i, or the end of the start. */
static int window_end(const sp_curve *curve, int i, int end)
{
    const double window = start_window * curve->height;
    int j = i + 1;
    while (j < end && u_at(curve, j) - u_at(curve, i) < window) j++;
    return j;
}

static double slope_between(const sp_curve *curve, int i, int j)
{
    const double width = u_at(curve, j) - u_at(curve, i);
    return width > 0.0 ? (f_at(curve, j) - f_at(curve, i)) / width : 0.0;
}

/* Return the tangent of the unloaded state, or that of the parabola through the first windows where
 * the curve comes without tangents. */
static double first_tangent(const sp_curve *curve, int end)
{
    const double tangent = curve->stiffness ? curve->stiffness[0] : 0.0;
    if (tangent > 0.0 && isfinite(tangent)) return tangent;
    const int i = window_end(curve, 0, end), j = i < end ? window_end(curve, i, end) : i;
    const double near = slope_between(curve, 0, i);
    if (j == i) return near;
    const double h = u_at(curve, i) - u_at(curve, 0);
    const double whole = u_at(curve, j) - u_at(curve, 0);
    return whole > 0.0 ? near - (slope_between(curve, i, j) - near) * h / whole : near;
}

/* Fit the line over the window that begins at step i: its slope is 0 where no full window is left.
 */
static double window_slope(const sp_curve *curve, int i, int end)
{
    const int j = window_end(curve, i, end);
    const double least = start_window * curve->height * (1.0 - end_tolerance);
    return i > 0 && u_at(curve, j) - u_at(curve, i) < least ? 0.0 : slope_between(curve, i, j);
}

/* Find the step at which the steepest line of the start begins. */
static int steepest_from(const sp_curve *curve, int end)
{
    int steepest = 0;
    for (int i = 1; i < end; i++)
        if (window_slope(curve, i, end) > window_slope(curve, steepest, end)) steepest = i;
    return steepest;
}

/* Return 1 when the curve runs straight for a while where it is steepest, or is less steep at the
 * end of the start. A curve that stiffens all the way does neither, and so has no toe that ended.
 */
static int toe_ends(const sp_curve *curve, double steepest, int end)
{
    double from = INFINITY, to = 0.0;
    int last = 0;
    for (int i = 0; i < end; i++) {
        const double slope = window_slope(curve, i, end);
        if (i > 0 && slope == 0.0) continue;
        last = i;
        if (slope < (1.0 - straight_share) * steepest) continue;
        from = fmin(from, u_at(curve, i));
        to = u_at(curve, window_end(curve, i, end));
    }
    return window_slope(curve, last, end) < (1.0 - straight_share) * steepest ||
           to - from >= straight_strain * curve->height;
}

/* Take the tangent of the unloaded state: a wall that buckles inside the first step does not hide
 * the stiffness before it, and a law that stiffens does not add to it. Where the curve has a toe,
 * take the steepest line instead, and count the shortening from where that line meets zero force
 * (toe compensation as in annex A1 of ASTM D638, read in a text that quotes it: the straight part,
 * or without one the tangent at the inflection, is carried back to zero). */
sp_start sp_curve_start(const sp_curve *curve)
{
    if (curve->count < 2) return (sp_start){0.0, 0.0};
    const int end = start_end(curve);
    const double tangent = fmax(0.0, first_tangent(curve, end));
    const int from = steepest_from(curve, end);
    const double steepest = window_slope(curve, from, end);
    if (tangent >= toe_share * steepest || !toe_ends(curve, steepest, end))
        return (sp_start){tangent, 0.0};
    const double toe = u_at(curve, from) - f_at(curve, from) / steepest;
    return (sp_start){steepest, fmax(0.0, toe)};
}

/* Find the vertex of the parabola through three points; take the middle point when they do not bend
 * down or are spaced unevenly. */
static void parabola_top(const double x[3], const double y[3], double *top_x, double *top_y)
{
    *top_x = x[1];
    *top_y = y[1];
    double h0 = x[1] - x[0], h1 = x[2] - x[1];
    if (!(h0 > 0.0 && h1 > 0.0 && h0 <= even_ratio * h1 && h1 <= even_ratio * h0))
        return; /* the force jumps here: this is no top */
    double s0 = (y[1] - y[0]) / h0, s1 = (y[2] - y[1]) / h1;
    double bend = (s1 - s0) / (h0 + h1);
    if (!(bend < 0.0)) return;
    double slope = (s0 * h1 + s1 * h0) / (h0 + h1), shift = -0.5 * slope / bend;
    if (!(shift > -h0 && shift < h1)) return;
    *top_x = x[1] + shift;
    *top_y = y[1] + 0.5 * slope * shift;
}

/* eta = (work per volume) / (present stress). In the valley behind a snap it says nothing, so
 * states below half of the largest force so far are skipped. */
sp_efficiency sp_curve_efficiency(const sp_curve *curve)
{
    double height = curve->height;
    double work = 0.0, peak = 0.0, x[3] = {0}, y[3] = {0}, best_x[3] = {0}, best_y[3] = {0};
    int best = -1, after = 0, last = curve->count - 1;
    for (int i = 1; i <= last; i++) {
        const double width = u_at(curve, i) - u_at(curve, i - 1), force = f_at(curve, i);
        work += 0.5 * (f_at(curve, i - 1) + force) * fmax(0.0, width);
        peak = fmax(peak, force);
        if (!(force > 0.0) || force < valley_share * peak) continue;
        double eta = work / (height * force); /* the area of the face cancels */
        if (width > 0.0) {
            x[0] = x[1], y[0] = y[1];
            x[1] = x[2], y[1] = y[2];
        }
        x[2] = u_at(curve, i) / height, y[2] = eta;
        if (after) best_x[2] = x[2], best_y[2] = y[2];
        after = 0;
        if (best >= 0 && !(eta > best_y[1])) continue;
        best = i, after = 1;
        best_x[0] = x[1], best_y[0] = y[1];
        best_x[1] = x[2], best_y[1] = y[2];
        best_x[2] = x[2], best_y[2] = y[2];
    }
    /* When the maximum is at the end of the curve, or hardly higher than the end, the real one may
     * lie beyond. */
    sp_efficiency result = {best >= 0 && y[2] < (1.0 - drop_share) * best_y[1], 0.0, 0.0};
    if (result.reached) parabola_top(best_x, best_y, &result.strain, &result.value);
    return result;
}

sp_measure sp_curve_shortening(const sp_curve *curve, double force)
{
    for (int i = 1; i < curve->count; i++) {
        const double below = f_at(curve, i - 1), above = f_at(curve, i), begin = u_at(curve, i - 1);
        if (!(above >= force)) continue;
        const double share = above > below && below < force ? (force - below) / (above - below) : 0;
        return sp_reached(begin + share * (u_at(curve, i) - begin));
    }
    return sp_not_reached();
}

/* Sum what a cushion takes up before it passes on more than the peak: the work of the whole curve
 * when it stays below. */
sp_measure sp_curve_energy_before(const sp_curve *curve, double peak)
{
    double energy = 0;
    if (curve->count < 2) return sp_not_reached();
    for (int i = 1; i < curve->count; i++) {
        const double strain[2] = {u_at(curve, i - 1) / curve->height,
                                  u_at(curve, i) / curve->height};
        const double p = f_at(curve, i - 1) / curve->area, q = f_at(curve, i) / curve->area;
        const double width = fmax(0, strain[1] - strain[0]);
        if (q > peak) {
            const double share = p < peak ? (peak - p) / (q - p) : 0;
            return sp_reached(energy + share * width * 0.5 * (p + peak));
        }
        energy += width * 0.5 * (p + q);
    }
    return sp_reached(energy);
}

/* Return the slope of the chord over 1 % of strain about a shortening, and over half of it at
 * either end of the curve. */
sp_measure sp_curve_stiffness(const sp_curve *curve, double u)
{
    const double half = 0.5 * chord_strain * curve->height, last = sp_curve_end(curve);
    const double from = fmax(0.0, u - half), to = fmin(last, u + half);
    const sp_measure a = sp_curve_force(curve, from), b = sp_curve_force(curve, to);
    if (beyond_end(curve, u) || !a.reached || !b.reached || !(to > from)) return sp_not_reached();
    return sp_reached((b.value - a.value) / (to - from));
}

/* Find the force at a shortening inside the piece of the curve that ends at state i; behind a snap,
 * at its end. */
static double force_in(const sp_curve *curve, int i, double shortening)
{
    const double begin = u_at(curve, i - 1), from = f_at(curve, i - 1), to = f_at(curve, i);
    const double length = u_at(curve, i) - begin;
    return length > 0 ? from + (to - from) * (shortening - begin) / length : to;
}

double sp_curve_mean_force(const sp_curve *curve, double from, double to)
{
    double work = 0;
    if (curve->count < 2 || from < u_at(curve, 0) - round_off ||
        to > sp_curve_end(curve) + round_off)
        return NAN;
    for (int i = 1; i < curve->count; i++) {
        const double a = fmax(from, u_at(curve, i - 1)), b = fmin(to, u_at(curve, i));
        if (b > a) work += 0.5 * (b - a) * (force_in(curve, i, a) + force_in(curve, i, b));
    }
    return work / (to - from);
}
