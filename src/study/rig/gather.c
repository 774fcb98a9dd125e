/* Find which columns are travel and force, and which rows belong to which specimen. */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "rig/rig_parts.h"

static const int rows_least = 2; /* a table with fewer rows does not count */
/* When the shortening falls by this share of its largest from one row to the next, and the force
 * with it, a new specimen begins. */
static const double restart_share = 0.5;
enum { PROBE = 4000 };

typedef struct pair {
    int travel, force;
} pair;

typedef struct gatherer {
    sp_context *context;
    const sp_columns *c;
    sp_rig *rig;
    int pair_count;
    pair pair[SP_COLUMN_MAX];
    int specimen_column;
} gatherer;

double sp_rig_median(double *value, int count)
{
    if (count < 1) return NAN;
    /* Find the middle value by halves (Hoare 1961), without sorting all. */
    int low = 0, high = count - 1;
    const int middle = count / 2;
    while (low < high) {
        const double pivot = value[low + (high - low) / 2];
        int i = low, j = high;
        while (i <= j) {
            while (value[i] < pivot) i++;
            while (value[j] > pivot) j--;
            if (i > j) break;
            const double kept = value[i];
            value[i++] = value[j];
            value[j--] = kept;
        }
        if (middle <= j)
            high = j;
        else if (middle >= i)
            low = i;
        else
            break;
    }
    return value[middle];
}

static double value_at(const sp_columns *c, int row, int column)
{
    return c->value[(size_t)row * (size_t)c->column_count + (size_t)column];
}

/* ---- which column is what ----------------------------------------------- */

static int same_but_digits(const char *a, const char *b)
{
    while (*a || *b) {
        while (isdigit((unsigned char)*a) || *a == ' ' || *a == '_') a++;
        while (isdigit((unsigned char)*b) || *b == ' ' || *b == '_') b++;
        if (tolower((unsigned char)*a) != tolower((unsigned char)*b)) return 0;
        if (*a) a++, b++;
    }
    return 1;
}

static int list_columns(const sp_rig *rig, sp_quantity quantity, int list[SP_COLUMN_MAX])
{
    int count = 0;
    for (int i = 0; i < rig->column_count; i++)
        if (rig->column[i].quantity == quantity && !rig->column[i].is_text) list[count++] = i;
    return count;
}

/* Find a column by its number, counted from 1, or by its name. */
static sp_status chosen_column(const gatherer *g, const char *what, const char *text, int *column)
{
    const sp_rig *rig = g->rig;
    char *end, names[400] = "";
    const long number = strtol(text, &end, 10);
    if (end != text && !*end && number >= 1 && number <= rig->column_count) {
        *column = (int)number - 1;
        return SP_OK;
    }
    for (int i = 0; i < rig->column_count; i++)
        if (rig->column[i].name[0] && !strcmp(rig->column[i].name, text)) {
            *column = i;
            return SP_OK;
        }
    for (int i = 0; i < rig->column_count; i++)
        if (rig->column[i].name[0]) sp_case_add_name(names, sizeof names, rig->column[i].name);
    return sp_fail(g->context, SP_NO_READ,
                   "%s: received the %s column '%s'; valid: a number from 1 to %d%s%s", rig->file,
                   what, text, rig->column_count, names[0] ? ", " : "", names);
}

/* Return how unevenly a column runs: median deviation of its steps over their median; 0 for a
 * clock. INFINITY: it does not run. */
static double unevenness(const sp_columns *c, const sp_column_block *block, int column)
{
    double step[PROBE], off[PROBE];
    int count = 0;
    double last = NAN;
    const int rows = block->row_count < PROBE ? block->row_count : PROBE;
    for (int i = 0; i < rows; i++) {
        const double value = value_at(c, block->first_row + i, column);
        if (isfinite(value) && isfinite(last)) step[count++] = value - last;
        if (isfinite(value)) last = value;
    }
    if (count < 2) return INFINITY;
    double middle = sp_rig_median(step, count);
    if (middle == 0) {
        double size = 0;
        for (int i = 0; i < count; i++) size += fabs(step[i]) / count;
        return size > 0 ? 1e3 : INFINITY;
    }
    for (int i = 0; i < count; i++) off[i] = fabs(step[i] - middle);
    double mean = 0;
    for (int i = 0; i < count; i++) mean += fmin(off[i], 10 * fabs(middle)) / count;
    return mean / fabs(middle);
}

