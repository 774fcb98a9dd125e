/* Read a YAML file of tests of a material, and do all in a straight line: read, fit, fit without
 * each test. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/case.h>

#include "base/alloc.h"
#include "batch/plan_parts.h"
#include "case/case_parts.h"
#include "material/material_parts.h"
#include "write/text.h"

static const char part_name[] = "material";
static const char entry_valid[] =
    "a list of `{curve: FILE}`, with `columns: [time, strain, stress]` and `name` when wanted, or "
    "`{set: 18 %, strain: 25 %, held: 22 h, free: 30 min}`";

enum { CURVE, COLUMNS, NAME, SET, STRAIN, HELD, FREE, ENTRY_KEYS };
static const char *const entry_key[ENTRY_KEYS] = {"curve",  "columns", "name", "set",
                                                  "strain", "held",    "free"};

static sp_status read_quantity(plan_reader *r, const yaml_node_t *node, const char *key,
                               const char *unit, double low, double high, double *value)
{
    if (node->type == YAML_SCALAR_NODE && sp_case_unit_parse(unit, sp_plan_text(node), value) &&
        *value > low && *value <= high)
        return SP_OK;
    char valid[80];
    snprintf(valid, sizeof valid, "a number above %g and at most %g %s", low, high,
             unit[0] == '%' ? "(as a fraction, or in %)" : unit);
    return sp_plan_refuse(r, node, key, sp_plan_text(node), valid, NULL);
}

static sp_status read_columns(plan_reader *r, const yaml_node_t *node, int column[3])
{
    char text[3][8] = {{0}};
    int items = 0;
    if (node->type == YAML_SEQUENCE_NODE) {
        const yaml_node_item_t *at = node->data.sequence.items.start;
        items = (int)(node->data.sequence.items.top - at);
        for (int i = 0; items == 3 && i < 3; i++)
            snprintf(text[i], sizeof text[i], "%s", sp_plan_text(sp_plan_node(r, at[i])));
    }
    for (int i = 0; i < 3; i++) {
        char end;
        if (items != 3 || sscanf(text[i], "%2d%c", &column[i], &end) != 1 || column[i] < 1 ||
            column[i] > 32)
            return sp_plan_refuse(r, node, "columns", sp_plan_text(node),
                                  "[a, b, c]: the columns of time, strain and stress, from 1 to 32",
                                  NULL);
    }
    return SP_OK;
}

static sp_status read_set(plan_reader *r, const yaml_node_t *node, const yaml_node_t *const *found,
                          mat_test *test)
{
    const sp_material_tests *tests = r->user;
    sp_status status = SP_OK;
    double *const value[] = {&test->set, &test->set_strain, &test->set_held, &test->set_free};
    for (int i = 0; i < 4; i++)
        if (!found[SET + i])
            return sp_plan_refuse(r, node, part_name, "a set without all of its numbers",
                                  "{set: 18 %, strain: 25 %, held: 22 h, free: 30 min}", NULL);
    for (int i = 0; status == SP_OK && i < 4; i++)
        status = read_quantity(r, found[SET + i], entry_key[SET + i], i < 2 ? "%" : "s", 0,
                               i < 2 ? 0.95 : 1e8, value[i]);
    if (status != SP_OK) return status;
    if (tests->compression) test->set_strain = -test->set_strain;
    return sp_material_record_set(r->context, test);
}

static sp_status read_entry(plan_reader *r, const yaml_node_t *node, int fitted)
{
    sp_material_tests *tests = r->user;
    const yaml_node_t *found[ENTRY_KEYS] = {0};
    char file[SP_FILE_SIZE] = "";
    int column[3] = {1, 2, 3};
    if (tests->count == MAT_TEST_MAX)
        return sp_plan_refuse(r, node, part_name, "a longer list", "at most 24 tests", NULL);
    mat_test *test = &tests->test[tests->count++];
    test->fitted = fitted;
    sp_status status =
        sp_plan_read_mapping(r, node, part_name, entry_key, ENTRY_KEYS, entry_valid, found);
    if (status != SP_OK) return status;
    if (!found[CURVE] == !found[SET])
        return sp_plan_refuse(r, node, part_name, found[SET] ? "a set and a curve" : "neither",
                              entry_valid, NULL);
    if (found[COLUMNS]) status = read_columns(r, found[COLUMNS], column);
    if (status == SP_OK && found[SET]) status = read_set(r, node, found, test);
    if (status == SP_OK && found[CURVE])
        status = sp_plan_file(r, found[CURVE], "curve", "the name of a file", file);
    if (status == SP_OK && found[CURVE])
        status = sp_material_record_read(r->context, file, column, tests->compression, test);
    if (status != SP_OK) return status;
    const char *slash = strrchr(file, '/');
    const char *given = found[NAME] && found[NAME]->type == YAML_SCALAR_NODE
                            ? sp_plan_text(found[NAME])
                        : file[0] ? (slash ? slash + 1 : file)
                                  : "compression set";
    sp_printable(given, test->name, MAT_NAME_SIZE);
    tests->fitted += fitted;
    return SP_OK;
}

static sp_status read_list(plan_reader *r, const yaml_node_t *node, const char *part, int fitted)
{
    sp_status status = SP_OK;
    if (node->type != YAML_SEQUENCE_NODE ||
        node->data.sequence.items.top == node->data.sequence.items.start)
        return sp_plan_refuse(r, node, part, sp_plan_text(node), entry_valid, NULL);
    for (yaml_node_item_t *at = node->data.sequence.items.start;
         status == SP_OK && at < node->data.sequence.items.top; at++) {
        const yaml_node_t *entry = sp_plan_node(r, *at);
        status = entry->type == YAML_MAPPING_NODE
                     ? read_entry(r, entry, fitted)
                     : sp_plan_refuse(r, entry, part, sp_plan_text(entry), entry_valid, NULL);
    }
    return status;
}

static sp_status read_material(plan_reader *r, const yaml_node_t *node)
{
    return read_list(r, node, part_name, 1);
}

static sp_status read_predict(plan_reader *r, const yaml_node_t *node)
{
    return read_list(r, node, "predict", 0);
}

static const char *const no_yes[] = {"no", "yes"};

static sp_status read_loading(plan_reader *r, const yaml_node_t *node)
{
    static const char *const word[] = {"tension", "compression"};
    return sp_plan_read_word(r, node, "loading", word, 2, "tension or compression",
                             &((sp_material_tests *)r->user)->compression);
}

static sp_status read_softening(plan_reader *r, const yaml_node_t *node)
{
    return sp_plan_read_word(r, node, "softening", no_yes, 2, "no or yes",
                             &((sp_material_tests *)r->user)->softens);
}

static sp_status read_flow(plan_reader *r, const yaml_node_t *node)
{
    static const char *const word[] = {"no", "yes", "two"};
    return sp_plan_read_word(r, node, "flow", word, 3, "no, yes or two",
                             &((sp_material_tests *)r->user)->flows);
}

static sp_status read_name(plan_reader *r, const yaml_node_t *node)
{
    sp_material_tests *tests = r->user;
    if (node->type != YAML_SCALAR_NODE || !sp_plan_text(node)[0])
        return sp_plan_refuse(r, node, "name", sp_plan_text(node), "one line of text", NULL);
    sp_printable(sp_plan_text(node), tests->name, MAT_NAME_SIZE);
    return SP_OK;
}

static sp_status read_times(plan_reader *r, const yaml_node_t *node)
{
    sp_material_tests *tests = r->user;
    sp_status status = SP_OK;
    const yaml_node_item_t *at =
        node->type == YAML_SEQUENCE_NODE ? node->data.sequence.items.start : NULL;
    const long count = at ? node->data.sequence.items.top - at : 0;
    if (count < 1 || count > MAT_BRANCHES)
        return sp_plan_refuse(r, node, "times", sp_plan_text(node),
                              "[1 s, 10 s, ...]: 1 to 6 relaxation times", NULL);
    for (int i = 0; status == SP_OK && i < count; i++)
        status = read_quantity(r, sp_plan_node(r, at[i]), "times", "s", 0, 1e9, &tests->time[i]);
    tests->time_count = (int)count;
    return status;
}

/* A compression set has no stress of its own: its misfit counts over the largest stress of the
 * other tests. */
