/* Reading a load curve; see curve.h. */
#include "measure/curve.h"

#include <math.h>

#define END_TOLERANCE 1e-9   /* a curve pressed "to 40 %" reaches 40 % in spite of round-off */
#define DROP 0.01            /* smaller dips of the force are no maximum */
#define EVEN 4.0             /* a parabola is laid through steps whose lengths differ by less */
#define START_STRAIN 0.10    /* the start ends here when there is no maximum before */
#define TOE_SHARE 0.5        /* a first tangent below this share of the steepest slope is a toe */
#define STRAIGHT 0.01        /* slopes that differ by less belong to one straight part */
#define STRAIGHT_STRAIN 0.01 /* over at least this much of strain */
#define START_WINDOW                                                                               \
    0.002 /* strain over which a slope is taken: short steps around events carry round-off */

sp_measure sp_not_reached(void)
{
    return (sp_measure){0, 0.0};
}

sp_measure sp_reached(double value)
{
    return isfinite(value) ? (sp_measure){1, value} : sp_not_reached();
}

double sp_curve_area(const sp_path *path)
{
    return path->size[0] * path->size[2];
}

double sp_curve_end(const sp_path *path)
{
    return path->step_count > 0 ? path->step[path->step_count - 1].shortening : 0.0;
}

/* Last step with shortening <= u; -1 when there is none. */
static int step_before(const sp_path *path, double u)
{
    int last = -1;
    for (int i = 0; i < path->step_count; i++)
        if (path->step[i].shortening <= u) last = i;
    return last;
}

static int beyond_end(const sp_path *path, double u)
{
    return path->step_count < 2 || !(u >= 0.0) ||
           !(u <= sp_curve_end(path) + END_TOLERANCE * path->size[1]);
}

sp_measure sp_curve_force(const sp_path *path, double u)
{
    if (beyond_end(path, u)) return sp_not_reached();
    int i = step_before(path, u);
    if (i < 0) return sp_not_reached();
    const sp_step *a = &path->step[i];
    if (i == path->step_count - 1) return sp_reached(a->force);
    const sp_step *b = a + 1; /* b->shortening > u >= a->shortening: the difference is positive */
    double s = (u - a->shortening) / (b->shortening - a->shortening);
    return sp_reached(a->force + s * (b->force - a->force));
}

sp_measure sp_curve_work(const sp_path *path, double a, double b)
{
    if (beyond_end(path, b) || !(a <= b)) return sp_not_reached();
    double work = 0.0;
    for (int i = 0; i + 1 < path->step_count; i++) {
        const sp_step *p = &path->step[i], *q = p + 1;
        double width = q->shortening - p->shortening;
        if (!(width > 0.0)) continue; /* a snap does no platen work */
        double from = fmax(a, p->shortening), to = fmin(b, q->shortening);
        if (!(to > from)) continue;
        double slope = (q->force - p->force) / width;
        double middle = p->force + slope * (0.5 * (from + to) - p->shortening);
        work += middle * (to - from);
    }
    return sp_reached(work);
}

sp_measure sp_curve_mean_stress(const sp_path *path, double from, double to)
{
    double height = path->size[1];
    sp_measure work = sp_curve_work(path, from * height, to * height);
    if (!work.reached) return work;
    return sp_reached(work.value / ((to - from) * height * sp_curve_area(path)));
}

int sp_curve_first_maximum(const sp_path *path)
{
    int top = 0;
    for (int i = 1; i < path->step_count; i++) {
        if (path->step[i].force > path->step[top].force)
            top = i;
        else if (path->step[i].force < (1.0 - DROP) * path->step[top].force)
            return top;
    }
    return -1;
}

/* Last step of the start: the first maximum or START_STRAIN, but at least step 1 (steps may be coarse). */
static int start_end(const sp_path *path)
{
    int top = sp_curve_first_maximum(path), end = 1;
    while (end + 1 < path->step_count && end != top &&
           path->step[end + 1].shortening <= START_STRAIN * path->size[1] * (1.0 + END_TOLERANCE))
        end++;
    return end;
}

/* Step at least START_WINDOW of strain behind step i, or the end of the start. */
static int window_end(const sp_path *path, int i, int end)
{
    const double window = START_WINDOW * path->size[1];
    int j = i + 1;
    while (j < end && path->step[j].shortening - path->step[i].shortening < window) j++;
    return j;
}

static double slope_between(const sp_step *p, const sp_step *q)
{
    const double width = q->shortening - p->shortening;
    return width > 0.0 ? (q->force - p->force) / width : 0.0;
}

/* Tangent of the unloaded state; of the parabola through the first windows where the curve comes without tangents. */
static double first_tangent(const sp_path *path, int end)
{
    const sp_step *step = path->step;
    if (step[0].stiffness > 0.0 && isfinite(step[0].stiffness)) return step[0].stiffness;
    const int i = window_end(path, 0, end), j = i < end ? window_end(path, i, end) : i;
    const double near = slope_between(&step[0], &step[i]);
    if (j == i) return near;
    const double h = step[i].shortening - step[0].shortening;
    const double whole = step[j].shortening - step[0].shortening;
    return whole > 0.0 ? near - (slope_between(&step[i], &step[j]) - near) * h / whole : near;
}

