/* GET /api/rows: what a form may hold and what figures there are. */
#include <math.h>
#include <string.h>

#include <strutpress/filament.h>
#include <strutpress/inspect.h>
#include <strutpress/measure.h>

#include "place/place.h"
#include "case/case_parts.h"
#include "caution/caution.h"
#include "write/json.h"
#include "write/text.h"

static json_t *choices_of(int row, int *failed)
{
    const char *key = sp_case_row_at(row)->key;
    char word[SP_NAME_SIZE];
    json_t *all = json_array();
    for (int i = 0; !strcmp(key, "infill.pattern") && i < sp_list_pattern_count(); i++)
        sp_json_append(all, sp_json_text(sp_list_pattern_at(i).name), failed);
    int filaments = 0;
    const sp_filament *filament = sp_filaments(&filaments);
    for (int i = 0; !strcmp(key, "material.filament") && i < filaments; i++)
        sp_json_append(all, sp_json_text(filament[i].name), failed);
    for (int i = 0; !strcmp(key, "material.law") && i < sp_list_law_count(); i++)
        sp_json_append(all, sp_json_text(sp_list_law_at(i).name), failed);
    for (int i = 0; sp_case_row_at(row)->kind == SP_KIND_CHOICE && sp_case_row_word(row, i, word);
         i++)
        sp_json_append(all, sp_json_text(word), failed);
    return all;
}

static json_t *row_of(int at, int *failed)
{
    static const char *const kinds[] = {
        [SP_KIND_NUMBER] = "number", [SP_KIND_INTEGER] = "whole", [SP_KIND_CHOICE] = "choice",
        [SP_KIND_NAME] = "text",     [SP_KIND_FILE] = "file",     [SP_KIND_TEXT] = "text",
        [SP_KIND_LIST] = "list"};
    const sp_case_row *row = sp_case_row_at(at);
    const sp_parameter shown = sp_parameter_at(at);
    json_t *one = json_object(), *choices = choices_of(at, failed);
    char group[SP_NAME_SIZE];
    snprintf(group, sizeof group, "%.*s", (int)strcspn(row->key, "."), row->key);
    sp_json_put(one, "key", sp_json_text(row->key), failed);
    sp_json_put(one, "group", sp_json_text(group), failed);
    sp_json_put(one, "unit", sp_json_text(row->unit), failed);
    /* A text with choices may also be another text: the file of a filament. */
    const int chosen = json_array_size(choices) && row->kind != SP_KIND_TEXT;
    sp_json_put(one, "kind", sp_json_text(chosen ? "choice" : kinds[row->kind]), failed);
    sp_json_put(one, "choices", choices, failed);
    sp_json_put(one, "low", sp_json_number(row->low), failed);
    sp_json_put(one, "high", sp_json_number(row->high), failed);
    sp_json_put(one, "range", sp_json_text(shown.range), failed);
    sp_json_put(one, "default", sp_json_text(shown.fallback[0] ? shown.fallback : "not given"),
                failed);
    sp_json_put(one, "help", sp_json_text(shown.doc), failed);
    return one;
}

static void put_figure(json_t *to, const char *name, const char *unit, int argument,
                       const char *help, int *failed)
{
    char words[SP_NAME_SIZE];
    json_t *one = json_object();
    sp_name_in_words(name, words, sizeof words);
    sp_json_put(one, "id", sp_json_text(name), failed);
    sp_json_put(one, "label", sp_json_text(words), failed);
    sp_json_put(one, "unit", sp_json_text(unit), failed);
    sp_json_put(one, "argument", json_boolean(argument), failed);
    sp_json_put(one, "help", sp_json_text(help), failed);
    sp_json_append(to, one, failed);
}

static json_t *figures(int *failed)
{
    int count;
    json_t *all = json_array();
    const sp_measure_row *measure = sp_measure_rows(&count);
    for (int i = 0; i < count; i++)
        put_figure(all, measure[i].name, measure[i].unit, 0, measure[i].doc, failed);
    const sp_figure_row *figure = sp_figure_rows(&count);
    for (int i = 0; i < count; i++)
        put_figure(all, figure[i].name, figure[i].unit, 1, figure[i].doc, failed);
    return all;
}

static json_t *patterns(int *failed)
{
    json_t *all = json_array();
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        json_t *one = json_object();
        /* The form shows names such as "square"; "name" is what a case is resolved to. */
        sp_json_put(one, "id", sp_json_text(row.alias && row.alias[0] ? row.alias : row.name),
                    failed);
        sp_json_put(one, "name", sp_json_text(row.name), failed);
        sp_json_put(one, "words", sp_json_text(row.doc), failed);
        sp_json_put(one, "space", sp_json_text(row.dimension == 3 ? "spatial" : "planar"), failed);
        sp_json_append(all, one, failed);
    }
    return all;
}

void sp_reply_rows(sp_reply *reply)
{
    int failed = 0;
    json_t *all = json_object(), *rows = json_array();
    for (int i = 0; i < sp_parameter_count(); i++)
        sp_json_append(rows, row_of(i, &failed), &failed);
    sp_json_put(all, "version", sp_json_text(sp_version()), &failed);
    sp_json_put(all, "rows", rows, &failed);
    sp_json_put(all, "figures", figures(&failed), &failed);
    sp_json_put(all, "patterns", patterns(&failed), &failed);
    sp_json_put(all, "safety", sp_json_text(SP_CAUTION_SAFETY), &failed);
    sp_reply_json(reply, 200, all, failed);
}
