/* Write the key of the curve picture: one entry per mark, in words and with its figure. */
#include <math.h>

#include "caution/caution.h"
#include "picture/curve_plot.h"
#include "caution/solid.h"
#include "write/text.h"

#define TEXT_LEFT (CURVE_LEFT + 46.0)
#define TEXT_WIDTH (CURVE_PICTURE_WIDTH - TEXT_LEFT - 24.0)
#define ENTRY_GAP 5.0

#define KEY(plot, kind, ...)                                                                       \
    do {                                                                                           \
        key_line *entry = next_entry(plot, kind);                                                  \
        sp_format(entry->text, sizeof entry->text, __VA_ARGS__);                                   \
    } while (0)

static key_line *next_entry(curve_plot *plot, mark_kind mark)
{
    int last = CURVE_KEY_MAX - 1;
    key_line *entry = &plot->key[plot->key_count < last ? plot->key_count++ : last];
    entry->mark = mark;
    return entry;
}

static void bonded_entry(curve_plot *plot)
{
    const sp_solid_curve *solid = &plot->result->path.solid;
    KEY(plot, MARK_SOLID,
        "solid block of the same size (100 %%), bonded: %.4g times the sliding one, shape factor S "
        "= %.3g (Gent & Lindley 1959)",
        solid->raise, solid->shape_factor);
}

static void sliding_entry(curve_plot *plot)
{
    KEY(plot, MARK_SOLID_SLIDING,
        "solid block of the same size (100 %%), sliding: law %s of a free bar",
        plot->result->request.law);
}

/* For an infill, the key shows the block between platens of the same kind. For platens that hold by
 * friction, and for the block itself, it shows those of the two limits (bonded, sliding) that no
 * curve in the picture shows. */
static void solid_entries(curve_plot *plot)
{
    const sp_result *result = plot->result;
    const int block = result->path.block, hold = result->request.platens;
    const int both = block || hold == SP_PLATENS_FRICTION;
    char words[256];
    sp_solid_words(result, words, sizeof words);
    if (words[0]) KEY(plot, MARK_NONE, "solid block of the same size: %s", words);
    if (result->path.solid.count < 2) return;
    if (block != SP_BLOCK_BONDED && (both || hold == SP_PLATENS_BONDED)) bonded_entry(plot);
    if (block != SP_BLOCK_SLIDING && (both || hold == SP_PLATENS_SLIDING)) sliding_entry(plot);
    if (sp_has_band(result))
        KEY(plot, MARK_BAND,
            "band between the curve of the beams and that of the solid block: more than half of "
            "the "
            "struts are too short for beams");
}

static void plateau_entries(curve_plot *plot)
{
    if (!plot->plateau.reached) {
        KEY(plot, MARK_NONE, "plateau stress (20 to 40 %% strain): not reached");
        return;
    }
    KEY(plot, MARK_PLATEAU, "plateau stress %.4g MPa, mean over 20 to 40 %% strain",
        plot->plateau.value);
    if (plot->plateau_end.reached)
        KEY(plot, MARK_PLATEAU_END, "plateau end at %.3g %% strain: %.3g x plateau stress",
            100.0 * plot->plateau_end.value, CURVE_PLATEAU_RISE);
}

static void densification_entry(curve_plot *plot)
{
    if (plot->densification.reached)
        KEY(plot, MARK_DENSIFICATION,
            "densification at %.3g %% strain: largest energy absorption efficiency, %.3g",
            100.0 * plot->densification.value, plot->efficiency.value);
    else
        KEY(plot, MARK_NONE, "densification (largest energy absorption efficiency): not reached");
}

static void buckle_entries(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    char words[256];
    if (path->block) return; /* a block has no struts */
    sp_critical_text(path, words, sizeof words);
    KEY(plot, path->critical.found ? MARK_CRITICAL : MARK_NONE,
        "critical step (coupon without flaws): %s", words);
    sp_buckled_text(plot->result, words, sizeof words);
    KEY(plot, path->buckled.found ? MARK_BUCKLED : MARK_NONE, "first buckled strut: %s", words);
}

