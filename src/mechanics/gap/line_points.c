/* The loops of line_points.h, once per instruction set: the compiler makes vectors of them. Every
 * number is found by the same operations in the same order in each of them, none of them fused. */
#include "gap/line_points.h"

#include "gap/line_terms.h"

enum { WIDTH = 8 }; /* points of one turn */

/* Of the points of one turn, between its loops. */
typedef struct turn {
    double m[WIDTH], eta[WIDTH], l[WIDTH], h[WIDTH];
    double s[2][WIDTH], k[2][WIDTH], slope[2][WIDTH]; /* of both ends */
    double power[3][WIDTH], moment[5][WIDTH];
    int aside[WIDTH];
} turn;

/* In units of the reach: where the stretch within reach ends, and its integrals. */
SP_TERMS void find_ends(const double *c, const sp_line_points *at, int first, turn *w)
{
    for (int i = 0; i < WIDTH; i++) {
        const double nx = at->n[0][first + i], ny = at->n[1][first + i];
        const double vx = at->v[0][first + i], vy = at->v[1][first + i];
        const double inverse = 1 / at->rest[first + i];
        const double m = (vx * nx + vy * ny) * inverse, eta = (vy * nx - vx * ny) * inverse;
        const double l = at->length[first + i] * inverse, square = eta * eta;
        /* on the line through the piece, but beyond its ends, H may vanish */
        const double h = square < 1e-30 ? 1e-30 : square, reach = sqrt(1 - h), inverse_h = 1 / h;
        const int clip1 = -m <= -reach, clip2 = l - m >= reach;
        sp_line_end one, two;
        sp_line_at_end(c, h, inverse_h, clip1 ? -reach : -m, clip1, &one);
        sp_line_at_end(c, h, inverse_h, clip2 ? reach : l - m, clip2, &two);
        double p[3], moment[5];
        sp_line_between(&one, &two, p, moment);
        w->m[i] = m, w->eta[i] = eta, w->l[i] = l, w->h[i] = h;
        w->s[0][i] = one.s, w->k[0][i] = one.k, w->slope[0][i] = one.slope;
        w->s[1][i] = two.s, w->k[1][i] = two.k, w->slope[1][i] = two.slope;
        for (int n = 0; n < 3; n++) w->power[n][i] = p[n];
        for (int n = 0; n < 5; n++) w->moment[n][i] = moment[n];
        w->aside[i] = sp_line_is_far_aside(h, one.s, two.s);
    }
}

/* The few whose ends lie so far aside that differences lose their digits. */
SP_TERMS void mend_aside(turn *w)
{
    for (int i = 0; i < WIDTH; i++) {
        double p[3];
        if (!w->aside[i]) continue;
        sp_line_powers_aside(w->h[i], w->s[0][i], w->s[1][i], p);
        for (int n = 0; n < 3; n++) w->power[n][i] = p[n];
    }
}

/* From the frame of the piece: rows of t are n and its left normal. */
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
        const sp_line_end one = {.s = w->s[0][i], .k = w->k[0][i], .slope = w->slope[0][i]};
        const sp_line_end two = {.s = w->s[1][i], .k = w->k[1][i], .slope = w->slope[1][i]};
        double p[3], moment[5], f[3], g[4], k[4][4], vv[4], ev[4], ee[4];
        double t[2][2] = {{nx, ny}, {-ny, nx}};
        for (int n = 0; n < 3; n++) p[n] = w->power[n][i];
        for (int n = 0; n < 5; n++) moment[n] = w->moment[n][i];
        sp_line_add_powers(c, p, moment, f);
        sp_line_in_frame(w->m[i], w->eta[i], w->l[i], f, &one, &two, g, k);
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

SP_TERMS void eval(int count, sp_line_points *points)
{
    const double *c = sp_line_kernel[SP_FLAT_FACES];
    for (int i = count; i % WIDTH > 0; i++) { /* a turn is always full */
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

static void eval_base(int count, sp_line_points *points)
{
    eval(count, points);
}

#if defined(__x86_64__)
__attribute__((target("avx2"))) static void eval_avx2(int count, sp_line_points *points)
{
    eval(count, points);
}

__attribute__((target("avx512f"))) static void eval_avx512(int count, sp_line_points *points)
{
    eval(count, points);
}
#endif

int sp_line_ways(sp_line_way *way[SP_LINE_WAYS_MAX])
{
    int count = 0;
    way[count++] = eval_base;
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) way[count++] = eval_avx2;
    if (__builtin_cpu_supports("avx512f")) way[count++] = eval_avx512;
#endif
    return count;
}

void sp_line_points_eval(int count, sp_line_points *points)
{
    sp_line_way *way[SP_LINE_WAYS_MAX];
    way[sp_line_ways(way) - 1](count, points);
}
