/* This file builds the loops of line_points.h once per instruction set: the compiler turns them
 * into operations on vectors. Every number is found by the same operations in the same order in
 * each build, and no product is fused with a sum. */
#include "gap/line_points.h"

#include "base/so3.h"
#include "gap/line_terms.h"

enum { WIDTH = 8 }; /* points that one turn takes */

/* A turn works on WIDTH points; these are the numbers that they carry from one of its loops to the
 * next. */
typedef struct turn {
    double m[WIDTH], eta[WIDTH], l[WIDTH], h[WIDTH];
    double s[2][WIDTH], k[2][WIDTH], slope[2][WIDTH]; /* of both ends */
    double power[3][WIDTH], moment[5][WIDTH];
    int aside[WIDTH];
} turn;

/* Find for point i where the stretch within reach ends, in units of that reach, and the integrals
 * there. */
SP_TERMS void put_ends(const double *c, double m, double eta, double l, int i, turn *w)
{
    const double square = eta * eta;
    /* On the line through the piece, but beyond its ends, H may vanish. */
    const double h = square < 1e-30 ? 1e-30 : square, reach = sqrt(1 - h), inverse_h = 1 / h;
    const int clip1 = -m <= -reach, clip2 = l - m >= reach;
    sp_line_end one, two;
    double p[3], moment[5];
    sp_line_at_end(c, h, inverse_h, clip1 ? -reach : -m, clip1, &one);
    sp_line_at_end(c, h, inverse_h, clip2 ? reach : l - m, clip2, &two);
    sp_line_between(&one, &two, p, moment);
    w->m[i] = m, w->eta[i] = eta, w->l[i] = l, w->h[i] = h;
    w->s[0][i] = one.s, w->k[0][i] = one.k, w->slope[0][i] = one.slope;
    w->s[1][i] = two.s, w->k[1][i] = two.k, w->slope[1][i] = two.slope;
    for (int n = 0; n < 3; n++) w->power[n][i] = p[n];
    for (int n = 0; n < 5; n++) w->moment[n][i] = moment[n];
    w->aside[i] = sp_line_is_far_aside(h, one.s, two.s);
}

SP_TERMS void find_ends(const double *c, const sp_line_points *at, int first, turn *w)
{
    for (int i = 0; i < WIDTH; i++) {
        const double nx = at->n[0][first + i], ny = at->n[1][first + i];
        const double vx = at->v[0][first + i], vy = at->v[1][first + i];
        const double inverse = 1 / at->rest[first + i];
        put_ends(c, (vx * nx + vy * ny) * inverse, (vy * nx - vx * ny) * inverse,
                 at->length[first + i] * inverse, i, w);
    }
}

/* Work out the integrals of a few points in another way: those whose ends lie so far aside that
 * differences lose their digits. */
SP_TERMS void mend_aside(turn *w)
{
    for (int i = 0; i < WIDTH; i++) {
        double p[3];
        if (!w->aside[i]) continue;
        sp_line_powers_aside(w->h[i], w->s[0][i], w->s[1][i], p);
        for (int n = 0; n < 3; n++) w->power[n][i] = p[n];
    }
}

/* Find F of point i, and its derivatives in the frame of the piece. */
SP_TERMS void take_frame(const double *c, const turn *w, int i, double f[3], double g[4],
                         double k[4][4])
{
    const sp_line_end one = {.s = w->s[0][i], .k = w->k[0][i], .slope = w->slope[0][i]};
    const sp_line_end two = {.s = w->s[1][i], .k = w->k[1][i], .slope = w->slope[1][i]};
    double p[3], moment[5];
    for (int n = 0; n < 3; n++) p[n] = w->power[n][i];
    for (int n = 0; n < 5; n++) moment[n] = w->moment[n][i];
    sp_line_add_powers(c, p, moment, f);
    sp_line_in_frame(w->m[i], w->eta[i], w->l[i], f, &one, &two, g, k);
}

/* Turn derivatives from the frame of the piece into fixed axes: the rows of t are n and its left
 * normal. */
SP_TERMS void turn_block(double k[4][4], int p, int q, double t[2][2], double inverse, double b[4])
{
    double half[2][2];
    for (int r = 0; r < 2; r++)
        for (int y = 0; y < 2; y++)
            half[r][y] = k[2 * p + r][2 * q] * t[0][y] + k[2 * p + r][2 * q + 1] * t[1][y];
    for (int x = 0; x < 2; x++)
        for (int y = 0; y < 2; y++)
            b[2 * x + y] = (t[0][x] * half[0][y] + t[1][x] * half[1][y]) * inverse * inverse;
}