/* The line over the window that begins at step i: slope 0 where a full window is no longer left. */
static double window_slope(const sp_path *path, int i, int end)
{
    const sp_step *p = &path->step[i], *q = &path->step[window_end(path, i, end)];
    const double least = START_WINDOW * path->size[1] * (1.0 - END_TOLERANCE);
    return i > 0 && q->shortening - p->shortening < least ? 0.0 : slope_between(p, q);
}

/* Step from which the steepest line of the start goes. */
static int steepest_from(const sp_path *path, int end)
{
    int steepest = 0;
    for (int i = 1; i < end; i++)
        if (window_slope(path, i, end) > window_slope(path, steepest, end)) steepest = i;
    return steepest;
}

/* Does the curve run straight for a while where it is steepest, or is it less steep at the end of the start? A curve that
 * stiffens on and on has neither, and so no toe that ended. */
static int toe_ends(const sp_path *path, double steepest, int end)
{
    double from = INFINITY, to = 0.0;
    int last = 0;
    for (int i = 0; i < end; i++) {
        const double slope = window_slope(path, i, end);
        if (i > 0 && slope == 0.0) continue;
        last = i;
        if (slope < (1.0 - STRAIGHT) * steepest) continue;
        from = fmin(from, path->step[i].shortening);
        to = path->step[window_end(path, i, end)].shortening;
    }
    return window_slope(path, last, end) < (1.0 - STRAIGHT) * steepest ||
           to - from >= STRAIGHT_STRAIN * path->size[1];
}

/* The tangent of the unloaded state: a wall that buckles inside the first step does not hide the stiffness before it, and a
 * law that stiffens does not add to it. Where the curve has a toe, the steepest line takes its place and the shortening counts
 * from where it meets zero force (ASTM D695 and ISO 604, from memory: the straight part, or without one the tangent at the
 * inflection, is carried back to zero). */
sp_start sp_curve_start(const sp_path *path)
{
    if (path->step_count < 2) return (sp_start){0.0, 0.0};
    const int end = start_end(path);
    const double tangent = fmax(0.0, first_tangent(path, end));
    const int from = steepest_from(path, end);
    const double steepest = window_slope(path, from, end);
    if (tangent >= TOE_SHARE * steepest || !toe_ends(path, steepest, end))
        return (sp_start){tangent, 0.0};
    const double toe = path->step[from].shortening - path->step[from].force / steepest;
    return (sp_start){steepest, fmax(0.0, toe)};
}

/* Vertex of the parabola through three points; the middle one when they do not bend down or are spaced unevenly. */
static void parabola_top(const double x[3], const double y[3], double *top_x, double *top_y)
{
    *top_x = x[1];
    *top_y = y[1];
    double h0 = x[1] - x[0], h1 = x[2] - x[1];
    if (!(h0 > 0.0 && h1 > 0.0 && h0 <= EVEN * h1 && h1 <= EVEN * h0))
        return; /* a jump, not a top */
    double s0 = (y[1] - y[0]) / h0, s1 = (y[2] - y[1]) / h1;
    double bend = (s1 - s0) / (h0 + h1);
    if (!(bend < 0.0)) return;
    double slope = (s0 * h1 + s1 * h0) / (h0 + h1), shift = -0.5 * slope / bend;
    if (!(shift > -h0 && shift < h1)) return;
    *top_x = x[1] + shift;
    *top_y = y[1] + 0.5 * slope * shift;
}

/* eta = (work per volume) / (largest stress so far). The largest stress instead of the present one: a snap that lets
 * the force drop would show as a spike of eta, and a cushion is judged by the peak it passes on. */
sp_efficiency sp_curve_efficiency(const sp_path *path)
{
    double height = path->size[1];
    double work = 0.0, peak = 0.0, x[3] = {0}, y[3] = {0}, best_x[3] = {0}, best_y[3] = {0};
    int best = -1, last = path->step_count - 1;
    for (int i = 1; i <= last; i++) {
        const sp_step *p = &path->step[i - 1], *q = p + 1;
        work += 0.5 * (p->force + q->force) * fmax(0.0, q->shortening - p->shortening);
        peak = fmax(peak, q->force);
        double eta = peak > 0.0 ? work / (height * peak) : 0.0; /* the face area cancels */
        if (q->shortening > p->shortening) {
            x[0] = x[1], y[0] = y[1];
            x[1] = x[2], y[1] = y[2];
        }
        x[2] = q->shortening / height, y[2] = eta;
        if (best == i - 1) best_x[2] = x[2], best_y[2] = y[2];
        if (best >= 0 && !(eta > best_y[1])) continue;
        best = i;
        best_x[0] = x[1], best_y[0] = y[1];
        best_x[1] = x[2], best_y[1] = y[2];
        best_x[2] = x[2], best_y[2] = y[2];
    }
    /* At the end, or hardly lower there: the maximum may lie beyond. */
    sp_efficiency result = {best >= 0 && y[2] < (1.0 - DROP) * best_y[1], 0.0, 0.0};
    if (result.reached) parabola_top(best_x, best_y, &result.strain, &result.value);
    return result;
}
