/* Write result.json: what was asked, what came out, and under "run" what differs from run to run
 * (build, timings). */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "law/hardness.h"
#include "caution/caution.h"
#include "write/json.h"
#include "caution/solid.h"
#include "caution/width.h"
#include "measure/stages.h"
#include "write/text.h"
#include "writer/writer_list.h"

enum { DIGITS = 12, TEXT_SIZE = 1200 };

static json_t *settings(const sp_case *request, int *failed)
{
    static const char *origin[] = {"default", "file", "derived"};
    json_t *all = json_object();
    char value[TEXT_SIZE];
    for (int row = 0; all && row < sp_parameter_count(); row++) {
        json_t *one = json_object();
        sp_case_value_text(request, row, value, sizeof value);
        if (one) {
            sp_json_put(one, "value", sp_json_text(value), failed);
            sp_json_put(one, "origin", sp_json_text(origin[request->origin[row]]), failed);
            if (request->line[row] > 0)
                sp_json_put(one, "line", json_integer(request->line[row]), failed);
        }
        sp_json_put(all, sp_parameter_at(row).key, one, failed);
    }
    return all;
}

static json_t *network_figures(const sp_network *network, int *failed)
{
    char words[SP_MESSAGE_SIZE];
    json_t *all = json_object();
    if (!all) return NULL;
    sp_network_printed_text(network, words, sizeof words);
    sp_json_put(all, "printed", sp_json_text(words), failed);
    sp_network_pressed_text(network, words, sizeof words);
    sp_json_put(all, "pressed", sp_json_text(words), failed);
    sp_json_put(all, "joints", json_integer(network->joint_count), failed);
    sp_json_put(all, "struts", json_integer(network->strut_count), failed);
    sp_json_put(all, "pieces", json_integer(network->piece_count), failed);
    sp_json_put(all, "cell_size_mm", sp_json_number(network->cell_size), failed);
    sp_json_put(all, "nominal_density", sp_json_number(network->nominal_density), failed);
    sp_json_put(all, "solid_fraction", sp_json_number(network->solid_fraction), failed);
    sp_json_put(all, "dropped_stubs", json_integer(network->dropped_stubs), failed);
    sp_json_put(all, "dropped_pieces", json_integer(network->dropped_pieces), failed);
    sp_json_put(all, "dropped_one_platen", json_integer(network->dropped_one_platen), failed);
    sp_json_put(all, "dropped_no_platen", json_integer(network->dropped_no_platen), failed);
    sp_json_put(all, "dropped_flat", json_integer(network->dropped_flat), failed);
    return all;
}

static json_t *band(double low, double high, int *failed)
{
    json_t *both = json_array();
    sp_json_append(both, sp_json_number(low), failed);
    sp_json_append(both, sp_json_number(high), failed);
    return both;
}

static json_t *solid_block(const sp_result *result, int *failed)
{
    const sp_solid_curve *solid = &result->path.solid;
    json_t *all = json_object(), *forces = json_array();
    char words[TEXT_SIZE];
    sp_solid_words(result, words, sizeof words);
    for (int i = 0; !words[0] && i < SP_SOLID_TABLE_ROWS; i++) {
        const double sliding = sp_solid_force(solid, sp_solid_percent[i], 0);
        const double bonded = sp_solid_force(solid, sp_solid_percent[i], 1);
        json_t *one = json_object();
        sp_json_put(one, "strain", sp_json_number(0.01 * sp_solid_percent[i]), failed);
        sp_json_put(one, "sliding_N", sp_json_number(sliding), failed);
        sp_json_put(one, "bonded_N", sp_json_number(bonded), failed);
        sp_json_append(forces, one, failed);
    }
    if (words[0])
        sp_json_put(all, "reason", sp_json_text(words), failed);
    else
        sp_json_put(all, "shape_factor", sp_json_number(solid->shape_factor), failed);
    sp_json_put(all, "forces", forces, failed);
    return all;
}

