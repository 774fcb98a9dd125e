/* What the cases of a store leave out of their measures. */
#include <string.h>

#include "case/case_parts.h"
#include "compare/compare_parts.h"
#include "write/text.h"

/* The resolved case of a group, files left out: for what hangs on its choices. */
static void case_of(const group *g, sp_case *request)
{
    sp_case_default(request);
    for (int i = 0; i < g->line_count; i++) {
        char key[2 * SP_NAME_SIZE], value[SP_FILE_SIZE];
        const size_t word = strcspn(g->line[i], " ");
        if (!g->line[i][word]) continue;
        snprintf(key, sizeof key, "%.*s", (int)word, g->line[i]);
        snprintf(value, sizeof value, "%s", g->line[i] + word + 1);
        const int row = sp_case_row_find(key);
        if (row < 0 || !strcmp(value, "-") || sp_case_row_at(row)->kind == SP_KIND_FILE) continue;
        sp_case_row_parse(request, row, value);
    }
}

sp_modelled compare_modelled(const sp_compare *c, const group *g, int column,
                             char words[SP_MODELLED_SIZE])
{
    sp_case request;
    case_of(g, &request);
    return sp_measure_modelled(column_name(c, column), &request, words);
}

/* The words of a column that no group before has said of it; "" when there are none. */
static int is_told(const sp_compare *c, int before, int column, const char *words)
{
    char told[SP_MODELLED_SIZE];
    for (int i = 0; i < before; i++) {
        compare_modelled(c, &c->group[c->order[i]], column, told);
        if (!strcmp(told, words)) return 1;
    }
    return 0;
}

void compare_put_modelled(const sp_compare *c, FILE *stream)
{
    char words[SP_MODELLED_SIZE];
    for (int k = COLUMN_FIXED; k < c->column_count; k++)
        for (int i = 0; i < c->group_count; i++) {
            compare_modelled(c, &c->group[c->order[i]], k, words);
            if (words[0] && !is_told(c, i, k, words))
                sp_print(stream, "%s: %s\n", column_name(c, k), words);
        }
}
