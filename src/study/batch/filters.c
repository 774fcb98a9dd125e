/* Conditions of a plan: each line is "KEY OP VALUE", or several of these with `or` between; all
 * lines must hold. */
#include "batch/plan_parts.h"

#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"

static const struct {
    const char *text;
    plan_op op;
} ops[] = {
    {"<=", OP_LESS_EQUAL}, {">=", OP_MORE_EQUAL}, {"!=", OP_NOT_EQUAL},
    {"<", OP_LESS},        {">", OP_MORE},        {"=", OP_EQUAL},
};
enum { OP_COUNT = sizeof ops / sizeof ops[0] };

static int has_order(const sp_case_row *row)
{
    return row->kind == SP_KIND_NUMBER || row->kind == SP_KIND_INTEGER;
}

static int op_holds(plan_op op, int order)
{
    switch (op) {
    case OP_LESS:
        return order < 0;
    case OP_LESS_EQUAL:
        return order <= 0;
    case OP_EQUAL:
        return order == 0;
    case OP_NOT_EQUAL:
        return order != 0;
    case OP_MORE_EQUAL:
        return order >= 0;
    case OP_MORE:
        return order > 0;
    }
    return 0;
}

/* A number that is not given meets no condition but `!=`. */
static int comparison_holds(const plan_comparison *c, const sp_case *request)
{
    const sp_case_row *row = sp_case_row_at(c->row);
    const void *got = (const char *)request + row->offset;
    const void *want = (const char *)&c->value + row->offset;
    double a, b;
    switch (row->kind) {
    case SP_KIND_NUMBER:
        a = *(const double *)got, b = *(const double *)want;
        return a == a ? op_holds(c->op, (a > b) - (a < b)) : c->op == OP_NOT_EQUAL;
    case SP_KIND_INTEGER:
    case SP_KIND_CHOICE:
        a = *(const int *)got, b = *(const int *)want;
        return op_holds(c->op, (a > b) - (a < b));
    default:
        return op_holds(c->op, strcmp(got, want) != 0);
    }
}

int sp_plan_keeps(const sp_plan *plan, const sp_case *request)
{
    for (int f = 0; f < plan->filter_count; f++) {
        const plan_filter *filter = &plan->filter[f];
        int holds = 0;
        for (int i = 0; i < filter->count; i++)
            holds |= comparison_holds(&filter->comparison[i], request);
        if (!holds) return 0;
    }
    return 1;
}

static sp_status read_comparison(plan_reader *r, const yaml_node_t *node, char *text,
                                 plan_comparison *c)
{
    char key[2 * SP_NAME_SIZE];
    text += strspn(text, " ");
    const size_t length = strcspn(text, " <>=!");
    char *sign = text + length + strspn(text + length, " ");
    int op = 0;
    while (op < OP_COUNT && strncmp(sign, ops[op].text, strlen(ops[op].text))) op++;
    if (op == OP_COUNT || !length || length >= sizeof key)
        return sp_plan_refuse(r, node, "where", text, "KEY OP VALUE with OP one of < <= = != >= >",
                              NULL);
    memcpy(key, text, length);
    key[length] = 0;
    c->op = ops[op].op;
    sign += strlen(ops[op].text);
    c->value = r->plan->base;
    sp_status status =
        sp_case_set_at(r->context, &c->value, key, sp_plan_line(node), sign + strspn(sign, " "));
    if (status != SP_OK) return status;
    c->row = sp_case_row_find(key);
    if (c->row < 0 || sp_case_row_at(c->row)->kind == SP_KIND_LIST)
        return sp_plan_refuse(r, node, "where", key, "a key with one value", NULL);
    if (!has_order(sp_case_row_at(c->row)) && c->op != OP_EQUAL && c->op != OP_NOT_EQUAL)
        return sp_plan_refuse(r, node, "where", ops[op].text,
                              "= or !=, because the key holds a name", NULL);
    return SP_OK;
}

static sp_status read_filter(plan_reader *r, const yaml_node_t *node)
{
    char text[512];
    sp_plan *plan = r->plan;
    if (node->type != YAML_SCALAR_NODE || strlen(sp_plan_text(node)) >= sizeof text)
        return sp_plan_refuse(r, node, "where", sp_plan_text(node), "a condition: KEY OP VALUE",
                              NULL);
    if (plan->filter_count == FILTER_MAX)
        return sp_plan_refuse(r, node, "where", sp_plan_text(node), "at most 64 conditions", NULL);
    plan_filter *filter = &plan->filter[plan->filter_count];
    filter->comparison = sp_alloc(ALTERNATIVE_MAX, sizeof *filter->comparison);
    if (!filter->comparison)
        return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
    strcpy(text, sp_plan_text(node));
    for (char *at = text, *more; at; at = more) {
        more = strstr(at, " or ");
        if (more) {
            *more = 0;
            more += strlen(" or ");
        }
        if (filter->count == ALTERNATIVE_MAX)
            return sp_plan_refuse(r, node, "where", sp_plan_text(node), "at most 8 parts with `or`",
                                  NULL);
        sp_status status = read_comparison(r, node, at, &filter->comparison[filter->count]);
        if (status != SP_OK) return status;
        filter->count++;
    }
    plan->filter_count++;
    return SP_OK;
}

sp_status sp_plan_read_filters(plan_reader *r, const yaml_node_t *node)
{
    sp_status status = SP_OK;
    if (node->type != YAML_SEQUENCE_NODE) return read_filter(r, node);
    for (yaml_node_item_t *i = node->data.sequence.items.start;
         i < node->data.sequence.items.top && status == SP_OK; i++)
        status = read_filter(r, sp_plan_node(r, *i));
    return status;
}