/* null: the modulus does not come from a hardness, or the law is not linear in the modulus. */
static json_t *hardness(const sp_result *result, int *failed)
{
    sp_hardness edges;
    json_t *all, *forces;
    if (!sp_hardness_of(&result->request, &edges)) return json_null();
    all = json_object();
    forces = json_array();
    for (int i = 0; i < SP_SOLID_TABLE_ROWS; i++) {
        const double force =
            sp_measured_force(result, sp_solid_percent[i]) / result->request.modulus;
        json_t *one = json_object();
        sp_json_put(one, "strain", sp_json_number(0.01 * sp_solid_percent[i]), failed);
        sp_json_put(one, "band_N", band(force * edges.low, force * edges.high, failed), failed);
        sp_json_append(forces, one, failed);
    }
    sp_json_put(all, "modulus_MPa", sp_json_number(edges.centre), failed);
    sp_json_put(all, "band_MPa", band(edges.low, edges.high, failed), failed);
    sp_json_put(all, "forces", forces, failed);
    return all;
}

/* First stiffness with sharp corners, as pressed, and with full corners; null for a solid block. */
static json_t *corners(const sp_result *result, int *failed)
{
    static const char *const names[] = {"sharp", "pressed", "full"};
    if (!(result->corners.zone[0] > 0)) return json_null();
    json_t *all = json_object();
    for (int i = 0; all && i < 3; i++) {
        json_t *one = json_object();
        sp_json_put(one, "joint_zone", sp_json_number(result->corners.zone[i]), failed);
        sp_json_put(one, "first_stiffness_N_per_mm", sp_json_number(result->corners.stiffness[i]),
                    failed);
        sp_json_put(all, names[i], one, failed);
    }
    return all;
}

/* A figure over several seeds, whose value is their median, also has its lowest and highest, how
 * many seeds reach it, and what the kept press has. */
static void put_spread(json_t *one, const sp_result *result, int measure, int *failed)
{
    if (!result->seeds) return;
    const sp_spread *s = &result->seeds->spread[measure];
    const sp_measure *kept = &result->measure[measure];
    sp_json_put(one, "lowest", sp_json_number(s->low), failed);
    sp_json_put(one, "highest", sp_json_number(s->high), failed);
    sp_json_put(one, "seeds", json_integer(s->count), failed);
    sp_json_put(one, "of_kept", kept->reached ? sp_json_number(kept->value) : json_null(), failed);
}

/* One value under another width: its derivative, and its band as shares of the value. */
static void put_width_band(json_t *one, const sp_width *w, double value, double slope, int *failed)
{
    double narrow = NAN, wide = NAN;
    const int told = sp_width_band(w, value, slope, &narrow, &wide);
    sp_json_put(one, "slope_per_mm", sp_json_number(slope), failed);
    sp_json_put(one, "band", told ? band(narrow, wide, failed) : json_null(), failed);
}

/* Other stable states; null where they were not asked for. */
static json_t *branches(const sp_path *path, int *failed)
{
    const sp_branches *b = &path->branches;
    char words[TEXT_SIZE];
    if (!b->searched) return json_null();
    json_t *all = json_object(), *looks = json_array();
    sp_branches_text(b, words, sizeof words);
    sp_json_put(all, "text", sp_json_text(words), failed);
    sp_json_put(all, "apart", sp_json_number(sp_branches_apart(b)), failed);
    for (int i = 0; i < b->look_count; i++) {
        const sp_look *look = &b->look[i];
        json_t *one = json_object(), *forces = json_array();
        sp_json_put(one, "strain", sp_json_number(look->strain), failed);
        sp_json_put(one, "pushes", json_integer(look->pushes), failed);
        sp_json_put(one, "lost", json_integer(look->lost), failed);
        sp_json_put(one, "others", json_integer(look->others), failed);
        sp_json_put(one, "taken", json_boolean(look->taken), failed);
        sp_json_put(one, "released_mJ", sp_json_number(look->gained), failed);
        sp_json_put(one, "apart", sp_json_number(look->apart), failed);
        for (int k = 0; k < look->points; k++) {
            json_t *at = json_object();
            sp_json_put(at, "strain", sp_json_number(look->at[k]), failed);
            sp_json_put(at, "lowest_N", sp_json_number(look->low[k]), failed);
            sp_json_put(at, "highest_N", sp_json_number(look->high[k]), failed);
            sp_json_append(forces, at, failed);
        }
        sp_json_put(one, "forces", forces, failed);
        sp_json_append(looks, one, failed);
    }
    sp_json_put(all, "looks", looks, failed);
    return all;
}

