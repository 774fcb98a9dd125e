/* This file adds the rows of a compression test to those of tension (docs/theory.md, E249 to
 * E251). */
#include "table/table_file.h"

#include "base/alloc.h"

static const double most_shortening = 0.98; /* as of rows with negative signs */

/* A rig writes pressures as positive or as negative numbers. Give all rows negative signs; one that
 * has another sign than the others is refused. */
static sp_status turn(sp_context *context, const char *file, sp_table_rows *rows)
{
    double sign = 0;
    for (int i = 0; i < rows->count; i++) {
        sp_table_row *row = &rows->row[i];
        if (row->strain == 0 && row->stress == 0) continue;
        if (sign == 0) sign = row->strain > 0 ? 1 : -1;
        if (!(sign * row->strain > 0))
            return sp_fail(context, SP_NO_READ,
                           "%s:%d: received strain %g among %s ones; valid in "
                           "material.table_compression: all rows with one sign",
                           file, row->line, row->strain, sign > 0 ? "positive" : "negative");
        if (sign > 0 && !(row->strain < most_shortening))
            return sp_fail(context, SP_NO_READ,
                           "%s:%d: received strain %g of a compression test; valid: below %g, the "
                           "shortening over the height",
                           file, row->line, row->strain, most_shortening);
        row->strain *= sign > 0 ? -1 : 1;
        row->stress *= sign > 0 ? -1 : 1;
    }
    return SP_OK;
}

static sp_status join(sp_context *context, const char *file, const sp_table_rows *compression,
                      sp_table_rows *rows)
{
    for (int i = 0; i < rows->count; i++)
        if (rows->row[i].strain < 0)
            return sp_fail(context, SP_NO_READ,
                           "%s:%d: received strain %g, and material.table_compression is given; "
                           "valid: rows of compression in one of the two",
                           file, rows->row[i].line, rows->row[i].strain);
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < compression->count; i++) {
        const sp_table_row *row = &compression->row[i];
        if (row->strain < 0)
            status = sp_table_add(context, rows, row->strain, row->stress, row->line);
    }
    return status == SP_OK ? sp_table_sort(context, file, rows) : status;
}

static sp_status check_count(sp_context *context, const char *file, const sp_table_rows *rows)
{
    int count = 0;
    for (int i = 0; i < rows->count; i++) count += rows->row[i].strain < 0;
    if (count >= 2) return SP_OK;
    return sp_fail(context, SP_NO_READ,
                   "%s: received %d rows of a compression test besides 0 0; valid: at least 2",
                   file, count);
}

sp_status sp_table_add_compression(sp_context *context, const sp_case *request, sp_table_rows *rows)
{
    const char *files = request->table_compression;
    sp_table_rows compression = {0};
    if (!sp_table_has_compression(request)) return SP_OK;
    sp_status status =
        sp_table_at_rate(context, request, "material.table_compression", files, &compression);
    if (status == SP_OK) status = turn(context, files, &compression);
    if (status == SP_OK) status = check_count(context, files, &compression);
    if (status == SP_OK) status = join(context, request->table_file, &compression, rows);
    sp_table_free(&compression);
    return status;
}
