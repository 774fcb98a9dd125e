/* The inside of the reader of columns. */
#ifndef SP_COLUMNS_COLUMNS_PARTS_H
#define SP_COLUMNS_COLUMNS_PARTS_H

#include "columns/columns.h"

/* A piece of the text, not ended by a zero. */
typedef struct column_span {
    const char *from, *end;
} column_span;
column_span sp_span_trim(column_span span); /* without blanks, and without quotes around it */

/* Bytes as UTF-8 without a byte order mark, ended by a zero. *text is owned by the caller.
 * SP_NO_READ for what is no text. */
sp_status sp_column_text(sp_context *context, const char *file, const char *bytes, size_t size,
                         char **text, size_t *length, const char **encoding);

typedef enum { CELL_TEXT, CELL_MISSING, CELL_NUMBER } cell_kind;
typedef struct column_cell {
    cell_kind kind;
    double value;
    int grouped;      /* marks between thousands */
    column_span unit; /* that stands behind the number; empty without */
} column_cell;
column_cell sp_column_cell(column_span span, char decimal, char delimiter);

typedef struct column_layout {
    char delimiter, decimal;
    int column_count; /* of most rows; 0: nothing that looks like rows */
    int is_text[SP_COLUMN_MAX];
} column_layout;

/* The cells of a line, at most SP_COLUMN_MAX + 1 of them. */
int sp_column_split(column_span line, char delimiter, column_span cell[SP_COLUMN_MAX + 1]);
/* The layout under which most of some lines are rows of numbers. */
column_layout sp_column_layout(const column_span *line, int count);

/* Name and unit of a column from its head ("Weg [mm]", "Load, N", "kN"), and the unit line below;
 * both may be empty. */
void sp_column_named(column_span name, column_span unit, sp_column *column);
/* Is every text a unit, or empty, and one at least a unit? */
int sp_column_is_unit_line(const column_span *cell, int count);

#endif
