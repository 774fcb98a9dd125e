/* Columns of numbers in a text file as test rigs export it: whatever its encoding, delimiter,
 * decimal mark, head lines and order of columns. What the columns mean is recognised by names and
 * units; what is done with them belongs to other rooms. */
#ifndef SP_COLUMNS_COLUMNS_H
#define SP_COLUMNS_COLUMNS_H

#include <stddef.h>

#include <strutpress/context.h>

enum { SP_COLUMN_MAX = 64, SP_COLUMN_TEXT_SIZE = 48, SP_COLUMN_UNIT_SIZE = 12 };

typedef enum sp_quantity {
    SP_QUANTITY_UNKNOWN,
    SP_QUANTITY_TIME,     /* s */
    SP_QUANTITY_TRAVEL,   /* mm */
    SP_QUANTITY_FORCE,    /* N */
    SP_QUANTITY_STRAIN,   /* a fraction */
    SP_QUANTITY_STRESS,   /* MPa */
    SP_QUANTITY_SPECIMEN, /* a number or a name */
    SP_QUANTITY_CYCLE,    /* a number or a name */
    SP_QUANTITY_COUNT     /* number of the row */
} sp_quantity;
const char *sp_quantity_word(sp_quantity quantity);

typedef struct sp_column {
    char name[SP_COLUMN_TEXT_SIZE]; /* as the file has it, printable; "" without a name */
    char unit[SP_COLUMN_UNIT_SIZE]; /* as the file has it; "" without a unit */
    sp_quantity quantity;           /* by its unit, else by its name */
    double factor;                  /* of a value in the file to the unit of its quantity */
    int is_text; /* 1: its values are numbers of the texts, 0 for the first text that is met */
} sp_column;

/* A block: rows that follow each other with no line of text between them. */
typedef struct sp_column_block {
    int first_row, row_count;
    int head_line, head_count; /* the lines of text above it; lines count from 1 */
    int has_names;             /* one of them names the columns */
    sp_column column[SP_COLUMN_MAX];
} sp_column_block;

typedef struct sp_columns {
    const char *encoding; /* in words */
    char delimiter;       /* '\t' ';' '|' ',' or ' ' (runs of blanks) */
    char decimal;         /* '.' or ',' */
    /* Lines; values with marks between thousands; empty values; rows of another shape, which are
     * left out. */
    int line_count, grouped, missing, stray;
    int column_count, row_count, block_count;
    double *value;          /* row_count x column_count, NaN where the file has none; owned */
    int *line;              /* row_count, the line of each row, from 1; owned */
    sp_column_block *block; /* owned */
    char (*text)[SP_COLUMN_TEXT_SIZE]; /* the texts of columns that hold text; owned */
    int text_count;
} sp_columns;

/* Read the columns of a file, or of bytes in memory. A file has at most 64 MB, 2 million rows and
 * 64 columns. Errors: SP_NO_READ with file, line, what was received and what would be valid;
 * SP_NO_MEMORY. Freed with sp_columns_free, also after a failure. */
sp_status sp_columns_read(sp_context *context, const char *file, sp_columns *columns);
sp_status sp_columns_parse(sp_context *context, const char *file, const char *bytes, size_t size,
                           sp_columns *columns);
void sp_columns_free(sp_columns *columns);

/* Find the quantity of a unit of force, travel, time, strain or stress by its text; UNKNOWN when it
 * is none of these. */
sp_quantity sp_unit_find(const char *text, size_t length, double *factor);

#endif