/* Make the changes by the printed width; null where they are not known. */
static json_t *printed_width(const sp_path *path, int *failed)
{
    const sp_width *w = &path->width;
    if (!(w->width > 0)) return json_null();
    json_t *all = json_object(), *stiffness = json_object(), *forces = json_array();
    sp_json_put(all, "width_mm", sp_json_number(w->width), failed);
    sp_json_put(all, "change_mm", sp_json_number(sp_width_change(w)), failed);
    sp_json_put(stiffness, "value_N_per_mm", sp_json_number(w->stiffness), failed);
    put_width_band(stiffness, w, w->stiffness, w->stiffness_slope, failed);
    for (int i = 0; i < SP_WIDTH_STRAINS; i++) {
        const sp_width_slope *at = &w->force[i];
        if (!(at->strain > 0)) continue;
        json_t *one = json_object();
        sp_json_put(one, "strain", sp_json_number(at->strain), failed);
        sp_json_put(one, "value_N", sp_json_number(at->force), failed);
        put_width_band(one, w, at->force, at->slope, failed);
        sp_json_put(one, "snaps_before", json_integer(at->snaps), failed);
        sp_json_append(forces, one, failed);
    }
    sp_json_put(all, "first_stiffness", stiffness, failed);
    sp_json_put(all, "forces", forces, failed);
    return all;
}

static json_t *measures(const sp_result *result, int *failed)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    json_t *all = json_object();
    for (int i = 0; all && i < count && i < result->measure_count; i++) {
        const sp_measure got = sp_result_median(result, i);
        if (!sp_measure_applies(row[i].name, &result->request)) continue;
        int reached = got.reached && isfinite(got.value);
        json_t *one = json_object();
        if (one) {
            sp_json_put(one, "value", reached ? sp_json_number(got.value) : json_null(), failed);
            put_spread(one, result, i, failed);
            sp_json_put(one, "unit", sp_json_text(row[i].unit), failed);
            char words[SP_MODELLED_SIZE];
            double low, high;
            if (sp_band_of(result, i, &low, &high))
                sp_json_put(one, "band", band(low, high, failed), failed);
            if (reached)
                sp_measure_modelled(row[i].name, &result->request, words);
            else
                sp_measure_reason(row[i].name, &result->request, sp_measure_load_end(&result->path),
                                  words);
            if (words[0])
                sp_json_put(one, reached ? "note" : "reason", sp_json_text(words), failed);
        }
        sp_json_put(all, row[i].name, one, failed);
    }
    return all;
}

/* The presses of several seeds of the flaws and the band of their curves; null when one was
 * pressed. */
static json_t *seeds(const sp_result *result, int *failed)
{
    const sp_seeds *s = result->seeds;
    char words[TEXT_SIZE];
    if (!s) return json_null();
    json_t *all = json_object(), *points = json_array();
    for (int i = 0; points && i < s->band_count; i++) {
        json_t *one = json_object();
        sp_json_put(one, "strain", sp_json_number(s->band[i].strain), failed);
        sp_json_put(one, "median_N", sp_json_number(s->band[i].median), failed);
        sp_json_put(one, "lowest_N", sp_json_number(s->band[i].low), failed);
        sp_json_put(one, "highest_N", sp_json_number(s->band[i].high), failed);
        sp_json_append(points, one, failed);
    }
    sp_seeds_text(result, words, sizeof words);
    sp_json_put(all, "count", json_integer(s->count), failed);
    sp_json_put(all, "first", json_integer(s->first), failed);
    sp_json_put(all, "kept", json_integer(s->first + s->kept), failed);
    sp_json_put(all, "ended_early", json_integer(s->early), failed);
    sp_json_put(all, "text", sp_json_text(words), failed);
    sp_json_put(all, "band", points, failed);
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
            sp_json_put(one, "strut", json_integer(critical->strut[i]), failed);
            sp_json_put(one, "share", sp_json_number(critical->share[i]), failed);
        }
        sp_json_append(struts, one, failed);
    }
    if (!all) {
        json_decref(struts);
        return NULL;
    }
    sp_critical_text(path, words, sizeof words);
    sp_json_put(all, "definition", sp_json_text(SP_CRITICAL_DEFINITION), failed);
    sp_json_put(all, "text", sp_json_text(words), failed);
    sp_json_put(all, "found", json_boolean(critical->found), failed);
    sp_json_put(all, critical->found ? "strain" : "searched_to_strain",
                sp_json_number(critical->strain), failed);
    if (critical->cut_short) sp_json_put(all, "search_cut_short", json_true(), failed);
    if (critical->untold)
        sp_json_put(all, "untold_to_strain", sp_json_number(critical->strain_beyond), failed);
    sp_json_put(all, "contact_jumps_passed", json_integer(critical->jumps), failed);
    if (critical->jumps > 0)
        sp_json_put(all, "most_released_by_one_mJ", sp_json_number(critical->jump_released),
                    failed);
    if (critical->found) {
        sp_json_put(all, "kind", sp_json_text(sp_critical_word(critical->kind)), failed);
        sp_json_put(all, "shortening_mm", sp_json_number(critical->shortening), failed);
        sp_json_put(all, "force_N", sp_json_number(critical->force), failed);
    }
    sp_json_put(all, "struts", struts, failed);
    return all;
}