SP_TERMS void find_derivatives(const double *c, const turn *w, int first, sp_line_points *at)
{
    for (int i = 0; i < WIDTH; i++) {
        const double nx = at->n[0][first + i], ny = at->n[1][first + i];
        const double inverse = 1 / at->rest[first + i];
        double f[3], g[4], k[4][4], vv[4], ev[4], ee[4], t[2][2] = {{nx, ny}, {-ny, nx}};
        take_frame(c, w, i, f, g, k);
        at->energy[first + i] = f[0];
        for (int e = 0; e < 2; e++) {
            at->g[2 * e][first + i] = (t[0][0] * g[2 * e] + t[1][0] * g[2 * e + 1]) * inverse;
            at->g[2 * e + 1][first + i] = (t[0][1] * g[2 * e] + t[1][1] * g[2 * e + 1]) * inverse;
        }
        turn_block(k, 0, 0, t, inverse, vv);
        turn_block(k, 1, 0, t, inverse, ev);
        turn_block(k, 1, 1, t, inverse, ee);
        for (int b = 0; b < 4; b++) {
            at->vv[b][first + i] = vv[b];
            at->ev[b][first + i] = ev[b];
            at->ee[b][first + i] = ee[b];
        }
    }
}

SP_TERMS void eval_planar(int count, sp_line_points *points)
{
    const double *c = sp_line_kernel[SP_FLAT_FACES];
    for (int i = count; i % WIDTH > 0; i++) { /* the last points go again, so that a turn is full */
        const double v[2] = {points->v[0][0], points->v[1][0]};
        const double n[2] = {points->n[0][0], points->n[1][0]};
        sp_line_put_point(points, i, v, n, points->length[0], points->rest[0]);
    }
    for (int first = 0; first < count; first += WIDTH) {
        turn w;
        find_ends(c, points, first, &w);
        mend_aside(&w);
        find_derivatives(c, &w, first, points);
    }
}

/* --- in space --- */

SP_TERMS void choose_kernel(double is_round, double c[5])
{
    for (int k = 0; k < 5; k++)
        c[k] = is_round > 0 ? sp_line_kernel[SP_ROUND_FACES][k] : sp_line_kernel[SP_FLAT_FACES][k];
}

SP_TERMS void take_point(const sp_line_points_spatial *at, int which, double v[3], double n[3])
{
    for (int d = 0; d < 3; d++) v[d] = at->v[d][which], n[d] = at->n[d][which];
}

/* These are the directions for each point of a turn: t points aside, towards the point, and b
 * across. */
typedef struct frames {
    double t[3][WIDTH], b[3][WIDTH];
    int on_line[WIDTH]; /* 1: next to the line, where `t` is noise */
} frames;

SP_TERMS void find_ends_spatial(const sp_line_points_spatial *at, int first, turn *w, frames *frame)
{
    for (int i = 0; i < WIDTH; i++) {
        const double rest = at->rest[first + i], inverse = 1 / rest;
        double v[3], n[3], c[5], off[3], t[3], b[3];
        take_point(at, first + i, v, n);
        choose_kernel(at->is_round[first + i], c);
        const double along = sp_dot(v, n);
        for (int d = 0; d < 3; d++) off[d] = v[d] - along * n[d];
        const double aside = sqrt(sp_dot(off, off)), again = sp_dot(off, n);
        for (int d = 0; d < 3; d++) off[d] -= again * n[d];
        const double unit = 1 / sqrt(sp_dot(off, off));
        for (int d = 0; d < 3; d++) t[d] = off[d] * unit;
        sp_cross(n, t, b);
        for (int d = 0; d < 3; d++) frame->t[d][i] = t[d], frame->b[d][i] = b[d];
        frame->on_line[i] = aside < SP_LINE_NOISE * rest;
        put_ends(c, along * inverse, aside * inverse, at->length[first + i] * inverse, i, w);
    }
}

/* These are the derivatives of a turn in the frame of the piece, and across it. E57 */
typedef struct flat {
    double g[4][WIDTH], k[4][4][WIDTH], across[2][2][WIDTH], inverse[WIDTH];
} flat;

SP_TERMS void find_flat(const turn *w, int first, sp_line_points_spatial *at, flat *out)
{
    for (int i = 0; i < WIDTH; i++) {
        const double rest = at->rest[first + i], by_length = rest / at->length[first + i];
        double c[5], f[3], g[4], k[4][4];
        choose_kernel(at->is_round[first + i], c);
        take_frame(c, w, i, f, g, k);
        const double m = w->m[i], turned = 2 * m * f[1] - g[0];
        at->energy[first + i] = f[0];
        out->inverse[i] = 1 / rest;
        out->across[0][0][i] = 2 * f[1];
        out->across[1][0][i] = -by_length * turned;
        out->across[1][1][i] = by_length * (g[2] + m * by_length * turned);
        for (int x = 0; x < 4; x++) {
            out->g[x][i] = g[x];
            for (int y = 0; y < 4; y++) out->k[x][y][i] = k[x][y];
        }
    }
}