static int never_falls(const sp_columns *c, const sp_column_block *block, int column)
{
    for (int i = 1; i < block->row_count; i++)
        if (value_at(c, block->first_row + i, column) <=
            value_at(c, block->first_row + i - 1, column))
            return 0;
    return 1;
}

/* Choose among columns without a name or a unit: a clock or a count comes first; of the others, the
 * one that runs more evenly is the travel. */
static sp_status guess_columns(gatherer *g, const sp_column_block *block)
{
    sp_rig *rig = g->rig;
    int open[SP_COLUMN_MAX], count = 0, travel = -1, force = -1, list[SP_COLUMN_MAX];
    for (int i = 0; i < rig->column_count; i++)
        if (rig->column[i].quantity == SP_QUANTITY_UNKNOWN && !rig->column[i].is_text)
            open[count++] = i;
    if (list_columns(rig, SP_QUANTITY_TRAVEL, list) || list_columns(rig, SP_QUANTITY_STRAIN, list))
        travel = list[0];
    if (list_columns(rig, SP_QUANTITY_FORCE, list) || list_columns(rig, SP_QUANTITY_STRESS, list))
        force = list[0];
    if (travel >= 0 && force >= 0) return SP_OK;
    rig->is_guessed = 1;
    /* Pairs stand side by side: u f u f ... */
    if (count >= 4 && count % 2 == 0 && travel < 0 && force < 0 && count == rig->column_count) {
        int even = 0, odd = 0;
        for (int k = 0; k < count; k++)
            *(k % 2 ? &odd : &even) +=
                unevenness(g->c, block, open[k]) < unevenness(g->c, block, open[k ^ 1]);
        if ((even == count / 2 && !odd) || (odd == count / 2 && !even)) {
            for (int k = 0; k < count; k++)
                rig->column[open[k]].quantity =
                    (k % 2 == 0) == (even > 0) ? SP_QUANTITY_TRAVEL : SP_QUANTITY_FORCE;
            return SP_OK;
        }
    }
    const int wanted = (travel < 0) + (force < 0);
    if (count > wanted && never_falls(g->c, block, open[0]) &&
        unevenness(g->c, block, open[0]) < 0.5) {
        rig->column[open[0]].quantity = SP_QUANTITY_TIME;
        memmove(open, open + 1, (size_t)--count * sizeof *open);
        /* These are a count and a clock. */
        if (count > wanted && never_falls(g->c, block, open[0]) &&
            never_falls(g->c, block, open[1]) && unevenness(g->c, block, open[0]) < 0.01) {
            rig->column[open[0]].quantity = SP_QUANTITY_TIME;
            memmove(open, open + 1, (size_t)--count * sizeof *open);
        }
    }
    if (count < wanted)
        return sp_fail(
            g->context, SP_NO_READ,
            "%s:%d: received no column of %s among %d; valid: names or units that show it, or "
            "its number (travel: 2, force: 3)",
            rig->file, g->c->line[block->first_row], travel < 0 ? "travel" : "force",
            rig->column_count);
    if (wanted == 1) {
        rig->column[open[0]].quantity = travel < 0 ? SP_QUANTITY_TRAVEL : SP_QUANTITY_FORCE;
        return SP_OK;
    }
    const double first = unevenness(g->c, block, open[0]),
                 second = unevenness(g->c, block, open[1]);
    const int swapped = second < 0.5 * first;
    rig->column[open[swapped]].quantity = SP_QUANTITY_TRAVEL;
    rig->column[open[!swapped]].quantity = SP_QUANTITY_FORCE;
    if (fmin(first, second) > 0.5 * fmax(first, second))
        sp_warn(g->context,
                "%s: columns %d and %d have no names and run alike: the first is taken as travel "
                "in mm, the second as force in N; say otherwise with travel and force",
                rig->file, open[0] + 1, open[1] + 1);
    return SP_OK;
}

static int repeated(const sp_rig *rig, const int *list, int count)
{
    for (int i = 1; i < count; i++)
        if (!same_but_digits(rig->column[list[0]].name, rig->column[list[i]].name)) return 0;
    return 1;
}

static void warn_several(const gatherer *g, const char *what, const int *list, int count)
{
    const sp_rig *rig = g->rig;
    if (count > 1)
        sp_warn(g->context, "%s: %d columns of %s; column %d (%s) is taken", rig->file, count, what,
                list[0] + 1, rig->column[list[0]].name);
}

