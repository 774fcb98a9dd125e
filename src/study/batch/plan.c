/* Read a YAML plan: its sections, its base case, its combinations. */
#include "batch/plan_parts.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"

int sp_plan_line(const yaml_node_t *node)
{
    return (int)node->start_mark.line + 1;
}

const char *sp_plan_text(const yaml_node_t *node)
{
    switch (node->type) {
    case YAML_SCALAR_NODE:
        return (const char *)node->data.scalar.value;
    case YAML_SEQUENCE_NODE:
        return "a list";
    case YAML_MAPPING_NODE:
        return "a mapping";
    default:
        return "nothing";
    }
}

sp_status sp_plan_refuse(plan_reader *r, const yaml_node_t *node, const char *key,
                         const char *received, const char *valid, const char *nearest)
{
    return sp_case_fail(r->context, r->source, sp_plan_line(node), key, received, valid, nearest);
}

sp_status sp_plan_copy_value(plan_reader *r, const yaml_node_t *node, const char *key, char **copy)
{
    char joined[512];
    size_t used = 0;
    const char *text = sp_plan_text(node);
    if (node->type == YAML_SEQUENCE_NODE) {
        joined[0] = 0;
        for (yaml_node_item_t *i = node->data.sequence.items.start;
             i < node->data.sequence.items.top; i++) {
            const yaml_node_t *item = sp_plan_node(r, *i);
            if (item->type != YAML_SCALAR_NODE || strchr(sp_plan_text(item), ',') ||
                !sp_plan_text(item)[0])
                return sp_plan_refuse(r, item, key, sp_plan_text(item), "a list of plain values",
                                      NULL);
            used += (size_t)snprintf(joined + used, sizeof joined - used, "%s%s", used ? ", " : "",
                                     sp_plan_text(item));
            if (used >= sizeof joined)
                return sp_plan_refuse(r, node, key, joined, "a list of at most 6 plain values",
                                      NULL);
        }
        text = joined;
    } else if (node->type != YAML_SCALAR_NODE) {
        return sp_plan_refuse(r, node, key, text, "one value or a list", NULL);
    }
    *copy = sp_copy_text(text);
    return *copy ? SP_OK : sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
}

const yaml_node_t *sp_plan_node(plan_reader *r, int index)
{
    return yaml_document_get_node(&r->document, index);
}

sp_status sp_plan_read_mapping(plan_reader *r, const yaml_node_t *node, const char *key,
                               const char *const *name, int count, const char *valid,
                               const yaml_node_t **found)
{
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, key, sp_plan_text(node), valid, NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start; p < node->data.mapping.pairs.top;
         p++) {
        const yaml_node_t *given = sp_plan_node(r, p->key);
        sp_nearest nearest = {0};
        int i = 0;
        while (i < count && strcmp(name[i], sp_plan_text(given))) i++;
        for (int k = 0; k < count; k++) sp_nearest_offer(&nearest, sp_plan_text(given), name[k]);
        if (i == count)
            return sp_plan_refuse(r, given, key, sp_plan_text(given), valid, nearest.name);
        if (found[i]) return sp_plan_refuse(r, given, key, "the same key again", "once only", NULL);
        found[i] = sp_plan_node(r, p->value);
    }
    return SP_OK;
}

sp_status sp_plan_read_count(plan_reader *r, const yaml_node_t *node, const char *key, int most,
                             int *count)
{
    char *end, valid[SP_VALID_SIZE];
    const char *text = sp_plan_text(node);
    const long read = strtol(text, &end, 10);
    if (node->type == YAML_SCALAR_NODE && end != text && !*end && read >= 1 && read <= most) {
        *count = (int)read;
        return SP_OK;
    }
    snprintf(valid, sizeof valid, "a whole number 1 .. %d", most);
    return sp_plan_refuse(r, node, key, text, valid, NULL);
}

sp_status sp_plan_read_word(plan_reader *r, const yaml_node_t *node, const char *key,
                            const char *const *word, int count, const char *valid, int *choice)
{
    sp_nearest nearest = {0};
    const char *text = sp_plan_text(node);
    for (*choice = 0; *choice < count; (*choice)++) {
        if (node->type == YAML_SCALAR_NODE && !strcmp(text, word[*choice])) return SP_OK;
        sp_nearest_offer(&nearest, text, word[*choice]);
    }
    return sp_plan_refuse(r, node, key, text, valid, nearest.name);
}

/* ---- sections of a plan ----------------------------------------------- */

