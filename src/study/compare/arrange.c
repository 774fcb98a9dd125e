/* Order groups for the table, label them, and find the series that differ in the density alone. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "compare/compare_parts.h"
#include "write/text.h"

typedef struct arranger {
    const sp_compare *compare;
    int varies[LINE_MAX]; /* 1 where the groups differ; the flaw seed never counts */
} arranger;

static int is_key(const char *line, const char *key)
{
    const size_t length = strlen(key);
    return !strncmp(line, key, length) && line[length] == ' ';
}

static void split_lines(group *g)
{
    for (char *at = g->text; *at && g->line_count < LINE_MAX;) {
        char *end = strchr(at, '\n');
        g->line[g->line_count++] = at;
        if (!end) break;
        *end = 0;
        at = end + 1;
    }
}

static const char *line_at(const group *g, int i)
{
    return i < g->line_count ? g->line[i] : "";
}

static void find_varying(arranger *a)
{
    const sp_compare *c = a->compare;
    for (int g = 1; g < c->group_count; g++)
        for (int i = 0; i < LINE_MAX; i++)
            if (!a->varies[i] && strcmp(line_at(&c->group[0], i), line_at(&c->group[g], i)))
                a->varies[i] = !is_key(line_at(&c->group[g], i), "flaws.seed");
    /* A single group has no difference to be labelled by, so it is called by its pattern. */
    for (int i = 0; c->group_count == 1 && i < LINE_MAX; i++)
        a->varies[i] = is_key(line_at(&c->group[0], i), "infill.pattern");
}

/* Write "density 12 %" for "infill.density 0.12"; a pattern or a law is written by its value alone.
 */
static void append_value(char *label, const char *line)
{
    char key[2 * SP_NAME_SIZE], words[2 * SP_NAME_SIZE] = "", value[SP_FILE_SIZE];
    sp_case shown;
    const char *space = strchr(line, ' ');
    if (!space) return;
    snprintf(key, sizeof key, "%.*s", (int)(space - line), line);
    snprintf(value, sizeof value, "%s", space + 1);
    const int row = sp_case_row_find(key);
    const sp_kind kind = row < 0 ? SP_KIND_NAME : sp_case_row_at(row)->kind;
    sp_case_default(&shown);
    if (row >= 0 && kind != SP_KIND_FILE && sp_case_row_parse(&shown, row, value))
        sp_case_value_text(&shown, row, value, sizeof value);
    const char *name = strchr(key, '.');
    const int plain = kind == SP_KIND_NAME || kind == SP_KIND_CHOICE || kind == SP_KIND_FILE;
    const size_t used = strlen(label);
    if (name && !plain) sp_name_in_words(name + 1, words, sizeof words);
    snprintf(label + used, LABEL_SIZE - used, "%s%s%s", used ? ", " : "", words, plain ? "" : " ");
    sp_printable(value, label + strlen(label), LABEL_SIZE - strlen(label));
}

static void write_labels(const arranger *a, group *g, char *label, int with_density)
{
    label[0] = 0;
    for (int i = 0; i < g->line_count; i++)
        if (a->varies[i] && (with_density || !is_key(g->line[i], "infill.density")))
            append_value(label, g->line[i]);
}

/* Order groups by the rows in which they differ, and numbers among them by size. */
static int compare_groups(const void *left, const void *right, void *user)
{
    const arranger *a = user;
    const group *p = &a->compare->group[*(const int *)left];
    const group *q = &a->compare->group[*(const int *)right];
    for (int i = 0; i < LINE_MAX; i++) {
        const char *s = line_at(p, i), *t = line_at(q, i);
        if (!a->varies[i] || !strcmp(s, t)) continue;
        char *s_end, *t_end;
        const char *s_value = strchr(s, ' '), *t_value = strchr(t, ' ');
        if (!s_value || !t_value) return strcmp(s, t);
        const double x = strtod(s_value, &s_end), y = strtod(t_value, &t_end);
        if (s_end != s_value && t_end != t_value && (x < y || x > y)) return x < y ? -1 : 1;
        return strcmp(s, t);
    }
    return *(const int *)left - *(const int *)right;
}