static sp_status pair_columns(gatherer *g)
{
    sp_rig *rig = g->rig;
    int travel[SP_COLUMN_MAX], force[SP_COLUMN_MAX];
    int travels = list_columns(rig, SP_QUANTITY_TRAVEL, travel);
    int forces = list_columns(rig, SP_QUANTITY_FORCE, force);
    /* Strain and stress are taken where there is nothing else. */
    if (!travels) {
        travels = list_columns(rig, SP_QUANTITY_STRAIN, travel);
        rig->is_strain = travels > 0;
    }
    if (!forces) {
        forces = list_columns(rig, SP_QUANTITY_STRESS, force);
        rig->is_stress = forces > 0;
    }
    if (rig->request.travel[0]) {
        const sp_status status = chosen_column(g, "travel", rig->request.travel, &travel[0]);
        if (status != SP_OK) return status;
        travels = 1;
        rig->is_strain = rig->column[travel[0]].quantity == SP_QUANTITY_STRAIN;
    }
    if (rig->request.force[0]) {
        const sp_status status = chosen_column(g, "force", rig->request.force, &force[0]);
        if (status != SP_OK) return status;
        forces = 1;
        rig->is_stress = rig->column[force[0]].quantity == SP_QUANTITY_STRESS;
    }
    if (!travels || !forces)
        return sp_fail(g->context, SP_NO_READ,
                       "%s: received no column of %s; valid: names or units that show it, or its "
                       "number (travel: 2, force: 3)",
                       rig->file, travels ? "force" : "travel");
    if (travels == forces && travels > 1 && repeated(rig, travel, travels) &&
        repeated(rig, force, forces)) {
        g->pair_count = travels;
        for (int i = 0; i < travels; i++) g->pair[i] = (pair){travel[i], force[i]};
    } else if (travels == 1 && forces > 1 && repeated(rig, force, forces)) {
        g->pair_count = forces;
        for (int i = 0; i < forces; i++) g->pair[i] = (pair){travel[0], force[i]};
    } else {
        g->pair_count = 1;
        g->pair[0] = (pair){travel[0], force[0]};
        warn_several(g, "travel", travel, travels);
        warn_several(g, "force", force, forces);
    }
    /* A column that was chosen by hand, or by the number of columns, counts as what it is used for.
     */
    for (int i = 0; i < g->pair_count; i++) {
        sp_column *t = &rig->column[g->pair[i].travel], *f = &rig->column[g->pair[i].force];
        if (t->quantity != SP_QUANTITY_STRAIN) t->quantity = SP_QUANTITY_TRAVEL;
        if (f->quantity != SP_QUANTITY_STRESS) f->quantity = SP_QUANTITY_FORCE;
    }
    return SP_OK;
}

/* Warn of names that contradict how the columns run: the platen moves evenly, the force does not.
 */
static void check_swapped(const gatherer *g, const sp_column_block *block)
{
    const sp_rig *rig = g->rig;
    const double travel = unevenness(g->c, block, g->pair[0].travel),
                 force = unevenness(g->c, block, g->pair[0].force);
    if (rig->is_guessed || !(force < 0.02 && travel > 0.3 && isfinite(travel))) return;
    sp_warn(g->context,
            "%s: column %d (%s) runs in even steps and column %d (%s) does not: are their names "
            "swapped? "
            "If so, say travel: %d and force: %d",
            rig->file, g->pair[0].force + 1, rig->column[g->pair[0].force].name,
            g->pair[0].travel + 1, rig->column[g->pair[0].travel].name, g->pair[0].force + 1,
            g->pair[0].travel + 1);
}

/* ---- which rows belong to which specimen ----------------------------------------------- */

static sp_status add_specimen(gatherer *g, pair p, rig_specimen **s)
{
    sp_rig *rig = g->rig;
    if (rig->specimen_count >= RIG_SPECIMEN_MAX)
        return sp_fail(g->context, SP_NO_READ, "%s: received more than %d specimens; valid: fewer",
                       rig->file, RIG_SPECIMEN_MAX);
    *s = &rig->specimen[rig->specimen_count++];
    (*s)->travel = rig->column[p.travel];
    (*s)->force = rig->column[p.force];
    return SP_OK;
}

/* Append rows first .. end of a pair whose specimen column has this value; NaN: all of these rows.
 */