static json_t *buckled_strut(const sp_result *result, int *failed)
{
    const sp_buckled *buckled = &result->path.buckled;
    char words[TEXT_SIZE];
    json_t *all = json_object();
    if (!all) return NULL;
    sp_buckled_text(result, words, sizeof words);
    sp_json_put(all, "definition", sp_json_text(SP_BUCKLED_DEFINITION), failed);
    sp_json_put(all, "text", sp_json_text(words), failed);
    sp_json_put(all, "found", json_boolean(buckled->found), failed);
    if (!buckled->found) return all;
    sp_json_put(all, "strut", json_integer(buckled->strut), failed);
    sp_json_put(all, "step", json_integer(buckled->step), failed);
    sp_json_put(all, "strain", sp_json_number(buckled->strain), failed);
    sp_json_put(all, "strut_force_N", sp_json_number(buckled->strut_force), failed);
    sp_json_put(all, "slenderness", sp_json_number(buckled->slenderness), failed);
    sp_json_put(all, "euler_ratio", sp_json_number(buckled->euler_ratio), failed);
    return all;
}

/* Stability with the force held, beside that with the platen held. */
static json_t *under_weight(const sp_result *result, int *failed)
{
    sp_weight weight;
    char words[TEXT_SIZE];
    const int found = sp_weight_of(result, &weight);
    json_t *all = json_object();
    if (!all) return NULL;
    sp_weight_text(result, words, sizeof words);
    sp_json_put(all, "definition", sp_json_text(SP_WEIGHT_DEFINITION), failed);
    sp_json_put(all, "text", sp_json_text(words), failed);
    sp_json_put(all, "found", json_boolean(found), failed);
    if (!found) return all;
    sp_json_put(all, "strain", sp_json_number(weight.strain), failed);
    sp_json_put(all, "force_N", sp_json_number(weight.force), failed);
    return all;
}

static json_t *snaps(const sp_path *path, int *failed)
{
    double released;
    const int count = sp_snaps_of(path, &released);
    json_t *all = json_object();
    if (!all) return NULL;
    sp_json_put(all, "count", json_integer(count), failed);
    sp_json_put(all, "released_mJ", sp_json_number(released), failed);
    sp_json_put(all, "note", sp_json_text(SP_SNAPS_NOTE), failed);
    return all;
}

static json_t *events(const sp_path *path, int *failed)
{
    json_t *all = json_array();
    for (int i = 0; all && i < path->event_count; i++) {
        const sp_event *event = &path->event[i];
        json_t *one = json_object();
        if (one) {
            sp_json_put(one, "event", sp_json_text(sp_event_text(event->kind)), failed);
            sp_json_put(one, "step", json_integer(event->step), failed);
            if (event->step >= 0 && event->step < path->step_count)
                sp_json_put(one, "strain", sp_json_number(sp_path_strain(path, event->step)),
                            failed);
            if (event->strut >= 0) sp_json_put(one, "strut", json_integer(event->strut), failed);
            sp_json_put(one, "value", sp_json_number(event->value), failed);
        }
        sp_json_append(all, one, failed);
    }
    return all;
}

