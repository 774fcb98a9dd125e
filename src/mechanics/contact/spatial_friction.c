/* These functions find how far a contact point in space has slid, and what its grip adds (E70). */
#include <math.h>

#include "contact/spatial.h"

/* This is a point beside a piece: the direction of the piece, its distance from the point across
 * that direction, and the direction across. */
typedef struct beside {
    double n[3], off[3], length, along;
} beside;

static void place(const sp_contact *contact, const sp_load *load, beside *at)
{
    const double *piece = contact->piece + 7 * load->on;
    double v[3];
    sp_contact_reach(3, contact->position, load->from, load->place, load->on, v);
    memcpy(at->n, piece + 4, sizeof at->n);
    at->length = piece[3];
    at->along = sp_dot(v, at->n);
    for (int i = 0; i < 3; i++) at->off[i] = v[i] - at->along * at->n[i];
}

/* Where two struts cross, the slip across a piece depends on v, e and d: the vectors of the point
 * from the piece, of the piece and of the point's own segment, in this order. */
enum { V, E, D, PARTS };
/* A block holds second derivatives: its rows are the components of one vector, its columns those of
 * another. */
typedef double block[9];

static void add_unit(block out, double k)
{
    for (int i = 0; i < 3; i++) out[4 * i] += k;
}

static void add_outer(block out, double k, const double a[3], const double b[3])
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) out[3 * i + j] += k * a[i] * b[j];
}

static void transpose(const block in, block out)
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) out[3 * i + j] = in[3 * j + i];
}

/* Return how far a point stands aside of a piece, in the plane of both struts: the component of v
 * along the unit vector m across the piece there: P/sqrt(Q) with P = (v.d)(e.e) - (v.e)(d.e), Q =
 * e.e (d.d e.e - (d.e)^2). */
static double aside_of(const double v[3], const double e[3], const double d[3])
{
    const double ee = sp_dot(e, e), de = sp_dot(d, e);
    const double q = ee * (sp_dot(d, d) * ee - de * de);
    return q > 0 ? (sp_dot(v, d) * ee - sp_dot(v, e) * de) / sqrt(q) : 0;
}

/* Find P and Q of aside_of with their derivatives. */
typedef struct cross_part {
    double value, g[PARTS][3];
    block h[PARTS][PARTS];
} cross_part;

static void numerator(const double v[3], const double e[3], const double d[3], cross_part *p)
{
    const double ee = sp_dot(e, e), de = sp_dot(d, e), vd = sp_dot(v, d), ve = sp_dot(v, e);
    *p = (cross_part){.value = vd * ee - ve * de};
    for (int i = 0; i < 3; i++) {
        p->g[V][i] = ee * d[i] - de * e[i];
        p->g[D][i] = ee * v[i] - ve * e[i];
        p->g[E][i] = 2 * vd * e[i] - de * v[i] - ve * d[i];
    }
    add_unit(p->h[V][D], ee);
    add_outer(p->h[V][D], -1, e, e);
    add_outer(p->h[V][E], 2, d, e);
    add_outer(p->h[V][E], -1, e, d);
    add_unit(p->h[V][E], -de);
    add_outer(p->h[D][E], 2, v, e);
    add_outer(p->h[D][E], -1, e, v);
    add_unit(p->h[D][E], -ve);
    add_unit(p->h[E][E], 2 * vd);
    add_outer(p->h[E][E], -1, v, d);
    add_outer(p->h[E][E], -1, d, v);
    transpose(p->h[V][D], p->h[D][V]);
    transpose(p->h[V][E], p->h[E][V]);
    transpose(p->h[D][E], p->h[E][D]);
}

