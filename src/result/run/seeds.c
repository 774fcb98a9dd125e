/* One coupon with several seeds of its flaws: how far its figures scatter. */
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/threads.h"
#include "run/result.h"

typedef struct seeds {
    const sp_resolved *resolved;
    const sp_context *outer;
    int count, rows;
    double *value; /* row by row, count of each; NaN: not reached */
    sp_result **result;
    sp_status status; /* and the message of the first press that failed */
    char message[SP_MESSAGE_SIZE];
} seeds;

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median and ends of the seeds whose curves get there. */
static sp_spread spread_of(double *value, int count)
{
    int got = 0;
    for (int i = 0; i < count; i++)
        if (isfinite(value[i])) value[got++] = value[i];
    if (got == 0) return (sp_spread){0, NAN, NAN, NAN};
    qsort(value, (size_t)got, sizeof *value, by_size);
    return (sp_spread){got, 0.5 * (value[(got - 1) / 2] + value[got / 2]), value[0],
                       value[got - 1]};
}

/* Press seed number `k`: the first one with the context of the caller, the others quietly. */
static void press_seed(seeds *s, sp_context *context, int k)
{
    sp_resolved resolved = *s->resolved; /* the drawing stays that of the original */
    sp_context own = {.interrupt = s->outer->interrupt};
    resolved.request.flaw_seed += k;
    if (k) resolved.request.find_critical = 0; /* that of the coupon without flaws is the same */
    const sp_status status = sp_run_resolved(k ? &own : context, &resolved, &s->result[k]);
    if (status == SP_OK) return;
#pragma omp critical(sp_seeds)
    if (s->status == SP_OK) {
        s->status = status;
        snprintf(s->message, sizeof s->message, "%s", k ? own.message : context->message);
    }
}

static void press_all(seeds *s, sp_context *context)
{
    const int asked = omp_get_max_threads();
    const int threads = sp_thread_room(asked < s->count ? asked : s->count);
#pragma omp parallel num_threads(threads)
    {
        omp_set_num_threads(asked / threads);
#pragma omp for schedule(dynamic, 1)
        for (int k = 0; k < s->count; k++) press_seed(s, context, k);
    }
    omp_set_num_threads(asked);
}

static void gather(seeds *s, sp_result *whole)
{
    for (int k = 0; k < s->count; k++) {
        int count;
        const sp_measure *measure = sp_result_measures(s->result[k], &count);
        whole->seeds_early += sp_stop_exit(sp_result_stop(s->result[k])) != 0;
        for (int i = 0; i < s->rows; i++)
            s->value[(size_t)(i * s->count + k)] =
                i < count && measure[i].reached ? measure[i].value : NAN;
    }
    for (int i = 0; i < s->rows; i++)
        whole->spread[i] = spread_of(s->value + i * s->count, s->count);
    whole->seeds = s->count;
}

sp_status sp_run_seeds(sp_context *context, const sp_case *request, int count, sp_result **result)
{
    sp_resolved resolved;
    sp_context quiet = {0};
    if (!context) context = &quiet;
    *result = NULL;
    if (count <= 1 || request->flaw_seed == 0) return sp_run(context, request, result);
    sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_INTERRUPTED || (status == SP_OK && resolved.built == SP_BUILT_SOLID)) {
        sp_resolved_free(&resolved);
        return sp_run(context, request, result);
    }
    seeds s = {.resolved = &resolved, .outer = context, .count = count};
    sp_measure_rows(&s.rows);
    if (status == SP_OK) {
        s.value = sp_alloc((size_t)s.rows * (size_t)count, sizeof *s.value);
        s.result = sp_alloc((size_t)count, sizeof *s.result);
        if (!s.value || !s.result)
            status = sp_fail(context, SP_NO_MEMORY, "no memory for %d seeds", count);
    }
    if (status == SP_OK) {
        press_all(&s, context);
        status = s.status;
        if (status != SP_OK) sp_fail(context, status, "%s", s.message);
    }
    if (status == SP_OK) {
        sp_result *first = s.result[0];
        first->spread = sp_alloc((size_t)s.rows, sizeof *first->spread);
        if (first->spread) {
            gather(&s, first);
            *result = first, s.result[0] = NULL;
        } else
            status = sp_fail(context, SP_NO_MEMORY, "no memory for %d seeds", count);
    }
    for (int k = 0; s.result && k < count; k++) sp_result_free(s.result[k]);
    sp_free(s.result);
    sp_free(s.value);
    sp_resolved_free(&resolved);
    return status;
}