sp_status sp_plan_file(plan_reader *r, const yaml_node_t *node, const char *key, const char *what,
                       char file[SP_FILE_SIZE])
{
    const char *name = sp_plan_text(node), *slash = strrchr(r->source, '/');
    if (node->type != YAML_SCALAR_NODE || !name[0])
        return sp_plan_refuse(r, node, key, name, what, NULL);
    int length = name[0] == '/' || !slash ? snprintf(file, SP_FILE_SIZE, "%s", name)
                                          : snprintf(file, SP_FILE_SIZE, "%.*s/%s",
                                                     (int)(slash - r->source), r->source, name);
    if (length < 0 || length >= SP_FILE_SIZE)
        return sp_plan_refuse(r, node, key, name, "a file name of at most 1023 bytes", NULL);
    return SP_OK;
}

sp_status sp_plan_read_base(plan_reader *r, const yaml_node_t *node)
{
    char file[SP_FILE_SIZE];
    sp_status status = sp_plan_file(r, node, "base", "the name of a case file", file);
    if (status == SP_OK) status = sp_case_read(r->context, file, &r->plan->base);
    if (status != SP_NO_READ) return status;
    return sp_plan_refuse(r, node, "base", sp_plan_text(node),
                          "a readable case file, relative to the plan", NULL);
}

sp_status sp_plan_check_given(plan_reader *r, const yaml_node_t *node, const char *key,
                              int given[SP_PARAMETER_MAX])
{
    int row[3];
    const int count = sp_case_key_rows(key, row);
    for (int k = 0; k < count; k++)
        if (given[row[k]]++)
            return sp_plan_refuse(r, node, key, "the same key again", "once only", NULL);
    return SP_OK;
}

