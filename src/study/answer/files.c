/* Write the answer into a folder: JSON, CSV, case files, networks. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include <strutpress/resolve.h>

#include "answer/match.h"
#include "seek/seek_parts.h"
#include "caution/caution.h"
#include "write/file_set.h"
#include "writer/network_vtk.h"
#include "write/text.h"
#include "writer/writer_list.h"

enum { NAME_SIZE = SP_SET_NAME_SIZE, DIGITS = 12, SHORT_DIGITS = 5 };

static const seek_variant *variant_at(const sp_answer *answer, int place)
{
    return &answer->variant[answer->best[answer->order[place]]];
}

/* ---- JSON ----------------------------------------------- */

/* Take over `value`; when it is NULL (no memory), one check at the end finds it. */
static void put(json_t *object, const char *name, json_t *value, int *failed)
{
    if (!value || json_object_set_new(object, name, value) != 0) *failed = 1;
}

static void append(json_t *array, json_t *value, int *failed)
{
    if (!value || json_array_append_new(array, value) != 0) *failed = 1;
}

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *text(const char *value)
{
    char clean[SEEK_REMARK_SIZE];
    sp_printable(value, clean, sizeof clean);
    return json_string(clean);
}

static json_t *conditions(const sp_target *target, int *failed)
{
    json_t *all = json_array();
    for (int c = 0; c < target->condition_count; c++) {
        json_t *one = json_object();
        const sp_figure *figure = &target->figure[target->condition[c].figure];
        put(one, "figure", text(figure->name), failed);
        put(one, "unit", text(figure->unit), failed);
        put(one, "at_least", number(target->condition[c].low), failed);
        put(one, "at_most", number(target->condition[c].high), failed);
        append(all, one, failed);
    }
    return all;
}

static json_t *figures(const sp_target *target, const seek_record *record, int *failed)
{
    json_t *all = json_object();
    for (int f = 0; f < target->figure_count; f++) {
        json_t *one = json_object(), *seeds = json_array();
        for (int s = 0; s < record->seeds; s++) append(seeds, number(record->value[s][f]), failed);
        put(one, "unit", text(target->figure[f].unit), failed);
        put(one, "median", number(record->median[f]), failed);
        put(one, "low", number(record->low[f]), failed);
        put(one, "high", number(record->high[f]), failed);
        put(one, "seeds", seeds, failed);
        put(all, target->figure[f].name, one, failed);
    }
    return all;
}

/* Variables in the units of sp_case: mm, degrees, fractions, MPa. */
static json_t *variables(const sp_target *target, const double *x, int *failed)
{
    json_t *all = json_object();
    for (int v = 0; v < target->variable_count; v++)
        put(all, target->variable[v].key, number(x[v]), failed);
    return all;
}

static json_t *points(const sp_target *target, const sp_answer *answer, int candidate, int *failed)
{
    json_t *all = json_array();
    for (int i = 0; i < answer->variant_count; i++)
        for (int k = 0; k < answer->variant[i].count; k++) {
            const seek_record *record = &answer->variant[i].record[k];
            if (answer->variant[i].candidate != candidate) continue;
            json_t *one = json_object();
            put(one, "variables", variables(target, record->x, failed), failed);
            put(one, "figures", figures(target, record, failed), failed);
            put(one, "holds", json_boolean(record->least >= 0), failed);
            put(one, "pressed", json_integer(record->pressed), failed);
            put(one, "stored", json_integer(record->stored), failed);
            append(all, one, failed);
        }
    return all;
}