static sp_status complete(sp_context *context, sp_material_tests *tests)
{
    double peak = 0;
    for (int t = 0; t < tests->count; t++) peak = fmax(peak, tests->test[t].peak);
    for (int t = 0; t < tests->count; t++)
        if (tests->test[t].set > 0) tests->test[t].peak = peak;
    if (tests->fitted && peak > 0) return SP_OK;
    return sp_fail(context, SP_BAD_CASE,
                   "%s: received no record of stress; valid: `material:` with `- {curve: FILE}` "
                   "lines",
                   tests->source);
}

sp_status sp_material_tests_parse(sp_context *context, const char *name, const char *text,
                                  size_t size, sp_material_tests **tests)
{
    static const plan_part part[] = {
        {"name", read_name},       {"loading", read_loading}, {"softening", read_softening},
        {"flow", read_flow},       {"times", read_times},     {"material", read_material},
        {"predict", read_predict},
    };
    sp_plan *plan = NULL;
    sp_material_tests *t = sp_alloc(1, sizeof *t);
    *tests = NULL;
    if (!t) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", name);
    t->softens = t->flows = -1;
    snprintf(t->source, sizeof t->source, "%s", name);
    snprintf(t->name, sizeof t->name, "fitted filament");
    sp_status status = sp_plan_parse_parts(context, name, text, size, part,
                                           sizeof part / sizeof part[0], "material", t, &plan);
    sp_plan_free(plan);
    if (status == SP_OK) status = complete(context, t);
    if (status == SP_OK)
        *tests = t;
    else
        sp_material_tests_free(t);
    return status;
}