/* Read sections as they stand in a case file; they override the base. */
static sp_status read_case_section(plan_reader *r, const yaml_node_t *section,
                                   const yaml_node_t *values)
{
    char key[2 * SP_NAME_SIZE];
    int given[SP_PARAMETER_MAX] = {0};
    if (values->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, values, sp_plan_text(section), sp_plan_text(values),
                              "`name: value` lines indented below it", NULL);
    for (yaml_node_pair_t *p = values->data.mapping.pairs.start; p < values->data.mapping.pairs.top;
         p++) {
        const yaml_node_t *name = sp_plan_node(r, p->key);
        const yaml_node_t *value = sp_plan_node(r, p->value);
        char *text = NULL;
        snprintf(key, sizeof key, "%.47s.%.47s", sp_plan_text(section), sp_plan_text(name));
        sp_status status = sp_plan_check_given(r, name, key, given);
        if (status == SP_OK) status = sp_plan_copy_value(r, value, key, &text);
        if (status == SP_OK)
            status = sp_case_set_at(r->context, &r->plan->base, key, sp_plan_line(name), text);
        sp_free(text);
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

sp_status sp_plan_read_case(plan_reader *r, const yaml_node_t *node)
{
    char names[SP_VALID_SIZE] = "";
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, "case", sp_plan_text(node), "sections as in a case file",
                              NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start; p < node->data.mapping.pairs.top;
         p++) {
        const yaml_node_t *section = sp_plan_node(r, p->key);
        sp_nearest nearest = {0};
        int known = 0;
        names[0] = '\0';
        for (int i = 0; i < sp_case_section_count(); i++) {
            const char *name = sp_case_section_at(i, NULL);
            known |= !strcmp(name, sp_plan_text(section));
            sp_nearest_offer(&nearest, sp_plan_text(section), name);
            sp_case_add_name(names, sizeof names, name);
        }
        if (!known)
            return sp_plan_refuse(r, section, "case", sp_plan_text(section), names, nearest.name);
        sp_status status = read_case_section(r, section, sp_plan_node(r, p->value));
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

enum { PART_MAX = 16 };

static sp_status find_parts(plan_reader *r, const plan_part *part, int count,
                            const yaml_node_t **found)
{
    char valid[SP_VALID_SIZE] = "";
    const yaml_node_t *root = yaml_document_get_root_node(&r->document);
    for (int i = 0; i < count; i++) sp_case_add_name(valid, sizeof valid, part[i].name);
    if (!root) return sp_case_fail(r->context, r->source, 1, "", "an empty file", valid, NULL);
    if (root->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, root, "", sp_plan_text(root), valid, NULL);
    for (yaml_node_pair_t *p = root->data.mapping.pairs.start; p < root->data.mapping.pairs.top;
         p++) {
        const yaml_node_t *name = sp_plan_node(r, p->key);
        sp_nearest nearest = {0};
        int i = 0;
        while (i < count && strcmp(part[i].name, sp_plan_text(name))) i++;
        for (int k = 0; k < count; k++)
            sp_nearest_offer(&nearest, sp_plan_text(name), part[k].name);
        if (i == count) return sp_plan_refuse(r, name, "", sp_plan_text(name), valid, nearest.name);
        if (found[i])
            return sp_plan_refuse(r, name, part[i].name, "the same key again", "once only", NULL);
        found[i] = sp_plan_node(r, p->value);
    }
    if (!strcmp(part[0].name, "base") && !found[0] && !found[1])
        return sp_plan_refuse(r, root, "", "a file without a case",
                              "`base: CASE.yaml`, or `case:` with sections, or both", NULL);
    return SP_OK;
}

static sp_status read_parts(plan_reader *r, const plan_part *part, int count)
{
    const yaml_node_t *found[PART_MAX] = {NULL};
    sp_status status = find_parts(r, part, count, found);
    for (int i = 0; i < count && status == SP_OK; i++) {
        status = found[i] ? part[i].read(r, found[i]) : SP_OK;
        /* Values of the plan are relative to it, and their failure lines name it. */
        if (i == 0) snprintf(r->plan->base.source, sizeof r->plan->base.source, "%s", r->source);
    }
    return status;
}

/* ---- combinations ----------------------------------------------- */

/* Set the values of combination number `place`: the last axis changes fastest. */
static void combine(const sp_plan *plan, int place, sp_case *request)
{
    sp_context quiet = {0};
    *request = plan->given ? plan->given[place] : plan->base;
    for (int a = plan->axis_count - 1; a >= 0; a--) {
        const plan_axis *axis = &plan->axis[a];
        const int value = place % axis->value_count;
        place /= axis->value_count;
        for (int k = 0; k < axis->key_count; k++)
            sp_case_set_at(&quiet, request, axis->key[k], axis->line[value],
                           axis->text[value * axis->key_count + k]);
    }
}

static sp_status list_places(plan_reader *r)
{
    sp_plan *plan = r->plan;
    sp_case request;
    long total = 1;
    for (int a = 0; a < plan->axis_count && total <= COUPON_MAX; a++)
        total *= plan->axis[a].value_count;
    if (total > COUPON_MAX)
        return sp_fail(r->context, SP_BAD_CASE,
                       "%s: received axes with more than %d combinations; valid: fewer, in several "
                       "plans on one store",
                       r->source, COUPON_MAX);
    plan->total = (int)total;
    plan->place = sp_alloc((size_t)plan->total, sizeof *plan->place);
    if (!plan->place) return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
    for (int i = 0; i < plan->total; i++) {
        if (plan->filter_count) combine(plan, i, &request);
        if (sp_plan_keeps(plan, &request)) plan->place[plan->count++] = i;
    }
    plan->kept = plan->count;
    if (!plan->count)
        return sp_fail(r->context, SP_BAD_CASE,
                       "%s: where: received conditions that none of the %d coupons meets; valid: "
                       "conditions that leave at least one",
                       r->source, plan->total);
    return SP_OK;
}

int sp_plan_count(const sp_plan *plan)
{
    return plan->count;
}

int sp_plan_number(const sp_plan *plan, int index)
{
    return plan->number ? plan->number[index] : index + 1;
}

int sp_plan_left_out(const sp_plan *plan)
{
    return plan->total - plan->kept;
}

void sp_plan_case(const sp_plan *plan, int index, sp_case *request)
{
    combine(plan, plan->place[index], request);
}

/* ---- text ----------------------------------------------- */

enum {
    DEPTH_MAX = 8,       /* no part of any file needs more than five */
    EVENTS_MAX = 5000000 /* values, ends of lists: loaded they take a gigabyte */
};

/* Anchors, aliases and tags have no use in a plan, and they can hide what a file says. A loaded
 * document no longer shows them, so the events are checked first. So are lists within lists:
 * loading them takes a time that grows with the square of their depth. */
static sp_status refuse_references(plan_reader *r, const char *text, size_t size)
{
    yaml_parser_t parser;
    yaml_event_t event;
    sp_status status = SP_OK;
    int done = 0, depth = 0, count = 0;
    if (!yaml_parser_initialize(&parser))
        return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
    while (status == SP_OK && !done && yaml_parser_parse(&parser, &event)) {
        const int line = (int)event.start_mark.line + 1;
        const char *valid = "values written out, no anchors (&), aliases (*) or tags (!)";
        const char *sign = NULL;
        if (event.type == YAML_ALIAS_EVENT) sign = "an alias";
        if (event.type == YAML_SCALAR_EVENT && event.data.scalar.anchor) sign = "an anchor";
        if (event.type == YAML_SCALAR_EVENT && event.data.scalar.tag) sign = "a tag";
        if (event.type == YAML_SCALAR_EVENT &&
            strlen((const char *)event.data.scalar.value) != event.data.scalar.length)
            sign = "a NUL character";
        if (event.type == YAML_SEQUENCE_START_EVENT &&
            (event.data.sequence_start.anchor || event.data.sequence_start.tag))
            sign = "an anchor or a tag";
        if (event.type == YAML_MAPPING_START_EVENT &&
            (event.data.mapping_start.anchor || event.data.mapping_start.tag))
            sign = "an anchor or a tag";
        if (sign) status = sp_case_fail(r->context, r->source, line, "", sign, valid, NULL);
        depth += event.type == YAML_SEQUENCE_START_EVENT || event.type == YAML_MAPPING_START_EVENT;
        depth -= event.type == YAML_SEQUENCE_END_EVENT || event.type == YAML_MAPPING_END_EVENT;
        if (status == SP_OK && ++count > EVENTS_MAX)
            status = sp_case_fail(r->context, r->source, line, "", "over 5000000 values",
                                  "fewer, in several files", NULL);
        if (status == SP_OK && depth > DEPTH_MAX)
            status = sp_case_fail(r->context, r->source, line, "", "lists within lists",
                                  "at most 8 lists or mappings within each other", NULL);
        done = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    return status; /* what is no YAML is refused when the document is loaded */
}

static sp_status load_document(plan_reader *r, yaml_parser_t *parser)
{
    const char *problem;
    if (yaml_parser_load(parser, &r->document)) return SP_OK;
    memset(&r->document, 0, sizeof r->document);
    if (parser->error == YAML_MEMORY_ERROR)
        return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
    problem = parser->problem ? parser->problem : "unreadable text";
    return sp_case_fail(r->context, r->source, (int)parser->problem_mark.line + 1, "", problem,
                        "YAML with `name: value` lines indented by spaces", NULL);
}

sp_status sp_plan_parse_parts(sp_context *context, const char *name, const char *text, size_t size,
                              const plan_part *part, int part_count, const char *axes_name,
                              void *user, sp_plan **plan)
{
    plan_reader r = {.context = context, .source = name, .axes_name = axes_name, .user = user};
    yaml_parser_t parser;
    *plan = NULL;
    if (strlen(name) >= SP_FILE_SIZE)
        return sp_case_fail(context, name, 0, "", name, "a file name of at most 1023 bytes", NULL);
    sp_status status = sp_case_check_text(context, name, text, size);
    if (status == SP_OK) status = refuse_references(&r, text, size);
    if (status != SP_OK) return status;
    r.plan = sp_alloc(1, sizeof *r.plan);
    if (!r.plan || !yaml_parser_initialize(&parser)) {
        sp_free(r.plan);
        return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", name);
    }
    sp_case_default(&r.plan->base);
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
    status = load_document(&r, &parser);
    if (status == SP_OK) {
        status = read_parts(&r, part, part_count);
        if (status == SP_OK) status = list_places(&r);
        yaml_document_delete(&r.document);
    }
    yaml_parser_delete(&parser);
    if (status == SP_OK)
        *plan = r.plan;
    else
        sp_plan_free(r.plan);
    return status;
}

sp_status sp_plan_parse(sp_context *context, const char *name, const char *text, size_t size,
                        sp_plan **plan)
{
    static const plan_part part[] = {
        {"base", sp_plan_read_base},   {"case", sp_plan_read_case},     {"axes", sp_plan_read_axes},
        {"seeds", sp_plan_read_seeds}, {"where", sp_plan_read_filters},
    };
    return sp_plan_parse_parts(context, name, text, size, part, sizeof part / sizeof part[0],
                               "axes", NULL, plan);
}

sp_status sp_plan_read(sp_context *context, const char *file, sp_plan **plan)
{
    char *text;
    size_t size;
    *plan = NULL;
    sp_status status = sp_case_read_file(context, file, &text, &size);
    if (status == SP_OK) status = sp_plan_parse(context, file, text, size, plan);
    sp_free(text);
    return status;
}

sp_status sp_plan_of_cases(sp_context *context, const sp_case *request, int count, sp_plan **plan)
{
    sp_plan *made = sp_alloc(1, sizeof *made);
    int *place = sp_alloc((size_t)count, sizeof *place);
    *plan = NULL;
    if (!made || !place) {
        sp_free(made);
        sp_free(place);
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d cases", count);
    }
    for (int i = 0; i < count; i++) place[i] = i;
    made->total = made->kept = made->count = count;
    made->given = request;
    made->place = place;
    *plan = made;
    return SP_OK;
}

void sp_plan_free(sp_plan *plan)
{
    if (!plan) return;
    for (int a = 0; a < AXIS_MAX; a++) {
        plan_axis *axis = &plan->axis[a];
        for (int i = 0; i < axis->value_count * axis->key_count; i++) sp_free(axis->text[i]);
        sp_free(axis->text);
        sp_free(axis->line);
    }
    for (int f = 0; f < FILTER_MAX; f++) sp_free(plan->filter[f].comparison);
    sp_free(plan->place);
    sp_free(plan->number);
    sp_free(plan);
}