/* ---- series ----------------------------------------------- */

static int compare_series(const void *left, const void *right, void *user)
{
    const sp_compare *c = user;
    const group *p = &c->group[*(const int *)left], *q = &c->group[*(const int *)right];
    for (int i = 0; i < LINE_MAX; i++) {
        const char *s = line_at(p, i), *t = line_at(q, i);
        const int free_row = (is_key(s, "infill.density") && is_key(t, "infill.density")) ||
                             (is_key(s, "flaws.seed") && is_key(t, "flaws.seed") &&
                              strcmp(s, "flaws.seed 0") && strcmp(t, "flaws.seed 0"));
        const int order = free_row ? 0 : strcmp(s, t);
        if (order) return order;
    }
    return 0;
}

static sp_status number_series(sp_context *context, sp_compare *c)
{
    int *sorted = sp_alloc((size_t)c->group_count, sizeof *sorted);
    int *number = sp_alloc((size_t)c->group_count, sizeof *number);
    c->series = sp_alloc((size_t)c->group_count, sizeof *c->series);
    c->member = sp_alloc((size_t)c->group_count, sizeof *c->member);
    sp_status status = SP_OK;
    if (!sorted || !number || !c->series || !c->member) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for the comparison");
        goto done;
    }
    for (int g = 0; g < c->group_count; g++) sorted[g] = g;
    qsort_r(sorted, (size_t)c->group_count, sizeof *sorted, compare_series, c);
    for (int i = 0, s = 0; i < c->group_count; i++) {
        if (i && compare_series(&sorted[i - 1], &sorted[i], c)) s++;
        c->group[sorted[i]].series = s;
    }
    /* The series are numbered again in the order of the table. */
    for (int i = 0; i < c->group_count; i++) {
        group *g = &c->group[c->order[i]];
        if (!number[g->series]) number[g->series] = ++c->series_count;
        g->series = number[g->series] - 1;
    }
    for (int g = 0; g < c->group_count; g++) c->series[c->group[g].series].count++;
    for (int i = 1; i < c->series_count; i++)
        c->series[i].first = c->series[i - 1].first + c->series[i - 1].count;
    for (int i = 0; i < c->series_count; i++) number[i] = c->series[i].first;
    for (int i = 0; i < c->group_count; i++)
        c->member[number[c->group[c->order[i]].series]++] = c->order[i];
done:
    sp_free(sorted);
    sp_free(number);
    return status;
}

sp_status sp_compare_arrange(sp_context *context, sp_compare *c)
{
    arranger a = {.compare = c};
    for (int g = 0; g < c->group_count; g++) split_lines(&c->group[g]);
    find_varying(&a);
    for (int i = 0; i < LINE_MAX; i++)
        if (a.varies[i]) c->varied[c->varied_count++] = i;
    c->order = sp_alloc((size_t)c->group_count, sizeof *c->order);
    if (!c->order) return sp_fail(context, SP_NO_MEMORY, "no memory for the comparison");
    for (int g = 0; g < c->group_count; g++) c->order[g] = g;
    qsort_r(c->order, (size_t)c->group_count, sizeof *c->order, compare_groups, &a);
    sp_status status = number_series(context, c);
    for (int g = 0; g < c->group_count && status == SP_OK; g++) {
        group *one = &c->group[g];
        write_labels(&a, one, one->label, 1);
        if (one->name[0]) snprintf(one->label, sizeof one->label, "%s", one->name);
        if (one->name[0] && c->series[one->series].count == 1)
            snprintf(c->series[one->series].label, LABEL_SIZE, "%s", one->name);
        if (!c->series[one->series].label[0])
            write_labels(&a, one, c->series[one->series].label, 0);
        if (!c->series[one->series].label[0])
            append_value(c->series[one->series].label,
                         line_at(one, sp_case_row_find("infill.pattern")));
    }
    return status;
}