static sp_status append(gatherer *g, rig_specimen *s, pair p, int first, int end, double which)
{
    const sp_columns *c = g->c;
    int count = 0;
    for (int i = first; i < end; i++)
        if (isnan(which) || value_at(c, i, g->specimen_column) == which)
            count += isfinite(value_at(c, i, p.travel)) && isfinite(value_at(c, i, p.force));
    const size_t room = (size_t)s->raw.count + (size_t)count + 1;
    double *u = sp_resize(s->raw.u, room, sizeof *u);
    if (u) s->raw.u = u;
    double *f = u ? sp_resize(s->raw.f, room, sizeof *f) : NULL;
    if (f) s->raw.f = f;
    if (!f) return sp_fail(g->context, SP_NO_MEMORY, "%s: out of memory", g->rig->file);
    for (int i = first; i < end; i++) {
        if (!isnan(which) && value_at(c, i, g->specimen_column) != which) continue;
        const double travel = value_at(c, i, p.travel) * s->travel.factor;
        const double force = value_at(c, i, p.force) * s->force.factor;
        if (isfinite(travel) && isfinite(force)) {
            if (!s->raw.count) s->first_line = c->line[i];
            s->last_line = c->line[i];
            s->raw.u[s->raw.count] = travel;
            s->raw.f[s->raw.count++] = force;
        } else
            s->left_out++;
    }
    return SP_OK;
}

/* Gather rows first .. end: all belong to one table and, unless columns stand side by side or a
 * column names the specimen, to one specimen. */
static sp_status take_rows(gatherer *g, int first, int end, int fresh)
{
    const sp_columns *c = g->c;
    sp_rig *rig = g->rig;
    sp_status status = SP_OK;
    if (g->specimen_column >= 0) {
        for (int i = first; i < end && status == SP_OK;) {
            const double which = value_at(c, i, g->specimen_column);
            rig_specimen *s = NULL;
            int stop = i + 1;
            char name[SP_COLUMN_TEXT_SIZE];
            while (stop < end && value_at(c, stop, g->specimen_column) == which) stop++;
            if (rig->column[g->specimen_column].is_text && which >= 0 && which < c->text_count)
                snprintf(name, sizeof name, "%s", c->text[(int)which]);
            else
                snprintf(name, sizeof name, "specimen %g", which);
            for (int k = 0; k < rig->specimen_count; k++)
                if (!strcmp(rig->specimen[k].name, name)) s = &rig->specimen[k];
            if (!s) {
                status = add_specimen(g, g->pair[0], &s);
                if (status == SP_OK) memcpy(s->name, name, sizeof name);
            }
            if (status == SP_OK) status = append(g, s, g->pair[0], i, stop, NAN);
            i = stop;
        }
        return status;
    }
    for (int k = 0; k < g->pair_count && status == SP_OK; k++) {
        rig_specimen *s = rig->specimen_count >= g->pair_count
                              ? &rig->specimen[rig->specimen_count - g->pair_count + k]
                              : NULL;
        if (fresh || !s) {
            /* Drop them one by one: those of this table stand at the end of the list. */
            status = add_specimen(g, g->pair[k], &s);
        }
        if (status == SP_OK) status = append(g, s, g->pair[k], first, end, NAN);
    }
    return status;
}

/* Return whether a new specimen begins with this row: the clock runs back, or the platen jumps back
 * without force. */
static int restarts(const gatherer *g, int row, double furthest, double strongest)
{
    const sp_columns *c = g->c;
    const sp_rig *rig = g->rig;
    int clock[SP_COLUMN_MAX];
    if (list_columns(rig, SP_QUANTITY_TIME, clock) || list_columns(rig, SP_QUANTITY_COUNT, clock)) {
        const double now = value_at(c, row, clock[0]), before = value_at(c, row - 1, clock[0]);
        return isfinite(now) && isfinite(before) && now < before;
    }
    const double u = value_at(c, row, g->pair[0].travel), f = value_at(c, row, g->pair[0].force);
    const double last_u = value_at(c, row - 1, g->pair[0].travel),
                 last_f = value_at(c, row - 1, g->pair[0].force);
    return fabs(last_u) - fabs(u) > restart_share * furthest && furthest > 0 &&
           fabs(last_f) - fabs(f) > 0.2 * strongest;
}

static sp_status take_block(gatherer *g, const sp_column_block *block, int fresh)
{
    const sp_columns *c = g->c;
    const int end = block->first_row + block->row_count;
    int first = block->first_row;
    double furthest = 0, strongest = 0;
    sp_status status = SP_OK;
    if (!fresh && first > 0 && g->rig->specimen_count && restarts(g, first, 0, 0)) fresh = 1;
    for (int i = first; i < end && status == SP_OK; i++) {
        if (i > first && g->specimen_column < 0 && restarts(g, i, furthest, strongest)) {
            status = take_rows(g, first, i, fresh);
            fresh = 1;
            first = i;
            furthest = strongest = 0;
        }
        const double u = fabs(value_at(c, i, g->pair[0].travel)),
                     f = fabs(value_at(c, i, g->pair[0].force));
        if (isfinite(u)) furthest = fmax(furthest, u);
        if (isfinite(f)) strongest = fmax(strongest, f);
    }
    return status == SP_OK ? take_rows(g, first, end, fresh) : status;
}

