/* Points of the search: coupons pressed with a set of values, or taken from the store. */
#include <math.h>
#include <strutpress/batch.h>
#include <string.h>

#include "base/alloc.h"
#include "calibrate/calibrate_parts.h"

/* The progress counts rounds of presses: the more there were, the nearer the end is. */
static void tell_progress(void *user, double fraction, const char *text)
{
    const sp_calibration *c = user;
    char line[96];
    (void)text;
    snprintf(line, sizeof line, "%d coupons pressed, set of values %d", c->pressed, c->rounds + 1);
    c->context->progress(c->context->user,
                         fmin(1, (c->rounds + fraction) / (c->rounds_expected + 1)), line);
}

/* Find which of the cases are not stored yet; they move to the front of `missing`. */
static sp_status list_missing(sp_calibration *c, const sp_case *request, int count,
                              sp_case *missing, int *missing_count)
{
    sp_status status = SP_OK;
    *missing_count = 0;
    for (int i = 0; i < count && status == SP_OK; i++) {
        sp_coupon_key known;
        int found = 0;
        status = sp_coupon_key_of_case(c->context, &request[i], &known);
        if (status == SP_OK) status = sp_store_has(c->context, c->store, &known, &found);
        c->stored += found;
        if (!found) missing[(*missing_count)++] = request[i];
    }
    return status;
}

static sp_status press_missing(sp_calibration *c, const sp_case *missing, int count)
{
    sp_context *context = c->context;
    sp_context own = {.interrupt = context->interrupt,
                      .progress = context->progress ? tell_progress : NULL,
                      .user = c};
    sp_batch_report report;
    const sp_status status =
        sp_batch_press_cases(&own, missing, count, c->store, c->threads, &report);
    c->pressed += report.pressed;
    if (status == SP_INTERRUPTED)
        return sp_fail(context, status,
                       "interrupted: %d presses of this calibration are stored; the same command "
                       "goes on",
                       c->pressed);
    return status == SP_OK ? SP_OK : sp_fail(context, status, "%s", own.message);
}

/* Add a share of the numbers of one stored coupon; a coupon without a curve is NaN throughout. */
static sp_status add_numbers(sp_calibration *c, const sp_case *request, const cal_coupon *coupon,
                             double share, double *number)
{
    sp_coupon_key known;
    sp_found found;
    sp_curve_point *point = NULL;
    double own[CAL_NUMBERS];
    int count = 0, measures;
    sp_measure_rows(&measures);
    sp_measure *measure = sp_alloc((size_t)measures, sizeof *measure);
    sp_status status = measure ? sp_coupon_key_of_case(c->context, request, &known)
                               : sp_fail(c->context, SP_NO_MEMORY, "no memory for measures");
    if (status == SP_OK) status = sp_store_get(c->context, c->store, &known, &found, measure);
    if (status == SP_OK && !found.found)
        status = sp_fail(
            c->context, SP_NO_MEMORY,
            "a coupon is not in the store after its press: there was no memory for it, or a "
            "file of its case has changed meanwhile; what is pressed is stored");
    if (status == SP_OK) status = sp_store_curve(c->context, c->store, found.id, &count, &point);
    const sp_curve curve = sp_curve_of_points(request, count, point);
    if (status == SP_OK) sp_cal_take(coupon, &curve, own);
    for (int k = 0; k < CAL_NUMBERS && status == SP_OK; k++) number[k] += share * own[k];
    sp_store_free_curve(point);
    sp_free(measure);
    return status;
}

sp_status sp_cal_press(sp_calibration *c, const cal_coupon *coupon, int count, const double *x,
                       double *force)
{
    const int seeds = c->tested->seed_count, all = count * seeds;
    sp_case *request = sp_alloc((size_t)all, sizeof *request);
    sp_case *missing = sp_alloc((size_t)all, sizeof *missing);
    int missing_count = 0;
    sp_status status = SP_OK;
    if (!request || !missing)
        status = sp_fail(c->context, SP_NO_MEMORY, "no memory for %d coupons", all);
    for (int i = 0; i < all && status == SP_OK; i++)
        sp_cal_case(c->tested, &coupon[i / seeds], x, i % seeds, &request[i]);
    if (status == SP_OK) status = list_missing(c, request, all, missing, &missing_count);
    if (status == SP_OK && missing_count) status = press_missing(c, missing, missing_count);
    memset(force, 0, (size_t)count * CAL_NUMBERS * sizeof *force);
    for (int i = 0; i < all && status == SP_OK; i++)
        status = add_numbers(c, &request[i], &coupon[i / seeds], 1.0 / seeds,
                             force + i / seeds * CAL_NUMBERS);
    c->rounds++;
    sp_free(missing);
    sp_free(request);
    return status;
}

static int same_values(const sp_tested *tested, const double *a, const double *b)
{
    for (int v = 0; v < tested->variable_count; v++)
        if (a[v] < b[v] || a[v] > b[v]) return 0;
    return 1;
}

sp_status sp_cal_point_at(sp_calibration *c, const double *x, int *point)
{
    const sp_tested *t = c->tested;
    for (*point = 0; *point < c->point_count; (*point)++)
        if (same_values(t, c->point[*point].x, x)) return SP_OK;
    cal_point *grown = sp_grow(c->point, c->point_count, &c->point_capacity, 32, sizeof *grown);
    if (!grown)
        return sp_fail(c->context, SP_NO_MEMORY, "no memory for %d points", c->point_count + 1);
    c->point = grown;
    cal_point *made = &c->point[c->point_count];
    memset(made, 0, sizeof *made);
    memcpy(made->x, x, sizeof made->x);
    made->force = sp_alloc((size_t)t->tested_count * CAL_NUMBERS, sizeof *made->force);
    if (!made->force) return sp_fail(c->context, SP_NO_MEMORY, "no memory for a point");
    c->point_count++;
    return sp_cal_press(c, t->tested, t->tested_count, x, made->force);
}
