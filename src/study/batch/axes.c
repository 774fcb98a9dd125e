/* Axes of a plan: lists, ranges, keys that are varied together, and flaw seeds. */
#include "batch/plan_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"

/* Make room for one more value; its texts are NULL until they are filled. */
static sp_status add_value(plan_reader *r, plan_axis *axis, int line)
{
    if (axis->value_count == axis->capacity) {
        const int more = axis->capacity ? 2 * axis->capacity : 16;
        char **text = sp_resize(axis->text, (size_t)more * (size_t)axis->key_count, sizeof *text);
        if (text) axis->text = text;
        int *lines = sp_resize(axis->line, (size_t)more, sizeof *lines);
        if (lines) axis->line = lines;
        if (!text || !lines)
            return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
        axis->capacity = more;
    }
    if (axis->value_count >= COUPON_MAX)
        return sp_case_fail(r->context, r->source, line, axis->key[0], "too many values",
                            "at most 1000000", NULL);
    for (int k = 0; k < axis->key_count; k++)
        axis->text[axis->value_count * axis->key_count + k] = NULL;
    axis->line[axis->value_count++] = line;
    return SP_OK;
}

/* A value is refused here, with its line, and not only when its coupon is pressed. */
static sp_status try_value(plan_reader *r, plan_axis *axis)
{
    sp_case trial = r->plan->base;
    sp_status status = SP_OK;
    const int value = axis->value_count - 1;
    for (int k = 0; k < axis->key_count && status == SP_OK; k++)
        status = sp_case_set_at(r->context, &trial, axis->key[k], axis->line[value],
                                axis->text[value * axis->key_count + k]);
    return status;
}

static sp_status add_item(plan_reader *r, plan_axis *axis, const yaml_node_t *item)
{
    char valid[SP_EXCERPT_SIZE];
    const int count = axis->key_count;
    sp_status status = add_value(r, axis, sp_plan_line(item));
    if (status != SP_OK) return status;
    char **text = axis->text + (axis->value_count - 1) * count;
    if (count == 1) {
        status = sp_plan_copy_value(r, item, axis->key[0], text);
    } else {
        const int found =
            item->type == YAML_SEQUENCE_NODE
                ? (int)(item->data.sequence.items.top - item->data.sequence.items.start)
                : 0;
        snprintf(valid, sizeof valid, "a list of %d values, one per key", count);
        if (found != count)
            return sp_plan_refuse(r, item, axis->key[0], sp_plan_text(item), valid, NULL);
        for (int k = 0; k < count && status == SP_OK; k++)
            status = sp_plan_copy_value(r, sp_plan_node(r, item->data.sequence.items.start[k]),
                                        axis->key[k], &text[k]);
    }
    return status == SP_OK ? try_value(r, axis) : status;
}

