/* Choose the coupons whose states are drawn: of each pattern the first of the ranking, then the
 * others in order. */
#include "report/report_parts.h"

#include <math.h>
#include <string.h>

static const char *pattern_of(const group *g)
{
    static const char key[] = "infill.pattern ";
    for (int i = 0; i < g->line_count; i++)
        if (!strncmp(g->line[i], key, strlen(key))) return g->line[i] + strlen(key);
    return "";
}

typedef struct choice {
    const report *report;
    int limit, *group, *count;
} choice;

static int is_taken(const choice *c, int g)
{
    for (int i = 0; i < *c->count; i++)
        if (c->group[i] == g) return 1;
    return 0;
}

static int has_pattern(const choice *c, int g)
{
    const group *all = c->report->compare->group;
    for (int i = 0; i < *c->count; i++)
        if (!strcmp(pattern_of(&all[c->group[i]]), pattern_of(&all[g]))) return 1;
    return 0;
}

static void take(choice *c, int g)
{
    const sp_compare *compare = c->report->compare;
    if (g < 0 || *c->count == c->limit || is_taken(c, g)) return;
    if (sp_compare_typical(compare, &compare->group[g])) c->group[(*c->count)++] = g;
}

/* Find the coupon of a series whose mass is nearest the mass of the ranking; -1: none has a curve.
 */
static int nearest_mass(const sp_compare *compare, const series *s)
{
    int best = -1;
    double least = INFINITY;
    for (int i = s->first; i < s->first + s->count; i++) {
        const group *g = &compare->group[compare->member[i]];
        const double off = fabs(g->figure[COLUMN_MASS].median - compare->mass);
        if (!sp_compare_typical(compare, g) || (best >= 0 && !(off < least))) continue;
        best = compare->member[i];
        least = off;
    }
    return best;
}

static sp_status choose_named(choice *c)
{
    const report *r = c->report;
    const sp_compare *compare = r->compare;
    int left = 0;
    for (int k = 0; k < r->options->show_count; k++) {
        int found = 0;
        for (int i = 0; i < compare->group_count; i++) {
            const int g = compare->order[i];
            if (!strstr(compare->group[g].label, r->options->show[k])) continue;
            found = 1;
            left += *c->count == c->limit && !is_taken(c, g);
            take(c, g);
        }
        if (!found)
            return sp_fail(r->context, SP_BAD_USAGE,
                           "--show: received '%.60s'; valid: a part of a coupon's name, such as "
                           "'%s'",
                           r->options->show[k], compare->group[compare->order[0]].label);
    }
    if (left)
        sp_warn(r->context, "--show names %d more coupons than the page draws states of (%d)", left,
                c->limit);
    return SP_OK;
}

sp_status sp_report_choose(const report *r, int limit, int *chosen, int *count)
{
    const sp_compare *compare = r->compare;
    choice c = {r, limit, chosen, count};
    *count = 0;
    if (r->options->show_count) return choose_named(&c);
    for (int pass = 0; pass < 2; pass++) /* other patterns first, then other series */
        for (int i = 0; i < compare->series_count; i++) {
            const int g = nearest_mass(compare, &compare->series[compare->ranking[i]]);
            if (pass || (g >= 0 && !has_pattern(&c, g))) take(&c, g);
        }
    for (int i = 0; i < compare->series_count; i++) {
        const series *s = &compare->series[compare->ranking[i]];
        for (int m = 0; m < s->count; m++) take(&c, compare->member[s->first + m]);
    }
    return SP_OK;
}
