/* This file reads rows of two numbers from a text file. */
#include "table/table_file.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "columns/plain.h"

enum { LINE_SIZE = 256 };
static const int rows_max = 100000; /* a file with more is not a measured curve */
static const int lines_max = 20000000;

sp_status sp_table_add(sp_context *context, sp_table_rows *rows, double strain, double stress,
                       int line)
{
    sp_table_row *grown = sp_grow(rows->row, rows->count, &rows->capacity, 64, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for the rows of a table");
    rows->row = grown;
    rows->row[rows->count++] = (sp_table_row){strain, stress, line};
    return SP_OK;
}

void sp_table_free(sp_table_rows *rows)
{
    sp_free(rows->row);
    *rows = (sp_table_rows){0};
}

/* This is ten times the modulus of diamond (common knowledge, no source) [MPa]. A larger stress is
 * a mistake of the writer, and the sums of a law over it would leave the range of numbers. */
static const double largest_stress = 1e7;

/* Check a single row: it must be finite, above full compression, and its stress must have the sign
 * of the strain. */
static sp_status check_row(sp_context *context, const char *file, int number, double strain,
                           double stress)
{
    if (!isfinite(strain) || !isfinite(stress))
        return sp_fail(context, SP_NO_READ,
                       "%s:%d: received strain %g, stress %g; valid: finite numbers", file, number,
                       strain, stress);
    if (!(strain > -0.98 && strain <= 100))
        return sp_fail(context, SP_NO_READ,
                       "%s:%d: received strain %g; valid: above -0.98 and at most 100 (a fraction, "
                       "not per cent; compression negative)",
                       file, number, strain);
    if (!(fabs(stress) <= largest_stress))
        return sp_fail(context, SP_NO_READ,
                       "%s:%d: received stress %g MPa; valid: between -1e7 and 1e7 MPa", file,
                       number, stress);
    if (strain * stress < 0 || (strain == 0) != (stress == 0))
        return sp_fail(context, SP_NO_READ,
                       "%s:%d: received strain %g with stress %g; valid: both positive (tension), "
                       "both negative (compression) or both 0",
                       file, number, strain, stress);
    return SP_OK;
}

const sp_table_kind sp_strain_stress = {"nominal strain and nominal stress in MPa", check_row};

static sp_status take_line(sp_context *context, const char *file, int number, char *text,
                           const sp_table_kind *kind, int *header_allowed, sp_table_rows *rows)
{
    if (*text == '\0') return SP_OK;
    double value[2] = {0, 0};
    const char *end;
    const int is_row = sp_plain_numbers(text, 2, value, &end) == 2 && *end == '\0';
    const int is_header = *header_allowed && !is_row && sp_plain_is_head(text);
    const double strain = value[0], stress = value[1];
    *header_allowed = 0;
    if (is_header) return SP_OK;
    if (!is_row)
        return sp_fail(
            context, SP_NO_READ,
            "%s:%d: received \"%.60s\"; valid: two finite numbers with decimal points, %s", file,
            number, text, kind->valid);
    if (rows->count >= rows_max)
        return sp_fail(context, SP_NO_READ, "%s:%d: more than %d rows; valid: fewer", file, number,
                       rows_max);
    const sp_status status = kind->check(context, file, number, strain, stress);
    return status == SP_OK ? sp_table_add(context, rows, strain, stress, number) : status;
}

static sp_status read_lines(sp_context *context, const char *file, FILE *stream,
                            const sp_table_kind *kind, sp_table_rows *rows)
{
    char line[LINE_SIZE];
    int header_allowed = 1;
    for (int number = 1; fgets(line, sizeof line, stream); number++) {
        if (number > lines_max)
            return sp_fail(context, SP_NO_READ, "%s: received over %d lines; valid: fewer", file,
                           lines_max);
        if (!strchr(line, '\n') && !feof(stream))
            return sp_fail(context, SP_NO_READ,
                           "%s:%d: the line is longer than %d characters or not text; valid: two "
                           "numbers per line",
                           file, number, LINE_SIZE - 2);
        const sp_status status = take_line(context, file, number, sp_plain_trim(line, number), kind,
                                           &header_allowed, rows);
        if (status != SP_OK) return status;
    }
    if (ferror(stream)) return sp_fail(context, SP_NO_READ, "%s: %s", file, strerror(errno));
    return SP_OK;
}

sp_status sp_table_read(sp_context *context, const char *file, const sp_table_kind *kind,
                        sp_table_rows *rows)
{
    FILE *stream = fopen(file, "r");
    if (!stream) return sp_fail(context, SP_NO_READ, "%s: %s", file, strerror(errno));
    const sp_status status = read_lines(context, file, stream, kind, rows);
    fclose(stream);
    return status;
}

static int by_strain(const void *first, const void *second)
{
    const sp_table_row *a = first, *b = second;
    if (a->strain != b->strain) return a->strain < b->strain ? -1 : 1;
    return (a->line > b->line) - (a->line < b->line);
}

sp_status sp_table_sort(sp_context *context, const char *file, sp_table_rows *rows)
{
    if (rows->count > 1) qsort(rows->row, (size_t)rows->count, sizeof *rows->row, by_strain);
    int kept = 0;
    for (int i = 0; i < rows->count; i++) {
        const sp_table_row *row = &rows->row[i], *last = kept ? &rows->row[kept - 1] : NULL;
        if (last && row->strain - last->strain < 1e-9) {
            if (row->stress != last->stress)
                return sp_fail(context, SP_NO_READ,
                               "%s:%d: received stress %g at strain %g, but line %d has %g there; "
                               "valid: one stress per strain",
                               file, row->line, row->stress, row->strain, last->line, last->stress);
            continue;
        }
        rows->row[kept++] = *row;
    }
    rows->count = kept;
    return SP_OK;
}

sp_status sp_table_of_case(sp_context *context, const sp_case *request, sp_table_rows *rows)
{
    const char *file = request->table_file;
    if (file[0] == '\0')
        return sp_fail(context, SP_BAD_CASE,
                       "law %s: material.table_file is missing; valid: a text file with rows of "
                       "nominal strain and nominal stress [MPa]",
                       request->law);
    sp_status status = sp_table_at_rate(context, request, "material.table", file, rows);
    if (status == SP_OK) status = sp_table_add_compression(context, request, rows);
    /* A case that a program has filled in may have no scale. */
    for (int i = 0; status == SP_OK && request->table_scale > 0 && i < rows->count; i++)
        rows->row[i].stress *= request->table_scale;
    return status;
}
