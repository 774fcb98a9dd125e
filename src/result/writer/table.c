/* Write the table of a run for a terminal. */
#include <math.h>
#include <string.h>

#include "law/hardness.h"
#include "caution/caution.h"
#include "caution/solid.h"
#include "caution/width.h"
#include "write/text.h"

#include <strutpress/write.h>

enum { NAME_WIDTH = 32, NUMBER_WIDTH = 12, LINE_WIDTH = 96, DIGITS = 4, TEXT_SIZE = 1200 };

static void put_clean(FILE *stream, const char *text)
{
    char clean[TEXT_SIZE];
    sp_printable(text, clean, sizeof clean);
    fputs(clean, stream);
}

/* Write the words of `text` in lines of LINE_WIDTH columns, each after `indent` spaces; the first
 * line is begun already. */
static void put_wrapped(FILE *stream, int indent, const char *text)
{
    int column = indent;
    for (const char *word = text; *word;) {
        size_t length = strcspn(word, " ");
        if (word[length] == ' ' &&
            word[length + 1] == '%') /* a number keeps its sign % on the line */
            length += 1 + strcspn(word + length + 1, " ");
        if (column > indent && column + 1 + (int)length > LINE_WIDTH) {
            sp_print(stream, "\n%*s", indent, "");
            column = indent;
        } else if (column > indent) {
            fputc(' ', stream);
            column++;
        }
        fwrite(word, 1, length, stream);
        column += (int)length;
        word += length;
        while (*word == ' ') word++;
    }
    fputc('\n', stream);
}

static void put_header(const sp_result *result, FILE *stream)
{
    sp_print(stream, "strutpress %s   seed %d   case ", sp_version(), result->request.flaw_seed);
    put_clean(stream, result->request.source[0] ? result->request.source : "(made by a program)");
    fputc('\n', stream);
}

/* A default that is written out in the case file is still called the default. */
static void put_settings(const sp_case *request, FILE *stream)
{
    char value[TEXT_SIZE], usual[TEXT_SIZE];
    sp_case defaults;
    int changed = 0;
    sp_case_default(&defaults);
    for (int row = 0; row < sp_parameter_count(); row++) {
        sp_case_value_text(request, row, value, sizeof value);
        sp_case_value_text(&defaults, row, usual, sizeof usual);
        if (strcmp(value, usual) == 0) continue;
        sp_print(stream, "%s  %-*s ", changed++ ? "" : "\nsettings that differ from the defaults\n",
                 NAME_WIDTH, sp_parameter_at(row).key);
        put_clean(stream, value);
        fputs(request->origin[row] == SP_ORIGIN_DERIVED ? "  (derived)\n" : "\n", stream);
    }
    if (!changed) fputs("\nall settings are the defaults\n", stream);
}

/* The pieces are printed only when there are several of them or something was left out. */
static void put_pieces(const sp_network *network, FILE *stream)
{
    char left_out[SP_LEFT_OUT_SIZE];
    sp_network_left_out(network, left_out);
    if (network->piece_count > 1)
        sp_print(stream, "pieces     %d side by side, each from platen to platen\n",
                 network->piece_count);
    if (!left_out[0]) return;
    fputs("left out   ", stream);
    put_wrapped(stream, 11, left_out);
}

static void put_struts(const sp_network *network, FILE *stream)
{
    if (network->panel)
        sp_print(stream, "\nnetwork    %d walls, each a framework: %d bars, %d joints in all",
                 network->panel_count, network->strut_count, network->joint_count);
    else
        sp_print(stream, "\nnetwork    %d struts, %d joints", network->strut_count,
                 network->joint_count);
    sp_print(stream, ", solid fraction %.3g %%", 100.0 * sp_finite(network->solid_fraction));
    if (network->cell_size > 0.0)
        sp_print(stream, ", cell size %.4g mm", sp_finite(network->cell_size));
    fputc('\n', stream);
    put_pieces(network, stream);
}

