/* This file finds the tree of the fronts, and the place where each of them keeps its update: the
 * matrix that is left when its columns are eliminated. The numbers are found in fronts_factor.c. */
#include "sparse/fronts.h"

#include <math.h>
#include <string.h>

#include <omp.h>

#include "base/alloc.h"
#include "base/machine.h"

/* A factorization of at least this many operations hands subtrees to threads; each subtree has at
 * most this share of all operations. */
static const double parallel_operations = 2e8, group_share = 1.0 / 12;

static sp_status no_memory(sp_context *context, int size)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for the factor of %d unknowns", size);
}

/* Return how many operations it takes to eliminate `columns` of `rows` rows: a sum of squares. */
static double own_work(int rows, int columns)
{
    double sum = 0;
    for (int i = 0; i < columns; i++) sum += (double)(rows - i) * (rows - i);
    return sum;
}

static void take_columns(sp_fronts *fronts, const int *column, const int *row_first)
{
    for (int i = 0; i < fronts->count; i++) {
        sp_front *f = &fronts->front[i];
        *f = (sp_front){.first = column[i],
                        .columns = column[i + 1] - column[i],
                        .rows = row_first[i + 1] - row_first[i],
                        .row = (size_t)row_first[i],
                        .parent = -1,
                        .child = -1,
                        .next = -1,
                        .group = -1};
        /* Whole blocks of 8 rows are read from any row on, so 7 rows of room may be left over. */
        f->stride = (f->rows + 7 + 3) / 4 * 4;
        f->update_stride = (f->rows - f->columns + 7 + 3) / 4 * 4;
        f->panel = fronts->value_size;
        fronts->value_size += (size_t)f->stride * (size_t)f->columns;
        if ((size_t)f->stride > fronts->most_rows) fronts->most_rows = (size_t)f->stride;
    }
}

/* The parent of a front is the front of the first row that is left of it; children are listed in
 * ascending order. `of` gives the front of every unknown. */
static void link_tree(sp_fronts *fronts, const int *of)
{
    for (int i = fronts->count - 1; i >= 0; i--) {
        sp_front *f = &fronts->front[i];
        if (f->rows == f->columns) continue;
        f->parent = of[fronts->row[f->row + (size_t)f->columns]];
        f->next = fronts->front[f->parent].child;
        fronts->front[f->parent].child = i;
    }
    for (int i = 0; i < fronts->count; i++) {
        sp_front *f = &fronts->front[i];
        f->work += own_work(f->rows, f->columns);
        if (f->parent >= 0)
            fronts->front[f->parent].work += f->work;
        else
            fronts->operations += f->work;
    }
}

/* Find the place of every row that is left among the rows of the parent; both lists of rows are in
 * ascending order. */
static void find_targets(sp_fronts *fronts)
{
    for (int i = 0; i < fronts->count; i++) {
        const sp_front *f = &fronts->front[i];
        if (f->parent < 0) continue;
        const int *to = fronts->row + fronts->front[f->parent].row;
        int at = 0;
        for (int k = f->columns; k < f->rows; k++) {
            while (to[at] != fronts->row[f->row + (size_t)k]) at++;
            fronts->target[f->row + (size_t)k] = at;
        }
        const int *target = fronts->target + f->row;
        int *run = fronts->target_run + f->row;
        for (int k = f->rows - 1; k >= f->columns; k--)
            run[k] = k + 1 < f->rows && target[k + 1] == target[k] + 1 ? run[k + 1] + 1 : 1;
    }
}

/* Form groups: subtrees that have at most group_share of the work, while their parents have more. A
 * group is a run of fronts that ends at the root of its subtree. */
static void find_groups(sp_fronts *fronts)
{
    const double most = fronts->operations * group_share;
    fronts->group_count = 0;
    if (fronts->threads < 2 || fronts->operations < parallel_operations) return;
    for (int i = fronts->count - 1; i >= 0; i--) {
        sp_front *f = &fronts->front[i];
        const int above = f->parent >= 0 ? fronts->front[f->parent].group : -1;
        f->group = above >= 0 ? above : f->work <= most ? fronts->group_count++ : -1;
    }
    /* So far groups are numbered from the end; number them from the beginning. */
    for (int i = 0; i < fronts->count; i++)
        if (fronts->front[i].group >= 0)
            fronts->front[i].group = fronts->group_count - 1 - fronts->front[i].group;
}

