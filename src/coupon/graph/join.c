/* Join pairs of near joints and sort cuts, see join.h. */
#include "graph/join.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"

int sp_piece_spans(int face, int platens, sp_left_out *left_out)
{
    if ((face & platens) == platens) return 1;
    if (face & platens)
        left_out->one_platen++;
    else
        left_out->no_platen++;
    return 0;
}

void sp_pair_measure(const sp_pair *pair, double *shortest)
{
    shortest[pair->a] = fmin(shortest[pair->a], pair->length);
    shortest[pair->b] = fmin(shortest[pair->b], pair->length);
}

int sp_pair_unite(const sp_pair *pair, const double *shortest, int *parent)
{
    const double slack = pair->length - pair->tie;
    if (slack > shortest[pair->a] || slack > shortest[pair->b]) return 0;
    const int a = sp_group_of(parent, pair->a), b = sp_group_of(parent, pair->b);
    parent[a > b ? a : b] = a > b ? b : a;
    return a != b;
}

sp_status sp_cuts_add(sp_context *context, sp_cuts *cuts, int strut, int joint, double along)
{
    sp_cut_at *item = sp_grow(cuts->item, cuts->count, &cuts->capacity, 256, sizeof *item);
    if (!item) return sp_fail(context, SP_NO_MEMORY, "no memory for %d crossings", cuts->count + 1);
    cuts->item = item;
    cuts->item[cuts->count++] = (sp_cut_at){strut, joint, along};
    return SP_OK;
}

static int compare_cut(const void *left, const void *right)
{
    const sp_cut_at *a = left, *b = right;
    if (a->strut != b->strut) return a->strut - b->strut;
    return a->along < b->along ? -1 : a->along > b->along ? 1 : a->joint - b->joint;
}

void sp_cuts_sort(sp_cuts *cuts)
{
    qsort(cuts->item, (size_t)cuts->count, sizeof *cuts->item, compare_cut);
}

int sp_cuts_next(const sp_cuts *cuts, int i, int last)
{
    int more = i + 1 < cuts->count && cuts->item[i + 1].strut == cuts->item[i].strut;
    return more ? cuts->item[i + 1].joint : last;
}
