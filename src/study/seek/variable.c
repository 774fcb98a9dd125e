/* Keys that may change within a range, as a target and a calibration name them. */
#include "seek/variable.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "case/case_parts.h"

enum { WITHIN_SHARE = 100 };

static const char vary_valid[] = "{from: A, to: B}, or {from: A, to: B, within: W}";

/* The variables that were read so far, and what the file calls them. */
typedef struct varied {
    const char *part;
    seek_variable *variable;
    int *count;
} varied;

static sp_status check_varied(plan_reader *r, const yaml_node_t *node, const varied *all,
                              seek_variable *v)
{
    sp_case trial = r->plan->base;
    v->row = sp_case_row_find(v->key);
    if (v->row < 0) return sp_case_set_at(r->context, &trial, v->key, sp_plan_line(node), "");
    const sp_kind kind = sp_case_row_at(v->row)->kind;
    if ((kind != SP_KIND_NUMBER && kind != SP_KIND_INTEGER) || !strcmp(v->key, "flaws.seed"))
        return sp_plan_refuse(r, node, all->part, v->key, "a key with a number, and not flaws.seed",
                              NULL);
    for (int i = 0; i < *all->count; i++)
        if (all->variable[i].row == v->row)
            return sp_plan_refuse(r, node, v->key, "the same key again", "once only", NULL);
    v->whole = kind == SP_KIND_INTEGER;
    return sp_plan_check_key(r, node, v->key);
}

static sp_status read_within(plan_reader *r, const yaml_node_t *node, seek_variable *v)
{
    v->within = (v->high - v->low) / WITHIN_SHARE;
    if (!node) return SP_OK;
    if (v->whole)
        return sp_plan_refuse(r, node, v->key, "within", "{from: A, to: B}, for whole numbers",
                              NULL);
    if (node->type == YAML_SCALAR_NODE &&
        sp_case_number_parse(v->row, sp_plan_text(node), &v->within) &&
        v->within > 1e-5 * (v->high - v->low) && v->within < v->high - v->low)
        return SP_OK;
    return sp_plan_refuse(
        r, node, v->key, sp_plan_text(node),
        "within: more than 1e-5 of the range and less than all of it, in the unit "
        "of the key",
        NULL);
}

static sp_status read_variable(plan_reader *r, const yaml_node_t *key, const yaml_node_t *range,
                               const varied *all)
{
    static const char *const names[] = {"from", "to", "within"};
    const yaml_node_t *part[3] = {NULL};
    if (*all->count == SEEK_VARIABLE_MAX)
        return sp_plan_refuse(r, key, all->part, sp_plan_text(key), "at most 6 keys", NULL);
    seek_variable *v = &all->variable[*all->count];
    snprintf(v->key, sizeof v->key, "%.95s", sp_plan_text(key));
    sp_status status = check_varied(r, key, all, v);
    if (status == SP_OK)
        status = sp_plan_read_mapping(r, range, v->key, names, 3, vary_valid, part);
    if (status != SP_OK) return status;
    if (!part[0] || !part[1])
        return sp_plan_refuse(r, range, v->key, "an incomplete range", vary_valid, NULL);
    status = sp_plan_range_end(r, v->key, part[0], &v->low);
    if (status == SP_OK) status = sp_plan_range_end(r, v->key, part[1], &v->high);
    if (status == SP_OK && !(v->low < v->high))
        status =
            sp_plan_refuse(r, part[1], v->key, sp_plan_text(part[1]), "more than `from`", NULL);
    if (status == SP_OK) status = read_within(r, part[2], v);
    if (status == SP_OK) (*all->count)++;
    return status;
}

sp_status sp_seek_variables_read(plan_reader *r, const yaml_node_t *node, const char *part,
                                 seek_variable *variable, int *count)
{
    const varied all = {part, variable, count};
    sp_status status = SP_OK;
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, part, sp_plan_text(node), "`section.name: {from: A, to: B}`",
                              NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start;
         p < node->data.mapping.pairs.top && status == SP_OK; p++)
        status = read_variable(r, sp_plan_node(r, p->key), sp_plan_node(r, p->value), &all);
    return status;
}

double sp_seek_variable_value(const seek_variable *variable, const sp_case *request)
{
    return sp_plan_read_number(request, variable->row);
}

void sp_seek_variable_set(const seek_variable *variable, sp_case *request, double value)
{
    void *field = (char *)request + sp_case_row_at(variable->row)->offset;
    if (variable->whole)
        *(int *)field = (int)value;
    else
        *(double *)field = value;
    request->origin[variable->row] = SP_ORIGIN_FILE;
}

double sp_seek_variable_round(const seek_variable *variable, double value)
{
    const double grid = pow(10, floor(log10(variable->within / 20)));
    char text[40];
    snprintf(text, sizeof text, "%.12g", grid * round(value / grid));
    return fmin(variable->high, fmax(variable->low, strtod(text, NULL)));
}

void sp_seek_variable_text(const seek_variable *variable, double value, char *text, size_t size)
{
    sp_case request;
    sp_case_default(&request);
    sp_seek_variable_set(variable, &request, value);
    sp_case_value_text(&request, variable->row, text, size);
}
