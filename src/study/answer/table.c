/* Print the answer as a table. */
#include <math.h>
#include <string.h>

#include "seek/seek_parts.h"
#include "caution/caution.h"
#include "write/text.h"

enum { CELL = 40, DIGITS = 4 };

static void put_figure(const sp_target *target, const seek_record *r, int figure, char cell[CELL])
{
    char median[SP_NUMBER_SIZE], half[SP_NUMBER_SIZE];
    if (r->reached[figure] < target->seed_count)
        snprintf(cell, CELL, "-");
    else if (target->seed_count == 1)
        snprintf(cell, CELL, "%s", sp_number(median, r->median[figure], DIGITS));
    else
        snprintf(cell, CELL, "%.15s +-%.12s", sp_number(median, r->median[figure], DIGITS),
                 sp_number(half, 0.5 * (r->high[figure] - r->low[figure]), 2));
}

/* Write "12 .. 14", "at least 12", "at most 14" or "save". */
static void put_bounds(const sp_target *target, int figure, char cell[CELL])
{
    char low[SP_NUMBER_SIZE], high[SP_NUMBER_SIZE];
    snprintf(cell, CELL, figure == target->save ? "save" : "-");
    for (int c = 0; c < target->condition_count; c++) {
        const seek_condition *condition = &target->condition[c];
        if (condition->figure != figure) continue;
        sp_number(low, condition->low, DIGITS);
        sp_number(high, condition->high, DIGITS);
        if (isfinite(condition->low) && isfinite(condition->high))
            snprintf(cell, CELL, "%.15s .. %.15s", low, high);
        else if (isfinite(condition->low))
            snprintf(cell, CELL, "at least %.15s", low);
        else
            snprintf(cell, CELL, "at most %.15s", high);
    }
}

static const seek_variant *variant_at(const sp_answer *answer, int place)
{
    return &answer->variant[answer->best[answer->order[place]]];
}

/* Write one cell of a column: a variable, then the figures; "" without a record. */
static void put_cell(const sp_answer *answer, int place, int column, char cell[CELL])
{
    const sp_target *target = answer->target;
    const seek_variant *variant = variant_at(answer, place);
    cell[0] = 0;
    if (variant->best < 0) return;
    const seek_record *record = &variant->record[variant->best];
    if (column < target->variable_count)
        sp_seek_variable_text(&target->variable[column], record->x[column], cell, CELL);
    else
        put_figure(target, record, column - target->variable_count, cell);
}

static int wider(int width, const char *text)
{
    const int columns = sp_text_columns(text);
    return columns > width ? columns : width;
}

/* Write the three head lines of a column. */
static void put_head(const sp_target *target, int column, int line, char cell[CELL])
{
    const int figure = column - target->variable_count;
    if (figure >= 0) {
        if (line == 2)
            put_bounds(target, figure, cell);
        else
            snprintf(cell, CELL, "%.39s",
                     line ? target->figure[figure].unit : target->figure[figure].name);
        return;
    }
    snprintf(cell, CELL, "%.39s", line ? "" : strchr(target->variable[column].key, '.') + 1);
}

static int column_width(const sp_answer *answer, int column)
{
    char cell[CELL];
    int width = 0;
    for (int line = 0; line < 3; line++) {
        put_head(answer->target, column, line, cell);
        width = wider(width, cell);
    }
    for (int i = 0; i < answer->target->candidate_count; i++) {
        put_cell(answer, i, column, cell);
        width = wider(width, cell);
    }
    return width;
}

static void count_record_coupons(const sp_answer *answer, int candidate, int *pressed, int *stored)
{
    *pressed = *stored = 0;
    for (int i = 0; i < answer->variant_count; i++)
        for (int k = 0; k < answer->variant[i].count; k++) {
            if (answer->variant[i].candidate != candidate) continue;
            *pressed += answer->variant[i].record[k].pressed;
            *stored += answer->variant[i].record[k].stored;
        }
}

static void put_remarks(const sp_answer *answer, const seek_variant *variant, FILE *stream)
{
    char remark[SEEK_REMARK_MAX][SEEK_REMARK_SIZE];
    const int count = sp_seek_remarks(answer, variant, remark);
    for (int i = 0; i < count; i++) sp_print(stream, "      %s\n", remark[i]);
}

