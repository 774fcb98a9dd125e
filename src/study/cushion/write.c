/* Write a cushion curve as table, CSV and picture. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/protocol.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "compare/plot.h"
#include "cushion/cushion_parts.h"
#include "write/file_set.h"
#include "write/text.h"

enum { DIGITS = 7 };
/* Points of a curve above this multiple of its least peak are not drawn, except for drops. */
static const double drawn_peak = 3;
static const char *const names[] = {"cushion.csv", "cushion.svg"};

static double static_stress(const sp_cushion *c, double mass) /* [kPa] */
{
    return 1e3 * mass * SP_GRAVITY / c->area;
}

sp_status sp_cushion_table(sp_context *context, const sp_cushion *c, FILE *stream)
{
    for (int h = 0; h < c->asked.height_count; h++) {
        const double fall = c->asked.height[h];
        double best;
        const double least = sp_cushion_peak(c, sp_cushion_best(c, fall), fall, &best);
        sp_print(
            stream,
            "%sfall from %g mm: by energy least at %.3g kg (%.3g kPa), %.3g times the weight\n",
            h ? "\n" : "", fall, best, static_stress(c, best), least);
        sp_print(stream, "  %9s %10s %12s %12s %10s %10s %12s\n", "mass", "static", "by energy",
                 "by the drop", "depth", "bottoming", "rebound");
        for (int i = 0; i < c->drop_count; i++) {
            const cushion_drop *d = &c->drop[i];
            char energy[32] = "beyond", text[SP_NUMBER_SIZE];
            if (d->height != h) continue;
            const double by_energy = sp_cushion_peak_of(c, fall, d->mass);
            if (isfinite(by_energy)) snprintf(energy, sizeof energy, "%.4g", by_energy);
            sp_print(stream, "  %6.3g kg %6.3g kPa %12s ", d->mass, static_stress(c, d->mass),
                     energy);
            if (!d->told)
                sp_print(stream, "%12s\n", "did not end");
            else if (isnan(d->rebound))
                sp_print(stream, "%12.4g %8.3g %% %10.2g %12s\n", d->peak, 100 * d->depth,
                         d->bottoming, "none");
            else
                sp_print(stream, "%12.4g %8.3g %% %10.2g %9s mm\n", d->peak, 100 * d->depth,
                         d->bottoming, sp_number(text, d->rebound, 4));
        }
    }
    sp_print(stream, "\nlargest force / weight, as a gauge on the mass reads it; bottoming: share "
                     "of the depth beyond the beginning\n"
                     "of densification; every drop is the first on its coupon\n");
    sp_print(stream,
             "caution: by energy nothing is lost while loading, and the press is as fast as the "
             "drop%s\n",
             c->knows_rate ? "" : "; the law has no rate, in the drops either");
    sp_print(stream, "caution: A drop that is computed is no proof that it protects what falls or "
                     "what is hit: where someone could be hurt,\n"
                     "         applicable standards and drop tests of the printed part decide.\n");
    return sp_stream_end(context, stream);
}

static sp_status write_rows(sp_context *context, const sp_cushion *c, FILE *stream)
{
    char text[5][SP_NUMBER_SIZE];
    sp_print(stream, "fall_mm,way,mass_kg,static_stress_kPa,peak_over_weight,depth\n");
    for (int h = 0; h < c->asked.height_count; h++) {
        const double fall = c->asked.height[h];
        for (int i = 1; i < c->count; i++) {
            double mass;
            const double peak = sp_cushion_peak(c, i, fall, &mass);
            sp_print(stream, "%s,energy,%s,%s,%s,%s\n", sp_number(text[0], fall, DIGITS),
                     sp_number(text[1], mass, DIGITS),
                     sp_number(text[2], static_stress(c, mass), DIGITS),
                     sp_number(text[3], peak, DIGITS),
                     sp_number(text[4], c->state[i].shortening / c->height, DIGITS));
        }
        for (int i = 0; i < c->drop_count; i++) {
            const cushion_drop *d = &c->drop[i];
            if (d->height != h || !d->told) continue;
            sp_print(stream, "%s,drop,%s,%s,%s,%s\n", sp_number(text[0], fall, DIGITS),
                     sp_number(text[1], d->mass, DIGITS),
                     sp_number(text[2], static_stress(c, d->mass), DIGITS),
                     sp_number(text[3], d->peak, DIGITS), sp_number(text[4], d->depth, DIGITS));
        }
    }
    return sp_stream_end(context, stream);
}

/* Put the curve of one height, and its drops behind it, into x and y. */
static void take_lines(const sp_cushion *c, int h, double *x, double *y, plot_line line[2])
{
    const double fall = c->asked.height[h];
    double mass;
    const double least = sp_cushion_peak(c, sp_cushion_best(c, fall), fall, &mass);
    line[0] = (plot_line){.style = h, .x = x, .y = y};
    for (int i = 1; i < c->count; i++) {
        const double peak = sp_cushion_peak(c, i, fall, &mass);
        if (!(peak <= drawn_peak * least)) continue;
        x[line[0].count] = static_stress(c, mass);
        y[line[0].count++] = peak;
    }
    line[1] = (plot_line){.style = h, .markers = 1, .x = x + line[0].count, .y = y + line[0].count};
    for (int i = 0; i < c->drop_count; i++) {
        const cushion_drop *d = &c->drop[i];
        if (d->height != h || !d->told) continue;
        line[1].x[line[1].count] = static_stress(c, d->mass);
        line[1].y[line[1].count++] = d->peak;
    }
}

static sp_status draw(sp_context *context, const sp_cushion *c, FILE *stream)
{
    plot_line line[2 * SP_CUSHION_HEIGHTS];
    char label[SP_CUSHION_HEIGHTS][48];
    plot picture = {.title = "Cushion curve",
                    .x_name = "static stress [kPa]",
                    .y_name = "largest force / weight",
                    .note = "lines: by energy from one slow press; points: drops on fresh coupons",
                    .logarithmic = 1,
                    .line = line};
    const size_t room = (size_t)(c->count + SP_CUSHION_MASSES);
    double *x = sp_alloc(2 * room * SP_CUSHION_HEIGHTS, sizeof *x);
    if (!x) return sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
    for (int h = 0; h < c->asked.height_count; h++) {
        double *at = x + 2 * room * (size_t)h;
        take_lines(c, h, at, at + room, line + picture.line_count);
        snprintf(label[h], sizeof label[h], "fall from %g mm", c->asked.height[h]);
        line[picture.line_count].label = label[h];
        picture.line_count += 2;
    }
    sp_plot_draw(&picture, stream);
    sp_free(x);
    return sp_stream_end(context, stream);
}

sp_status sp_cushion_write(sp_context *context, const sp_cushion *c, const char *folder)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, "cushion", 2);
    for (int i = 0; status == SP_OK && i < 2; i++) {
        status = sp_file_set_open(context, &set, names[i]);
        if (status != SP_OK) break;
        status = i ? draw(context, c, set.stream) : write_rows(context, c, set.stream);
        status = sp_file_set_close(context, &set, status);
    }
    return sp_file_set_end(context, &set, status);
}