static void denominator(const double e[3], const double d[3], cross_part *q)
{
    const double ee = sp_dot(e, e), de = sp_dot(d, e), dd = sp_dot(d, d);
    *q = (cross_part){.value = ee * (dd * ee - de * de)};
    for (int i = 0; i < 3; i++) {
        q->g[D][i] = 2 * ee * (ee * d[i] - de * e[i]);
        q->g[E][i] = (4 * ee * dd - 2 * de * de) * e[i] - 2 * ee * de * d[i];
    }
    add_unit(q->h[D][D], 2 * ee * ee);
    add_outer(q->h[D][D], -2 * ee, e, e);
    add_outer(q->h[D][E], 8 * ee, d, e);
    add_outer(q->h[D][E], -4 * de, e, e);
    add_outer(q->h[D][E], -2 * ee, e, d);
    add_unit(q->h[D][E], -2 * ee * de);
    add_outer(q->h[E][E], 8 * dd, e, e);
    add_unit(q->h[E][E], 4 * ee * dd - 2 * de * de);
    add_outer(q->h[E][E], -4 * de, e, d);
    add_outer(q->h[E][E], -4 * de, d, e);
    add_outer(q->h[E][E], -2 * ee, d, d);
    transpose(q->h[D][E], q->h[E][D]);
}

/* Below this share of the square of the sine from which struts cross, no direction is across. */
static const double parallel = 1e-10;

/* Find by how much further aside than `before` a point stands, with its derivatives. */
static void aside_rows(const double v[3], const double e[3], const double d[3], double before,
                       cross_part *out)
{
    cross_part p, q;
    out->value = aside_of(v, e, d) - before;
    numerator(v, e, d, &p);
    denominator(e, d, &q);
    const double root = 1 / sqrt(q.value), cube = root / q.value;
    const double by_q = -0.5 * p.value * cube, bend = 0.75 * p.value * cube / q.value;
    for (int a = 0; a < PARTS; a++)
        for (int i = 0; i < 3; i++) out->g[a][i] = root * p.g[a][i] + by_q * q.g[a][i];
    for (int a = 0; a < PARTS; a++)
        for (int b = 0; b < PARTS; b++)
            for (int i = 0; i < 3; i++)
                for (int j = 0; j < 3; j++)
                    out->h[a][b][3 * i + j] =
                        root * p.h[a][b][3 * i + j] + by_q * q.h[a][b][3 * i + j] -
                        0.5 * cube * (p.g[a][i] * q.g[b][j] + q.g[a][i] * p.g[b][j]) +
                        bend * q.g[a][i] * q.g[b][j];
}

/* Find the cosine of the angle between e and d with its derivatives. */
static void cosine(const double e[3], const double d[3], cross_part *c)
{
    const double le = 1 / sqrt(sp_dot(e, e)), ld = 1 / sqrt(sp_dot(d, d));
    double u[3], w[3];
    for (int i = 0; i < 3; i++) u[i] = le * e[i], w[i] = ld * d[i];
    *c = (cross_part){.value = sp_dot(u, w)};
    for (int i = 0; i < 3; i++) {
        c->g[E][i] = le * (w[i] - c->value * u[i]);
        c->g[D][i] = ld * (u[i] - c->value * w[i]);
    }
    add_unit(c->h[E][E], -le * le * c->value);
    add_outer(c->h[E][E], 3 * le * le * c->value, u, u);
    add_outer(c->h[E][E], -le * le, u, w);
    add_outer(c->h[E][E], -le * le, w, u);
    add_unit(c->h[D][D], -ld * ld * c->value);
    add_outer(c->h[D][D], 3 * ld * ld * c->value, w, w);
    add_outer(c->h[D][D], -ld * ld, u, w);
    add_outer(c->h[D][D], -ld * ld, w, u);
    add_unit(c->h[E][D], le * ld);
    add_outer(c->h[E][D], -le * ld, u, u);
    add_outer(c->h[E][D], -le * ld, w, w);
    add_outer(c->h[E][D], le * ld * c->value, u, w);
    transpose(c->h[E][D], c->h[D][E]);
}

/* Turn the slip across a piece into what counts of it where the two have become nearly parallel
 * since the grip was made: no direction is across then, and bars side by side roll on each other.
 * E232 */