static void snap_entry(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    int count = 0;
    double energy = 0.0;
    for (int i = 0; i < path->event_count; i++) {
        if (path->event[i].kind != SP_EVENT_SNAP) continue;
        count++;
        energy += sp_finite(path->event[i].value);
    }
    if (count)
        KEY(plot, MARK_SNAP, "%d snap%s, %.3g mJ released in all", count, count > 1 ? "s" : "",
            energy);
}

/* Say where the curve leaves the picture for good and where it ends, when it leaves it. */
static void cut_entry(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    int last = path->step_count - 1, i = last;
    if (last < 0 || !(sp_path_stress(path, last) > plot->stress_end)) return;
    while (i > 0 && sp_path_stress(path, i - 1) > plot->stress_end) i--;
    KEY(plot, MARK_NONE,
        "the curve leaves the picture at %.3g %% strain and ends at %.3g %%: %.4g MPa, %.4g N",
        100.0 * sp_path_strain(path, i), 100.0 * sp_path_strain(path, last),
        sp_finite(sp_path_stress(path, last)), sp_finite(path->step[last].force));
}

static void back_entry(curve_plot *plot)
{
    char words[SP_MODELLED_SIZE];
    if (plot->result->path.back_count == 0) return;
    if (plot->result->path.stage_count > 2) {
        KEY(plot, MARK_BACK, "what follows in the protocol, see time.svg");
        return;
    }
    const sp_modelled modelled = sp_measure_modelled("energy_kept", &plot->result->request, words);
    if (modelled == SP_NOT_MODELLED)
        KEY(plot, MARK_BACK, "the way back; what is left and kept is %s", words);
    else if (plot->set.reached)
        KEY(plot, MARK_BACK,
            "the way back: %.3g %% strain is left, %.3g %% of the work is not given back%s%s",
            100.0 * plot->set.value, 100.0 * plot->kept.value, words[0] ? "; " : "", words);
    else
        KEY(plot, MARK_BACK, "the way back, as far as it was found");
}

static void branches_entry(curve_plot *plot)
{
    const sp_branches *branches = &plot->result->path.branches;
    int others = 0;
    for (int i = 0; i < branches->look_count; i++) others += branches->look[i].points > 0;
    if (!branches->searched) return;
    if (others)
        KEY(plot, MARK_BRANCHES,
            "other stable states, pressed on over 5 %% of strain: their forces lie up to %.2g %% "
            "from the curve",
            100.0 * sp_finite(sp_branches_apart(branches)));
    else
        KEY(plot, MARK_NONE, "other stable states: looked for at %d folds, none found",
            branches->look_count);
}

void sp_curve_key_fill(curve_plot *plot)
{
    const sp_seeds *s = plot->result->seeds;
    if (s)
        KEY(plot, MARK_CURVE, "pressed coupon of flaw seed %d, %s (%s)", s->first + s->kept,
            s->is_named ? "which the case names" : "whose figures are nearest the medians",
            sp_stop_text(plot->result->path.stop));
    else
        KEY(plot, MARK_CURVE, "pressed coupon (%s)", sp_stop_text(plot->result->path.stop));
    if (s && s->band_count)
        KEY(plot, MARK_SEEDS,
            "flaw seeds %d to %d: from the lowest to the highest force, dotted the median, as far "
            "as all of them go",
            s->first, s->first + s->count - 1);
    branches_entry(plot);
    back_entry(plot);
    if (plot->result->perfect.step_count > 0)
        KEY(plot, MARK_PERFECT, "the same coupon without flaws, up to its critical step");
    solid_entries(plot);
    plateau_entries(plot);
    densification_entry(plot);
    buckle_entries(plot);
    snap_entry(plot);
    cut_entry(plot);
}

