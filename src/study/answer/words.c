/* Words that the table, the files and the case files share. */
#include <ctype.h>
#include <math.h>
#include <string.h>

#include "seek/seek_parts.h"
#include "write/text.h"

enum { DIGITS = 4 };

void sp_seek_point_text(const sp_target *target, const double *x, char *text, size_t size)
{
    size_t used = 0;
    text[0] = 0;
    for (int v = 0; v < target->variable_count && used < size; v++) {
        char value[64];
        sp_seek_variable_text(&target->variable[v], x[v], value, sizeof value);
        used += (size_t)snprintf(text + used, size - used, "%s%s %s", v ? ", " : "",
                                 strchr(target->variable[v].key, '.') + 1, value);
    }
}

void sp_seek_worst_margin(const sp_target *target, const seek_record *record, int *condition,
                          int *side)
{
    int known = 0;
    for (int c = 0; c < target->condition_count; c++)
        for (int k = 0; k < 2; k++) {
            const double margin = record->margin[c][k];
            if (isnan(margin)) { /* this is worse than any miss */
                *condition = c, *side = k;
                return;
            }
            if (isinf(margin) || (known && margin >= record->margin[*condition][*side])) continue;
            *condition = c, *side = k;
            known = 1;
        }
}

void sp_seek_miss_text(const sp_answer *answer, const seek_variant *variant, char *text,
                       size_t size)
{
    const sp_target *target = answer->target;
    char got[SP_NUMBER_SIZE], want[SP_NUMBER_SIZE];
    int c = 0, side = 0;
    if (variant->best < 0) {
        snprintf(text, size, "nothing can be built: %s", variant->reason);
        return;
    }
    const seek_record *record = &variant->record[variant->best];
    if (record->failed == target->seed_count) {
        snprintf(text, size, "no press has a result: %s", variant->reason);
        return;
    }
    if (record->least >= 0) {
        snprintf(text, size, "all conditions hold, but %s, which is to be saved, is not reached",
                 target->figure[target->save].name);
        return;
    }
    sp_seek_worst_margin(target, record, &c, &side);
    const sp_figure *figure = &target->figure[target->condition[c].figure];
    const double bound = side ? target->condition[c].high : target->condition[c].low;
    const int f = target->condition[c].figure;
    const double value = target->judge == SEEK_MEDIAN ? record->median[f]
                         : side                       ? record->high[f]
                                                      : record->low[f];
    if (isnan(record->margin[c][side])) {
        char words[SP_MODELLED_SIZE];
        sp_case request;
        sp_seek_candidate_case(target, variant->candidate, 0, &request);
        sp_measure_reason(figure->name, &request, record->load_end, words);
        snprintf(text, size, "%s is %s", figure->name, words);
        return;
    }
    const int used = snprintf(text, size, "%s %s is %s %s%s%s", figure->name,
                              sp_number(got, value, DIGITS), side ? "above" : "below",
                              sp_number(want, bound, DIGITS), strcmp(figure->unit, "-") ? " " : "",
                              strcmp(figure->unit, "-") ? figure->unit : "");
    if (fabs(bound) > 0 && used > 0 && (size_t)used < size)
        sp_format(text + used, size - (size_t)used, ", off by %.3g %%",
                  100 * fabs(value - bound) / fabs(bound));
}

static const char *const which_end[] = {"lower", "upper"};

/* Write a line such as "the lower end of infill.density moved from 10 % to 23.02 %: ...". */
static int moved_text(const sp_answer *answer, const seek_variant *variant, int end, char *text)
{
    const sp_target *target = answer->target;
    const seek_variable *first = target->first >= 0 ? &target->variable[target->first] : NULL;
    const char *reason = end ? variant->high_reason : variant->low_reason;
    char asked[64], moved[64];
    if (!first || !reason[0]) return 0;
    sp_seek_variable_text(first, end ? first->high : first->low, asked, sizeof asked);
    sp_seek_variable_text(first, end ? variant->high : variant->low, moved, sizeof moved);
    sp_format(text, SEEK_REMARK_SIZE, "the %s end of %s moved from %s to %s: beyond, %s",
              which_end[end], first->key, asked, moved, reason);
    return 1;
}

