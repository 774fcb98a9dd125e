/* result.json: what was asked, what came out, and under "run" what differs from run to run (build, timings). */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "write/caution.h"
#include "write/text.h"
#include "write/writer_list.h"

#define DIGITS 12
#define TEXT_SIZE 1200

/* Every helper takes over `value` and accepts NULL (no memory), so that one check at the end of writing is enough. */
static void put(json_t *object, const char *name, json_t *value, int *failed)
{
    if (!value || json_object_set_new(object, name, value) != 0) *failed = 1;
}

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value == 0.0 ? 0.0 : value) : json_null();
}

static json_t *text(const char *value)
{
    char clean[TEXT_SIZE];
    sp_clean_text(value, clean, sizeof clean);
    return json_string(clean);
}

static void append(json_t *array, json_t *value, int *failed)
{
    if (!value || json_array_append_new(array, value) != 0) *failed = 1;
}

static json_t *settings(const sp_case *request, int *failed)
{
    static const char *origin[] = {"default", "file", "derived"};
    json_t *all = json_object();
    char value[TEXT_SIZE];
    for (int row = 0; all && row < sp_parameter_count(); row++) {
        json_t *one = json_object();
        sp_case_value_text(request, row, value, sizeof value);
        if (one) {
            put(one, "value", text(value), failed);
            put(one, "origin", text(origin[request->origin[row]]), failed);
            if (request->line[row] > 0) put(one, "line", json_integer(request->line[row]), failed);
        }
        put(all, sp_parameter_at(row).key, one, failed);
    }
    return all;
}

static json_t *network_figures(const sp_network *network, int *failed)
{
    json_t *all = json_object();
    if (!all) return NULL;
    put(all, "joints", json_integer(network->joint_count), failed);
    put(all, "struts", json_integer(network->strut_count), failed);
    put(all, "cell_size_mm", number(network->cell_size), failed);
    put(all, "nominal_density", number(network->nominal_density), failed);
    put(all, "solid_fraction", number(network->solid_fraction), failed);
    put(all, "dropped_stubs", json_integer(network->dropped_stubs), failed);
    put(all, "dropped_pieces", json_integer(network->dropped_pieces), failed);
    return all;
}

static json_t *measures(const sp_result *result, int *failed)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    json_t *all = json_object();
    for (int i = 0; all && i < count && i < result->measure_count; i++) {
        const sp_measure *got = &result->measure[i];
        int reached = got->reached && isfinite(got->value);
        json_t *one = json_object();
        if (one) {
            put(one, "value", reached ? number(got->value) : json_null(), failed);
            put(one, "unit", text(row[i].unit), failed);
            if (!reached) put(one, "reason", text("not reached"), failed);
        }
        put(all, row[i].name, one, failed);
    }
    return all;
}

static json_t *critical_step(const sp_path *path, int *failed)
{
    const sp_critical *critical = &path->critical;
    char words[TEXT_SIZE];
    json_t *all = json_object(), *struts = json_array();
    for (int i = 0; struts && i < critical->strut_count && i < 8; i++) {
        json_t *one = json_object();
        if (one) {
            put(one, "strut", json_integer(critical->strut[i]), failed);
            put(one, "share", number(critical->share[i]), failed);
        }
        append(struts, one, failed);
    }
    if (!all) {
        json_decref(struts);
        return NULL;
    }
    sp_critical_text(path, words, sizeof words);
    put(all, "definition", text(SP_CRITICAL_DEFINITION), failed);
    put(all, "text", text(words), failed);
    put(all, "found", json_boolean(critical->found), failed);
    put(all, critical->found ? "strain" : "searched_to_strain", number(critical->strain), failed);
    if (critical->found) {
        put(all, "kind", text(critical->is_limit ? "limit point" : "bifurcation"), failed);
        put(all, "shortening_mm", number(critical->shortening), failed);
        put(all, "force_N", number(critical->force), failed);
    }
    put(all, "struts", struts, failed);
    return all;
}