static void put_network(const sp_result *result, FILE *stream)
{
    const sp_network *network = &result->network;
    char coupon[256];
    sp_coupon_text(result, coupon, sizeof coupon);
    fputs("\ncoupon     ", stream);
    put_clean(stream, coupon);
    if (network->built == SP_BUILT_SOLID)
        fputs("\nnetwork    none: the block without holes, in closed form", stream);
    else
        put_struts(network, stream);
    fputs("\nprinted    ", stream);
    sp_network_printed_text(network, coupon, sizeof coupon);
    put_wrapped(stream, 11, coupon);
    fputs("pressed    ", stream);
    sp_network_pressed_text(network, coupon, sizeof coupon);
    put_wrapped(stream, 11, coupon);
}

static void put_buckles(const sp_result *result, FILE *stream)
{
    char words[512];
    if (result->path.block) return; /* its measures say that it has no struts */
    fputs("\nfirst buckle\n  ", stream);
    put_wrapped(stream, 2, SP_CRITICAL_DEFINITION);
    sp_critical_text(&result->path, words, sizeof words);
    fputs("    -> ", stream);
    put_wrapped(stream, 7, words);
    fputs("  ", stream);
    put_wrapped(stream, 2, SP_BUCKLED_DEFINITION);
    sp_buckled_text(result, words, sizeof words);
    fputs("    -> ", stream);
    put_wrapped(stream, 7, words);
    fputs("  ", stream);
    put_wrapped(stream, 2, SP_WEIGHT_DEFINITION);
    sp_weight_text(result, words, sizeof words);
    fputs("    -> ", stream);
    put_wrapped(stream, 7, words);
}

/* Say for what the figures stand: one seed of the flaws, or several, and which of them was drawn.
 */
static void put_seeds(const sp_result *result, FILE *stream)
{
    char words[TEXT_SIZE];
    sp_seeds_text(result, words, sizeof words);
    if (!words[0]) return;
    fputs("\nseeds      ", stream);
    put_wrapped(stream, 11, words);
}

static void put_snaps(const sp_path *path, FILE *stream)
{
    double released;
    char words[256];
    const int count = sp_snaps_of(path, &released);
    if (count == 0) return;
    sp_format(words, sizeof words, "%d, which released %.3g mJ together (%s)", count,
              sp_finite(released), SP_SNAPS_NOTE);
    fputs("\nsnaps      ", stream);
    put_wrapped(stream, 11, words);
}

/* Print what a figure leaves out behind the figure, or why there is no figure in its place. */
static void put_words(const sp_measure_row *row, const sp_measure *got, const sp_result *result,
                      FILE *stream)
{
    const sp_case *request = &result->request;
    char words[SP_MODELLED_SIZE];
    if (!got->reached || !isfinite(got->value)) {
        sp_measure_reason(row->name, request, sp_measure_load_end(&result->path), words);
        sp_print(stream, "%*s\n", NUMBER_WIDTH, words);
        return;
    }
    sp_measure_modelled(row->name, request, words);
    sp_print(stream, words[0] ? "  (%s)\n" : "%s\n", words);
}

/* Print "  (low .. high)" behind a figure that differs from seed to seed. */
static void put_range(const sp_result *result, int measure, FILE *stream)
{
    char low[SP_NUMBER_SIZE], high[SP_NUMBER_SIZE];
    const sp_spread *s = result->seeds ? &result->seeds->spread[measure] : NULL;
    if (!s || s->count == 0) return;
    sp_number(low, s->low, DIGITS);
    sp_number(high, s->high, DIGITS);
    if (strcmp(low, high)) sp_print(stream, "  (%s .. %s)", low, high);
    if (s->count < result->seeds->count) sp_print(stream, "  of %d seeds", s->count);
}

/* Write "low .. high unit  (band)" in place of the figure of the beams alone. */
static int put_band(const sp_result *result, const sp_measure_row *row, int measure, FILE *stream)
{
    char low[SP_NUMBER_SIZE], high[SP_NUMBER_SIZE];
    double from, to;
    if (!sp_band_of(result, measure, &from, &to)) return 0;
    sp_print(stream, "  %-*s %*s .. %s  %s  (band)\n", NAME_WIDTH, row->name, NUMBER_WIDTH,
             sp_number(low, from, DIGITS), sp_number(high, to, DIGITS), row->unit);
    return 1;
}