/* Return whether the value is at an end of the range: -1 no, 0 the lower, 1 the upper one. */
static int end_of(const sp_target *target, const seek_variant *variant, int v, double value)
{
    const seek_variable *variable = &target->variable[v];
    const double low = v == target->first ? variant->low : variable->low;
    const double high = v == target->first ? variant->high : variable->high;
    const double near = variable->whole ? 0.5 : 0.01 * variable->within;
    if (fabs(value - low) <= near) return 0;
    return fabs(value - high) <= near ? 1 : -1;
}

static int end_text(const sp_answer *answer, const seek_variant *variant, int v, char *text)
{
    const sp_target *target = answer->target;
    const double value = variant->record[variant->best].x[v];
    const int end = end_of(target, variant, v, value);
    char shown[64];
    if (end < 0) return 0;
    const char *moved = end ? variant->high_reason : variant->low_reason;
    const int is_moved = v == target->first && moved[0];
    sp_seek_variable_text(&target->variable[v], value, shown, sizeof shown);
    sp_format(text, SEEK_REMARK_SIZE, "%s %s is the %s end of %s: %s", target->variable[v].key,
              shown, which_end[end], is_moved ? "what can be built" : "its range",
              is_moved           ? "the search could not go further"
              : variant->reached ? "a better answer may lie beyond"
                                 : "the target may be met beyond");
    return 1;
}

/* List the whole numbers of the same candidate with which nothing can be built. */
static int empty_text(const sp_answer *answer, const seek_variant *variant, char *text)
{
    const sp_target *target = answer->target;
    const seek_variant *first = NULL;
    int empty = 0, all = 0;
    for (int i = 0; i < answer->variant_count; i++) {
        const seek_variant *other = &answer->variant[i];
        if (other->candidate != variant->candidate) continue;
        all++;
        empty += other->state == VARIANT_EMPTY;
        if (!first && other->state == VARIANT_EMPTY) first = other;
    }
    if (!first) return 0;
    char point[128] = "", value[64];
    for (int v = 0; v < target->variable_count; v++) {
        const size_t used = strlen(point);
        if (!target->variable[v].whole) continue;
        sp_seek_variable_text(&target->variable[v], first->x[v], value, sizeof value);
        sp_format(point + used, sizeof point - used, "%s%s %s", used ? ", " : "",
                  target->variable[v].key, value);
    }
    sp_format(text, SEEK_REMARK_SIZE,
              "%d of %d combinations of whole numbers cannot be built; the first, %s: %s", empty,
              all, point, first->reason);
    return 1;
}

int sp_seek_remarks(const sp_answer *answer, const seek_variant *variant,
                    char remark[SEEK_REMARK_MAX][SEEK_REMARK_SIZE])
{
    int count = 0;
    if (variant->best < 0) return 0; /* nothing can be built, which is said in its place */
    count += empty_text(answer, variant, remark[count]);
    for (int end = 0; end < 2; end++) count += moved_text(answer, variant, end, remark[count]);
    for (int v = 0; v < answer->target->variable_count; v++)
        count += end_text(answer, variant, v, remark[count]);
    return count;
}

int sp_seek_typical_seed(const sp_target *target, const seek_record *record)
{
    const int f = target->condition[0].figure;
    int best = 0;
    for (int s = 1; s < target->seed_count; s++) {
        const double off = fabs(record->value[s][f] - record->median[f]);
        const double least = fabs(record->value[best][f] - record->median[f]);
        if (off < least || (isnan(least) && !isnan(off))) best = s;
    }
    return best;
}

void sp_seek_file_name(const sp_answer *answer, int place, const char *ending, char *name,
                       size_t size)
{
    sp_case request;
    sp_seek_candidate_case(answer->target, answer->order[place], 0, &request);
    for (char *sign = request.pattern; *sign; sign++)
        if (!isalnum((unsigned char)*sign) && *sign != '.') *sign = '-';
    snprintf(name, size, "answer-%d-%.28s.%s", place + 1, request.pattern, ending);
}
