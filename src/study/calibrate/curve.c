/* Curves of force over shortening: read from a rig, and taken stretch by stretch. */
#include <math.h>

#include "base/alloc.h"
#include "calibrate/calibrate_parts.h"
#include "measure/curve.h"
#include "table/table_file.h"

static const double shortening_max = 10000; /* mm, as the height of a coupon */

static sp_status check_row(sp_context *context, const char *file, int line, double shortening,
                           double force)
{
    if (isfinite(shortening) && isfinite(force) && fabs(shortening) <= shortening_max) return SP_OK;
    return sp_fail(context, SP_NO_READ,
                   "%s:%d: received %g mm with %g N; valid: finite numbers, and a shortening of at "
                   "most %g mm",
                   file, line, shortening, force, shortening_max);
}

static const sp_table_kind rig_curve = {"shortening in mm and force in N", check_row};

void sp_cal_curve_free(cal_curve *curve)
{
    sp_free(curve->shortening);
    sp_free(curve->force);
    *curve = (cal_curve){0};
}

/* The coupon is touched at `starts_at`: without force there, and rows before it do not count. */
static sp_status take_rows(sp_context *context, const char *file, double starts_at,
                           const sp_table_rows *rows, cal_curve *curve)
{
    int at = 1; /* the first point is 0, 0 */
    for (int i = 0; i < rows->count; i++) {
        const sp_table_row *row = &rows->row[i];
        if (i > 0 && row->strain < rows->row[i - 1].strain)
            return sp_fail(context, SP_NO_READ,
                           "%s:%d: received %g mm after %g mm; valid: shortenings that do not fall "
                           "(the loading alone)",
                           file, row->line, row->strain, rows->row[i - 1].strain);
        if (!(row->strain > starts_at)) continue;
        curve->shortening[at] = row->strain - starts_at;
        curve->force[at++] = row->stress;
    }
    curve->count = at;
    if (at > 2) return SP_OK;
    return sp_fail(context, SP_NO_READ,
                   "%s: received %d rows beyond a shortening of %g mm; valid: at least 2 rows of "
                   "shortening in mm and force in N",
                   file, at - 1, starts_at);
}

sp_status sp_cal_curve_read(sp_context *context, const char *file, double starts_at,
                            cal_curve *curve)
{
    sp_table_rows rows = {0};
    *curve = (cal_curve){0};
    sp_status status = sp_table_read(context, file, &rig_curve, &rows);
    if (status == SP_OK) {
        curve->shortening = sp_alloc((size_t)rows.count + 1, sizeof *curve->shortening);
        curve->force = sp_alloc((size_t)rows.count + 1, sizeof *curve->force);
        if (!curve->shortening || !curve->force)
            status = sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    }
    if (status == SP_OK) status = take_rows(context, file, starts_at, &rows, curve);
    sp_table_free(&rows);
    return status;
}

sp_curve sp_cal_curve_view(const cal_curve *curve)
{
    return (sp_curve){.count = curve->count,
                      .stride = sizeof *curve->force,
                      .shortening = curve->shortening,
                      .force = curve->force};
}

void sp_cal_stretches(const sp_curve *curve, double end, double force[CAL_STRETCHES])
{
    for (int k = 0; k < CAL_STRETCHES; k++)
        force[k] =
            sp_curve_mean_force(curve, end * k / CAL_STRETCHES, end * (k + 1) / CAL_STRETCHES);
}