static void name_specimens(sp_rig *rig)
{
    for (int i = 0; i < rig->specimen_count; i++)
        if (!rig->specimen[i].name[0])
            snprintf(rig->specimen[i].name, sizeof rig->specimen[i].name, "specimen %d", i + 1);
}

/* Drop the specimens that were not asked for, and those without rows. */
static sp_status keep_asked(const gatherer *g)
{
    sp_rig *rig = g->rig;
    int kept = 0;
    for (int i = 0; i < rig->specimen_count; i++) {
        rig_specimen *s = &rig->specimen[i];
        if (s->raw.count >= rows_least) {
            const rig_specimen moved = *s;
            memset(s, 0, sizeof *s);
            rig->specimen[kept++] = moved;
        } else
            sp_rig_rows_free(&s->raw);
    }
    rig->specimen_count = rig->found_count = kept;
    name_specimens(rig);
    if (!kept)
        return sp_fail(g->context, SP_NO_READ,
                       "%s: received fewer than %d rows with travel and force; valid: more",
                       rig->file, rows_least);
    if (!rig->request.specimen) return SP_OK;
    if (rig->request.specimen > kept)
        return sp_fail(g->context, SP_NO_READ, "%s: received specimen %d; valid: 1 .. %d",
                       rig->file, rig->request.specimen, kept);
    for (int i = 0; i < kept; i++)
        if (i != rig->request.specimen - 1) sp_rig_rows_free(&rig->specimen[i].raw);
    rig->specimen[0] = rig->specimen[rig->request.specimen - 1];
    if (rig->request.specimen > 1)
        memset(&rig->specimen[rig->request.specimen - 1], 0, sizeof *rig->specimen);
    rig->specimen_count = 1;
    return SP_OK;
}

/* Tables of results stand above and below the rows, so only tables of at least a twentieth of the
 * longest count. */
static int counts(const sp_columns *c, const sp_column_block *block, int longest)
{
    (void)c;
    return block->row_count >= rows_least && 20 * block->row_count >= longest;
}

sp_status sp_rig_gather(sp_context *context, const sp_columns *columns, sp_rig *rig)
{
    gatherer g = {.context = context, .c = columns, .rig = rig, .specimen_column = -1};
    const sp_column_block *first = NULL;
    int longest = 0, list[SP_COLUMN_MAX];
    sp_status status = SP_OK;
    for (int i = 0; i < columns->block_count; i++)
        longest = columns->block[i].row_count > longest ? columns->block[i].row_count : longest;
    for (int i = 0; i < columns->block_count && !first; i++)
        if (counts(columns, &columns->block[i], longest)) first = &columns->block[i];
    if (!first)
        return sp_fail(
            context, SP_NO_READ,
            "%s: received at most %d rows of numbers one after another; valid: at least %d",
            rig->file, longest, rows_least);
    rig->column_count = columns->column_count;
    rig->has_names = first->has_names;
    memcpy(rig->column, first->column, sizeof rig->column);
    rig->specimen = sp_alloc(RIG_SPECIMEN_MAX, sizeof *rig->specimen);
    if (!rig->specimen) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", rig->file);
    if (!rig->request.travel[0] || !rig->request.force[0]) status = guess_columns(&g, first);
    if (status == SP_OK) status = pair_columns(&g);
    if (status != SP_OK) return status;
    if (g.pair_count == 1 && list_columns(rig, SP_QUANTITY_SPECIMEN, list))
        g.specimen_column = list[0];
    for (int i = 0; i < rig->column_count && g.specimen_column < 0 && g.pair_count == 1; i++)
        if (rig->column[i].is_text && rig->column[i].quantity == SP_QUANTITY_SPECIMEN)
            g.specimen_column = i;
    check_swapped(&g, first);
    for (int i = 0; i < columns->block_count && status == SP_OK; i++) {
        const sp_column_block *block = &columns->block[i];
        if (counts(columns, block, longest))
            status = take_block(&g, block, block == first || block->has_names);
        else
            rig->short_rows += block->row_count;
    }
    return status == SP_OK ? keep_asked(&g) : status;
}