/* What a mass that fell on the coupon met. */
static void put_drop(json_t *one, const sp_path *path, const sp_stage *stage, int *failed)
{
    const sp_impact impact = sp_stage_impact(path, stage);
    sp_json_put(one, "mass_kg", sp_json_number(stage->segment.mass), failed);
    sp_json_put(one, "fall_mm", sp_json_number(stage->segment.height), failed);
    sp_json_put(one, "peak_force_N", sp_json_number(impact.peak), failed);
    sp_json_put(one, "peak_over_weight", sp_json_number(impact.peak_share), failed);
    sp_json_put(one, "time_to_peak_s", sp_json_number(impact.peak_time), failed);
    sp_json_put(one, "deepest_mm", sp_json_number(impact.deepest), failed);
    sp_json_put(one, "rebound_mm", stage->reached ? sp_json_number(impact.rebound) : json_null(),
                failed);
}

/* Stages of a press in time, each at its end. */
static json_t *stages(const sp_path *path, int *failed)
{
    json_t *all = json_array();
    for (int i = 0; all && i < path->stage_count; i++) {
        const sp_stage *stage = &path->stage[i];
        const sp_step *first = sp_path_state(path, stage->first),
                      *last = sp_path_state(path, stage->last);
        json_t *one = json_object();
        sp_json_put(one, "segment", sp_json_text(stage->segment.text), failed);
        sp_json_put(one, "kind", sp_json_text(sp_segment_word(stage->segment.kind)), failed);
        sp_json_put(one, "cycle", json_integer(stage->segment.cycle), failed);
        sp_json_put(one, "reached", json_boolean(stage->reached), failed);
        sp_json_put(one, "first_step", json_integer(stage->first), failed);
        sp_json_put(one, "last_step", json_integer(stage->last), failed);
        sp_json_put(one, "took_s", sp_json_number(last->time - first->time), failed);
        sp_json_put(one, "time_s", sp_json_number(last->time), failed);
        sp_json_put(one, "shortening_mm", sp_json_number(last->shortening), failed);
        sp_json_put(one, "force_N", sp_json_number(last->force), failed);
        sp_json_put(one, "work_mJ", sp_json_number(last->work - first->work), failed);
        sp_json_put(one, "stored_mJ", sp_json_number(last->stored - last->dissipated), failed);
        sp_json_put(one, "softened_mJ", sp_json_number(last->softened), failed);
        sp_json_put(one, "relaxed_mJ", sp_json_number(last->relaxed), failed);
        sp_json_put(one, "flowed_mJ", sp_json_number(last->flowed), failed);
        sp_json_put(one, "released_mJ", sp_json_number(last->released), failed);
        if (stage->segment.kind == SP_SEGMENT_DROP) put_drop(one, path, stage, failed);
        sp_json_append(all, one, failed);
    }
    return all;
}