static void put_measures(const sp_result *result, FILE *stream)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    char number[SP_NUMBER_SIZE];
    sp_print(stream, "\nmeasures%s%s\n",
             result->seeds ? ": medians over the seeds, with the lowest and the highest" : "",
             sp_has_band(result) ? "; band: between the beams' curve and the solid block's" : "");
    for (int i = 0; i < count && i < result->measure_count; i++) {
        const sp_measure got = sp_result_median(result, i);
        if (!sp_measure_applies(row[i].name, &result->request)) continue;
        if (put_band(result, &row[i], i, stream)) continue;
        if (got.reached && isfinite(got.value))
            sp_print(stream, "  %-*s %*s  %s", NAME_WIDTH, row[i].name, NUMBER_WIDTH,
                     sp_number(number, got.value, DIGITS), row[i].unit);
        else
            sp_print(stream, "  %-*s ", NAME_WIDTH, row[i].name);
        put_range(result, i, stream);
        put_words(&row[i], &got, result, stream);
    }
}

static void put_solid_row(const sp_result *result, const char *name, int bonded, int is_share,
                          FILE *stream)
{
    const sp_path *path = &result->path;
    char number[SP_NUMBER_SIZE];
    sp_print(stream, "  %-*s", NAME_WIDTH, name);
    for (int i = 0; i < SP_SOLID_TABLE_ROWS; i++) {
        const double block = sp_solid_force(&path->solid, sp_solid_percent[i], bonded);
        const double share = 100.0 * sp_measured_force(result, sp_solid_percent[i]) / block;
        sp_number(number, is_share ? share : block, DIGITS);
        sp_print(stream, " %*s", NUMBER_WIDTH, number[0] ? number : "-");
    }
    fputs(is_share ? "  %\n" : "  N\n", stream);
}

/* Print the forces of the block between sliding and between bonded platens, and the force of the
 * coupon as a share of the block between platens of its own kind. */
static void put_solid(const sp_result *result, FILE *stream)
{
    const sp_solid_curve *solid = &result->path.solid;
    const int bonded = sp_solid_is_bonded(&result->request);
    const int both = result->request.platens == SP_PLATENS_FRICTION;
    char words[TEXT_SIZE];
    sp_solid_words(result, words, sizeof words);
    if (words[0]) {
        sp_print(stream, "\nsolid block of the same size: %s\n", words);
        return;
    }
    sp_print(stream, "\nsolid block of the same size, shape factor %.3g (Gent & Lindley 1959)\n",
             sp_finite(solid->shape_factor));
    sp_print(stream, "  %-*s", NAME_WIDTH, "strain");
    for (int i = 0; i < SP_SOLID_TABLE_ROWS; i++)
        sp_print(stream, " %*d", NUMBER_WIDTH, sp_solid_percent[i]);
    fputs("  %\n", stream);
    put_solid_row(result, "sliding platens", 0, 0, stream);
    put_solid_row(result, "bonded platens", 1, 0, stream);
    if (both) fputs("  platens that hold by friction lie between\n", stream);
    if (result->path.block) return;
    if (both || !bonded) put_solid_row(result, "this coupon / sliding block", 0, 1, stream);
    if (bonded) put_solid_row(result, "this coupon / bonded block", 1, 1, stream);
}

static void put_edge(const sp_result *result, double modulus, FILE *stream)
{
    char number[SP_NUMBER_SIZE], name[64];
    sp_format(name, sizeof name, "at %.3g MPa", modulus);
    sp_print(stream, "  %-*s", NAME_WIDTH, name);
    for (int i = 0; i < SP_SOLID_TABLE_ROWS; i++) {
        const double force = sp_measured_force(result, sp_solid_percent[i]);
        sp_number(number, force * modulus / result->request.modulus, DIGITS);
        sp_print(stream, " %*s", NUMBER_WIDTH, number[0] ? number : "-");
    }
    fputs("  N\n", stream);
}

/* Print the forces at both edges of the hardness band. The hardness does not tell where between
 * them the filament lies. */