void sp_curve_mark(sp_svg *svg, mark_kind mark, double x, double y)
{
    static const char *const outline[] = {
        [MARK_PLATEAU_END] = "M-5,-5H5V5H-5Z",
        [MARK_CRITICAL] = "M0,-9L9,0L0,9L-9,0Z",
        [MARK_BUCKLED] = "M-4.5,0A4.5,4.5 0 1 0 4.5,0A4.5,4.5 0 1 0 -4.5,0Z",
        [MARK_SNAP] = "M0,5L5.5,-4H-5.5Z",
        [MARK_NONE] = NULL,
    };
    static const char *const fill[] = {
        [MARK_PLATEAU_END] = SP_GREEN,
        [MARK_CRITICAL] = SP_VERMILION,
        [MARK_BUCKLED] = SP_ORANGE,
        [MARK_SNAP] = SP_PURPLE,
        [MARK_NONE] = NULL,
    };
    if (!outline[mark]) return;
    sp_print(svg->stream,
             "<path transform=\"translate(%.2f %.2f)\" d=\"%s\" fill=\"%s\" stroke=\"#ffffff\"/>\n",
             x, y, outline[mark], fill[mark]);
}

static void draw_symbol(sp_svg *svg, mark_kind mark, double y)
{
    double x = CURVE_LEFT, middle = CURVE_LEFT + 16.0;
    switch (mark) {
    case MARK_CURVE:
        sp_svg_line(svg, x, y, x + 32.0, y, 2.4, SP_BLUE, NULL);
        break;
    case MARK_BACK:
        sp_svg_line(svg, x, y, x + 32.0, y, 1.8, SP_BLUE, "7 4");
        break;
    case MARK_PERFECT:
        sp_svg_line(svg, x, y, x + 32.0, y, 1.4, SP_VERMILION, NULL);
        break;
    case MARK_SOLID:
        sp_svg_line(svg, x, y, x + 32.0, y, 1.8, SP_GREY, NULL);
        break;
    case MARK_SOLID_SLIDING:
        sp_svg_line(svg, x, y, x + 32.0, y, 1.8, SP_GREY, "9 3 2 3");
        break;
    case MARK_BAND:
        sp_svg_box(svg, x, y - 7.0, 32.0, 14.0, "#d5edfa", NULL);
        break;
    case MARK_SEEDS:
        sp_svg_box(svg, x, y - 7.0, 32.0, 14.0, "#cfe2f0", NULL);
        sp_svg_line(svg, x, y, x + 32.0, y, 1.2, SP_BLUE, "2 3");
        break;
    case MARK_BRANCHES:
        sp_svg_box(svg, x, y - 7.0, 32.0, 14.0, "#f2d7e6", NULL);
        break;
    case MARK_PLATEAU:
        sp_svg_box(svg, x, y - 7.0, 32.0, 14.0, "#e5f5f1", NULL);
        sp_svg_line(svg, x, y, x + 32.0, y, 2.0, SP_GREEN, NULL);
        break;
    case MARK_DENSIFICATION:
        sp_svg_line(svg, middle, y - 9.0, middle, y + 9.0, 1.4, SP_INK, "6 3");
        break;
    default:
        sp_curve_mark(svg, mark, middle, y);
    }
}

double sp_curve_key_height(const curve_plot *plot)
{
    double height = 0.0;
    for (int i = 0; i < plot->key_count; i++)
        height += sp_svg_paragraph_height(CURVE_LETTER, TEXT_WIDTH, plot->key[i].text) + ENTRY_GAP;
    return height;
}

void sp_curve_key_draw(curve_plot *plot, double top)
{
    for (int i = 0; i < plot->key_count; i++) {
        draw_symbol(&plot->svg, plot->key[i].mark, top - 5.0);
        top = sp_svg_paragraph(&plot->svg, TEXT_LEFT, top, CURVE_LETTER, TEXT_WIDTH, SP_INK,
                               plot->key[i].text) +
              ENTRY_GAP;
    }
}
