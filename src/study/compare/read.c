/* Read a store into coupons, groups and figures. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/measure.h>

#include "base/alloc.h"
#include "measure/spread.h"
#include "case/case_parts.h"
#include "compare/compare_parts.h"

static const char *const fixed[COLUMN_FIXED] = {"solid_fraction",       "mass",
                                                "initial_stiffness",    "plateau_stress",
                                                "energy_per_volume_50", "final_strain"};
static const char usual[] =
    "solid_fraction,mass,initial_stiffness,plateau_stress,energy_per_volume_50,force_ratio_65_25";

const char *sp_compare_column_name(const sp_compare *compare, int column)
{
    return compare->column[column].name;
}

const char *sp_compare_column_unit(const sp_compare *compare, int column)
{
    return compare->column[column].unit;
}

/* ---- columns ----------------------------------------------- */

static sp_status add_column(sp_context *context, sp_compare *compare, const char *name,
                            const char *option)
{
    sp_figure found;
    char valid[SP_VALID_SIZE], nearest[SP_NAME_SIZE];
    if (!sp_figure_find(name, &found, valid, sizeof valid, nearest))
        return sp_fail(context, SP_BAD_USAGE, "%s: received '%.60s'; valid: %s%s%s%s", option, name,
                       valid, nearest[0] ? " (did you mean '" : "", nearest,
                       nearest[0] ? "'?)" : "");
    if (compare->column_count == COLUMN_MAX)
        return sp_fail(context, SP_BAD_USAGE,
                       "%s: received more than %d measures; valid: at most that many", option,
                       COLUMN_MAX - COLUMN_FIXED);
    compare->column[compare->column_count++] = found;
    return SP_OK;
}

static sp_status choose_columns(sp_context *context, sp_compare *compare,
                                const sp_compare_options *options)
{
    sp_status status = SP_OK;
    const char *names = options->measures ? options->measures : usual;
    for (int i = 0; i < COLUMN_FIXED && status == SP_OK; i++)
        status = add_column(context, compare,
                            i == COLUMN_RANK && options->rank ? options->rank : fixed[i], "--rank");
    while (status == SP_OK) {
        char name[SP_FIGURE_NAME_SIZE];
        const size_t length = strcspn(names, ","), blank = strspn(names, " ");
        const size_t from = blank < length ? blank : 0;
        snprintf(name, sizeof name, "%.*s", (int)(length - from), names + from);
        status = add_column(context, compare, name, "--measures");
        if (!names[length]) break;
        names += length + 1;
    }
    return status;
}

/* ---- coupons ----------------------------------------------- */

typedef struct coupon_place {
    long long id;
    int index;
} coupon_place;

typedef struct loader {
    sp_context *context;
    sp_compare *compare;
    const sp_compare_options *options;
    char family[SP_KEY_SIZE], program[SP_PROGRAM_SIZE];
    coupon_place *place; /* of the coupons, ordered by their ids */
    int column;
} loader;

static sp_status no_memory(sp_context *context)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for the comparison");
}

static sp_status begin_group(loader *l, const sp_stored *stored)
{
    sp_compare *c = l->compare;
    group *grown = sp_grow(c->group, c->group_count, &c->group_capacity, 64, sizeof *grown);
    if (!grown) return no_memory(l->context);
    c->group = grown;
    group *g = &c->group[c->group_count];
    memset(g, 0, sizeof *g);
    g->text = sp_copy_text(stored->text);
    if (!g->text) return no_memory(l->context);
    g->first = c->coupon_count;
    c->group_count++;
    snprintf(l->family, sizeof l->family, "%s", stored->family);
    snprintf(l->program, sizeof l->program, "%s", stored->program);
    return SP_OK;
}

static int is_asked(const sp_compare_options *options, const char *key)
{
    if (!options->only) return 1;
    for (int i = 0; i < options->only_count; i++)
        if (!strcmp(options->only[i].key, key)) return 1;
    return 0;
}

/* Coupons that differ only in their flaws are one group, whatever they are called. */
static void add_names(const sp_compare_options *options, const char *key, group *g)
{
    for (int i = 0; options->only && i < options->only_count; i++) {
        const size_t used = strlen(g->name);
        if (strcmp(options->only[i].key, key)) continue;
        if (used) snprintf(g->name + used, sizeof g->name - used, " + ");
        sp_printable(options->only[i].name, g->name + strlen(g->name),
                     sizeof g->name - strlen(g->name));
    }
}

static sp_status take_coupon(void *user, const sp_stored *stored)
{
    loader *l = user;
    sp_compare *c = l->compare;
    int cautions;
    if (!is_asked(l->options, stored->key)) return SP_OK;
    if (!c->group_count || strcmp(l->family, stored->family) ||
        strcmp(l->program, stored->program)) {
        sp_status status = begin_group(l, stored);
        if (status != SP_OK) return status;
    }
    coupon *grown = sp_grow(c->coupon, c->coupon_count, &c->coupon_capacity, 256, sizeof *grown);
    if (!grown) return no_memory(l->context);
    c->coupon = grown;
    group *g = &c->group[c->group_count - 1];
    coupon *new = &c->coupon[c->coupon_count++];
    *new = (coupon){.id = stored->id,
                    .group = c->group_count - 1,
                    .outcome = stored->outcome,
                    .flaw_seed = stored->flaw_seed};
    for (int i = 0; i < c->column_count; i++) new->value[i] = NAN;
    const int ended = stored->outcome == sp_status_exit(SP_GAVE_UP);
    sp_status status = sp_compare_take_cautions(l->context, c, stored->cautions, &cautions);
    if (cautions > g->cautions) g->cautions = cautions;
    add_names(l->options, stored->key, g);
    g->count++;
    g->ended += ended;
    g->failed += stored->outcome && !ended;
    if (stored->outcome && !c->first_reason[0])
        sp_printable(stored->reason, c->first_reason, sizeof c->first_reason);
    return status;
}

