/* List the rows of patterns and laws for people. */
#include <strutpress/inspect.h>

#include <math.h>

#include "law/law.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"

int sp_list_pattern_count(void)
{
    int planar, spatial;
    sp_pattern_rows(&planar);
    sp_cell_rows(&spatial);
    return planar + spatial + 2;
}

sp_listed sp_list_pattern_at(int row)
{
    int planar, spatial;
    const sp_pattern_row *pattern = sp_pattern_rows(&planar);
    const sp_cell_row *cell = sp_cell_rows(&spatial);
    if (row < planar)
        return (sp_listed){pattern[row].name, pattern[row].alias, pattern[row].doc, "", 2,
                           pattern[row].angle};
    if (row == planar + spatial + 1)
        return (sp_listed){
            SP_PRINTED_NAME,
            "",
            "What the tool path of a printer lays down (infill.toolpath), see docs/printed.md",
            "",
            0,
            NAN};
    if (row == planar + spatial)
        return (sp_listed){SP_SOLID_NAME,
                           "",
                           "Full block, pressed in closed form from its law and shape factor; also "
                           "any pattern with a density of 100 %",
                           "",
                           0,
                           NAN};
    cell += row - planar;
    return (sp_listed){cell->name, cell->alias, cell->doc, "", 3, NAN};
}

int sp_list_law_count(void)
{
    int count;
    sp_law_rows(&count);
    return count;
}

sp_listed sp_list_law_at(int row)
{
    int count;
    const sp_law_row *law = &sp_law_rows(&count)[row];
    return (sp_listed){law->name, "", law->doc, law->needs, 0, NAN};
}