static json_t *cycles(const sp_path *path, int *failed)
{
    static const int percent[] = {25, 40, 50, 65};
    sp_cycle cycle[SP_SEGMENT_MAX];
    const int count = sp_cycles(path, cycle, SP_SEGMENT_MAX);
    json_t *all = json_array();
    for (int i = 0; all && i < count; i++) {
        json_t *one = json_object();
        sp_json_put(one, "cycle", json_integer(cycle[i].number), failed);
        sp_json_put(one, "peak_N", sp_json_number(cycle[i].peak), failed);
        for (int k = 0; k < 4; k++) {
            char name[24];
            const sp_measure force = sp_cycle_force(path, cycle[i].number, 0.01 * percent[k]);
            snprintf(name, sizeof name, "force_%d_N", percent[k]);
            sp_json_put(one, name, force.reached ? sp_json_number(force.value) : json_null(),
                        failed);
        }
        const double loss = 1 - cycle[i].returned / cycle[i].work;
        sp_json_put(one, "work_in_mJ", sp_json_number(cycle[i].work), failed);
        sp_json_put(one, "work_out_mJ", sp_json_number(cycle[i].returned), failed);
        sp_json_put(one, "loss", cycle[i].released ? sp_json_number(loss) : json_null(), failed);
        sp_json_put(one, "force_of_first", sp_json_number(cycle[i].end_force / cycle[0].end_force),
                    failed);
        sp_json_put(one, "left_mm", sp_json_number(cycle[i].left), failed);
        sp_json_append(all, one, failed);
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
    sp_json_put(all, "build", sp_json_text(sp_build_text()), failed);
    sp_json_put(all, "elements", json_integer(path->element_count), failed);
    sp_json_put(all, "unknowns", json_integer(path->unknown_count), failed);
    sp_json_put(all, "steps", json_integer(path->step_count > 0 ? path->step_count - 1 : 0),
                failed);
    sp_json_put(all, "iterations", json_integer(iterations), failed);
    sp_json_put(all, "factorizations", json_integer(factorizations), failed);
    sp_json_put(all, "analyses", json_integer(path->analyses), failed);
    sp_json_put(all, "seconds_total", sp_json_number(path->seconds_total), failed);
    sp_json_put(all, "seconds_solver", sp_json_number(path->seconds_solver), failed);
    sp_json_put(all, "seconds_analyse", sp_json_number(path->seconds_analyse), failed);
    return all;
}

static json_t *caution_lines(const sp_result *result, int *failed)
{
    char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE];
    json_t *all = json_array();
    int count = sp_cautions(result, lines);
    for (int i = 0; all && i < count; i++) sp_json_append(all, sp_json_text(lines[i]), failed);
    return all;
}

sp_status sp_writer_result_json(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_path *path = &result->path;
    int failed = 0;
    json_t *root = json_object();
    if (!root) return sp_fail(context, SP_NO_MEMORY, "no memory for result.json");
    sp_json_put(root, "program", sp_json_text("strutpress"), &failed);
    sp_json_put(root, "version", sp_json_text(sp_version()), &failed);
    sp_json_put(root, "case", sp_json_text(result->request.source), &failed);
    sp_json_put(root, "seed", json_integer(result->request.flaw_seed), &failed);
    sp_json_put(root, "cautions", caution_lines(result, &failed), &failed);
    sp_json_put(root, "settings", settings(&result->request, &failed), &failed);
    sp_json_put(root, "network", network_figures(&result->network, &failed), &failed);
    sp_json_put(root, "stop", sp_json_text(sp_stop_text(path->stop)), &failed);
    char words[SP_WORDS_SIZE];
    sp_words(result, words, sizeof words);
    sp_json_put(root, "words", sp_json_text(words), &failed);
    sp_json_put(root, "critical_step", critical_step(path, &failed), &failed);
    sp_json_put(root, "first_buckled_strut", buckled_strut(result, &failed), &failed);
    sp_json_put(root, "under_weight", under_weight(result, &failed), &failed);
    sp_json_put(root, "measures", measures(result, &failed), &failed);
    if (path->stage_count > 0) {
        sp_json_put(root, "stages", stages(path, &failed), &failed);
        sp_json_put(root, "cycles", cycles(path, &failed), &failed);
    }
    sp_json_put(root, "seeds", seeds(result, &failed), &failed);
    sp_json_put(root, "hardness", hardness(result, &failed), &failed);
    sp_json_put(root, "corners", corners(result, &failed), &failed);
    sp_json_put(root, "printed_width", printed_width(path, &failed), &failed);
    sp_json_put(root, "branches", branches(path, &failed), &failed);
    sp_json_put(root, "solid_block", solid_block(result, &failed), &failed);
    sp_json_put(root, "snaps", snaps(path, &failed), &failed);
    sp_json_put(root, "events", events(path, &failed), &failed);
    sp_json_put(root, "run", run_header(path, &failed), &failed);
    int refused = !failed && json_dumpf(root, stream, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS));
    json_decref(root);
    if (failed) return sp_fail(context, SP_NO_MEMORY, "no memory for result.json");
    fputc('\n', stream);
    sp_status status = sp_stream_end(context, stream);
    if (status == SP_OK && refused)
        return sp_fail(context, SP_NO_MEMORY, "no memory for result.json");
    return status;
}
