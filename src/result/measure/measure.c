/* The table of measures. */
#include "measure/figure_list.h"
#include "measure/measure_list.h"

static const sp_measure_row rows[] = {
#define SP_MEASURE_ROW(name, unit, doc) {#name, unit, doc, sp_measure_##name, NULL, 0},
#define SP_MEASURE_AT(name, figure, strain, unit, doc)                                             \
    {#name, unit, doc, NULL, &sp_figure_row_of[SP_FIGURE_##figure], strain},
    SP_MEASURE_LIST(SP_MEASURE_ROW, SP_MEASURE_AT)
#undef SP_MEASURE_AT
#undef SP_MEASURE_ROW
};

const sp_measure_row *sp_measure_rows(int *count)
{
    *count = (int)(sizeof rows / sizeof rows[0]);
    return rows;
}

sp_measure sp_measure_take(const sp_measure_row *row, const sp_path *path,
                           const sp_network *network, const sp_case *request)
{
    char words[SP_MODELLED_SIZE];
    if (sp_measure_modelled(row->name, request, words) == SP_NOT_MODELLED)
        return (sp_measure){0, 0.0};
    if (row->take) return row->take(path, network, request);
    const sp_curve curve = sp_curve_of_path(path);
    return row->figure->take(&curve, row->strain * curve.height);
}