static json_t *candidate(const sp_answer *answer, int place, int *failed)
{
    const sp_target *target = answer->target;
    const seek_variant *variant = variant_at(answer, place);
    char label[SEEK_LABEL_SIZE], miss[SP_MESSAGE_SIZE + 64], name[NAME_SIZE];
    char remark[SEEK_REMARK_MAX][SEEK_REMARK_SIZE];
    json_t *one = json_object(), *remarks = json_array();
    sp_seek_candidate_label(target, answer->order[place], label);
    put(one, "candidate", text(label), failed);
    put(one, "reached", json_boolean(variant->reached), failed);
    if (variant->best >= 0) {
        const seek_record *record = &variant->record[variant->best];
        put(one, "variables", variables(target, record->x, failed), failed);
        put(one, "figures", figures(target, record, failed), failed);
    }
    if (variant->reached) {
        sp_seek_file_name(answer, place, "yaml", name, sizeof name);
        put(one, "case", text(name), failed);
        sp_seek_file_name(answer, place, "vtk", name, sizeof name);
        if (!sp_seek_candidate_is_solid(target, answer->order[place]))
            put(one, "network", text(name), failed);
    } else {
        sp_seek_miss_text(answer, variant, miss, sizeof miss);
        put(one, "misses", text(miss), failed);
    }
    const int count = sp_seek_remarks(answer, variant, remark);
    for (int i = 0; i < count; i++) append(remarks, text(remark[i]), failed);
    put(one, "remarks", remarks, failed);
    if (variant->uneven >= 0)
        put(one, "uneven", text(target->figure[variant->uneven].name), failed);
    put(one, "points", points(target, answer, answer->order[place], failed), failed);
    return one;
}

static sp_status write_json(sp_context *context, const sp_answer *answer, FILE *stream)
{
    const sp_target *target = answer->target;
    int failed = 0;
    json_t *all = json_object(), *candidates = json_array();
    put(all, "program", text("strutpress"), &failed);
    put(all, "version", text(sp_version()), &failed);
    put(all, "caution", text(SP_CAUTION_SAFETY), &failed);
    put(all, "target", text(target->source), &failed);
    put(all, "require", conditions(target, &failed), &failed);
    put(all, "save", text(target->figure[target->save].name), &failed);
    put(all, "judge", text(target->judge == SEEK_WORST ? "worst" : "median"), &failed);
    put(all, "reached", json_integer(answer->reached_count), &failed);
    put(all, "pressed", json_integer(answer->pressed), &failed);
    put(all, "stored", json_integer(answer->stored), &failed);
    for (int i = 0; i < target->candidate_count; i++)
        append(candidates, candidate(answer, i, &failed), &failed);
    put(all, "candidates", candidates, &failed);
    const int written =
        !failed && !json_dumpf(all, stream, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS));
    json_decref(all);
    if (failed) return sp_fail(context, SP_NO_MEMORY, "no memory for seek.json");
    if (!written && !ferror(stream))
        return sp_fail(context, SP_NO_MEMORY, "no memory for seek.json");
    fputc('\n', stream);
    return sp_stream_end(context, stream);
}

/* ---- CSV ----------------------------------------------- */

/* Write all of them into one cell. */
static void put_csv_remarks(const sp_answer *answer, const seek_variant *variant, FILE *stream)
{
    char remark[SEEK_REMARK_MAX][SEEK_REMARK_SIZE], cell[SEEK_REMARK_MAX * SEEK_REMARK_SIZE] = "";
    const int count = sp_seek_remarks(answer, variant, remark);
    for (int i = 0; i < count; i++) {
        const size_t used = strlen(cell);
        sp_format(cell + used, sizeof cell - used, "%s%s", i ? "; " : "", remark[i]);
    }
    sp_csv_text(stream, cell);
}

static void put_csv_row(const sp_answer *answer, int place, FILE *stream)
{
    const sp_target *target = answer->target;
    const seek_variant *variant = variant_at(answer, place);
    const seek_record *record = variant->best >= 0 ? &variant->record[variant->best] : NULL;
    char label[SEEK_LABEL_SIZE], miss[SP_MESSAGE_SIZE + 64] = "", cell[SP_NUMBER_SIZE];
    char name[NAME_SIZE] = "";
    sp_seek_candidate_label(target, answer->order[place], label);
    if (variant->reached)
        sp_seek_file_name(answer, place, "yaml", name, sizeof name);
    else
        sp_seek_miss_text(answer, variant, miss, sizeof miss);
    sp_print(stream, "%d,", place + 1);
    sp_csv_text(stream, label);
    sp_print(stream, ",%s", variant->reached ? "yes" : "no");
    for (int v = 0; v < target->variable_count; v++)
        sp_print(stream, ",%s", record ? sp_number(cell, record->x[v], DIGITS) : "");
    for (int f = 0; f < target->figure_count; f++) {
        sp_print(stream, ",%s", record ? sp_number(cell, record->median[f], DIGITS) : "");
        sp_print(stream, ",%s", record ? sp_number(cell, record->low[f], DIGITS) : "");
        sp_print(stream, ",%s,%d", record ? sp_number(cell, record->high[f], DIGITS) : "",
                 record ? record->reached[f] : 0);
    }
    sp_print(stream, ",%s,", name);
    sp_csv_text(stream, miss);
    fputc(',', stream);
    put_csv_remarks(answer, variant, stream);
    fputc('\n', stream);
}