static size_t update_size(const sp_front *f)
{
    return (size_t)f->update_stride * (size_t)(f->rows - f->columns);
}

/* Find the place of every update. The update of a front lies on the stack of its depth, odd or
 * even, so that those of its children lie on the other one; both stacks are last in, first out.
 * Fronts of one group have stacks of their own. `top` has 2 entries per group and 2 for the fronts
 * above; `depth` has one per front. */
static void place_updates(sp_fronts *fronts, size_t *top, size_t *most, unsigned char *depth)
{
    const int above = fronts->group_count;
    for (int i = fronts->count - 1; i >= 0; i--) {
        const sp_front *f = &fronts->front[i];
        depth[i] = f->parent >= 0 ? !depth[f->parent] : 0;
    }
    for (int pass = 0; pass < 2; pass++) { /* how high the stacks grow, then where they begin */
        for (int i = 0; i < fronts->count; i++) {
            sp_front *f = &fronts->front[i];
            const int group = f->group >= 0 ? f->group : above;
            size_t *own = &top[2 * group + depth[i]], *below = &top[2 * group + !depth[i]];
            f->update = *own;
            *own += update_size(f);
            if (*own > most[2 * group + depth[i]]) most[2 * group + depth[i]] = *own;
            for (int c = f->child; c >= 0; c = fronts->front[c].next)
                if (fronts->front[c].group == f->group) *below -= update_size(&fronts->front[c]);
        }
        size_t sum = 0;
        for (int s = 0; pass == 0 && s < 2 * (above + 1); s++) {
            top[s] = sum;
            sum += most[s];
            most[s] = 0;
            fronts->update_size = sum;
        }
    }
}

static sp_status place_all(sp_context *context, sp_fronts *fronts)
{
    const size_t stacks = 2 * ((size_t)fronts->group_count + 1);
    size_t *top = sp_alloc(stacks, sizeof *top), *most = sp_alloc(stacks, sizeof *most);
    unsigned char *depth = sp_alloc((size_t)fronts->count, 1);
    const int room = top && most && depth;
    if (room) place_updates(fronts, top, most, depth);
    sp_free(top);
    sp_free(most);
    sp_free(depth);
    return room ? SP_OK : no_memory(context, fronts->size);
}

static sp_status note_groups(sp_context *context, sp_fronts *fronts)
{
    fronts->group_first = sp_alloc((size_t)fronts->group_count + 1, 2 * sizeof(int));
    if (!fronts->group_first) return no_memory(context, fronts->size);
    for (int i = 0; i < fronts->count; i++) {
        const int group = fronts->front[i].group;
        if (group < 0) continue;
        if (i == 0 || fronts->front[i - 1].group != group) fronts->group_first[2 * group] = i;
        fronts->group_first[2 * group + 1] = i + 1;
    }
    return SP_OK;
}

/* Memory is allocated for this many times what is needed, because patterns grow. */
static const double spare_room = 1.06;

/* Return how many doubles have to be allocated beside the room that there is. */
static double more_room(size_t room, size_t size)
{
    return size > room ? (double)(size - room) : 0;
}

/* Give *block room for at least `size` doubles; the numbers in it are lost. Returns 0 without
 * memory. */
static int reserve(double **block, size_t *room, size_t size)
{
    if (*block && size <= *room) return 1;
    const size_t more = *block ? (size_t)(spare_room * (double)size) : size;
    sp_free_large(*block, *room, sizeof(double));
    *room = more;
    *block = sp_alloc_large(*room, sizeof(double));
    if (!*block) *room = 0;
    return *block != NULL;
}

