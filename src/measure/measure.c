/* The table of measures. */
#include "measure/measure_list.h"

static const sp_measure_row rows[] = {
#define SP_MEASURE_ROW(name, unit, doc) {#name, unit, doc, sp_measure_##name},
    SP_MEASURE_LIST(SP_MEASURE_ROW)
#undef SP_MEASURE_ROW
};

const sp_measure_row *sp_measure_rows(int *count)
{
    *count = (int)(sizeof rows / sizeof rows[0]);
    return rows;
}