static void fade_rows(const double e[3], const double d[3], cross_part *slip)
{
    static const double rolls_square = SP_ROLLS * SP_ROLLS;
    cross_part c;
    cosine(e, d, &c);
    const double y = (1 - c.value * c.value) / rolls_square, left = 1 - y;
    if (y >= 1) return;
    if (y < parallel) {
        *slip = (cross_part){0};
        return;
    }
    const double by_c = -2 * c.value / rolls_square, value = slip->value;
    const double fade = 1 - left * left * left, f1 = 3 * left * left * by_c,
                 f2 = -6 * left * by_c * by_c - 6 * left * left / rolls_square;
    for (int a = 0; a < PARTS; a++)
        for (int b = 0; b < PARTS; b++)
            for (int i = 0; i < 3; i++)
                for (int j = 0; j < 3; j++)
                    slip->h[a][b][3 * i + j] =
                        fade * slip->h[a][b][3 * i + j] +
                        f1 * (c.g[a][i] * slip->g[b][j] + slip->g[a][i] * c.g[b][j]) +
                        value * (f2 * c.g[a][i] * c.g[b][j] + f1 * c.h[a][b][3 * i + j]);
    for (int a = 0; a < PARTS; a++)
        for (int i = 0; i < 3; i++) slip->g[a][i] = fade * slip->g[a][i] + value * f1 * c.g[a][i];
    slip->value = fade * value;
}

static void segment_of(const sp_contact *contact, int segment, double d[3])
{
    const double *p = contact->position + 3 * segment;
    for (int i = 0; i < 3; i++) d[i] = p[3 + i] - p[i];
}

void sp_contact_note_spatial(sp_contact *contact, sp_load load, double scale, const double g[3])
{
    beside at;
    place(contact, &load, &at);
    load.foot[0] = at.along / at.length;
    load.may_cross = !sp_contact_are_walls(contact->model, load.from, load.on);
    if (load.may_cross) {
        double v[3], e[3], d[3];
        sp_contact_reach(3, contact->position, load.from, load.place, load.on, v);
        segment_of(contact, load.on, e);
        segment_of(contact, load.from, d);
        load.foot[1] = aside_of(v, e, d);
    }
    for (int i = 0; i < 3; i++) load.push[i] = -scale * g[i];
    sp_friction_note(&contact->friction, load);
}

/* Find gradient and Hessian of the slip v.n - share |e| by v = p - a and e = b - a. */
static void slip_rows(const sp_load *load, const beside *at, double g[6], double h[36])
{
    const double i = 1 / at->length, share = load->foot[0], *n = at->n, *off = at->off;
    const double across = -i * (at->along * i + share);
    for (int x = 0; x < 3; x++) {
        g[x] = n[x];
        g[3 + x] = off[x] * i - share * n[x];
        for (int y = 0; y < 3; y++) {
            const double flat = (x == y) - n[x] * n[y];
            h[6 * x + y] = 0;
            h[6 * x + 3 + y] = h[6 * (3 + y) + x] = i * flat;
            h[6 * (3 + x) + 3 + y] = across * flat - i * i * (n[x] * off[y] + off[x] * n[y]);
        }
    }
}

static double rub_platen(sp_contact *contact, sp_grip *grip, double *gradient, sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    const double *p = contact->position + 3 * load->from, w[2] = {1 - load->place, load->place};
    const double slip[2] = {w[0] * p[0] + w[1] * p[3] - load->foot[0],
                            w[0] * p[2] + w[1] * p[5] - load->foot[1]};
    const int point[2] = {load->from, load->from + 1};
    double force[2], stiffness[3];
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    sp_pair_sum sum = {0};
    for (int i = 0, b = 0; i < 2; i++) {
        sum.g[3 * i] = w[i] * force[0];
        sum.g[3 * i + 2] = w[i] * force[1];
        for (int j = 0; j <= i; j++, b++) {
            const double k = w[i] * w[j];
            sum.h[b][0] = k * stiffness[0];
            sum.h[b][2] = sum.h[b][6] = k * stiffness[1];
            sum.h[b][8] = k * stiffness[2];
        }
    }
    sp_pair_scatter(contact, point, 2, contact->platen_block + 3 * load->from, &sum, gradient,
                    blocks);
    return energy;
}

