/* Find where a curve begins: the force of the air, the shortening of the machine, contact, toe and
 * preload. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "rig/rig_parts.h"

static const int air_rows_least = 10;
static const double air_share = 0.005; /* of the whole way: a way through the air is longer */
/* In the air the force stays within this many standard deviations. */
static const double air_noise = 4;
static const double air_force_share = 2e-4; /* of the largest force, where there is no noise */
static const double slope_sure = 3; /* standard errors: a slope below this many counts as none */
static const int leaves_rows = 5; /* rows above the noise, one after the other, that end the air */
enum { WINDOWS = 400 };           /* places at which the slope is looked for */
static const int window_rows_least = 5;
static const double window_share = 0.01; /* of the way: shortest piece on which a slope is found */
static const double window_most = 0.08;  /* longest */
static const double slope_error = 0.02;  /* standard error of a slope that is good enough */
/* a start with more of the steepest slope than this has no toe. */
static const double toe_sharp = 0.85;
/* The steepest slope is known when the slope has fallen to this share of it. */
static const double past_steepest = 0.85;
static const double straight_share = 0.15; /* of the way: a slope that holds so long is straight */
static const int noise_rows_least = 20;    /* that tell the noise of the start */
static const double curve_drop = 0.03;     /* of a maximum: after such a fall the start is over */

/* ---- air ----------------------------------------------- */

typedef struct line_fit {
    double slope, slope_error, mean_u, mean_f;
} line_fit;

/* Least squares through rows from .. end - 1; the error of the slope comes from the noise of the
 * file. */
static line_fit fit_line(const rig_rows *r, int from, int end, double noise)
{
    line_fit fit = {0};
    const int n = end - from;
    double uu = 0, uf = 0;
    for (int i = from; i < end; i++) fit.mean_u += r->u[i] / n, fit.mean_f += r->f[i] / n;
    for (int i = from; i < end; i++) {
        uu += (r->u[i] - fit.mean_u) * (r->u[i] - fit.mean_u);
        uf += (r->u[i] - fit.mean_u) * (r->f[i] - fit.mean_f);
    }
    if (!(uu > 0)) {
        fit.slope_error = INFINITY;
        return fit;
    }
    fit.slope = uf / uu;
    fit.slope_error = noise / sqrt(uu);
    return fit;
}

/* Find the rows at the beginning over which the force only scatters; their mean is the zero of the
 * force. */
static int find_air(const rig_rows *r, double noise, double *level)
{
    double largest = 0, sum = 0;
    int end = 0, above = 0;
    for (int i = 0; i < r->count; i++) largest = fmax(largest, fabs(r->f[i]));
    const double within = fmax(air_noise * noise, air_force_share * largest);
    for (; end < r->count; end++) {
        if (end > 0 && fabs(r->f[end] - sum / end) > within) {
            if (++above == 3) break;
        } else
            above = 0;
        sum += r->f[end];
    }
    end -= above;
    while (end >= air_rows_least) {
        const line_fit fit = fit_line(r, 0, end, noise);
        if (r->u[end - 1] - r->u[0] < air_share * (r->u[r->count - 1] - r->u[0])) return 0;
        if (fabs(fit.slope) < slope_sure * fit.slope_error ||
            fabs(fit.slope) * (r->u[end - 1] - r->u[0]) < 0.25 * air_force_share * largest) {
            *level = fit.mean_f;
            return end;
        }
        end /= 2;
    }
    return 0;
}

/* Find the first of some rows in which the force is above the air. */
static int find_contact(const rig_rows *r, int air, double noise)
{
    double largest = 0;
    int above = 0;
    for (int i = 0; i < r->count; i++) largest = fmax(largest, r->f[i]);
    /* Without a way through the air, the noise of the file tells what is above it. */
    const double least = fmax(3 * noise, (air ? air_force_share : 1e-6) * largest);
    for (int i = air / 2; i < r->count; i++) {
        above = r->f[i] > least ? above + 1 : 0;
        if (above == leaves_rows) return i - leaves_rows > 0 ? i - leaves_rows : 0;
    }
    return 0;
}

/* ---- machine ----------------------------------------------- */

/* Return the shortening of the machine under a force: E206, or the curve of platen on platen,
 * continued straight beyond its end. */
static double machine_shortening(const sp_rig *rig, double force)
{
    const rig_rows *m = &rig->machine;
    double u = rig->request.machine_stiffness > 0 ? force / rig->request.machine_stiffness : 0;
    if (m->count < 2 || force <= 0) return u;
    int low = 0, high = m->count - 1;
    if (force >= m->f[high])
        low = high - 1;
    else
        while (high - low > 1) {
            const int middle = (low + high) / 2;
            *(m->f[middle] > force ? &high : &low) = middle;
        }
    const double share = (force - m->f[low]) / (m->f[low + 1] - m->f[low]);
    return u + m->u[low] + share * (m->u[low + 1] - m->u[low]);
}

