/* A sparse symmetric matrix is factored to LDL' by fronts (Duff & Reid 1983; Liu 1992): small dense
 * matrices, one for each run of columns that are eliminated together. Each front hands the matrix
 * that is left of it, its update, on to its parent.
 *
 * The columns, their rows and the tree come from an analysis elsewhere (sparse.c). Pivots are taken
 * in that order, whatever their sign; as many are negative as eigenvalues are (Sylvester; front by
 * front: Haynsworth 1968). Everything is allocated once. Sums are made in the same order on any
 * number of threads. */
#ifndef SP_SPARSE_FRONTS_H
#define SP_SPARSE_FRONTS_H

#include <strutpress/context.h>

#include "sparse/lanes.h"

/* Entries of the matrix at even distances, among the values that are factored and in the panel of
 * their front: those of one unknown with all unknowns of a node, six in space, take one of these.
 */
typedef struct sp_entry_run {
    int source, source_step; /* where the first stands among the values; from each to the next */
    int place, place_step;   /* the same in the panel */
    int count;
} sp_entry_run;

typedef struct sp_front {
    int first, columns; /* unknowns in the order of elimination that it eliminates */
    int rows;           /* of its panel, its own columns first */
    int parent;         /* -1: none */
    int child, next;    /* first child; next child of its parent; -1: none */
    int group;          /* subtree that one thread factors, -1: above them */
    size_t row;         /* where its rows stand in `row` and `target` */
    size_t panel;       /* its panel in `value`: columns with stride `stride` */
    size_t update;      /* what is left of it, in `update` */
    int stride, update_stride;
    size_t run, runs; /* of entries of the matrix that go into its panel */
    double work;      /* operations of it and all below */
} sp_front;

typedef struct sp_fronts {
    const sp_lanes *lanes;
    int size, count, group_count, threads;
    sp_front *front;  /* children before parents */
    int *group_first; /* group_count + 1: groups are runs of fronts */
    int *row;         /* of every front: its rows, ascending */
    int *
        target; /* the same places: of a row that is left, its place among the rows of the parent */
    int *target_run; /* the same places: how many of the targets from there on follow each other */
    sp_entry_run *run; /* run_count: which entries of the matrix go where, front by front */
    size_t run_count;
    double *value; /* panels */
    double *update;
    double *pivot; /* size: D */
    double *work;  /* of solving: most_rows + 8 for each thread */
    double *above; /* of solving on threads, for each of `row`; NULL: on one */
    size_t value_size, update_size, most_rows;
    size_t value_room, update_room; /* what is allocated of them */
    double operations;
} sp_fronts;

/* Take the columns of an analysis: front i has the columns column[i] to column[i + 1] and the rows
 * row[row_first[i]] to row[row_first[i + 1]], its columns first. The factor is allocated only when
 * `judge` (bytes of it) says SP_OK. `fronts` comes with zeros, or with what sp_fronts_empty has
 * left. */
sp_status sp_fronts_create(sp_context *context, int size, int count, const int *column,
                           const int *row_first, const int *row,
                           sp_status (*judge)(sp_context *context, double bytes, size_t size),
                           sp_fronts *fronts);
void sp_fronts_free(sp_fronts *fronts);

/* Drop all but the room of panels and updates, which the next pattern mostly needs again: blocks as
 * large as these, freed and taken again and again, would leave gaps in the memory of the program.
 */
void sp_fronts_empty(sp_fronts *fronts);

/* Give the memory of what was left of the fronts back until the next factorization: solving needs
 * none of it. */
void sp_fronts_rest(sp_fronts *fronts);

/* Write the front in which each unknown is eliminated into `of` (size). */
void sp_fronts_of(const sp_fronts *fronts, int *of);

/* Factor the matrix with these values (fronts->run says which goes where), with
 * `shift` (size; NULL: none) added to its diagonal in the order of elimination. Returns the number
 * of negative pivots; -1 when a pivot is 0 or not finite, and at the first negative one when
 * `positive` is asked for. After -1 there is no factor to solve with. */
int sp_fronts_factor(sp_fronts *fronts, const double *value, const double *shift, int positive);

/* Set x (size) to K^-1 x with the last factor. */
void sp_fronts_solve(const sp_fronts *fronts, double *x);

#endif