static sp_status write_csv(sp_context *context, const sp_answer *answer, FILE *stream)
{
    const sp_target *target = answer->target;
    sp_print(stream, "place,candidate,reached");
    for (int v = 0; v < target->variable_count; v++)
        sp_print(stream, ",%s", target->variable[v].key);
    for (int f = 0; f < target->figure_count; f++) {
        const sp_figure *figure = &target->figure[f];
        sp_print(stream, ",%s [%s],%s low,%s high,%s seeds", figure->name, figure->unit,
                 figure->name, figure->name, figure->name);
    }
    sp_print(stream, ",case,misses,remarks\n");
    for (int i = 0; i < target->candidate_count; i++) put_csv_row(answer, i, stream);
    return sp_stream_end(context, stream);
}

/* ---- case and network ----------------------------------------------- */

static void head_text(const sp_answer *answer, int place, int seed, char *head, size_t size)
{
    const sp_target *target = answer->target;
    const seek_variant *variant = variant_at(answer, place);
    const seek_record *record = &variant->record[variant->best];
    char label[SEEK_LABEL_SIZE], one[SP_NUMBER_SIZE], median[SP_NUMBER_SIZE], source[SP_FILE_SIZE];
    sp_seek_candidate_label(target, answer->order[place], label);
    sp_printable(target->source, source, sizeof source);
    size_t used = (size_t)snprintf(head, size, "# %s: answer %d to %.400s, strutpress %s\n", label,
                                   place + 1, source, sp_version());
    for (int f = 0; f < target->figure_count && used < size; f++)
        used += (size_t)snprintf(
            head + used, size - used, "# %s %s %s with this flaw seed, median of %d: %s\n",
            target->figure[f].name, sp_number(one, record->value[seed][f], SHORT_DIGITS),
            target->figure[f].unit, target->seed_count,
            sp_number(median, record->median[f], SHORT_DIGITS));
    if (used < size) snprintf(head + used, size - used, "# %s\n", SP_CAUTION_SAFETY);
}

static sp_status write_case(sp_context *context, const sp_answer *answer, int place, FILE *stream)
{
    const seek_variant *variant = variant_at(answer, place);
    const seek_record *record = &variant->record[variant->best];
    const int seed = sp_seek_typical_seed(answer->target, record);
    sp_case request;
    char head[4096];
    sp_seek_record_case(answer, variant, record->x, seed, &request);
    head_text(answer, place, seed, head, sizeof head);
    sp_seek_write_case(&request, head, stream);
    return sp_stream_end(context, stream);
}

static sp_status write_vtk(sp_context *context, const sp_answer *answer, int place,
                           const sp_network *network, FILE *stream)
{
    char label[SEEK_LABEL_SIZE], title[SEEK_LABEL_SIZE + 80];
    sp_seek_candidate_label(answer->target, answer->order[place], label);
    snprintf(title, sizeof title, "%s: centrelines and their widths in mm (strutpress %s)", label,
             sp_version());
    sp_vtk_network(network, title, stream);
    return sp_stream_end(context, stream);
}

/* The store knows a coupon by the bytes of its drawing: one that it does not know is not the one
 * that was pressed. */
static sp_status check_pressed(sp_context *context, const sp_answer *answer,
                               const sp_resolved *resolved)
{
    sp_coupon_key known;
    int found = 0;
    sp_status status = sp_coupon_key_of(context, resolved, &known);
    if (status == SP_OK) status = sp_store_has(context, answer->store, &known, &found);
    if (status != SP_OK || found || !resolved->drawing) return status;
    const sp_case *request = &resolved->request;
    const int printed = !strcmp(request->pattern, SP_PRINTED_NAME);
    return sp_fail(
        context, SP_NO_READ,
        "%s: received a %.300s that has changed since it was pressed; valid: the file as "
        "it was (the same command then looks again)",
        printed ? "infill.toolpath" : "infill.network",
        printed ? request->toolpath_file : request->network_file);
}

