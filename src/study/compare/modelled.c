/* What the cases of a store leave out of their measures. */
#include <math.h>
#include <string.h>

#include "case/case_parts.h"
#include "compare/compare_parts.h"
#include "write/text.h"

/* Find "section.name value" in a resolved case; files are left out, since a store does not hold
 * them. */
static void take_line(const char *line, size_t length, sp_case *request)
{
    char key[2 * SP_NAME_SIZE], value[SP_FILE_SIZE];
    const size_t word = strcspn(line, " ");
    if (word >= length) return;
    snprintf(key, sizeof key, "%.*s", (int)word, line);
    snprintf(value, sizeof value, "%.*s", (int)(length - word - 1), line + word + 1);
    const int row = sp_case_row_find(key);
    if (row < 0 || !strcmp(value, "-") || sp_case_row_at(row)->kind == SP_KIND_FILE) return;
    sp_case_row_parse(request, row, value);
}

void sp_compare_case_of_text(const char *text, sp_case *request)
{
    sp_case_default(request);
    for (; *text; text += strcspn(text, "\n"), text += *text == '\n')
        take_line(text, strcspn(text, "\n"), request);
}

/* Make the case of a group from its lines, for words that depend on what it chose. */
static void case_of(const group *g, sp_case *request)
{
    sp_case_default(request);
    for (int i = 0; i < g->line_count; i++) take_line(g->line[i], strlen(g->line[i]), request);
}

/* Return the last strain of the first replicate that the load limit ended without this column; NaN:
 * there is none. */
static double load_end_of(const sp_compare *c, const group *g, int column, const sp_case *request)
{
    for (int i = g->first; i < g->first + g->count; i++) {
        const double *value = c->coupon[i].value;
        if (c->coupon[i].outcome || isfinite(value[column])) continue;
        const double end = sp_measure_load_end_at(request, value[COLUMN_END]);
        if (!isnan(end)) return end;
    }
    return NAN;
}

sp_modelled sp_compare_modelled(const sp_compare *c, const group *g, int column,
                                char words[SP_MODELLED_SIZE])
{
    sp_case request;
    case_of(g, &request);
    const sp_modelled modelled =
        sp_measure_modelled(sp_compare_column_name(c, column), &request, words);
    const double end = load_end_of(c, g, column, &request);
    char reason[SP_MODELLED_SIZE];
    if (isnan(end) || !sp_measure_reason(sp_compare_column_name(c, column), &request, end, reason))
        return modelled;
    const int reached = g->figure[column].count;
    if (reached)
        snprintf(words, SP_MODELLED_SIZE, "in %d of %d seeds %.130s", g->count - reached, g->count,
                 reason);
    else
        snprintf(words, SP_MODELLED_SIZE, "%s", reason);
    return modelled;
}

/* Say what the case of a group alone leaves out of a column. */
static void left_out(const sp_compare *c, const group *g, int column, char words[SP_MODELLED_SIZE])
{
    sp_case request;
    case_of(g, &request);
    sp_measure_modelled(sp_compare_column_name(c, column), &request, words);
}

/* Write "square, density 30 %: plateau_end not reached: the load limit of 6 kN ended the press at
 * 39 % strain". */
static void put_ended(const sp_compare *c, const group *g, FILE *stream)
{
    char words[SP_MODELLED_SIZE], reason[SP_MODELLED_SIZE] = "";
    sp_case request;
    int count = 0;
    case_of(g, &request);
    for (int k = COLUMN_FIXED; k < c->column_count; k++) {
        const double end = load_end_of(c, g, k, &request);
        if (isnan(end) || !sp_measure_reason(sp_compare_column_name(c, k), &request, end, words))
            continue;
        memcpy(reason, words, sizeof reason);
        if (!count) sp_print(stream, "%s: ", g->label);
        sp_print(stream, "%s%s", count++ ? ", " : "", sp_compare_column_name(c, k));
    }
    if (count) sp_print(stream, " %s\n", reason);
}

/* Find the words on a column that no group before has said; "" when there are none. */
static int is_told(const sp_compare *c, int before, int column, const char *words)
{
    char told[SP_MODELLED_SIZE];
    for (int i = 0; i < before; i++) {
        left_out(c, &c->group[c->order[i]], column, told);
        if (!strcmp(told, words)) return 1;
    }
    return 0;
}

void sp_compare_put_modelled(const sp_compare *c, FILE *stream)
{
    char words[SP_MODELLED_SIZE];
    for (int k = COLUMN_FIXED; k < c->column_count; k++)
        for (int i = 0; i < c->group_count; i++) {
            left_out(c, &c->group[c->order[i]], k, words);
            if (words[0] && !is_told(c, i, k, words))
                sp_print(stream, "%s: %s\n", sp_compare_column_name(c, k), words);
        }
    for (int i = 0; i < c->group_count; i++) put_ended(c, &c->group[c->order[i]], stream);
}