static sp_status add_list(plan_reader *r, plan_axis *axis, const yaml_node_t *node)
{
    const yaml_node_item_t *item = node->data.sequence.items.start;
    for (; item < node->data.sequence.items.top; item++) {
        sp_status status = add_item(r, axis, sp_plan_node(r, *item));
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

/* ---- ranges ----------------------------------------------- */

double sp_plan_read_number(const sp_case *request, int row)
{
    const sp_case_row *about = sp_case_row_at(row);
    const void *field = (const char *)request + about->offset;
    return about->kind == SP_KIND_INTEGER ? *(const int *)field : *(const double *)field;
}

sp_status sp_plan_range_end(plan_reader *r, const char *key, const yaml_node_t *node, double *value)
{
    sp_case trial = r->plan->base;
    sp_status status =
        sp_case_set_at(r->context, &trial, key, sp_plan_line(node), sp_plan_text(node));
    if (status != SP_OK) return status;
    *value = sp_plan_read_number(&trial, sp_case_row_find(key));
    return isfinite(*value)
               ? SP_OK
               : sp_plan_refuse(r, node, key, sp_plan_text(node), "a finite number", NULL);
}

/* A step has the unit of its key but not its range: a step of 5 % need not be a valid density. */
static sp_status range_step(plan_reader *r, int row, const yaml_node_t *node, double way,
                            double *step, int *count)
{
    const int known =
        node->type == YAML_SCALAR_NODE && sp_case_number_parse(row, sp_plan_text(node), step);
    const double parts = known ? way / *step : -1;
    if (!(parts >= 0 && parts < COUPON_MAX))
        return sp_plan_refuse(r, node, sp_case_row_at(row)->key, sp_plan_text(node),
                              "a step that leads from `from` to `to`, in the unit of the key",
                              NULL);
    *count =
        (int)floor(parts * (1 + 1e-12) + 1e-9) + 1; /* `to` itself is included despite rounding */
    return SP_OK;
}

static sp_status range_count(plan_reader *r, const char *key, const yaml_node_t *node, int *count)
{
    char *end;
    const char *text = sp_plan_text(node);
    const long read = strtol(text, &end, 10);
    if (node->type != YAML_SCALAR_NODE || end == text || *end || read < 2 || read > COUPON_MAX)
        return sp_plan_refuse(r, node, key, text, "count: a whole number 2 .. 1000000", NULL);
    *count = (int)read;
    return SP_OK;
}

static sp_status add_range_value(plan_reader *r, plan_axis *axis, int line, double value)
{
    char number[48];
    sp_status status = add_value(r, axis, line);
    if (status != SP_OK) return status;
    snprintf(number, sizeof number, "%.12g", value); /* 0.15, not 0.15000000000000002 */
    axis->text[axis->value_count - 1] = sp_copy_text(number);
    if (!axis->text[axis->value_count - 1])
        return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
    return try_value(r, axis);
}

static sp_status add_range(plan_reader *r, plan_axis *axis, const yaml_node_t *node)
{
    static const char *const names[] = {"from", "to", "count", "step"};
    static const char valid[] = "{from: A, to: B, count: N} or {from: A, to: B, step: S}";
    const yaml_node_t *part[4] = {NULL};
    const char *key = axis->key[0];
    const int row = sp_case_row_find(key);
    double from = 0, to = 0, step = 0;
    int count = 0;
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start; p < node->data.mapping.pairs.top;
         p++) {
        const yaml_node_t *name = sp_plan_node(r, p->key);
        int n = 0;
        while (n < 4 && strcmp(names[n], sp_plan_text(name))) n++;
        if (n == 4 || part[n]) return sp_plan_refuse(r, name, key, sp_plan_text(name), valid, NULL);
        part[n] = sp_plan_node(r, p->value);
    }
    if (!part[0] || !part[1] || !part[2] == !part[3])
        return sp_plan_refuse(r, node, key, "an incomplete range", valid, NULL);
    const sp_kind kind = row >= 0 ? sp_case_row_at(row)->kind : SP_KIND_NAME;
    if (axis->key_count > 1 || (kind != SP_KIND_NUMBER && kind != SP_KIND_INTEGER))
        return sp_plan_refuse(r, node, key, "a range",
                              "a list; ranges are for one key with numbers", NULL);
    sp_status status = sp_plan_range_end(r, key, part[0], &from);
    if (status == SP_OK) status = sp_plan_range_end(r, key, part[1], &to);
    if (status == SP_OK)
        status = part[2] ? range_count(r, key, part[2], &count)
                         : range_step(r, row, part[3], to - from, &step, &count);
    if (part[2]) step = (to - from) / (count - 1);
    for (int i = 0; i < count && status == SP_OK; i++)
        status = add_range_value(r, axis, sp_plan_line(node),
                                 part[2] && i == count - 1 ? to : from + i * step);
    return status;
}

/* ---- axes ----------------------------------------------- */

static sp_status check_key_in(plan_reader *r, const yaml_node_t *node, const char *key,
                              const plan_axis *axis)
{
    char received[SP_EXCERPT_SIZE];
    for (int k = 0; k < axis->key_count; k++) {
        if (!sp_case_keys_meet(axis->key[k], key)) continue;
        snprintf(received, sizeof received, "%.30s beside %.20s", key, axis->key[k]);
        return sp_plan_refuse(r, node, key,
                              strcmp(axis->key[k], key) ? received : "the same key again",
                              "once only in all axes", NULL);
    }
    return SP_OK;
}

sp_status sp_plan_check_key(plan_reader *r, const yaml_node_t *node, const char *key)
{
    sp_status status = SP_OK;
    for (int a = 0; a < r->plan->axis_count && status == SP_OK; a++)
        status = check_key_in(r, node, key, &r->plan->axis[a]);
    return status;
}

/* "infill.pattern + infill.angle" are two keys that change together. */
static sp_status read_keys(plan_reader *r, plan_axis *axis, const yaml_node_t *node)
{
    const char *text = sp_plan_text(node);
    if (node->type != YAML_SCALAR_NODE)
        return sp_plan_refuse(r, node, r->axes_name, text,
                              "SECTION.NAME, or several with + between", NULL);
    while (1) {
        text += strspn(text, " ");
        const size_t length = strcspn(text, " +");
        if (axis->key_count == AXIS_KEYS)
            return sp_plan_refuse(r, node, r->axes_name, sp_plan_text(node),
                                  "at most 8 keys together", NULL);
        snprintf(axis->key[axis->key_count], sizeof axis->key[0], "%.*s", (int)length, text);
        sp_status status = sp_plan_check_key(r, node, axis->key[axis->key_count]);
        if (status == SP_OK) status = check_key_in(r, node, axis->key[axis->key_count], axis);
        if (status != SP_OK) return status;
        axis->key_count++;
        text += length;
        text += strspn(text, " ");
        if (*text != '+') break;
        text++;
    }
    if (*text)
        return sp_plan_refuse(r, node, r->axes_name, sp_plan_text(node), "+ between two keys",
                              NULL);
    return SP_OK;
}

static sp_status check_known(plan_reader *r, const plan_axis *axis, const yaml_node_t *node)
{
    sp_status status = SP_OK;
    for (int k = 0; k < axis->key_count && status == SP_OK; k++) {
        int row[3];
        sp_case trial = r->plan->base;
        if (!sp_case_key_rows(axis->key[k], row))
            status = sp_case_set_at(r->context, &trial, axis->key[k], sp_plan_line(node), "");
    }
    return status;
}

static sp_status read_axis(plan_reader *r, const yaml_node_t *key, const yaml_node_t *values)
{
    if (r->plan->axis_count == AXIS_MAX)
        return sp_plan_refuse(r, key, r->axes_name, sp_plan_text(key), "at most 16 axes", NULL);
    plan_axis *axis = &r->plan->axis[r->plan->axis_count];
    sp_status status = read_keys(r, axis, key);
    if (status == SP_OK) status = check_known(r, axis, key);
    if (status != SP_OK) return status;
    if (values->type == YAML_SEQUENCE_NODE)
        status = add_list(r, axis, values);
    else if (values->type == YAML_MAPPING_NODE)
        status = add_range(r, axis, values);
    else
        status = add_item(r, axis, values);
    if (status == SP_OK && !axis->value_count)
        return sp_plan_refuse(r, values, axis->key[0], "an empty list", "at least one value", NULL);
    if (status == SP_OK) r->plan->axis_count++;
    return status;
}

sp_status sp_plan_read_axes(plan_reader *r, const yaml_node_t *node)
{
    sp_status status = SP_OK;
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, r->axes_name, sp_plan_text(node),
                              "`section.name: values` lines", NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start;
         p < node->data.mapping.pairs.top && status == SP_OK; p++)
        status = read_axis(r, sp_plan_node(r, p->key), sp_plan_node(r, p->value));
    return status;
}