/* Make room for the factor, and for what each thread needs of its own to factor and to solve. */
static sp_status take_room(sp_context *context, sp_fronts *fronts, size_t rows)
{
    if (fronts->group_count > 0 && fronts->threads > 1)
        fronts->threads = sp_thread_room(fronts->threads);
    const int shared = fronts->group_count > 0 && fronts->threads > 1;
    const size_t threads = shared ? (size_t)fronts->threads : 1;
    fronts->work = sp_alloc(threads * (fronts->most_rows + 8), sizeof(double));
    if (shared) fronts->above = sp_alloc(rows, sizeof(double));
    const int room = fronts->work && (fronts->above || !shared) &&
                     reserve(&fronts->value, &fronts->value_room, fronts->value_size) &&
                     reserve(&fronts->update, &fronts->update_room, fronts->update_size);
    return room ? SP_OK : no_memory(context, fronts->size);
}

sp_status sp_fronts_create(sp_context *context, int size, int count, const int *column,
                           const int *row_first, const int *row,
                           sp_status (*judge)(sp_context *context, double bytes, size_t size),
                           sp_fronts *fronts)
{
    const sp_lanes *list[SP_WAY_MAX];
    const size_t rows = (size_t)row_first[count];
    fronts->lanes = list[sp_lanes_list(list) - 1];
    fronts->size = size;
    fronts->count = count;
    fronts->threads = omp_in_parallel() ? 1 : omp_get_max_threads();
    fronts->front = sp_alloc((size_t)count, sizeof *fronts->front);
    fronts->row = sp_alloc(rows, sizeof(int));
    fronts->target = sp_alloc(rows, sizeof(int));
    fronts->target_run = sp_alloc(rows, sizeof(int));
    fronts->pivot = sp_alloc((size_t)size, sizeof(double));
    int *of = sp_alloc((size_t)size, sizeof(int));
    sp_status status =
        fronts->front && fronts->row && fronts->target && fronts->target_run && fronts->pivot && of
            ? SP_OK
            : no_memory(context, size);
    if (status == SP_OK) {
        memcpy(fronts->row, row, rows * sizeof(int));
        take_columns(fronts, column, row_first);
        sp_fronts_of(fronts, of);
        link_tree(fronts, of);
        find_targets(fronts);
        find_groups(fronts);
        status = note_groups(context, fronts);
    }
    if (status == SP_OK) status = place_all(context, fronts);
    if (status == SP_OK)
        status = judge(context,
                       (more_room(fronts->value_room, fronts->value_size) +
                        more_room(fronts->update_room, fronts->update_size)) *
                           sizeof(double),
                       (size_t)size);
    if (status == SP_OK) status = take_room(context, fronts, rows);
    sp_free(of);
    if (status != SP_OK) sp_fronts_free(fronts);
    return status;
}

void sp_fronts_empty(sp_fronts *fronts)
{
    const sp_fronts kept = {.value = fronts->value,
                            .value_room = fronts->value_room,
                            .update = fronts->update,
                            .update_room = fronts->update_room};
    sp_fronts_rest(fronts);
    sp_free(fronts->front);
    sp_free(fronts->group_first);
    sp_free(fronts->row);
    sp_free(fronts->target);
    sp_free(fronts->target_run);
    sp_free_large(fronts->run, fronts->run_count, sizeof *fronts->run);
    sp_free(fronts->pivot);
    sp_free(fronts->work);
    sp_free(fronts->above);
    *fronts = kept;
}

void sp_fronts_rest(sp_fronts *fronts)
{
    sp_rest_large(fronts->update, fronts->update_room, sizeof(double));
}

void sp_fronts_free(sp_fronts *fronts)
{
    sp_fronts_empty(fronts);
    sp_free_large(fronts->value, fronts->value_room, sizeof(double));
    sp_free_large(fronts->update, fronts->update_room, sizeof(double));
    memset(fronts, 0, sizeof *fronts);
}

void sp_fronts_of(const sp_fronts *fronts, int *of)
{
    for (int i = 0; i < fronts->count; i++) {
        const sp_front *f = &fronts->front[i];
        for (int k = 0; k < f->columns; k++) of[f->first + k] = i;
    }
}
