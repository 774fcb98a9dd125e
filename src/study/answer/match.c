/* Draw the curves of the candidates beside the curve that is to be met. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/lines.h"
#include "seek/seek_parts.h"
#include "write/text.h"
#include "answer/match.h"

enum { DRAWN_MAX = 6, POINTS_MAX = 1000, TARGET_STYLE = 6 /* ink */ };

/* Draw a curve up to a little behind the range that counts. Returns 0 without memory. */
static int add_curve(plot_lines *all, const sp_curve *curve, double end, int style,
                     const char *label)
{
    const int step = curve->count / POINTS_MAX + 1;
    plot_line *line = sp_plot_lines_add(all, style, POINTS_MAX, label);
    for (int i = 0; line && i < curve->count && line->count < POINTS_MAX; i += step) {
        const double *u =
            (const double *)((const char *)curve->shortening + (size_t)i * curve->stride);
        const double *f = (const double *)((const char *)curve->force + (size_t)i * curve->stride);
        if (*u > end) break;
        sp_plot_lines_point(line, *u, *f);
    }
    return line != NULL;
}

static int add_end(plot_lines *all, double place, double top)
{
    plot_line *line = sp_plot_lines_add(all, TARGET_STYLE + 2 * PLOT_COLOURS, 2, NULL);
    sp_plot_lines_point(line, place, 0);
    sp_plot_lines_point(line, place, top);
    return line != NULL;
}

static sp_status add_candidate(sp_context *context, const sp_answer *answer, int place, double end,
                               plot_lines *all)
{
    const sp_target *target = answer->target;
    const seek_variant *variant = &answer->variant[answer->best[answer->order[place]]];
    if (variant->best < 0) return SP_OK;
    const seek_record *record = &variant->record[variant->best];
    const int seed = sp_seek_typical_seed(target, record);
    char label[SEEK_LABEL_SIZE], at[80], text[SEEK_LABEL_SIZE + 40] = "";
    sp_curve_point *point;
    sp_case request;
    int count;
    sp_seek_record_case(answer, variant, record->x, seed, &request);
    sp_status status =
        sp_seek_record_points(context, answer, variant, record, seed, &count, &point);
    if (status == SP_OK && count > 1) {
        const sp_curve curve = sp_curve_of_points(&request, count, point);
        sp_seek_candidate_label(target, answer->order[place], label);
        sp_seek_point_text(target, record->x, at, sizeof at);
        for (int f = 0; f < target->figure_count; f++)
            if (!strcmp(target->figure[f].name, "misfit"))
                sp_format(text, sizeof text, "%d. off by %.2g %%: %s, %s", place + 1,
                          100 * record->median[f], label, at);
        if (!add_curve(all, &curve, end, place % TARGET_STYLE, text))
            status = sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
    }
    sp_store_free_curve(point);
    return status;
}

sp_status sp_answer_draw_match(sp_context *context, const sp_answer *answer, FILE *stream)
{
    const sp_target *target = answer->target;
    const double height = target->plan->base.height;
    const sp_curve wanted = sp_measured_view(&target->match.curve);
    double from, to, top = 0;
    char note[160];
    plot_lines all = {0};
    sp_status status = SP_OK;
    sp_seek_match_range(target, height, &from, &to);
    for (int i = 0; i < wanted.count; i++)
        if (wanted.shortening[i] <= to) top = fmax(top, wanted.force[i]);
    int added = add_curve(&all, &wanted, 1.1 * to, TARGET_STYLE, "the curve to be met");
    for (int i = 0; i < target->candidate_count && i < DRAWN_MAX && status == SP_OK; i++)
        status = add_candidate(context, answer, i, 1.1 * to, &all);
    added = added && add_end(&all, from, top) && add_end(&all, to, top);
    if (status == SP_OK && !added)
        status = sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
    sp_format(note, sizeof note, "only the part between the dotted lines counts, %.4g to %.4g mm%s",
              from, to, target->match.weight_count ? ", with weights" : "");
    const plot picture = {.title = "What feels like the measured piece",
                          .x_name = "shortening [mm]",
                          .y_name = "force [N]",
                          .note = note,
                          .line_count = all.count,
                          .line = all.line};
    if (status == SP_OK) {
        sp_plot_draw(&picture, stream);
        status = sp_stream_end(context, stream);
    }
    sp_plot_lines_free(&all);
    return status;
}
