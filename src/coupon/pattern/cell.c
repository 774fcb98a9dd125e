/* The table of spatial patterns. */
#include "pattern/cell.h"

#include <string.h>

static const sp_cell_row cell_row[] = {
#define SP_CELL(key, name, alias, doc) {name, alias, doc, sp_##key##_lattice, NULL},
#define SP_RANDOM_CELL(key, name, alias, doc) {name, alias, doc, NULL, sp_##key##_emit},
#include "pattern/cell_list.h"
#undef SP_CELL
#undef SP_RANDOM_CELL
};

const sp_cell_row *sp_cell_rows(int *count)
{
    *count = (int)(sizeof cell_row / sizeof *cell_row);
    return cell_row;
}

const sp_cell_row *sp_cell_find(const char *name_or_alias)
{
    int count;
    const sp_cell_row *rows = sp_cell_rows(&count);

    for (int i = 0; i < count; i++) {
        if (strcmp(rows[i].name, name_or_alias) == 0) return &rows[i];
        if (rows[i].alias[0] && strcmp(rows[i].alias, name_or_alias) == 0) return &rows[i];
    }
    return NULL;
}