/* Find the block of p and q, where 0 stands for v and 1 for e. */
SP_TERMS void turn_out(const flat *in, const frames *frame, int first, int p, int q,
                       const sp_line_points_spatial *at, double to[9][SP_LINE_POINTS])
{
    const double(*n)[SP_LINE_POINTS] = at->n;
    for (int x = 0; x < 3; x++) {
        double by[3][WIDTH]; /* n, t, b */
        for (int i = 0; i < WIDTH; i++) {
            const double nx = n[x][first + i], tx = frame->t[x][i];
            by[0][i] = in->k[2 * p][2 * q][i] * nx + in->k[2 * p + 1][2 * q][i] * tx;
            by[1][i] = in->k[2 * p][2 * q + 1][i] * nx + in->k[2 * p + 1][2 * q + 1][i] * tx;
            by[2][i] = in->across[p][q][i] * frame->b[x][i];
        }
        for (int y = 0; y < 3; y++)
            for (int i = 0; i < WIDTH; i++)
                to[3 * x + y][first + i] = (by[0][i] * n[y][first + i] + by[1][i] * frame->t[y][i] +
                                            by[2][i] * frame->b[y][i]) *
                                           (in->inverse[i] * in->inverse[i]);
    }
}

SP_TERMS void find_derivatives_spatial(const turn *w, const frames *frame, int first,
                                       sp_line_points_spatial *at)
{
    flat in;
    find_flat(w, first, at, &in);
    for (int p = 0; p < 2; p++)
        for (int x = 0; x < 3; x++)
            for (int i = 0; i < WIDTH; i++)
                at->g[3 * p + x][first + i] =
                    (in.g[2 * p][i] * at->n[x][first + i] + in.g[2 * p + 1][i] * frame->t[x][i]) *
                    in.inverse[i];
    turn_out(&in, frame, first, 0, 0, at, at->vv);
    turn_out(&in, frame, first, 1, 0, at, at->ev);
    turn_out(&in, frame, first, 1, 1, at, at->ee);
}

/* Work out one by one the few points next to the line through their piece. */
static void mend_on_line(const frames *frame, int first, sp_line_points_spatial *at)
{
    for (int i = 0; i < WIDTH; i++) {
        double v[3], n[3], g[6], h[36];
        if (!frame->on_line[i]) continue;
        take_point(at, first + i, v, n);
        const sp_faces faces = at->is_round[first + i] > 0 ? SP_ROUND_FACES : SP_FLAT_FACES;
        at->energy[first + i] =
            sp_line_energy_spatial(faces, v, n, at->length[first + i], at->rest[first + i], g, h);
        for (int x = 0; x < 6; x++) at->g[x][first + i] = g[x];
        for (int x = 0; x < 3; x++)
            for (int y = 0; y < 3; y++) {
                at->vv[3 * x + y][first + i] = h[6 * x + y];
                at->ev[3 * x + y][first + i] = h[6 * (3 + x) + y];
                at->ee[3 * x + y][first + i] = h[6 * (3 + x) + 3 + y];
            }
    }
}

SP_TERMS void eval_spatial(int count, sp_line_points_spatial *points)
{
    for (int i = count; i % WIDTH > 0; i++) { /* the last points go again, so that a turn is full */
        double v[3], n[3];
        take_point(points, 0, v, n);
        sp_line_put_spatial(points, i, points->is_round[0] > 0 ? SP_ROUND_FACES : SP_FLAT_FACES, v,
                            n, points->length[0], points->rest[0]);
    }
    for (int first = 0; first < count; first += WIDTH) {
        turn w;
        frames frame;
        find_ends_spatial(points, first, &w, &frame);
        mend_aside(&w);
        find_derivatives_spatial(&w, &frame, first, points);
        mend_on_line(&frame, first, points);
    }
}

/* --- for each instruction set --- */

#define WAY(NAME, TARGET)                                                                          \
    TARGET static void planar_##NAME(int count, sp_line_points *points)                            \
    {                                                                                              \
        eval_planar(count, points);                                                                \
    }                                                                                              \
    TARGET static void spatial_##NAME(int count, sp_line_points_spatial *points)                   \
    {                                                                                              \
        eval_spatial(count, points);                                                               \
    }

SP_WAY_LIST(WAY)

#define WAY_ROW(NAME, TARGET) {planar_##NAME, spatial_##NAME},
static const sp_line_way all[] = {SP_WAY_LIST(WAY_ROW)};

const sp_line_way *sp_line_ways(void)
{
    return all;
}

void sp_line_points_eval(int count, sp_line_points *points)
{
    all[sp_way_count() - 1].planar(count, points);
}

void sp_line_points_spatial_eval(int count, sp_line_points_spatial *points)
{
    all[sp_way_count() - 1].spatial(count, points);
}
