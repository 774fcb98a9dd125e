/* Read a YAML target: the parts of a plan, and what is sought. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "batch/plan_parts.h"
#include "case/case_parts.h"
#include "seek/seek_parts.h"

enum { USUAL_TRIES = 30, TRIES_MAX = 10000 };

static const char require_valid[] = "{at_least: A}, {at_most: B}, or both";

static sp_status read_vary(plan_reader *r, const yaml_node_t *node)
{
    sp_target *target = r->user;
    const sp_status status =
        sp_seek_variables_read(r, node, "vary", target->variable, &target->variable_count);
    for (int i = target->variable_count - 1; i >= 0; i--)
        if (!target->variable[i].whole) target->first = i;
    return status;
}

/* ---- require, save ----------------------------------------------- */

/* A figure may be required only once. */
static sp_status add_figure(plan_reader *r, const yaml_node_t *node, const char *key, int *index)
{
    sp_target *target = r->user;
    sp_figure figure;
    char valid[SP_VALID_SIZE], nearest[SP_NAME_SIZE];
    if (node->type != YAML_SCALAR_NODE ||
        (!sp_seek_match_find(target, sp_plan_text(node), &figure) &&
         !sp_figure_find(sp_plan_text(node), &figure, valid, sizeof valid, nearest)))
        return sp_plan_refuse(r, node, key, sp_plan_text(node),
                              node->type == YAML_SCALAR_NODE ? valid : "the name of one figure",
                              nearest);
    for (*index = 0; *index < target->figure_count; (*index)++)
        if (!strcmp(target->figure[*index].name, figure.name)) return SP_OK;
    target->figure[target->figure_count++] = figure;
    return SP_OK;
}

static sp_status read_bound(plan_reader *r, const yaml_node_t *node, const sp_figure *figure,
                            double *bound)
{
    char valid[SP_VALID_SIZE];
    if (!node) return SP_OK;
    if (node->type == YAML_SCALAR_NODE &&
        sp_case_unit_parse(figure->unit, sp_plan_text(node), bound))
        return SP_OK;
    sp_case_unit_text(figure->unit, valid, sizeof valid);
    return sp_plan_refuse(r, node, figure->name, sp_plan_text(node), valid, NULL);
}

static sp_status read_condition(plan_reader *r, const yaml_node_t *name, const yaml_node_t *bounds)
{
    static const char *const names[] = {"at_least", "at_most"};
    const yaml_node_t *part[2] = {NULL};
    sp_target *target = r->user;
    if (target->condition_count == SEEK_CONDITION_MAX)
        return sp_plan_refuse(r, name, "require", sp_plan_text(name), "at most 16 figures", NULL);
    seek_condition *c = &target->condition[target->condition_count];
    *c = (seek_condition){.low = -INFINITY, .high = INFINITY};
    const int known = target->figure_count;
    sp_status status = add_figure(r, name, "require", &c->figure);
    if (status == SP_OK && c->figure < known)
        return sp_plan_refuse(r, name, sp_plan_text(name), "the same figure again", "once only",
                              NULL);
    if (status == SP_OK)
        status = sp_plan_read_mapping(r, bounds, sp_plan_text(name), names, 2, require_valid, part);
    if (status == SP_OK && !part[0] && !part[1])
        status = sp_plan_refuse(r, bounds, sp_plan_text(name), "no bound", require_valid, NULL);
    if (status == SP_OK) status = read_bound(r, part[0], &target->figure[c->figure], &c->low);
    if (status == SP_OK) status = read_bound(r, part[1], &target->figure[c->figure], &c->high);
    if (status == SP_OK && !(c->low < c->high))
        status = sp_plan_refuse(r, part[1], sp_plan_text(name), sp_plan_text(part[1]),
                                "at_most above at_least", NULL);
    if (status == SP_OK) target->condition_count++;
    return status;
}

static sp_status read_require(plan_reader *r, const yaml_node_t *node)
{
    sp_status status = SP_OK;
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, "require", sp_plan_text(node),
                              "`figure: {at_least: A}` lines", NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start;
         p < node->data.mapping.pairs.top && status == SP_OK; p++)
        status = read_condition(r, sp_plan_node(r, p->key), sp_plan_node(r, p->value));
    return status;
}

static sp_status read_save(plan_reader *r, const yaml_node_t *node)
{
    sp_target *target = r->user;
    return add_figure(r, node, "save", &target->save);
}

static sp_status read_judge(plan_reader *r, const yaml_node_t *node)
{
    static const char *const word[] = {"median", "worst"};
    sp_target *target = r->user;
    int choice;
    const sp_status status =
        sp_plan_read_word(r, node, "judge", word, 2, "median | worst (of the flaw seeds)", &choice);
    if (status == SP_OK) target->judge = choice ? SEEK_WORST : SEEK_MEDIAN;
    return status;
}

static sp_status read_tries(plan_reader *r, const yaml_node_t *node)
{
    sp_target *target = r->user;
    return sp_plan_read_count(r, node, "tries", TRIES_MAX, &target->tries);
}

static sp_status read_seeds(plan_reader *r, const yaml_node_t *node)
{
    sp_target *target = r->user;
    return sp_plan_read_few_seeds(r, node, SEEK_SEED_MAX, &target->seed_count);
}

/* ---- the whole ----------------------------------------------- */

