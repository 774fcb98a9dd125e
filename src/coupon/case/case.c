/* The typed case: rows, defaults, single values, checks over several values, print. */
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "case/case_rows.h"

static const sp_case_row rows[] = {
#define ROW(key, field, kind, unit, fallback, low, high, words, readers, doc)                      \
    {key, offsetof(sp_case, field), SP_KIND_##kind, unit, fallback, low, high, words, readers, doc},
    SP_CASE_ROWS(ROW)
#undef ROW
};
enum { ROW_COUNT = sizeof rows / sizeof rows[0] };
_Static_assert(ROW_COUNT <= SP_PARAMETER_MAX, "raise SP_PARAMETER_MAX");

static const struct {
    const char *name, *doc;
} sections[] = {
#define SECTION(name, doc) {name, doc},
    SP_SECTION_ROWS(SECTION)
#undef SECTION
};

int sp_parameter_count(void)
{
    return ROW_COUNT;
}

const sp_case_row *sp_case_row_at(int row)
{
    return &rows[row];
}

/* The rows in the order of their keys are sorted once, since every line of every stored coupon is
 * looked up. */
static int by_key[ROW_COUNT];
static pthread_once_t by_key_once = PTHREAD_ONCE_INIT;

static int compare_keys(const void *left, const void *right)
{
    return strcmp(rows[*(const int *)left].key, rows[*(const int *)right].key);
}

static void sort_keys(void)
{
    for (int i = 0; i < ROW_COUNT; i++) by_key[i] = i;
    qsort(by_key, ROW_COUNT, sizeof *by_key, compare_keys);
}

static int compare_to_row(const void *key, const void *row)
{
    return strcmp(key, rows[*(const int *)row].key);
}

int sp_case_row_find(const char *key)
{
    pthread_once(&by_key_once, sort_keys);
    const int *found = bsearch(key, by_key, ROW_COUNT, sizeof *by_key, compare_to_row);
    return found ? *found : -1;
}

int sp_case_is_group(const char *key)
{
    const size_t length = strlen(key);
    for (int i = 0; i < ROW_COUNT; i++)
        if (!strncmp(rows[i].key, key, length) && rows[i].key[length] == '.') return 1;
    return 0;
}

int sp_case_section_count(void)
{
    return (int)(sizeof sections / sizeof sections[0]);
}

const char *sp_case_section_at(int section, const char **doc)
{
    if (doc) *doc = sections[section].doc;
    return sections[section].name;
}

static char range_text[ROW_COUNT][SP_VALID_SIZE / 2];
static pthread_once_t range_text_once = PTHREAD_ONCE_INIT;

static void fill_range_text(void)
{
    for (int i = 0; i < ROW_COUNT; i++) sp_case_range_text(i, range_text[i], sizeof range_text[i]);
}

sp_parameter sp_parameter_at(int row)
{
    pthread_once(&range_text_once, fill_range_text);
    return (sp_parameter){rows[row].key, rows[row].unit, rows[row].doc, range_text[row],
                          rows[row].fallback[0] ? rows[row].fallback : "not given"};
}

/* Read from the rows once: a plan asks for the defaults a million times. */
static sp_case defaults;
static pthread_once_t defaults_once = PTHREAD_ONCE_INIT;

static void fill_defaults(void)
{
    for (int i = 0; i < ROW_COUNT; i++) {
        defaults.origin[i] = SP_ORIGIN_DEFAULT;
        if (rows[i].fallback[0])
            sp_case_row_parse(&defaults, i, rows[i].fallback);
        else if (rows[i].kind == SP_KIND_NUMBER)
            *(double *)((char *)&defaults + rows[i].offset) = NAN;
    }
}

void sp_case_default(sp_case *request)
{
    pthread_once(&defaults_once, fill_defaults);
    *request = defaults;
}

sp_case *sp_case_new(void)
{
    sp_case *request = sp_alloc(1, sizeof *request);
    if (request) sp_case_default(request);
    return request;
}

void sp_case_free(sp_case *request)
{
    sp_free(request);
}

/* File names are relative to the case file, so that a case can be run from anywhere. */
static int resolve_file(const sp_case *request, char *file)
{
    char joined[SP_FILE_SIZE];
    const char *slash = strrchr(request->source, '/');
    if (file[0] == '/' || !slash) return 1;
    int length = snprintf(joined, sizeof joined, "%.*s/%s", (int)(slash - request->source),
                          request->source, file);
    if (length < 0 || (size_t)length >= sizeof joined) return 0;
    memcpy(file, joined, (size_t)length + 1);
    return 1;
}

int sp_case_table_name(const char *files, int which, char name[SP_FILE_SIZE])
{
    const char *at = files;
    for (int i = 0; i < which; i++) {
        at = strchr(at, ';');
        if (!at) return 0;
        at++;
    }
    at += strspn(at, " \t");
    int length = (int)strcspn(at, ";");
    while (length > 0 && strchr(" \t", at[length - 1])) length--;
    if (length == 0) return 0;
    const int size = snprintf(name, SP_FILE_SIZE, "%.*s", length, at);
    return size > 0 && size < SP_FILE_SIZE ? 1 : -1;
}

/* Each of the names "a.txt; b.txt" is beside the file that gives them. */
static int resolve_tables(const sp_case *request, char *files)
{
    char all[SP_FILE_SIZE] = "", name[SP_FILE_SIZE];
    size_t used = 0;
    int found = 1;
    for (int i = 0; (found = sp_case_table_name(files, i, name)) > 0; i++) {
        if (!resolve_file(request, name)) return 0;
        const int size = snprintf(all + used, sizeof all - used, "%s%s", i ? "; " : "", name);
        if (size < 0 || used + (size_t)size >= sizeof all) return 0;
        used += (size_t)size;
    }
    if (found == 0) memcpy(files, all, sizeof all);
    return found == 0;
}

/* A name that is refused changes nothing; neither does any other value in sp_case_row_parse. */
static int set_file(sp_case *request, int row, const char *value)
{
    char *field = (char *)request + rows[row].offset, before[SP_FILE_SIZE];
    memcpy(before, field, sizeof before);
    if (sp_case_row_parse(request, row, value) &&
        (field == request->table_file || field == request->table_compression
             ? resolve_tables(request, field)
             : resolve_file(request, field)))
        return 1;
    memcpy(field, before, sizeof before);
    return 0;
}

static sp_status set_row(sp_context *context, sp_case *request, int row, int line,
                         const char *value)
{
    char valid[SP_VALID_SIZE], word[SP_NAME_SIZE];
    sp_nearest nearest = {0};
    if (rows[row].kind == SP_KIND_FILE ? set_file(request, row, value)
                                       : sp_case_row_parse(request, row, value)) {
        request->origin[row] = SP_ORIGIN_FILE;
        request->line[row] = line;
        return SP_OK;
    }
    for (int i = 0; rows[row].kind == SP_KIND_CHOICE && sp_case_row_word(row, i, word); i++)
        sp_nearest_offer(&nearest, value, word);
    if (!nearest.name[0]) sp_case_near_miss(row, value, nearest.name);
    sp_case_range_text(row, valid, sizeof valid);
    return sp_case_fail(context, line ? request->source : "", line, rows[row].key, value, valid,
                        nearest.name);
}

/* These keys stand for one row per axis each. */
static const struct {
    const char *key;
    const char *const rows[3];
    int least;
    const char *valid;
} triples[] = {
    {"infill.offset",
     {"infill.offset_x", "infill.offset_y", "infill.offset_z"},
     2,
     "[x, y] or [x, y, z], numbers in cells from -100 to 100"},
    {"infill.cells",
     {"infill.cells_x", "infill.cells_y", "infill.cells_z"},
     3,
     "[x, y, z], three whole numbers from 1 to 1000"},
};

static int find_triple(const char *key)
{
    for (int i = 0; i < (int)(sizeof triples / sizeof *triples); i++)
        if (!strcmp(triples[i].key, key)) return i;
    return -1;
}

int sp_case_key_rows(const char *key, int row[3])
{
    const int triple = find_triple(key);
    for (int k = 0; k < 3; k++)
        row[k] = sp_case_row_find(triple < 0 ? key : triples[triple].rows[k]);
    return triple >= 0 ? 3 : row[0] >= 0;
}

int sp_case_keys_meet(const char *left, const char *right)
{
    int a[3], b[3];
    const int a_count = sp_case_key_rows(left, a), b_count = sp_case_key_rows(right, b);
    for (int i = 0; i < a_count; i++)
        for (int k = 0; k < b_count; k++)
            if (a[i] == b[k]) return 1;
    return 0;
}

int sp_case_triple_line(const sp_case *request, const char *key)
{
    int triple = find_triple(key), line = 0;
    for (int k = 0; triple >= 0 && k < 3 && !line; k++)
        line = request->line[sp_case_row_find(triples[triple].rows[k])];
    return line;
}

/* "infill.offset: [x, y]" and keys like it stand for their rows. */
static sp_status set_triple(sp_context *context, sp_case *request, int triple, int line,
                            const char *value)
{
    sp_list list;
    sp_case trial = *request;
    int good = sp_case_list_parse(sp_case_row_find(triples[triple].rows[0]), value, &list) &&
               list.count >= triples[triple].least && list.count <= 3;
    for (int k = 0; good && k < list.count; k++) {
        char text[SP_NAME_SIZE];
        int row = sp_case_row_find(triples[triple].rows[k]);
        snprintf(text, sizeof text, "%.17g", list.value[k]);
        good = sp_case_row_parse(&trial, row, text) &&
               (rows[row].kind != SP_KIND_INTEGER || list.value[k] >= 1);
        trial.origin[row] = SP_ORIGIN_FILE;
        trial.line[row] = line;
    }
    if (!good)
        return sp_case_fail(context, line ? request->source : "", line, triples[triple].key, value,
                            triples[triple].valid, NULL);
    *request = trial;
    return SP_OK;
}

static sp_status fail_unknown(sp_context *context, const char *source, int line, const char *key)
{
    sp_nearest nearest = {0};
    const char *dot = strrchr(key, '.'), *name = dot ? dot + 1 : key;
    char valid[SP_VALID_SIZE] = "";
    size_t section = dot ? (size_t)(dot - key) + 1 : 0;
    for (int i = 0; i < ROW_COUNT; i++) { /* the right name in another section comes first */
        sp_nearest_offer(&nearest, name, strchr(rows[i].key, '.') + 1);
        if (nearest.name[0] && nearest.distance == 0) break;
    }
    int exact = nearest.name[0] && nearest.distance == 0;
    for (int i = 0; exact && i < ROW_COUNT; i++)
        if (!strcmp(strchr(rows[i].key, '.') + 1, nearest.name)) {
            snprintf(nearest.name, sizeof nearest.name, "%s", rows[i].key);
            break;
        }
    if (!exact) {
        nearest = (sp_nearest){0};
        for (int i = 0; i < ROW_COUNT; i++) sp_nearest_offer(&nearest, key, rows[i].key);
    }
    for (int i = 0; i < ROW_COUNT; i++)
        if (section && !strncmp(rows[i].key, key, section))
            sp_case_add_name(valid, sizeof valid, rows[i].key + section);
    return sp_case_fail(context, source, line, "", key,
                        valid[0] ? valid : "SECTION.NAME as `list parameters` prints them",
                        nearest.name);
}

sp_status sp_case_set_at(sp_context *context, sp_case *request, const char *key, int line,
                         const char *value)
{
    int row = sp_case_row_find(key), triple = find_triple(key);
    if (triple >= 0) return set_triple(context, request, triple, line, value);
    if (row < 0) return fail_unknown(context, line ? request->source : "", line, key);
    return set_row(context, request, row, line, value);
}

sp_status sp_case_set(sp_context *context, sp_case *request, const char *key, const char *value)
{
    return sp_case_set_at(context, request, key, 0, value);
}

int sp_case_is_solid(const sp_case *request)
{
    if (!strcmp(request->pattern, SP_SOLID_NAME)) return 1;
    /* A density that follows from cells and diameter counts every crossing twice; the lines are
     * drawn as they are given. */
    return request->density >= 1 && strcmp(request->pattern, "drawn") != 0 &&
           strcmp(request->pattern, SP_PRINTED_NAME) != 0 &&
           request->origin[sp_case_row_find("infill.density")] != SP_ORIGIN_DERIVED;
}

static sp_status check_friction(sp_context *context, const sp_case *request)
{
    static const char key[] = "platens.friction";
    if (request->platens == SP_PLATENS_FRICTION && !(request->platen_friction > 0))
        return sp_case_fail_at(context, request, key, NULL,
                               "a coefficient above 0 with `hold: friction`", NULL);
    if (request->platens == SP_PLATENS_SLIDING && request->platen_friction > 0)
        return sp_case_fail_at(context, request, key, NULL,
                               "0 with `hold: sliding`, which has none; `hold: friction` has",
                               NULL);
    return SP_OK;
}

static sp_status check_rates(sp_context *context, const sp_case *request)
{
    const sp_list *rates = &request->reach_rates;
    if (rates->count == 0 || (rates->count == 2 && rates->value[0] <= rates->value[1]))
        return SP_OK;
    return sp_case_fail_at(context, request, "material.reach_rates", NULL,
                           "two rates, the lowest and the highest, such as [1e-4, 1e-2]", NULL);
}

/* A reader refuses what is out of range; a program that sets members by hand has no reader. */
static sp_status check_ranges(sp_context *context, const sp_case *request)
{
    char received[SP_FILE_SIZE], valid[SP_VALID_SIZE];
    for (int i = 0; i < ROW_COUNT; i++) {
        if (request->origin[i] == SP_ORIGIN_DERIVED)
            continue; /* whatever derives the value keeps it in its range */
        if (sp_case_row_is_valid(request, i, received, sizeof received)) continue;
        sp_case_range_text(i, valid, sizeof valid);
        return sp_case_fail_at(context, request, rows[i].key, received, valid, NULL);
    }
    return SP_OK;
}

sp_status sp_case_check(sp_context *context, const sp_case *request)
{
    sp_status status = check_ranges(context, request);
    if (status == SP_OK) status = check_rates(context, request);
    return status == SP_OK ? check_friction(context, request) : status;
}

static void print_origin(const sp_case *request, int row, FILE *stream)
{
    switch ((sp_origin)request->origin[row]) {
    case SP_ORIGIN_DEFAULT:
        fprintf(stream, "default");
        break;
    case SP_ORIGIN_DERIVED:
        fprintf(stream, "derived");
        break;
    case SP_ORIGIN_FILE:
        if (request->line[row])
            fprintf(stream, "line %d", request->line[row]);
        else
            fprintf(stream, "set");
        break;
    }
}

void sp_case_print(const sp_case *request, int only_changed, FILE *stream)
{
    char value[SP_FILE_SIZE], clean[4 * SP_FILE_SIZE];
    for (int i = 0; i < ROW_COUNT; i++) {
        if (only_changed && request->origin[i] == SP_ORIGIN_DEFAULT) continue;
        sp_case_value_text(request, i, value, sizeof value);
        sp_printable(value, clean, sizeof clean);
        fprintf(stream, "%-26s %-16s ", rows[i].key, clean);
        print_origin(request, i, stream);
        fputc('\n', stream);
    }
}

int sp_case_asks_for_time(const sp_case *request)
{
    return request->softening_ratio > 0 || request->relaxation_exponent > 0 ||
           request->relaxation_set > 0 || request->relaxation_shares.count > 0 ||
           request->flow_share > 0 || request->second_flow_share > 0;
}
