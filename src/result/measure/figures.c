/* Find figures by the words that a user asks for: measures, and values of the curve at an argument.
 */
#include <string.h>

#include "case/case_parts.h"
#include "measure/figure_list.h"

const sp_figure_row sp_figure_row_of[] = {
#define SP_FIGURE_ROW(name, unit, first, second, take, doc)                                        \
    {#name, unit, {first, second}, doc, take},
    SP_FIGURE_LIST(SP_FIGURE_ROW)
#undef SP_FIGURE_ROW
};
enum { FIGURES = sizeof sp_figure_row_of / sizeof *sp_figure_row_of };

const sp_figure_row *sp_figure_rows(int *count)
{
    *count = FIGURES;
    return sp_figure_row_of;
}

sp_measure sp_figure_take(const sp_figure *figure, const sp_measure *measure, const sp_curve *curve)
{
    if (!figure->row) return measure[figure->measure];
    return figure->row->take(curve, figure->argument * (figure->of_strain ? curve->height : 1));
}

static const sp_figure_row *find_row(const char *name, size_t length)
{
    for (int i = 0; i < FIGURES; i++)
        if (strlen(sp_figure_row_of[i].name) == length &&
            !strncmp(sp_figure_row_of[i].name, name, length))
            return &sp_figure_row_of[i];
    return NULL;
}

static int find_measure(const char *text, sp_figure *figure, char nearest[SP_NAME_SIZE])
{
    int count;
    sp_nearest near = {0};
    char word[SP_NAME_SIZE];
    const sp_measure_row *row = sp_measure_rows(&count);
    snprintf(word, sizeof word, "%.*s", (int)strcspn(text, " "), text);
    for (int i = 0; i < count; i++) {
        sp_nearest_offer(&near, word, row[i].name);
        if (strcmp(row[i].name, text)) continue;
        figure->measure = i;
        figure->unit = row[i].unit;
        return 1;
    }
    for (int i = 0; i < FIGURES; i++) sp_nearest_offer(&near, word, sp_figure_row_of[i].name);
    memcpy(nearest, near.name, sizeof near.name);
    return 0;
}

/* Read the argument in the first of its units that fits. */
static int read_argument(const char *text, sp_figure *figure)
{
    for (int i = 0; i < 2 && figure->row->argument_unit[i][0]; i++) {
        const char *unit = figure->row->argument_unit[i];
        if (!sp_case_unit_parse(unit, text, &figure->argument) || !(figure->argument > 0)) continue;
        figure->of_strain = !strcmp(unit, "%");
        return 1;
    }
    return 0;
}

static void say_arguments(const sp_figure_row *row, char *valid, size_t size)
{
    char unit[2][SP_VALID_SIZE / 4] = {"", ""};
    const int both = row->argument_unit[1][0] != '\0';
    for (int i = 0; i <= both; i++)
        sp_case_unit_text(row->argument_unit[i], unit[i], sizeof unit[i]);
    snprintf(valid, size, "%s and %s%s%s above 0: %s", row->name, unit[0], both ? " or " : "",
             unit[1], row->doc);
}

int sp_figure_find(const char *text, sp_figure *figure, char *valid, size_t size,
                   char nearest[SP_NAME_SIZE])
{
    const size_t length = strcspn(text, " ");
    const char *argument = text + length + strspn(text + length, " ");
    *figure = (sp_figure){.measure = -1, .row = find_row(text, length)};
    nearest[0] = 0;
    snprintf(figure->name, sizeof figure->name, "%.63s", text);
    if (figure->row) {
        figure->unit = figure->row->unit;
        if (read_argument(argument, figure)) return 1;
        say_arguments(figure->row, valid, size);
        return 0;
    }
    if (find_measure(text, figure, nearest)) return 1;
    size_t used = (size_t)snprintf(valid, size, "a name of `list measures`");
    for (int i = 0; i < FIGURES && used < size; i++) {
        const sp_figure_row *row = &sp_figure_row_of[i];
        used += (size_t)snprintf(valid + used, size - used, ", or %s with a value in %s%s%s",
                                 row->name, row->argument_unit[0],
                                 row->argument_unit[1][0] ? " or " : "", row->argument_unit[1]);
    }
    return 0;
}
