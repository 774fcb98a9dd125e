/* Find the loading of one cycle in the rows of a file: its signs, spikes, noise, turning points,
 * and rows that go back. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "rig/rig_parts.h"

static const double turn_share = 0.02; /* of the whole way: a shorter way is no cycle */
static const double turn_noise = 8;    /* standard deviations of the shortening */
/* A cycle that comes to this share of the way to the furthest shortening counts as reaching it. */
static const double reaches = 0.98;
static const double top_share = 5e-4;   /* of the way: rows so near to the top are a hold */
static const double spike_noise = 12;   /* standard deviations of the force */
static const double spike_share = 0.05; /* of the largest force */
/* Median of |second difference| of white noise, in standard deviations: 0.6745 sqrt 6 (E205). */
static const double second_difference = 1.6521;
enum { NOISE_PROBE = 200000 };

sp_status sp_rig_rows_make(sp_context *context, const char *file, int count, rig_rows *rows)
{
    *rows = (rig_rows){0};
    rows->u = sp_alloc((size_t)count + 2, sizeof *rows->u);
    rows->f = sp_alloc((size_t)count + 2, sizeof *rows->f);
    return rows->u && rows->f ? SP_OK : sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
}

void sp_rig_rows_free(rig_rows *rows)
{
    sp_free(rows->u);
    sp_free(rows->f);
    *rows = (rig_rows){0};
}

double sp_rig_noise(const double *value, int count, double *room)
{
    const int step = count > NOISE_PROBE ? count / NOISE_PROBE + 1 : 1;
    int n = 0;
    for (int i = 1; i + 1 < count; i += step)
        room[n++] = fabs(value[i - 1] - 2 * value[i] + value[i + 1]);
    return n > 4 ? sp_rig_median(room, n) / second_difference : 0;
}

/* Make pressing positive: where the platen is furthest from its first row, both signs are those of
 * pressing. */
static void put_signs(rig_specimen *s)
{
    rig_rows *raw = &s->raw;
    int furthest = 0, strongest = 0;
    for (int i = 1; i < raw->count; i++) {
        if (fabs(raw->u[i] - raw->u[0]) > fabs(raw->u[furthest] - raw->u[0])) furthest = i;
        if (fabs(raw->f[i]) > fabs(raw->f[strongest])) strongest = i;
    }
    const double way = raw->u[furthest] - raw->u[0];
    double force = raw->f[furthest];
    if (fabs(force) < 0.05 * fabs(raw->f[strongest])) force = raw->f[strongest];
    s->travel_sign = way < 0 ? -1 : 1;
    s->force_sign = force < 0 ? -1 : 1;
    for (int i = 0; i < raw->count; i++) {
        raw->u[i] *= s->travel_sign;
        raw->f[i] *= s->force_sign;
    }
    /* A scale that is far from zero where the test begins (a height, a place of the machine) is
     * counted from there. */
    const double from = raw->u[0];
    if (fabs(from) > 0.2 * fabs(way))
        for (int i = 0; i < raw->count; i++) raw->u[i] -= from;
}

/* A row whose force is far off while its neighbours agree is a spike of the machine. */
static int drop_spikes(rig_specimen *s)
{
    rig_rows *raw = &s->raw;
    double largest = 0;
    int kept = 0, dropped = 0;
    /* Find the largest force without spikes, from neighbours that agree. */
    for (int i = 1; i < raw->count; i++)
        largest = fmax(largest, fmin(fabs(raw->f[i]), fabs(raw->f[i - 1])));
    const double least = fmax(spike_noise * s->noise, spike_share * largest);
    for (int i = 0; i < raw->count; i++) {
        const int inside = i > 0 && i + 1 < raw->count;
        const double before = kept ? raw->f[kept - 1] : 0, behind = inside ? raw->f[i + 1] : 0;
        if (inside && kept && fabs(raw->f[i] - before) > least &&
            fabs(raw->f[i] - behind) > least && (raw->f[i] - before) * (raw->f[i] - behind) > 0 &&
            fabs(before - behind) < 0.25 * least) {
            dropped++;
            continue;
        }
        raw->u[kept] = raw->u[i];
        raw->f[kept++] = raw->f[i];
    }
    raw->count = kept;
    return dropped;
}

sp_status sp_rig_clean(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    double *room = sp_alloc((size_t)s->raw.count + 1, sizeof *room);
    if (!room) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", rig->file);
    put_signs(s);
    s->noise = sp_rig_noise(s->raw.f, s->raw.count, room);
    s->spikes = drop_spikes(s);
    s->travel_noise = sp_rig_noise(s->raw.u, s->raw.count, room);
    sp_free(room);
    if (s->raw.count >= 2) return SP_OK;
    return sp_fail(context, SP_NO_READ, "%s: received %d rows of %s; valid: more", rig->file,
                   s->raw.count, s->name);
}

/* ---- cycles ----------------------------------------------- */

static sp_status add_cycle(sp_context *context, const sp_rig *rig, rig_specimen *s, int from,
                           int top, int end)
{
    if (s->cycle_count >= RIG_CYCLE_MAX) {
        s->cycles_more++;
        return SP_OK;
    }
    if (!s->all) s->all = sp_alloc(RIG_CYCLE_MAX, sizeof *s->all);
    if (!s->all) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", rig->file);
    s->all[s->cycle_count++] = (rig_cycle){from, top, end, s->raw.u[top]};
    return SP_OK;
}

