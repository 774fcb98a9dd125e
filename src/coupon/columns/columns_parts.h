/* The inside of the reader of columns. */
#ifndef SP_COLUMNS_COLUMNS_PARTS_H
#define SP_COLUMNS_COLUMNS_PARTS_H

#include "columns/columns.h"

/* A part of the text; no zero ends it. */
typedef struct column_span {
    const char *from, *end;
} column_span;
/* Return a span without the blanks around it, and without quotes around that. */
column_span sp_span_trim(column_span span);

/* Turn bytes into UTF-8 without a byte order mark, ended by a zero. *text is owned by the caller.
 * SP_NO_READ for bytes that are no text. */
sp_status sp_column_text(sp_context *context, const char *file, const char *bytes, size_t size,
                         char **text, size_t *length, const char **encoding);

typedef enum { CELL_TEXT, CELL_MISSING, CELL_NUMBER } cell_kind;
typedef struct column_cell {
    cell_kind kind;
    double value;
    int grouped;      /* 1: it has marks between thousands */
    column_span unit; /* the unit that stands behind the number; empty without one */
} column_cell;
column_cell sp_column_cell(column_span span, char decimal, char delimiter);

typedef struct column_layout {
    char delimiter, decimal;
    int column_count; /* columns of most rows; 0: nothing looks like rows */
    int is_text[SP_COLUMN_MAX];
} column_layout;

/* Split a line into its cells, at most SP_COLUMN_MAX + 1 of them. */
int sp_column_split(column_span line, char delimiter, column_span cell[SP_COLUMN_MAX + 1]);
/* Find the layout under which most of some lines are rows of numbers. */
column_layout sp_column_layout(const column_span *line, int count);

/* Read name and unit of a column from its head ("Weg [mm]", "Load, N", "kN") and from the unit line
 * below it; both may be empty. */
void sp_column_named(column_span name, column_span unit, sp_column *column);
/* Return 1 when every text is a unit or empty, and at least one is a unit. */
int sp_column_is_unit_line(const column_span *cell, int count);

#endif