/* Build the network without flaws, which the printer adds, of the drawing that was pressed. */
static sp_status build_network(sp_context *context, const sp_answer *answer, int place,
                               sp_result *built)
{
    const seek_variant *variant = variant_at(answer, place);
    sp_case request;
    sp_resolved resolved;
    sp_context quiet = {0}; /* its cautions were given with the press */
    sp_seek_record_case(answer, variant, variant->record[variant->best].x, 0, &request);
    sp_status status = sp_case_resolve(&quiet, &request, &resolved);
    if (status == SP_OK) status = check_pressed(&quiet, answer, &resolved);
    built->request = resolved.request;
    built->request.flaw_seed = 0;
    if (status == SP_OK) status = sp_resolved_network(&quiet, &resolved, 0, &built->network);
    sp_resolved_free(&resolved);
    return status == SP_OK ? SP_OK : sp_fail(context, status, "%s", quiet.message);
}

/* A network in space can go to print as it is. */
static sp_status write_network(sp_context *context, const sp_answer *answer, int place,
                               sp_file_set *set)
{
    sp_result built = {0};
    char name[NAME_SIZE];
    sp_status status = build_network(context, answer, place, &built);
    if (status != SP_OK || built.network.built == SP_BUILT_SOLID) return status;
    sp_seek_file_name(answer, place, "vtk", name, sizeof name);
    status = sp_file_set_open(context, set, name);
    if (status == SP_OK)
        status = sp_file_set_close(context, set,
                                   write_vtk(context, answer, place, &built.network, set->stream));
    if (status == SP_OK && built.network.dimension == 3) {
        sp_seek_file_name(answer, place, "3mf", name, sizeof name);
        status = sp_file_set_open(context, set, name);
        if (status == SP_OK)
            status = sp_file_set_close(context, set,
                                       sp_writer_network_3mf(context, &built, set->stream));
    }
    sp_network_free(&built.network);
    return status;
}

static sp_status write_match(sp_context *context, const sp_answer *answer, sp_file_set *set)
{
    if (!answer->target->match.curve.count) return SP_OK;
    sp_status status = sp_file_set_open(context, set, "measured.svg");
    if (status == SP_OK)
        status = sp_file_set_close(
            context, set, sp_measured_draw(context, &answer->target->match.curve, set->stream));
    if (status == SP_OK) status = sp_file_set_open(context, set, "match.svg");
    if (status == SP_OK)
        status =
            sp_file_set_close(context, set, sp_answer_draw_match(context, answer, set->stream));
    return status;
}

sp_status sp_answer_records(sp_context *context, const sp_answer *answer, sp_record_format format,
                            FILE *stream)
{
    return format == SP_FORMAT_JSON ? write_json(context, answer, stream)
                                    : write_csv(context, answer, stream);
}

sp_status sp_answer_write(sp_context *context, const sp_answer *answer, const char *folder)
{
    sp_file_set set;
    char name[NAME_SIZE];
    sp_status status =
        sp_file_set_begin(context, &set, folder, "seek", 4 + 3 * answer->target->candidate_count);
    if (status != SP_OK) return status;
    status = sp_file_set_open(context, &set, "seek.json");
    if (status == SP_OK)
        status = sp_file_set_close(context, &set, write_json(context, answer, set.stream));
    if (status == SP_OK) status = sp_file_set_open(context, &set, "seek.csv");
    if (status == SP_OK)
        status = sp_file_set_close(context, &set, write_csv(context, answer, set.stream));
    if (status == SP_OK) status = write_match(context, answer, &set);
    for (int i = 0; i < answer->reached_count && status == SP_OK; i++) {
        sp_seek_file_name(answer, i, "yaml", name, sizeof name);
        status = sp_file_set_open(context, &set, name);
        if (status == SP_OK)
            status = sp_file_set_close(context, &set, write_case(context, answer, i, set.stream));
        if (status == SP_OK) status = write_network(context, answer, i, &set);
    }
    return sp_file_set_end(context, &set, status);
}