static sp_status take_machine_off(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    rig_rows *r = &s->curve;
    const int had = r->count;
    double largest = 0;
    if (!(rig->request.machine_stiffness > 0) && rig->machine.count < 2) return SP_OK;
    for (int i = 0; i < r->count; i++) {
        const double u = machine_shortening(rig, r->f[i]);
        r->u[i] -= u;
        s->machine_share = fmax(s->machine_share, u);
        largest = fmax(largest, r->f[i]);
    }
    if (rig->machine.count >= 2 && largest > 1.001 * rig->machine.f[rig->machine.count - 1])
        sp_warn(context,
                "%s: the curve of platen on platen ends at %.4g %s, that of %s at %.4g: it goes on "
                "with its "
                "last slope",
                rig->file, rig->machine.f[rig->machine.count - 1], sp_rig_force_unit(rig), s->name,
                largest);
    const int pooled = sp_rig_pool(r);
    if (pooled < 0) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", rig->file);
    if (r->count >= 2 && r->count > had / 10 && r->u[r->count - 1] > r->u[0]) return SP_OK;
    return sp_fail(
        context, SP_NO_READ,
        "%s: received a machine that shortens by %.4g %s under %s, as much as the curve itself; "
        "valid: a stiffer machine",
        rig->file, s->machine_share, sp_rig_travel_unit(rig), s->name);
}

/* ---- toe ----------------------------------------------- */