sp_status sp_plan_read_few_seeds(plan_reader *r, const yaml_node_t *node, int most, int *count)
{
    char valid[SP_VALID_SIZE];
    const sp_status status = sp_plan_read_seeds(r, node);
    if (status != SP_OK) return status;
    *count = r->plan->axis[r->plan->axis_count - 1].value_count;
    if (*count <= most) return SP_OK;
    snprintf(valid, sizeof valid, "at most %d flaw seeds", most);
    return sp_plan_refuse(r, node, "seeds", sp_plan_text(node), valid, NULL);
}

/* `seeds: 5` stands for the flaw seeds 1 to 5; a list names its seeds. */
sp_status sp_plan_read_seeds(plan_reader *r, const yaml_node_t *node)
{
    static const char key[] = "flaws.seed";
    char *end;
    const char *text = sp_plan_text(node);
    const long count = strtol(text, &end, 10);
    sp_status status = sp_plan_check_key(r, node, key);
    if (status != SP_OK) return status;
    if (r->plan->axis_count == AXIS_MAX)
        return sp_plan_refuse(r, node, "seeds", text, "at most 15 axes beside the seeds", NULL);
    plan_axis *axis = &r->plan->axis[r->plan->axis_count++];
    axis->key_count = 1;
    strcpy(axis->key[0], key);
    if (node->type == YAML_SEQUENCE_NODE)
        status = add_list(r, axis, node);
    else if (node->type != YAML_SCALAR_NODE || end == text || *end || count < 1 ||
             count > COUPON_MAX)
        return sp_plan_refuse(r, node, "seeds", text,
                              "a number of flaw seeds 1 .. 1000000, or a list of them", NULL);
    else
        for (long i = 1; i <= count && status == SP_OK; i++)
            status = add_range_value(r, axis, sp_plan_line(node), (double)i);
    if (status == SP_OK && !axis->value_count)
        return sp_plan_refuse(r, node, "seeds", "an empty list", "at least one seed", NULL);
    return status;
}
