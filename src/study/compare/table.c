/* Print the comparison as a table. */
#include <math.h>
#include <string.h>

#include "compare/compare_parts.h"
#include "caution/caution.h"
#include "write/text.h"

enum { CELL = 32, DIGITS = 4 };

static void put_cell(const sp_spread *f, char cell[CELL])
{
    char median[SP_NUMBER_SIZE], half[SP_NUMBER_SIZE];
    if (!f->count)
        snprintf(cell, CELL, "-");
    else if (f->count == 1)
        snprintf(cell, CELL, "%s", sp_number(median, f->median, DIGITS));
    else
        snprintf(cell, CELL, "%.15s +-%.12s", sp_number(median, f->median, DIGITS),
                 sp_number(half, 0.5 * (f->high - f->low), 2));
}

static int label_width(const sp_compare *c)
{
    int width = 6;
    for (int g = 0; g < c->group_count; g++) {
        const int columns = sp_text_columns(c->group[g].label);
        if (columns > width) width = columns;
    }
    return width;
}

static int cell_width(const sp_compare *c, int column)
{
    char cell[CELL];
    int width = (int)strlen(sp_compare_column_name(c, column));
    for (int g = 0; g < c->group_count; g++) {
        put_cell(&c->group[g].figure[column], cell);
        if ((int)strlen(cell) > width) width = (int)strlen(cell);
    }
    return width;
}

static void put_groups(const sp_compare *c, FILE *stream)
{
    const int label = label_width(c);
    char cell[CELL];
    int width[COLUMN_MAX];
    sp_print(stream, "%-*s  seeds  cautions", label, "coupon");
    for (int k = COLUMN_FIXED; k < c->column_count; k++) {
        width[k] = cell_width(c, k);
        sp_print(stream, "  %*s", width[k], sp_compare_column_name(c, k));
    }
    sp_print(stream, "\n%-*s                 ", label, "");
    for (int k = COLUMN_FIXED; k < c->column_count; k++)
        sp_print(stream, "  %*s", width[k], sp_compare_column_unit(c, k));
    sp_print(stream, "\n");
    for (int i = 0; i < c->group_count; i++) {
        const group *g = &c->group[c->order[i]];
        sp_print(stream, "%s%*s  %5d  %8d", g->label, label - sp_text_columns(g->label), "",
                 g->count, g->cautions);
        for (int k = COLUMN_FIXED; k < c->column_count; k++) {
            put_cell(&g->figure[k], cell);
            sp_print(stream, "  %*s", width[k], cell);
        }
        if (g->failed) sp_print(stream, "  (%d failed)", g->failed);
        if (g->ended) sp_print(stream, "  (%d ended early)", g->ended);
        sp_print(stream, "\n");
    }
    sp_print(stream, "median over the flaw seeds +- half of largest - smallest; the most cautions "
                     "of a seed\n");
    sp_compare_put_modelled(c, stream);
}

static void put_fit(const line_fit *fit, const char *name, FILE *stream)
{
    if (fit->count)
        sp_print(stream, "  %s %.3g +- %.2g", name, fit->slope, fit->slope_half_width);
    else
        sp_print(stream, "  %s -", name);
}

static void put_fits(const sp_compare *c, FILE *stream)
{
    sp_print(stream, "\nexponents over the solid fraction, with their 95 %% intervals (one point "
                     "per density)\n");
    for (int s = 0; s < c->series_count; s++) {
        sp_print(stream, "  %-28s", c->series[s].label);
        put_fit(&c->series[s].stiffness, "stiffness", stream);
        put_fit(&c->series[s].plateau, "plateau", stream);
        sp_print(stream, "  (%d densities)\n", c->series[s].count);
    }
}

static void put_ranking(const sp_compare *c, FILE *stream)
{
    if (!(c->mass > 0)) return;
    sp_print(stream, "\nat equal mass, %.4g g: %s [%s]\n", c->mass,
             sp_compare_column_name(c, COLUMN_RANK), sp_compare_column_unit(c, COLUMN_RANK));
    for (int i = 0; i < c->series_count; i++) {
        const series *s = &c->series[c->ranking[i]];
        if (s->ranked)
            sp_print(stream, "  %2d. %-28s %.4g\n", i + 1, s->label, s->rank_value);
        else if (s->mass_high > 0)
            sp_print(stream, "   -  %-28s pressed from %.4g to %.4g g only\n", s->label,
                     s->mass_low, s->mass_high);
        else
            sp_print(stream, "   -  %-28s does not reach the measure\n", s->label);
    }
}

static void put_cautions(const sp_compare *c, FILE *stream)
{
    if (!c->cautioned) return;
    sp_print(stream, "\ncautions, of %d of %d coupons\n", c->cautioned, c->coupon_count);
    for (int i = 0; i < c->caution_count; i++) {
        const caution_kind *kind = &c->caution[i];
        char text[SP_MESSAGE_SIZE];
        sp_printable(kind->text, text, sizeof text);
        if (kind->count > 1)
            sp_print(stream, "  %s (the first of %d alike)\n", text, kind->count);
        else
            sp_print(stream, "  %s\n", text);
    }
    if (c->cautions_untold)
        sp_print(stream, "  %d of other kinds: see compare --dump\n", c->cautions_untold);
}

sp_status sp_compare_table(sp_context *context, const sp_compare *c, FILE *stream)
{
    int failed = 0;
    put_groups(c, stream);
    const sp_status status = sp_compare_put_tested(context, c, stream);
    if (status != SP_OK) return status;
    put_fits(c, stream);
    put_ranking(c, stream);
    for (int g = 0; g < c->group_count; g++) failed += c->group[g].failed + c->group[g].ended;
    if (failed)
        sp_print(stream, "\n%d of %d coupons failed or ended early; the first: %s\n", failed,
                 c->coupon_count, c->first_reason);
    put_cautions(c, stream);
    sp_print(stream, "\n" SP_CAUTION_SAFETY "\n");
    return sp_stream_end(context, stream);
}