sp_status sp_material_tests_read(sp_context *context, const char *file, sp_material_tests **tests)
{
    char *text;
    size_t size;
    *tests = NULL;
    sp_status status = sp_case_read_file(context, file, &text, &size);
    if (status == SP_OK) status = sp_material_tests_parse(context, file, text, size, tests);
    sp_free(text);
    return status;
}

void sp_material_tests_free(sp_material_tests *tests)
{
    if (!tests) return;
    for (int t = 0; t < tests->count; t++) sp_material_record_free(&tests->test[t]);
    sp_free(tests);
}

int sp_material_is_tested(const char *file)
{
    sp_context quiet = {0};
    char *text;
    size_t size;
    int found = 0;
    static const char begins[] = "material:";
    const size_t length = sizeof begins - 1;
    const int read = sp_case_read_file(&quiet, file, &text, &size) == SP_OK;
    for (size_t at = 0; read && !found && at + length <= size; at++)
        found = (at == 0 || text[at - 1] == '\n') && !memcmp(text + at, begins, length);
    sp_free(text);
    return found;
}

/* --- the straight line --- */

/* Take one branch per decade, from a tenth of the quickest ramp to the longest record. */
static void choose_times(const sp_material_tests *tests, mat_model *model)
{
    double quickest = INFINITY, longest = 0;
    model->branch_count = tests->time_count;
    memcpy(model->time, tests->time, sizeof model->time);
    for (int t = 0; t < tests->count; t++) {
        const mat_test *test = &tests->test[t];
        const double begin = test->time[0];
        if (!test->fitted) continue;
        quickest = fmin(quickest, test->time[test->deepest] - begin);
        longest = fmax(longest, fmax(test->held, test->time[test->count - 1] - begin));
    }
    const int last = (int)floor(log10(fmax(longest, 1e-6)) + 0.5);
    int first = (int)floor(log10(fmax(quickest, 1e-6) / 10) + 0.5);
    if (first < last - MAT_BRANCHES + 1) first = last - MAT_BRANCHES + 1;
    for (int i = first; i <= last && !tests->time_count; i++)
        model->time[model->branch_count++] = pow(10, i);
}

sp_status sp_material_fit(sp_context *context, const sp_material_tests *tests,
                          sp_material **material)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    sp_material *m = sp_alloc(1, sizeof *m);
    *material = NULL;
    if (!m) return sp_fail(context, SP_NO_MEMORY, "no memory for a fit");
    m->tests = tests;
    m->law_misfit = NAN;
    for (int t = 0; t < tests->count; t++)
        for (int k = 0; k < tests->test[t].count && tests->test[t].fitted; k++)
            m->model.reach = fmax(m->model.reach, fabs(tests->test[t].strain[k]));
    choose_times(tests, &m->model);
    sp_begin(context, "fitting");
    sp_status status = sp_material_fit_model(context, tests, -1, 0, &m->model);
    for (int t = 0; status == SP_OK && t < tests->count && tests->fitted > 1; t++) {
        if (!tests->test[t].fitted) continue;
        mat_model *without = &m->without[m->without_count++];
        *without = m->model;
        status = sp_material_fit_model(context, tests, t, 1, without);
    }
    if (status == SP_OK)
        *material = m;
    else
        sp_material_free(m);
    return status;
}

void sp_material_free(sp_material *material)
{
    sp_free(material);
}

void sp_material_rates(const sp_material_tests *tests, double *slowest, double *fastest)
{
    *slowest = INFINITY;
    *fastest = 0;
    for (int t = 0; t < tests->count; t++) {
        const mat_test *test = &tests->test[t];
        if (!test->fitted || test->set > 0) continue;
        *slowest = fmin(*slowest, test->rate);
        *fastest = fmax(*fastest, test->rate);
    }
}
