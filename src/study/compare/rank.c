/* Compare series: exponents over the solid fraction, and a measure at equal mass. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/compare_parts.h"
#include "measure/spread.h"

/* Each density gives one point, the median of its replicates: they share how far their density lies
 * off the line, so counting each of them would make the interval too narrow. */
static line_fit fit_column(const sp_compare *c, const series *s, int column, double *x, double *y)
{
    int count = 0;
    for (int m = s->first; m < s->first + s->count; m++) {
        const sp_spread *f = c->group[c->member[m]].figure;
        if (!f[COLUMN_SOLID].count || !f[column].count) continue;
        if (!(f[COLUMN_SOLID].median > 0 && f[column].median > 0)) continue;
        x[count] = log10(f[COLUMN_SOLID].median);
        y[count++] = log10(f[column].median);
    }
    return sp_fit_line(count, x, y);
}

/* ---- equal mass ----------------------------------------------- */

/* Interpolate between the neighbouring medians, straight in log-log; nothing beyond the ends. */
static int value_at_mass(const sp_compare *c, const series *s, double mass, double *value)
{
    const sp_spread *below = NULL, *above = NULL;
    for (int i = s->first; i < s->first + s->count; i++) {
        const sp_spread *f = c->group[c->member[i]].figure;
        if (!f[COLUMN_MASS].count || !f[COLUMN_RANK].count || !(f[COLUMN_RANK].median > 0))
            continue;
        const double m = f[COLUMN_MASS].median;
        if (m <= mass * (1 + 1e-9) && (!below || m > below[COLUMN_MASS].median)) below = f;
        if (m >= mass * (1 - 1e-9) && (!above || m < above[COLUMN_MASS].median)) above = f;
    }
    if (!below || !above) return 0;
    const double a = log(below[COLUMN_MASS].median), b = log(above[COLUMN_MASS].median);
    const double share = b - a > 1e-9 ? (log(mass) - a) / (b - a) : 0;
    *value =
        exp((1 - share) * log(below[COLUMN_RANK].median) + share * log(above[COLUMN_RANK].median));
    return 1;
}

static void find_masses(sp_compare *c)
{
    for (int g = 0; g < c->group_count; g++) {
        const sp_spread *f = c->group[g].figure;
        series *s = &c->series[c->group[g].series];
        if (!f[COLUMN_MASS].count || !f[COLUMN_RANK].count) continue;
        const double m = f[COLUMN_MASS].median;
        if (s->mass_low <= 0 || m < s->mass_low) s->mass_low = m;
        if (m > s->mass_high) s->mass_high = m;
    }
}

/* Choose the middle of the masses that all series reach; where they have none in common, the median
 * of the masses. */
static sp_status choose_mass(sp_context *context, sp_compare *c)
{
    double low = 0, high = INFINITY;
    int count = 0;
    double *mass = sp_alloc((size_t)c->group_count, sizeof *mass);
    if (!mass) return sp_fail(context, SP_NO_MEMORY, "no memory for the ranking");
    for (int s = 0; s < c->series_count; s++) {
        if (c->series[s].mass_high <= 0) continue;
        low = fmax(low, c->series[s].mass_low);
        high = fmin(high, c->series[s].mass_high);
    }
    for (int g = 0; g < c->group_count; g++)
        if (c->group[g].figure[COLUMN_MASS].count)
            mass[count++] = c->group[g].figure[COLUMN_MASS].median;
    if (low > 0 && low <= high)
        c->mass = 0.5 * (low + high);
    else if (count)
        c->mass = sp_spread_of(mass, count).median;
    sp_free(mass);
    return SP_OK;
}

static int compare_ranks(const void *left, const void *right, void *user)
{
    const sp_compare *c = user;
    const int a = *(const int *)left, b = *(const int *)right;
    const series *p = &c->series[a], *q = &c->series[b];
    if (p->ranked != q->ranked) return q->ranked - p->ranked;
    if (p->ranked && (p->rank_value < q->rank_value || p->rank_value > q->rank_value))
        return p->rank_value > q->rank_value ? -1 : 1;
    return a - b;
}

sp_status sp_compare_rank(sp_context *context, sp_compare *c, double mass)
{
    double *x = sp_alloc((size_t)c->group_count, sizeof *x);
    double *y = sp_alloc((size_t)c->group_count, sizeof *y);
    c->ranking = sp_alloc((size_t)c->series_count, sizeof *c->ranking);
    sp_status status =
        x && y && c->ranking ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for the ranking");
    for (int s = 0; s < c->series_count && status == SP_OK; s++) {
        c->series[s].stiffness = fit_column(c, &c->series[s], COLUMN_STIFFNESS, x, y);
        c->series[s].plateau = fit_column(c, &c->series[s], COLUMN_PLATEAU, x, y);
    }
    sp_free(x);
    sp_free(y);
    find_masses(c);
    c->mass = mass;
    if (status == SP_OK && !(mass > 0)) status = choose_mass(context, c);
    if (status != SP_OK) return status;
    for (int s = 0; s < c->series_count; s++) {
        c->ranking[s] = s;
        if (c->mass > 0)
            c->series[s].ranked =
                value_at_mass(c, &c->series[s], c->mass, &c->series[s].rank_value);
    }
    qsort_r(c->ranking, (size_t)c->series_count, sizeof *c->ranking, compare_ranks, c);
    return SP_OK;
}
