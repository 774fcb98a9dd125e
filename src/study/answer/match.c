/* The curves of the candidates beside the one that is to be met. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/plot.h"
#include "seek/seek_parts.h"
#include "write/text.h"
#include "answer/match.h"

enum { DRAWN_MAX = 6, POINTS_MAX = 1000, TARGET_STYLE = 6 /* ink */ };

typedef struct drawing {
    int count;
    plot_line line[DRAWN_MAX + 3];
    char label[DRAWN_MAX + 3][SEEK_LABEL_SIZE + 40];
    double x[DRAWN_MAX + 3][POINTS_MAX], y[DRAWN_MAX + 3][POINTS_MAX];
} drawing;

/* Up to a little behind the range that counts. */
static void add_curve(drawing *d, const sp_curve *curve, double end, int style)
{
    const int n = d->count++, step = curve->count / POINTS_MAX + 1;
    int count = 0;
    for (int i = 0; i < curve->count && count < POINTS_MAX; i += step) {
        const double *u =
            (const double *)((const char *)curve->shortening + (size_t)i * curve->stride);
        const double *f = (const double *)((const char *)curve->force + (size_t)i * curve->stride);
        if (*u > end) break;
        d->x[n][count] = *u;
        d->y[n][count++] = *f;
    }
    d->line[n] = (plot_line){
        .label = d->label[n], .style = style, .count = count, .x = d->x[n], .y = d->y[n]};
}

static void add_end(drawing *d, double place, double top)
{
    const int n = d->count++;
    d->x[n][0] = d->x[n][1] = place;
    d->y[n][0] = 0, d->y[n][1] = top;
    d->line[n] = (plot_line){
        .style = TARGET_STYLE + 2 * PLOT_COLOURS, .count = 2, .x = d->x[n], .y = d->y[n]};
}

static sp_status add_candidate(sp_context *context, const sp_answer *answer, int place, double end,
                               drawing *d)
{
    const sp_target *target = answer->target;
    const seek_variant *variant = &answer->variant[answer->best[answer->order[place]]];
    if (variant->best < 0) return SP_OK;
    const seek_record *record = &variant->record[variant->best];
    const int seed = sp_seek_typical_seed(target, record);
    char label[SEEK_LABEL_SIZE], at[80];
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
                sp_format(d->label[d->count], sizeof d->label[0], "%d. off by %.2g %%: %s, %s",
                          place + 1, 100 * record->median[f], label, at);
        add_curve(d, &curve, end, place % TARGET_STYLE);
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
    drawing *d = sp_alloc(1, sizeof *d);
    sp_status status = d ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
    if (status != SP_OK) return status;
    sp_seek_match_range(target, height, &from, &to);
    for (int i = 0; i < wanted.count; i++)
        if (wanted.shortening[i] <= to) top = fmax(top, wanted.force[i]);
    snprintf(d->label[0], sizeof d->label[0], "the curve to be met");
    add_curve(d, &wanted, 1.1 * to, TARGET_STYLE);
    for (int i = 0; i < target->candidate_count && i < DRAWN_MAX && status == SP_OK; i++)
        status = add_candidate(context, answer, i, 1.1 * to, d);
    add_end(d, from, top);
    add_end(d, to, top);
    sp_format(note, sizeof note, "what counts lies between the dotted lines, %.4g and %.4g mm%s",
              from, to, target->match.weight_count ? ", with weights" : "");
    const plot picture = {.title = "What feels like the measured piece",
                          .x_name = "shortening [mm]",
                          .y_name = "force [N]",
                          .note = note,
                          .line_count = d->count,
                          .line = d->line};
    if (status == SP_OK) {
        sp_plot_draw(&picture, stream);
        status = sp_stream_end(context, stream);
    }
    sp_free(d);
    return status;
}
