/* These dense loops over eight rows at a time are built once per instruction set. Every element of
 * a result is found by the same operations in the same order in each of them. A product and its sum
 * are one operation with one rounding (fused), so that figures are the same on every machine that
 * has it; on others the last digits differ, as do those of the mathematics of their C library.
 *
 * Matrices are stored column by column, `l` with `stride`, `c` with `stride_c` doubles from column
 * to column. `rows` is rounded up to the next multiple of 8, and all those rows may be read and
 * written. `w` holds 4 numbers for each of `depth` columns of l. */
#ifndef SP_SPARSE_LANES_H
#define SP_SPARSE_LANES_H

#include <stddef.h>

#include "base/machine.h"

typedef struct sp_lanes {
    const char *name;
    int fused; /* 1: products are rounded with their sums; 0: the machine cannot */
    /* Set c (rows x width, 1 to 4) to c, or 0 when `fresh`, minus l (rows x depth) times w (depth x
     * width). */
    void (*subtract)(int rows, int depth, int width, const double *l, size_t stride,
                     const double *w, int fresh, double *c, size_t stride_c);
    /* Set c (rows x width) to c T^-T D^-1, where T is unit lower (4 x 4, row-major) and `inverse`
     * that of D. */
    void (*divide)(int rows, int width, const double t[16], const double inverse[4], double *c,
                   size_t stride_c);
    /* Set out (width) to l^T b (rows). */
    void (*dot)(int rows, int width, const double *l, size_t stride, const double *b,
                double out[4]);
    /* Add from[i], i < count, to to[target[i]]; run[i] of these targets, from i on, follow each
     * other. */
    void (*scatter)(int count, const int *target, const int *run, const double *from, double *to);
} sp_lanes;

/* List the ways of this machine, slowest first; returns how many there are (1 at least). The last
 * one is the one to take. */
int sp_lanes_list(const sp_lanes *list[SP_WAY_MAX]);

#endif