/* Add a grip where struts cross: its slip is a vector in the plane of both, along the piece and
 * across it (E247). */
static double rub_crossing(sp_contact *contact, sp_grip *grip, double *gradient, sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    beside at;
    double v[3], e[3], d[3], g[6], h[36], force[2], stiffness[3];
    cross_part aside;
    place(contact, load, &at);
    sp_contact_reach(3, contact->position, load->from, load->place, load->on, v);
    segment_of(contact, load->on, e);
    segment_of(contact, load->from, d);
    aside_rows(v, e, d, load->foot[1], &aside);
    fade_rows(e, d, &aside);
    const double slip[2] = {at.along - load->foot[0] * at.length, grip->across * aside.value};
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    slip_rows(load, &at, g, h);

    /* Turn derivatives by v, e and d into those by the four ends: v = (1-f) x0 + f x1 - a, e = b -
     * a, d = x1 - x0. */
    const double f = load->place,
                 part[PARTS][4] = {{1 - f, f, -1, 0}, {0, 0, -1, 1}, {-1, 1, 0, 0}};
    const double c = grip->across, k = stiffness[0], mixed = c * stiffness[1],
                 across = c * c * stiffness[2];
    sp_pair_sum sum = {0};
    for (int t = 0; t < PARTS; t++) {
        const double *along_t = t < D ? g + 3 * t : (const double[3]){0, 0, 0};
        for (int p = 0; p < 4; p++)
            for (int i = 0; i < 3; i++)
                sum.g[3 * p + i] +=
                    part[t][p] * (force[0] * along_t[i] + c * force[1] * aside.g[t][i]);
        for (int u = 0; u < PARTS; u++) {
            const double *along_u = u < D ? g + 3 * u : (const double[3]){0, 0, 0};
            block m;
            for (int i = 0; i < 3; i++)
                for (int j = 0; j < 3; j++)
                    m[3 * i + j] =
                        k * along_t[i] * along_u[j] + across * aside.g[t][i] * aside.g[u][j] +
                        mixed * (along_t[i] * aside.g[u][j] + aside.g[t][i] * along_u[j]) +
                        c * force[1] * aside.h[t][u][3 * i + j] +
                        (t < D && u < D ? force[0] * h[6 * (3 * t + i) + 3 * u + j] : 0);
            for (int p = 0, b = 0; p < 4; p++)
                for (int q = 0; q <= p; q++, b++)
                    sp_pair_add_block(sum.h[b], part[t][p] * part[u][q], m);
        }
    }
    const int point[4] = {load->from, load->from + 1, load->on, load->on + 1};
    sp_pair_scatter(contact, point, 4, grip->block, &sum, gradient, blocks);
    return energy;
}

double sp_contact_rub_spatial(sp_contact *contact, sp_grip *grip, double *gradient,
                              sp_blocks *blocks)
{
    const sp_load *load = &grip->load;
    if (load->on < 0) return rub_platen(contact, grip, gradient, blocks);
    if (grip->across > 0) return rub_crossing(contact, grip, gradient, blocks);
    beside at;
    place(contact, load, &at);
    const double slip[2] = {at.along - load->foot[0] * at.length, 0};
    const int point[4] = {load->from, load->from + 1, load->on, load->on + 1};
    double force[2], stiffness[3], g[6], h[36];
    const double energy = sp_friction_slide(&contact->friction, grip, slip, force, stiffness);
    slip_rows(load, &at, g, h);
    sp_friction_rows(6, force[0], stiffness[0], g, h);
    sp_pair_sum sum = {0};
    sp_spatial_add_whole(&sum, 0, load->place, 1, g, h);
    sp_pair_scatter(contact, point, 4, grip->block, &sum, gradient, blocks);
    return energy;
}
