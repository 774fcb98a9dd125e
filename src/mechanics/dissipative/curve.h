/* This is one side of a yielding law: a measured curve in true stress over log strain, elastic up
 * to its onset (E65).
 *
 *   x   log strain     y(x), I(x)   true stress there, its integral     E   modulus
 *   a(x) = x - y(x)/E   plastic strain at a place of the curve, which never falls
 *
 * Both x and y count as positive in compression, too. */
#ifndef SP_DISSIPATIVE_CURVE_H
#define SP_DISSIPATIVE_CURVE_H

#include "law/law.h"
#include "table/cubic.h"
#include "table/table_file.h"

typedef struct sp_yield_curve {
    double *row; /* table/cubic.h: x = log strain, y = true stress; first row the onset */
    int count;
    double modulus; /* E [MPa] */
    double onset;   /* x of the first row */
    double beyond;  /* slope of the true stress beyond the last row [MPa] */
} sp_yield_curve;

/* A curve is made of the rows of one side of a table. */
typedef enum { SP_YIELD_TENSION, SP_YIELD_COMPRESSION } sp_yield_side;

/* Make a curve from the sorted rows of one side; those of the other side are passed over.
 * `elastic` is the elastic modulus over that of the rows (E149, 1 for a free strut); a smaller one
 * moves the rows. *young is the modulus of the rows [MPa]. `row` of the
 * curve is owned by the caller. Errors: SP_NO_READ with file and line, SP_NO_MEMORY. */
sp_status sp_yield_curve_make(sp_context *context, const char *file, const sp_table_rows *rows,
                              sp_yield_side side, double elastic, sp_yield_curve *curve,
                              double *young);

/* A law keeps its curves in `table`, that of tension first, and in these constants; the last three
 * once for each curve. */
enum {
    SP_YIELD_FACTOR,           /* k: log strain of a fibre / ln l */
    SP_YIELD_COMPRESSION_ROWS, /* rows of the second curve; 0: compression mirrors tension */
    SP_YIELD_MODULUS,
    SP_YIELD_ONSET,
    SP_YIELD_BEYOND,
    SP_YIELD_OF_A_CURVE = 3
};

/* Return a curve of a law with two of them, or the one of tension. */
static inline sp_yield_curve sp_yield_curve_of(const sp_law *law, sp_yield_side side)
{
    const double *c = law->constant + SP_YIELD_OF_A_CURVE * (int)side;
    sp_yield_curve curve = {law->table, law->term_count, c[SP_YIELD_MODULUS], c[SP_YIELD_ONSET],
                            c[SP_YIELD_BEYOND]};
    if (side == SP_YIELD_COMPRESSION) {
        curve.row += SP_CUBIC_COLUMNS * law->term_count;
        curve.count = (int)law->constant[SP_YIELD_COMPRESSION_ROWS];
    }
    return curve;
}

/* A fibre of a law with two curves keeps this many doubles. */
enum { SP_TWO_SIDED_HISTORY = 7 };

/* Find the integral I, true stress y and slope of the curve at x, from the onset on. */
void sp_yield_curve_at(const sp_yield_curve *curve, double x, double *integral, double *y,
                       double *slope);

/* Find the place x of the curve with this plastic strain. */
double sp_yield_curve_place(const sp_yield_curve *curve, double plastic);

#endif