static void put_rows(const sp_answer *answer, int label_width, FILE *stream)
{
    const sp_target *target = answer->target;
    const int columns = target->variable_count + target->figure_count;
    char cell[CELL], label[SEEK_LABEL_SIZE], miss[SP_MESSAGE_SIZE + 64];
    for (int line = 0; line < 3; line++) {
        sp_print(stream, "    %-*s", label_width, line ? "" : "candidate");
        for (int c = 0; c < columns; c++) {
            put_head(target, c, line, cell);
            sp_print(stream, "  %*s", column_width(answer, c), cell);
        }
        sp_print(stream, line ? "\n" : "  pressed  stored\n");
    }
    for (int i = 0; i < target->candidate_count; i++) {
        const seek_variant *variant = variant_at(answer, i);
        int pressed, stored;
        sp_seek_candidate_label(target, answer->order[i], label);
        count_record_coupons(answer, answer->order[i], &pressed, &stored);
        if (variant->reached)
            sp_print(stream, "%2d. ", i + 1);
        else
            sp_print(stream, " -  ");
        sp_print(stream, "%s%*s", label, label_width - sp_text_columns(label), "");
        for (int c = 0; c < columns; c++) {
            put_cell(answer, i, c, cell);
            sp_print(stream, "  %*s", column_width(answer, c), cell);
        }
        sp_print(stream, "  %7d  %6d\n", pressed, stored);
        if (!variant->reached) {
            sp_seek_miss_text(answer, variant, miss, sizeof miss);
            sp_print(stream, "      misses the target: %s\n", miss);
        }
        put_remarks(answer, variant, stream);
    }
}

/* Say what a bracket takes for granted, and where that does not hold. */
static void put_uneven(const sp_answer *answer, FILE *stream)
{
    const sp_target *target = answer->target;
    char label[SEEK_LABEL_SIZE];
    for (int i = 0; i < target->candidate_count; i++) {
        const seek_variant *variant = variant_at(answer, i);
        if (variant->uneven < 0) continue;
        sp_seek_candidate_label(target, answer->order[i], label);
        sp_print(stream, "%s: %s rises and falls with %s, so %s\n", label,
                 target->figure[variant->uneven].name, target->variable[target->first].key,
                 variant->reached ? "a better answer may lie between the pressed points"
                                  : "a place between the pressed points may reach the target");
    }
}

static void put_verdict(const sp_answer *answer, FILE *stream)
{
    const sp_target *target = answer->target;
    const seek_variant *first = variant_at(answer, 0);
    char label[SEEK_LABEL_SIZE], point[256], miss[SP_MESSAGE_SIZE + 64];
    sp_seek_candidate_label(target, answer->order[0], label);
    if (first->best < 0) {
        sp_print(stream, "No candidate reaches the target: none can be built in its ranges.\n");
        return;
    }
    sp_seek_point_text(target, first->record[first->best].x, point, sizeof point);
    if (answer->reached_count) {
        sp_print(stream, "%d of %d candidates reach the target; least %s: %s at %s\n",
                 answer->reached_count, target->candidate_count, target->figure[target->save].name,
                 label, point);
        return;
    }
    sp_seek_miss_text(answer, first, miss, sizeof miss);
    sp_print(stream, "No candidate reaches the target. Nearest comes %s at %s: %s\n", label, point,
             miss);
}

sp_status sp_answer_table(sp_context *context, const sp_answer *answer, FILE *stream)
{
    const sp_target *target = answer->target;
    char label[SEEK_LABEL_SIZE], low[64], high[64], within[64], source[SP_FILE_SIZE];
    int label_width = (int)strlen("candidate");
    sp_printable(target->source, source, sizeof source);
    sp_print(stream, "target     %s: %d candidate%s, %d flaw seed%s, judged by the %s\n", source,
             target->candidate_count, target->candidate_count == 1 ? "" : "s", target->seed_count,
             target->seed_count == 1 ? "" : "s",
             target->judge == SEEK_WORST ? "worst seed" : "median");
    for (int v = 0; v < target->variable_count; v++) {
        const seek_variable *variable = &target->variable[v];
        sp_seek_variable_text(variable, variable->low, low, sizeof low);
        sp_seek_variable_text(variable, variable->high, high, sizeof high);
        sp_print(stream, "%s%s from %s to %s", v ? "           " : "vary       ", variable->key,
                 low, high);
        if (variable->whole) {
            sp_print(stream, ", every whole number\n");
        } else {
            sp_seek_variable_text(variable, variable->within, within, sizeof within);
            sp_print(stream, ", within %s\n", within);
        }
    }
    sp_print(stream, "\n");
    for (int c = 0; c < target->candidate_count; c++) {
        sp_seek_candidate_label(target, c, label);
        label_width = wider(label_width, label);
    }
    put_rows(answer, label_width, stream);
    if (target->seed_count > 1)
        sp_print(stream, "median over the flaw seeds +- half of largest - smallest\n");
    sp_print(stream, "\n");
    put_verdict(answer, stream);
    put_uneven(answer, stream);
    sp_print(stream, "%d coupons pressed now, %d taken from the store\n\n%s\n", answer->pressed,
             answer->stored, SP_CAUTION_SAFETY);
    return sp_stream_end(context, stream);
}