static int row_at(const rig_rows *r, double u)
{
    int low = 0, high = r->count;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (r->u[middle] < u)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Find the last row of the start: the first maximum that a fall of the force follows. */
static int start_end(const rig_rows *r, int from, double noise)
{
    int top = from;
    for (int i = from; i < r->count; i++) {
        if (r->f[i] > r->f[top]) top = i;
        if (r->f[i] < (1 - curve_drop) * r->f[top] - 6 * noise && r->f[top] > 10 * noise)
            return top;
    }
    return r->count - 1;
}

typedef struct toe {
    int found, open;           /* open: the curve stiffens to its end */
    double slope, zero, first; /* steepest slope, where its line meets zero, slope at contact */
} toe;

/* Find the steepest piece of the start with pieces of one length (E207). *good: the error of its
 * slope is small. */
static toe steepest_line(const rig_rows *r, int from, int end, double length, double noise,
                         int *good)
{
    toe t = {0};
    double fell_at = NAN, steep_from = NAN, steep_to = NAN, best_u = 0, best_f = 0, best_error = 0;
    const double begin = r->u[from], way = r->u[end] - begin;
    for (int k = 0; k < WINDOWS; k++) {
        const double u = begin + k * (way - length) / WINDOWS;
        int a = row_at(r, u), b = row_at(r, u + length) + 1;
        if (a < from) a = from;
        if (b > end + 1) b = end + 1;
        if (b - a < window_rows_least) {
            b = a + window_rows_least;
            if (b > end + 1) break;
        }
        const line_fit fit = fit_line(r, a, b, noise);
        if (!isfinite(fit.slope_error)) continue;
        if (k == 0) t.first = fit.slope;
        if (fit.slope > t.slope && fit.slope > slope_sure * fit.slope_error) {
            t.slope = fit.slope;
            best_u = fit.mean_u, best_f = fit.mean_f, best_error = fit.slope_error;
        }
        if (t.slope > 0 && fit.slope < past_steepest * t.slope - slope_sure * fit.slope_error) {
            fell_at = u;
            break;
        }
        if (fit.slope >= 0.97 * t.slope) {
            if (!(steep_from <= u) || fit.slope >= t.slope / 0.97) steep_from = u;
            steep_to = u + length;
        }
    }
    *good = t.slope > 0 && best_error < slope_error * t.slope;
    t.found = t.slope > 0;
    t.open = t.found && isnan(fell_at) && !(steep_to - steep_from > straight_share * way);
    if (t.found) t.zero = best_u - best_f / t.slope;
    return t;
}

/* Pieces as short as noise and rows allow. */
static toe find_toe(const rig_rows *r, int from, double noise)
{
    const int end = start_end(r, from, noise);
    const double way = r->u[end] - r->u[from];
    toe t = {0};
    int good = 0;
    if (end - from < 2 * window_rows_least || !(way > 0)) return t;
    for (double share = window_share; share <= window_most && !good; share *= 2)
        t = steepest_line(r, from, end, share * way, noise, &good);
    return t;
}

/* ---- zero ----------------------------------------------- */

/* Find where the force first stays at the preload for some rows, between the rows before and
 * behind. NAN: never. */
static double preload_place(const rig_rows *r, double preload)
{
    for (int i = 0, above = 0; i < r->count; i++) {
        above = r->f[i] >= preload ? above + 1 : 0;
        if (above < leaves_rows && i + 1 < r->count) continue;
        if (!above) return NAN;
        const int first = i - above + 1;
        if (first == 0) return r->u[0];
        const double step = r->f[first] - r->f[first - 1];
        const double share = step > 0 ? (preload - r->f[first - 1]) / step : 1;
        return r->u[first - 1] + share * (r->u[first] - r->u[first - 1]);
    }
    return NAN;
}

static double force_at(const rig_rows *r, double u)
{
    const int i = row_at(r, u);
    if (i == 0) return r->f[0];
    if (i >= r->count) return r->f[r->count - 1];
    const double step = r->u[i] - r->u[i - 1];
    return step > 0 ? r->f[i - 1] + (u - r->u[i - 1]) / step * (r->f[i] - r->f[i - 1]) : r->f[i];
}

/* Noise often grows with the force, so that of the start is measured on its own rows, up to a
 * quarter of the largest force. */
static sp_status noise_of_start(sp_context *context, const sp_rig *rig, const rig_rows *r,
                                double *noise)
{
    double largest = 0;
    int count = 0;
    double *room = sp_alloc((size_t)r->count + 1, sizeof *room);
    if (!room) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", rig->file);
    for (int i = 0; i < r->count; i++) largest = fmax(largest, r->f[i]);
    while (count < r->count && (r->f[count] < 0.25 * largest || count < noise_rows_least)) count++;
    *noise = sp_rig_noise(r->f, count, room);
    sp_free(room);
    return SP_OK;
}

static sp_status choose_zero(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    const rig_rows *r = &s->curve;
    const sp_rig_request *q = &rig->request;
    double noise = 0;
    const sp_status status = noise_of_start(context, rig, r, &noise);
    if (status != SP_OK) return status;
    const int contact = find_contact(r, s->air_rows, noise);
    const toe t = find_toe(r, contact, noise);
    s->contact = contact > 0 ? r->u[contact] : NAN;
    s->toe_slope = t.found ? t.slope : NAN;
    s->start_slope = t.found ? t.first : NAN;
    s->toe_open = t.open;
    s->zero = q->zero;
    switch (q->zero) {
    case SP_ZERO_AUTO:
        /* Take the steepest line when the start before it is less steep. */
        if (t.found && !t.open && t.first < toe_sharp * t.slope && t.zero > r->u[contact]) {
            s->zero = SP_ZERO_TOE;
            s->zero_at = t.zero;
        } else if (contact > 0) {
            s->zero = SP_ZERO_CONTACT;
            /* Carry the curve back from the noise to zero force by the first slope, where there is
             * one. */
            s->zero_at = t.found && t.zero > r->u[0] && t.first >= toe_sharp * t.slope
                             ? t.zero
                             : r->u[contact];
        } else {
            s->zero = SP_ZERO_FILE;
            s->zero_at = 0;
        }
        break;
    case SP_ZERO_FILE:
        s->zero_at = 0;
        break;
    case SP_ZERO_AT:
        s->zero_at = q->starts_at;
        break;
    case SP_ZERO_CONTACT:
        s->zero_at = r->u[contact];
        break;
    case SP_ZERO_PRELOAD:
        s->zero_at = preload_place(r, q->preload);
        if (isnan(s->zero_at))
            return sp_fail(context, SP_NO_READ,
                           "%s: received a preload of %g %s, which %s never reaches; valid: less",
                           rig->file, q->preload, sp_rig_force_unit(rig), s->name);
        break;
    case SP_ZERO_TOE:
        if (!t.found)
            return sp_fail(
                context, SP_NO_READ,
                "%s: received a toe to be carried back, but %s has no rising start; valid: "
                "zero: file, contact or a preload",
                rig->file, s->name);
        if (t.open)
            sp_warn(context,
                    "%s: %s stiffens to its end: no straight part follows the toe, so its steepest "
                    "line says "
                    "little of zero",
                    rig->file, s->name);
        s->zero_at = t.zero;
        break;
    }
    return SP_OK;
}

static sp_status cut_before_zero(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    rig_rows *r = &s->curve;
    const double first = s->zero == SP_ZERO_PRELOAD ? force_at(r, s->zero_at) : 0;
    int from = 0;
    while (from < r->count && !(r->u[from] > s->zero_at)) from++;
    const int left = r->count - from;
    if (left < 2)
        return sp_fail(
            context, SP_NO_READ,
            "%s: received %d rows of %s beyond a shortening of %g %s, its zero; valid: at least 2",
            rig->file, left, s->name, s->zero_at, sp_rig_travel_unit(rig));
    memmove(r->u + 1, r->u + from, (size_t)left * sizeof *r->u);
    memmove(r->f + 1, r->f + from, (size_t)left * sizeof *r->f);
    r->count = left + 1;
    for (int i = 1; i < r->count; i++) r->u[i] -= s->zero_at;
    r->u[0] = 0;
    r->f[0] = first;
    return SP_OK;
}

sp_status sp_rig_put_zero(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    double level = 0;
    s->air_rows = find_air(&s->curve, s->noise, &level);
    if (s->air_rows) {
        s->force_zero = level;
        for (int i = 0; i < s->curve.count; i++) s->curve.f[i] -= level;
    }
    sp_status status = take_machine_off(context, rig, s);
    if (status == SP_OK) status = choose_zero(context, rig, s);
    if (status == SP_OK) status = cut_before_zero(context, rig, s);
    return status;
}