static json_t *buckled_strut(const sp_result *result, int *failed)
{
    const sp_buckled *buckled = &result->path.buckled;
    char words[TEXT_SIZE];
    json_t *all = json_object();
    if (!all) return NULL;
    sp_buckled_text(result, words, sizeof words);
    put(all, "definition", text(SP_BUCKLED_DEFINITION), failed);
    put(all, "text", text(words), failed);
    put(all, "found", json_boolean(buckled->found), failed);
    if (!buckled->found) return all;
    put(all, "strut", json_integer(buckled->strut), failed);
    put(all, "step", json_integer(buckled->step), failed);
    put(all, "strain", number(buckled->strain), failed);
    put(all, "strut_force_N", number(buckled->strut_force), failed);
    put(all, "slenderness", number(buckled->slenderness), failed);
    put(all, "euler_ratio", number(buckled->euler_ratio), failed);
    return all;
}

static json_t *events(const sp_path *path, int *failed)
{
    json_t *all = json_array();
    for (int i = 0; all && i < path->event_count; i++) {
        const sp_event *event = &path->event[i];
        json_t *one = json_object();
        if (one) {
            put(one, "event", text(sp_event_text(event->kind)), failed);
            put(one, "step", json_integer(event->step), failed);
            if (event->step >= 0 && event->step < path->step_count)
                put(one, "strain", number(sp_path_strain(path, event->step)), failed);
            if (event->strut >= 0) put(one, "strut", json_integer(event->strut), failed);
            put(one, "value", number(event->value), failed);
        }
        append(all, one, failed);
    }
    return all;
}

static json_t *run_header(const sp_path *path, int *failed)
{
    json_t *all = json_object();
    int iterations = 0, factorizations = 0;
    for (int i = 0; i < path->step_count; i++) {
        iterations += path->step[i].iterations;
        factorizations += path->step[i].factorizations;
    }
    if (!all) return NULL;
    put(all, "build", text(sp_build_text()), failed);
    put(all, "elements", json_integer(path->element_count), failed);
    put(all, "unknowns", json_integer(path->unknown_count), failed);
    put(all, "steps", json_integer(path->step_count > 0 ? path->step_count - 1 : 0), failed);
    put(all, "iterations", json_integer(iterations), failed);
    put(all, "factorizations", json_integer(factorizations), failed);
    put(all, "analyses", json_integer(path->analyses), failed);
    put(all, "seconds_total", number(path->seconds_total), failed);
    put(all, "seconds_solver", number(path->seconds_solver), failed);
    put(all, "seconds_analyse", number(path->seconds_analyse), failed);
    return all;
}

static json_t *caution_lines(const sp_result *result, int *failed)
{
    char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE];
    json_t *all = json_array();
    int count = sp_cautions(result, lines);
    for (int i = 0; all && i < count; i++) append(all, text(lines[i]), failed);
    return all;
}

sp_status sp_writer_result_json(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_path *path = &result->path;
    int failed = 0;
    json_t *root = json_object();
    if (!root) return sp_fail(context, SP_NO_MEMORY, "no memory for result.json");
    put(root, "program", text("strutpress"), &failed);
    put(root, "version", text(sp_version()), &failed);
    put(root, "case", text(result->request.source), &failed);
    put(root, "seed", json_integer(result->request.flaw_seed), &failed);
    put(root, "cautions", caution_lines(result, &failed), &failed);
    put(root, "settings", settings(&result->request, &failed), &failed);
    put(root, "network", network_figures(&result->network, &failed), &failed);
    put(root, "stop", text(sp_stop_text(path->stop)), &failed);
    put(root, "critical_step", critical_step(path, &failed), &failed);
    put(root, "first_buckled_strut", buckled_strut(result, &failed), &failed);
    put(root, "measures", measures(result, &failed), &failed);
    put(root, "events", events(path, &failed), &failed);
    put(root, "run", run_header(path, &failed), &failed);
    int refused = !failed && json_dumpf(root, stream, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS));
    json_decref(root);
    if (failed) return sp_fail(context, SP_NO_MEMORY, "no memory for result.json");
    fputc('\n', stream);
    sp_status status = sp_stream_end(context, stream);
    if (status == SP_OK && refused)
        return sp_fail(context, SP_NO_MEMORY, "no memory for result.json");
    return status;
}