/* Find the turning points: a way down that is longer than noise, and a way back that is, too. */
static sp_status find_cycles(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    const rig_rows *raw = &s->raw;
    double low = raw->u[0], high = raw->u[0];
    for (int i = 0; i < raw->count; i++) low = fmin(low, raw->u[i]), high = fmax(high, raw->u[i]);
    const double turn = fmax(turn_share * (high - low), turn_noise * s->travel_noise);
    int from = 0, top = 0, down = 1; /* down 1: the platen comes down */
    int lowest = 0;
    sp_status status = SP_OK;
    for (int i = 1; i < raw->count && status == SP_OK; i++) {
        if (down) {
            /* Before the way down begins, the lowest row moves the beginning. */
            if (raw->u[i] < raw->u[from] && raw->u[top] - raw->u[from] < turn) from = top = i;
            if (raw->u[i] > raw->u[top]) top = i;
            if (raw->u[i] < raw->u[top] - turn) {
                down = 0;
                lowest = i;
            }
            continue;
        }
        if (raw->u[i] < raw->u[lowest]) lowest = i;
        if (raw->u[i] > raw->u[lowest] + turn) {
            status = add_cycle(context, rig, s, from, top, lowest);
            from = lowest;
            top = i;
            down = 1;
        }
    }
    if (status == SP_OK && (raw->u[top] - raw->u[from] >= turn || !s->cycle_count))
        status = add_cycle(context, rig, s, from, top, raw->count - 1);
    return status;
}

static sp_status choose_cycle(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    double furthest = -INFINITY;
    for (int i = 0; i < s->cycle_count; i++) furthest = fmax(furthest, s->all[i].furthest);
    if (rig->request.cycle > s->cycle_count)
        return sp_fail(context, SP_NO_READ, "%s: received cycle %d of %s; valid: 1 .. %d",
                       rig->file, rig->request.cycle, s->name, s->cycle_count);
    s->cycle = rig->request.cycle - 1;
    for (int i = 0; i < s->cycle_count && s->cycle < 0; i++)
        if (furthest - s->all[i].furthest <= (1 - reaches) * (furthest - s->raw.u[s->all[i].from]))
            s->cycle = i;
    if (s->cycle > 0 && !rig->request.cycle)
        sp_warn(context,
                "%s: %s: cycle %d of %d is taken, the first that goes furthest; those before it "
                "may have "
                "softened the coupon",
                rig->file, s->name, s->cycle + 1, s->cycle_count);
    return SP_OK;
}

int sp_rig_pool(rig_rows *rows)
{
    /* u and f hold the means of pools. The weights stand in a third array only while they are
     * needed; later the ends of the pools tell them. */
    int kept = 0, pooled = 0;
    double *weight = sp_alloc((size_t)rows->count + 1, sizeof *weight);
    if (!weight) return -1;
    for (int i = 0; i < rows->count; i++) {
        rows->u[kept] = rows->u[i];
        rows->f[kept] = rows->f[i];
        weight[kept++] = 1;
        while (kept > 1 && rows->u[kept - 1] < rows->u[kept - 2]) {
            const double a = weight[kept - 2], b = weight[kept - 1];
            rows->u[kept - 2] = (a * rows->u[kept - 2] + b * rows->u[kept - 1]) / (a + b);
            rows->f[kept - 2] = (a * rows->f[kept - 2] + b * rows->f[kept - 1]) / (a + b);
            weight[kept - 2] = a + b;
            kept--;
            pooled++;
        }
    }
    rows->count = kept;
    sp_free(weight);
    return pooled;
}

sp_status sp_rig_take_loading(sp_context *context, const sp_rig *rig, rig_specimen *s)
{
    sp_status status = find_cycles(context, rig, s);
    s->cycle = -1;
    if (status == SP_OK) status = choose_cycle(context, rig, s);
    if (status != SP_OK) return status;
    rig_cycle *c = &s->all[s->cycle];
    /* A hold at the top is no loading: the force falls there while the platen stands. */
    const double way = s->raw.u[c->top] - s->raw.u[c->from];
    const double near = fmax(top_share * way, 2 * s->travel_noise);
    int top = c->from;
    while (top < c->top && s->raw.u[top] < s->raw.u[c->top] - near) top++;
    c->top = top;
    const int count = top - c->from + 1;
    status = sp_rig_rows_make(context, rig->file, count, &s->curve);
    if (status != SP_OK) return status;
    memcpy(s->curve.u, s->raw.u + c->from, (size_t)count * sizeof *s->curve.u);
    memcpy(s->curve.f, s->raw.f + c->from, (size_t)count * sizeof *s->curve.f);
    s->curve.count = count;
    s->pooled = sp_rig_pool(&s->curve);
    if (s->pooled < 0) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", rig->file);
    if (s->curve.count >= 2) return SP_OK;
    return sp_fail(
        context, SP_NO_READ,
        "%s:%d: received %s with %d rows of loading; valid: at least 2 rows in which the "
        "shortening grows",
        rig->file, s->first_line, s->name, s->curve.count);
}