static int compare_places(const void *left, const void *right)
{
    const coupon_place *a = left, *b = right;
    return (a->id > b->id) - (a->id < b->id);
}

static sp_status take_value(void *user, long long id, double value)
{
    loader *l = user;
    const coupon_place key = {.id = id};
    const coupon_place *found =
        bsearch(&key, l->place, (size_t)l->compare->coupon_count, sizeof *l->place, compare_places);
    if (found) l->compare->coupon[found->index].value[l->column] = value;
    return SP_OK;
}

/* A figure with an argument is read from the curve of every coupon. */
static sp_status read_curves(loader *l)
{
    sp_compare *c = l->compare;
    sp_status status = SP_OK;
    for (int i = 0; i < c->coupon_count && status == SP_OK; i++) {
        coupon *one = &c->coupon[i];
        sp_curve_point *point;
        sp_case request;
        int count;
        sp_compare_case_of_text(c->group[one->group].text, &request);
        status = sp_store_curve(l->context, c->store, one->id, &count, &point);
        const sp_curve curve = sp_curve_of_points(&request, count, point);
        if (status == SP_OK) {
            const sp_measure got = sp_figure_take(&c->column[l->column], NULL, &curve);
            if (got.reached) one->value[l->column] = got.value;
        }
        sp_store_free_curve(point);
    }
    return status;
}

static sp_status read_values(loader *l)
{
    sp_compare *c = l->compare;
    sp_status status = SP_OK;
    l->place = sp_alloc((size_t)c->coupon_count, sizeof *l->place);
    if (!l->place) return no_memory(l->context);
    for (int i = 0; i < c->coupon_count; i++) l->place[i] = (coupon_place){c->coupon[i].id, i};
    qsort(l->place, (size_t)c->coupon_count, sizeof *l->place, compare_places);
    for (l->column = 0; l->column < c->column_count && status == SP_OK; l->column++)
        status = c->column[l->column].row
                     ? read_curves(l)
                     : sp_store_each_value(l->context, c->store,
                                           sp_compare_column_name(c, l->column), take_value, l);
    sp_free(l->place);
    return status;
}

double sp_compare_stress_at(const sp_curve_point *point, int count, double strain)
{
    for (int i = 1; i < count; i++)
        if (point[i].strain >= strain) {
            const double run = point[i].strain - point[i - 1].strain;
            const double share = run > 0 ? (strain - point[i - 1].strain) / run : 1;
            return point[i - 1].stress + share * (point[i].stress - point[i - 1].stress);
        }
    return NAN;
}

static sp_status take_figures(sp_context *context, sp_compare *c)
{
    double *value = sp_alloc((size_t)c->coupon_count, sizeof *value);
    if (!value) return no_memory(context);
    for (int g = 0; g < c->group_count; g++)
        for (int column = 0; column < c->column_count; column++) {
            for (int i = 0; i < c->group[g].count; i++)
                value[i] = c->coupon[c->group[g].first + i].value[column];
            c->group[g].figure[column] = sp_spread_of(value, c->group[g].count);
        }
    sp_free(value);
    return SP_OK;
}

const coupon *sp_compare_typical(const sp_compare *c, const group *g)
{
    const coupon *best = NULL;
    double least = INFINITY;
    for (int i = 0; i < g->count; i++) {
        const coupon *one = &c->coupon[g->first + i];
        const double off = fabs(one->value[COLUMN_PLATEAU] - g->figure[COLUMN_PLATEAU].median);
        if (!isfinite(one->value[COLUMN_MASS])) continue;
        if (!best || off < least) best = one;
        if (isfinite(off)) least = fmin(least, off);
    }
    return best;
}

double sp_compare_stress_end(const sp_compare *c)
{
    double plateau = 0;
    for (int g = 0; g < c->group_count; g++)
        plateau = fmax(plateau, c->group[g].figure[COLUMN_PLATEAU].median);
    return 3 * plateau;
}

sp_status sp_compare_read(sp_context *context, sp_store *store, const sp_compare_options *options,
                          sp_compare **compare)
{
    sp_compare *c = sp_alloc(1, sizeof *c);
    *compare = NULL;
    if (!c) return no_memory(context);
    loader l = {.context = context, .compare = c, .options = options};
    c->store = store;
    c->tested = options->tested;
    c->tested_count = options->tested_count;
    c->tested_name = options->tested_name;
    sp_status status = choose_columns(context, c, options);
    if (status == SP_OK) status = sp_store_each(context, store, take_coupon, &l);
    if (status == SP_OK && !c->coupon_count)
        status = sp_fail(context, SP_NO_READ,
                         "the store holds no coupons; valid: one that "
                         "`strutpress batch` has filled");
    if (status == SP_OK) status = read_values(&l);
    if (status == SP_OK) status = take_figures(context, c);
    if (status == SP_OK) status = sp_compare_arrange(context, c);
    if (status == SP_OK) status = sp_compare_rank(context, c, options->mass);
    if (status == SP_OK)
        *compare = c;
    else
        sp_compare_free(c);
    return status;
}

void sp_compare_free(sp_compare *compare)
{
    if (!compare) return;
    for (int g = 0; g < compare->group_count; g++) sp_free(compare->group[g].text);
    sp_free(compare->group);
    sp_free(compare->coupon);
    sp_free(compare->order);
    sp_free(compare->member);
    sp_free(compare->series);
    sp_free(compare->ranking);
    sp_compare_free_cautions(compare);
    sp_free(compare);
}
