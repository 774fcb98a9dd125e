/* Figures of the trade taken from a curve, one row each.
 *
 * Units: those of the row. Ownership: rows and their texts live as long as the program; texts are
 * written into room of the caller. Errors: the functions never fail; a figure that has no value is
 * not reached, and sp_measure_reason says why. Threads: from several at once. */
#ifndef STRUTPRESS_MEASURE_H
#define STRUTPRESS_MEASURE_H

#include <strutpress/case.h>
#include <strutpress/network.h>
#include <strutpress/path.h>

SP_PUBLIC_BEGIN

typedef struct sp_measure {
    int reached; /* 0: the curve does not get there, `value` is not meaningful */
    double value;
} sp_measure;

/* One figure of several presses; NaN where none of them reaches it. */
typedef struct sp_spread {
    int count; /* presses that reach it */
    double median, low, high;
} sp_spread;

/* A curve as figures read it, wherever it was taken from: a view of states that stay where they
 * are. */
typedef struct sp_curve {
    double height;                    /* of the coupon [mm] */
    double area;                      /* width x depth [mm2] */
    int count;                        /* states; shortenings never fall */
    size_t stride;                    /* bytes from a member of one state to that of the next */
    const double *shortening, *force; /* of the first state [mm], [N] */
    const double *stiffness;          /* tangent of it [N/mm]; NULL: the curve has none */
} sp_curve;
/* View the press of a path as a curve, without the way back. */
sp_curve sp_curve_of_path(const sp_path *path);

/* A figure that is read from a curve at an argument: `force_at 25 %`, `force_at 6 mm`,
 * `shortening_at 300 N`. */
typedef struct sp_figure_row {
    const char *name, *unit;
    const char *argument_unit[2]; /* the second one "": there is none. A % counts the strain */
    const char *doc;
    sp_measure (*take)(const sp_curve *curve, double argument);
} sp_figure_row;
const sp_figure_row *sp_figure_rows(int *count);

typedef struct sp_measure_row {
    const char *name; /* initial_stiffness */
    const char *unit; /* "N/mm"; "-" without */
    const char *doc;  /* one line with definition and source */
    /* NULL: the row is a figure at a strain. */
    sp_measure (*take)(const sp_path *path, const sp_network *network, const sp_case *request);
    const sp_figure_row *figure;
    double strain;
} sp_measure_row;

/* Return all rows and their count; rows keep their order in every output. */
const sp_measure_row *sp_measure_rows(int *count);

/* Return the figure of a row; it is not reached where the case does not model it
 * (sp_measure_modelled). */
sp_measure sp_measure_take(const sp_measure_row *row, const sp_path *path,
                           const sp_network *network, const sp_case *request);

/* Return 0 for a figure of time when the press of the case has none; outputs of one press leave it
 * out. */
int sp_measure_applies(const char *name, const sp_case *request);

/* A figure as a user asks for it: a measure, or a figure with its argument. */
#define SP_FIGURE_NAME_SIZE 64
typedef struct sp_figure {
    char name[SP_FIGURE_NAME_SIZE]; /* as it was asked for */
    const char *unit;
    int measure;              /* index of its row, -1: a figure of the curve */
    const sp_figure_row *row; /* NULL: a measure */
    double argument;          /* [mm], [N], [MPa], or a strain */
    int of_strain;            /* 1: the argument is a strain */
} sp_figure;
/* Find a figure by its text. 0: there is none; `valid` then lists what would be valid, and
 * `nearest` may hold a name. */
int sp_figure_find(const char *text, sp_figure *figure, char *valid, size_t size,
                   char nearest[SP_NAME_SIZE]);
/* Return its value, from the measures of a coupon (one per row of sp_measure_rows) or from its
 * curve. */
sp_measure sp_figure_take(const sp_figure *figure, const sp_measure *measure,
                          const sp_curve *curve);

/* What a case says of a measure before any press. */
typedef enum {
    SP_MODELLED,
    SP_PARTLY_MODELLED, /* its value is a part of what the name promises */
    SP_NOT_MODELLED     /* it has no value, whatever the curve */
} sp_modelled;
#define SP_MODELLED_SIZE 160
/* Find what the case says by the name of a row; `words` say what is left out and why, "" when
 * nothing is left out. */
sp_modelled sp_measure_modelled(const char *name, const sp_case *request,
                                char words[SP_MODELLED_SIZE]);
/* Return the nominal strain at which the load limit of the case ended its press short of
 * press.strain; NaN: it did not. The second function takes a press whose last strain is known and
 * that did not give up. */
double sp_measure_load_end(const sp_path *path);
double sp_measure_load_end_at(const sp_case *request, double final_strain);
/* Say why a row has no value: what is not modelled, the load limit that ended the press at
 * `load_end` (NaN: none did), or "not reached". Returns 1 when it is the load limit. */
int sp_measure_reason(const char *name, const sp_case *request, double load_end,
                      char words[SP_MODELLED_SIZE]);

SP_PUBLIC_END

#endif
