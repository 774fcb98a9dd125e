/* The figures a condition may ask for: measures, and values of the curve at an argument. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "case/case_parts.h"
#include "seek/figure_list.h"
#include "seek/seek_parts.h"

static const struct curve_row {
    const char *name, *unit, *argument_unit, *doc;
    sp_measure (*take)(const sp_curve_point *point, int count, double argument);
} curve_rows[] = {
#define SEEK_FIGURE_ROW(name, unit, argument_unit, doc)                                            \
    {#name, unit, argument_unit, doc, sp_seek_##name},
    SEEK_FIGURE_LIST(SEEK_FIGURE_ROW)
#undef SEEK_FIGURE_ROW
};
enum { CURVE_ROWS = sizeof curve_rows / sizeof curve_rows[0] };

/* Straight between the states; behind a snap at that very shortening, as in the measures. */
sp_measure sp_seek_force_at(const sp_curve_point *point, int count, double shortening)
{
    int i = count - 1;
    if (count < 2 || !(shortening >= 0) || !(shortening <= point[i].shortening * (1 + 1e-9)))
        return (sp_measure){0, 0};
    while (i > 0 && point[i].shortening > shortening) i--;
    if (i == count - 1) return (sp_measure){1, point[i].force};
    const double share =
        (shortening - point[i].shortening) / (point[i + 1].shortening - point[i].shortening);
    return (sp_measure){1, point[i].force + share * (point[i + 1].force - point[i].force)};
}

/* What a cushion takes up before it passes on more than the peak; all of the curve when it stays below. */
sp_measure sp_seek_energy_before(const sp_curve_point *point, int count, double peak)
{
    double energy = 0;
    if (count < 2) return (sp_measure){0, 0};
    for (int i = 1; i < count; i++) {
        const sp_curve_point *p = &point[i - 1], *q = p + 1;
        const double width = fmax(0, q->strain - p->strain);
        if (q->stress > peak) {
            const double share =
                p->stress < peak ? (peak - p->stress) / (q->stress - p->stress) : 0;
            energy += share * width * 0.5 * (p->stress + peak);
            break;
        }
        energy += width * 0.5 * (p->stress + q->stress);
    }
    return (sp_measure){isfinite(energy), energy};
}

sp_measure sp_seek_figure_take(const seek_figure *figure, const sp_measure *measure,
                               const sp_curve_point *point, int count)
{
    if (figure->measure >= 0) return measure[figure->measure];
    return curve_rows[figure->curve].take(point, count, figure->argument);
}

static int find_curve_row(const char *name, size_t length)
{
    for (int i = 0; i < CURVE_ROWS; i++)
        if (strlen(curve_rows[i].name) == length && !strncmp(curve_rows[i].name, name, length))
            return i;
    return -1;
}

static int find_measure(const char *text, seek_figure *figure, char nearest[SP_NAME_SIZE])
{
    int count;
    sp_nearest near = {0};
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++) {
        sp_nearest_offer(&near, text, row[i].name);
        if (strcmp(row[i].name, text)) continue;
        figure->measure = i;
        figure->unit = row[i].unit;
        return 1;
    }
    for (int i = 0; i < CURVE_ROWS; i++) sp_nearest_offer(&near, text, curve_rows[i].name);
    memcpy(nearest, near.name, sizeof near.name);
    return 0;
}

int sp_seek_figure_find(const char *text, seek_figure *figure, char *valid, size_t size,
                        char nearest[SP_NAME_SIZE])
{
    const size_t length = strcspn(text, " ");
    const char *argument = text + length + strspn(text + length, " ");
    *figure = (seek_figure){.measure = -1, .curve = find_curve_row(text, length)};
    nearest[0] = 0;
    snprintf(figure->name, sizeof figure->name, "%.63s", text);
    if (figure->curve >= 0) {
        const struct curve_row *row = &curve_rows[figure->curve];
        char unit[SP_VALID_SIZE / 2];
        figure->unit = row->unit;
        if (sp_case_unit_parse(row->argument_unit, argument, &figure->argument) &&
            figure->argument > 0)
            return 1;
        sp_case_unit_text(row->argument_unit, unit, sizeof unit);
        snprintf(valid, size, "%s and %s above 0: %s", row->name, unit, row->doc);
        return 0;
    }
    if (find_measure(text, figure, nearest)) return 1;
    size_t used = (size_t)snprintf(valid, size, "a name of `list measures`");
    for (int i = 0; i < CURVE_ROWS && used < size; i++)
        used += (size_t)snprintf(valid + used, size - used, ", or %s with a value in %s",
                                 curve_rows[i].name, curve_rows[i].argument_unit);
    return 0;
}