static void put_hardness(const sp_result *result, FILE *stream)
{
    char words[64];
    sp_hardness band;
    if (!sp_hardness_of(&result->request, &band)) return;
    sp_hardness_text(&result->request, words, sizeof words);
    sp_print(stream,
             "\nmodulus by hardness: %s is %.3g .. %.3g MPa, %.3g MPa is taken; forces over that "
             "band\n",
             words, band.low, band.high, band.centre);
    sp_print(stream, "  %-*s", NAME_WIDTH, "strain");
    for (int i = 0; i < SP_SOLID_TABLE_ROWS; i++)
        sp_print(stream, " %*d", NUMBER_WIDTH, sp_solid_percent[i]);
    fputs("  %\n", stream);
    put_edge(result, band.low, stream);
    put_edge(result, band.high, stream);
}

static void put_corners(const sp_result *result, FILE *stream)
{
    const sp_corners *c = &result->corners;
    if (!(c->stiffness[0] > 0 && c->stiffness[1] > 0 && c->stiffness[2] > 0)) return;
    sp_print(
        stream,
        "\ncorners of joints: first stiffness %.3g N/mm sharp, %.3g as pressed (joint_zone %g), "
        "%.3g filled; forces before the first buckle go with it\n",
        c->stiffness[0], c->stiffness[1], c->zone[1], c->stiffness[2]);
}

static int is_lossy(const sp_path *path)
{
    return path->step_count > 0 && path->step[path->step_count - 1].dissipated > 0;
}

static void put_width(const sp_result *result, FILE *stream)
{
    const sp_width *w = &result->path.width;
    double narrow, wide;
    int snaps = 0;
    if (!sp_width_band(w, w->stiffness, w->stiffness_slope, &narrow, &wide)) return;
    sp_print(stream, "\nprinted width +-%.3g mm of %.3g mm: stiffness %+.0f..%+.0f %%",
             sp_width_change(w), w->width, 100 * narrow, 100 * wide);
    for (int i = 0; i < SP_WIDTH_STRAINS; i++) {
        const sp_width_slope *at = &w->force[i];
        if (!sp_width_band(w, at->force, at->slope, &narrow, &wide)) continue;
        sp_print(stream, ", force at %.3g %% %+.0f..%+.0f %%", 100 * at->strain, 100 * narrow,
                 100 * wide);
        snaps = at->snaps;
    }
    fputs("\n", stream);
    if (sp_width_is_largest(result))
        fputs("  the width is the largest unknown told here: measure it on a print\n", stream);
    if (snaps > 0)
        fputs("  behind a jump the band holds as long as struts fold in the same order\n", stream);
    if (is_lossy(&result->path))
        fputs("  what fibres and friction did before is held: their share is neglected\n", stream);
}

static void put_branches(const sp_path *path, FILE *stream)
{
    char words[TEXT_SIZE];
    sp_branches_text(&path->branches, words, sizeof words);
    if (!words[0]) return;
    fputs("\nbranches   ", stream);
    put_wrapped(stream, 11, words);
}

static void put_end(const sp_result *result, FILE *stream)
{
    char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE];
    int count = sp_cautions(result, lines);
    const sp_path *path = &result->path;
    sp_print(stream, "\nstopped    %s", sp_stop_text(path->stop));
    if (path->step_count > 0)
        sp_print(stream, " after %d steps, at %.4g %% strain", path->step_count - 1,
                 100.0 * sp_finite(sp_path_strain(path, path->step_count - 1)));
    fputs("\n", stream);
    char words[SP_WORDS_SIZE];
    sp_words(result, words, sizeof words);
    if (words[0]) {
        fputs("in words   ", stream);
        put_wrapped(stream, 11, words);
    }
    fputs("\n", stream);
    for (int i = 0; i < count; i++) {
        fputs("caution: ", stream);
        put_wrapped(stream, 9, lines[i]);
    }
}

sp_status sp_write_table(sp_context *context, const sp_result *result, FILE *stream)
{
    put_header(result, stream);
    put_settings(&result->request, stream);
    put_network(result, stream);
    put_seeds(result, stream);
    put_buckles(result, stream);
    put_measures(result, stream);
    put_snaps(&result->path, stream);
    put_branches(&result->path, stream);
    put_hardness(result, stream);
    put_corners(result, stream);
    put_width(result, stream);
    put_solid(result, stream);
    put_end(result, stream);
    return sp_stream_end(context, stream);
}