static sp_status add_mass(sp_target *target)
{
    char valid[SP_VALID_SIZE], nearest[SP_NAME_SIZE];
    for (int i = 0; i < target->figure_count; i++)
        if (!strcmp(target->figure[i].name, "mass")) {
            target->save = i;
            return SP_OK;
        }
    target->save = target->figure_count++;
    return sp_figure_find("mass", &target->figure[target->save], valid, sizeof valid, nearest)
               ? SP_OK
               : SP_INTERNAL;
}

/* Whole numbers are tried one by one, so there must not be too many of them together. */
static sp_status check_whole(sp_context *context, const sp_target *target)
{
    double variants = target->candidate_count;
    for (int i = 0; i < target->variable_count; i++)
        if (target->variable[i].whole)
            variants *= target->variable[i].high - target->variable[i].low + 1;
    if (variants <= SEEK_VARIANT_MAX) return SP_OK;
    return sp_fail(context, SP_BAD_CASE,
                   "%s: received %.6g candidates times whole numbers to vary; valid: at most %d",
                   target->source, variants, SEEK_VARIANT_MAX);
}

static sp_status complete(sp_context *context, sp_target *target)
{
    if (!target->condition_count)
        return sp_fail(context, SP_BAD_CASE,
                       "%s: received a target without conditions; valid: `require:` with "
                       "`figure: {at_least: A}` lines, or `match:` with a measured curve",
                       target->source);
    if (!target->variable_count)
        return sp_fail(context, SP_BAD_CASE,
                       "%s: received a target with nothing to vary; valid: `vary:` with "
                       "`infill.density: {from: 8 %%, to: 30 %%}` or another key",
                       target->source);
    target->candidate_count = sp_plan_count(target->plan) / target->seed_count;
    if (target->save < 0 && add_mass(target) != SP_OK)
        return sp_fail(context, SP_INTERNAL, "no measure is called mass");
    return check_whole(context, target);
}

sp_status sp_target_parse(sp_context *context, const char *name, const char *text, size_t size,
                          sp_target **target)
{
    static const plan_part part[] = {
        {"base", sp_plan_read_base},
        {"case", sp_plan_read_case},
        {"candidates", sp_plan_read_axes},
        {"vary", read_vary},
        {"match", sp_seek_match_read},
        {"require", read_require},
        {"save", read_save},
        {"judge", read_judge},
        {"tries", read_tries},
        {"seeds", read_seeds},
    };
    sp_target *t = sp_alloc(1, sizeof *t);
    *target = NULL;
    if (!t) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", name);
    t->first = t->save = -1;
    t->seed_count = 1;
    t->tries = USUAL_TRIES;
    sp_status status = sp_plan_parse_parts(context, name, text, size, part,
                                           sizeof part / sizeof part[0], "candidates", t, &t->plan);
    if (status == SP_OK) {
        snprintf(t->source, sizeof t->source, "%s", name);
        status = complete(context, t);
    }
    if (status == SP_OK)
        *target = t;
    else
        sp_target_free(t);
    return status;
}

sp_status sp_target_read(sp_context *context, const char *file, sp_target **target)
{
    char *text;
    size_t size;
    *target = NULL;
    sp_status status = sp_case_read_file(context, file, &text, &size);
    if (status == SP_OK) status = sp_target_parse(context, file, text, size, target);
    sp_free(text);
    return status;
}

void sp_target_free(sp_target *target)
{
    if (!target) return;
    sp_plan_free(target->plan);
    sp_measured_free(&target->match.curve);
    sp_free(target);
}

/* ---- candidates and variables ----------------------------------------------- */

void sp_seek_candidate_case(const sp_target *target, int index, int seed, sp_case *request)
{
    sp_plan_case(target->plan, index * target->seed_count + seed, request);
}

void sp_seek_candidate_label(const sp_target *target, int index, char label[SEEK_LABEL_SIZE])
{
    const sp_plan *plan = target->plan;
    sp_case request;
    size_t used = 0;
    char value[SP_FILE_SIZE], shown[61]; /* one long value leaves room for the others */
    sp_seek_candidate_case(target, index, 0, &request);
    label[0] = 0;
    for (int a = 0; a < plan->axis_count; a++)
        for (int k = 0; k < plan->axis[a].key_count && used < SEEK_LABEL_SIZE; k++) {
            const char *key = plan->axis[a].key[k];
            const int row = sp_case_row_find(key);
            if (!strcmp(key, "flaws.seed")) continue;
            if (row >= 0)
                sp_case_value_text(&request, row, value, sizeof value);
            else if (!strcmp(key, "infill.cells"))
                snprintf(value, sizeof value, "%d, %d, %d", request.cells_x, request.cells_y,
                         request.cells_z);
            else /* for infill.offset */
                snprintf(value, sizeof value, "%g, %g", request.offset_x, request.offset_y);
            sp_printable(value, shown, sizeof shown);
            used +=
                (size_t)snprintf(label + used, SEEK_LABEL_SIZE - used, "%s%s%s%s", used ? ", " : "",
                                 strcmp(key, "infill.pattern") ? strchr(key, '.') + 1 : "",
                                 strcmp(key, "infill.pattern") ? " " : "", shown);
        }
    if (!label[0]) sp_printable(request.pattern, label, SEEK_LABEL_SIZE);
}
