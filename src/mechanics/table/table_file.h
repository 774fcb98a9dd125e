/* The rows of a tabulated law: measured nominal strain and nominal stress [MPa]. */
#ifndef SP_TABLE_TABLE_FILE_H
#define SP_TABLE_TABLE_FILE_H

#include <strutpress/case.h>
#include <strutpress/context.h>

typedef struct sp_table_row {
    /* Both are nominal: stretch - 1, and force per unloaded area [MPa]; tension is positive. */
    double strain, stress;
    int line; /* in the file; 0 for a row that was derived */
} sp_table_row;

typedef struct sp_table_rows {
    int count, capacity;
    sp_table_row *row; /* owned */
} sp_table_rows;

sp_status sp_table_add(sp_context *context, sp_table_rows *rows, double strain, double stress,
                       int line);

/* Sort the rows by strain; the same strain twice is allowed only with the same stress, else
 * SP_NO_READ. `file` names them in the error. */
sp_status sp_table_sort(sp_context *context, const char *file, sp_table_rows *rows);

/* This says what the two columns of a file are. */
typedef struct sp_table_kind {
    const char *valid; /* in words, behind "two numbers with decimal points, " */
    /* Check one row; fails as SP_NO_READ with file:line. */
    sp_status (*check)(sp_context *context, const char *file, int line, double first,
                       double second);
} sp_table_kind;
extern const sp_table_kind sp_strain_stress;

/* Read two columns per line into strain and stress, whatever they mean, separated by comma,
 * semicolon, tab or blanks; one header line is allowed, and '#' starts a remark. Errors: SP_NO_READ
 * with file:line, the value received and what is valid; SP_NO_MEMORY. The caller frees with
 * sp_table_free, also after a failure. */
sp_status sp_table_read(sp_context *context, const char *file, const sp_table_kind *kind,
                        sp_table_rows *rows);
void sp_table_free(sp_table_rows *rows);

/* Read the rows of the one file of a case, or interpolate those at the rate of the case from its
 * curves at several rates (rates.c); they are sorted. `files` is table_file or table_compression of
 * the case, and `key` its name in a case file. Errors as for sp_table_of_case. */
sp_status sp_table_at_rate(sp_context *context, const sp_case *request, const char *key,
                           const char *files, sp_table_rows *rows);

/* Return the rate at which the fibres of a case are assumed to be strained: material.rate, else
 * that of the coupon [1/s]. */
double sp_table_rate(const sp_case *request);

/* Add the rows of material.table_compression, if there are any, to those of material.table, with
 * negative signs (compression.c). Errors as for sp_table_of_case. */
sp_status sp_table_add_compression(sp_context *context, const sp_case *request,
                                   sp_table_rows *rows);

/* Return 1 when compression was measured in a test of its own, whose rows stand in
 * material.table_compression. */
static inline int sp_table_has_compression(const sp_case *request)
{
    return request->table_compression[0] != 0;
}

/* Read the rows of a case in tension and compression, and sort them. Fails as SP_BAD_CASE when the
 * case names no file. The caller frees the rows as after sp_table_read. */
sp_status sp_table_of_case(sp_context *context, const sp_case *request, sp_table_rows *rows);

#endif
