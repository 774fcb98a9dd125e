/* List what a reader of a result must know; see caution.h. */
#include "caution/caution.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "case/case_parts.h"
#include "law/hardness.h"
#include "law/law.h"
#include "caution/solid.h"
#include "write/text.h"

#define SP_PANELS_CARRY_ON                                                                         \
    "not given: walls that stand along the load carry on when they have buckled; their first "     \
    "buckle is "                                                                                   \
    "the critical step"
static const double short_beads = 2.0; /* as sp_short_strut_share counts */
#define SP_NO_STRUTS "does not apply: a solid block has no struts"
static const double short_share = 0.05; /* share of such infill struts that is worth a caution */
/* A hold or a rest that is this many times as long as the slowest branch is beyond the law:
 * branches stand a decade apart, so that the last one stands for ten times its time (E125). */
static const double beyond_branches = 10.0;
/* Beyond this fibre strain flexible filaments are near break (common practice, no source). */
static const double large_fibre_strain = 1.0;

/* These decide on the caution about hinges: the elements of a strut when the case gives none, the
 * number from which nothing is said, and the least share of the work that yielding takes. */
enum { usual_elements = 4, fine_mesh = 12 };
static const double hinge_share = 0.05;

/* A reader is warned of other branches whose forces differ by this share. */
static const double apart_share = 0.05;

/* Hardly a test bench reaches beyond this force [N] (common practice, no source). */
static const double bench_force = 1e5;

static double largest_fibre_strain(const sp_path *path)
{
    double largest = 0.0;
    for (int i = 0; i < path->step_count; i++) largest = fmax(largest, path->step[i].fibre_strain);
    return largest;
}

/* Caution of struts that are too short to be beams. Where most struts are short, say what the
 * figures then mean. */
static void put_short(const sp_result *result, double share, char line[SP_CAUTION_SIZE])
{
    const double beads = short_beads;
    sp_format(line, SP_CAUTION_SIZE,
              "%.0f %% of the infill struts are shorter than %.3g bead widths between their joint "
              "zones: they are blocks rather than beams, %s",
              100.0 * share, beads,
              sp_has_band(result)
                  ? "read the band between the curve of the beams and that of the solid block. "
                    "Figures without a band are of the beams alone."
                  : "expect larger errors.");
}

/* Caution of an infill that carries more than the full block, which none can. */
static int put_too_stiff(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    int count, worst = -1;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count && i < result->measure_count && !result->path.block; i++) {
        const sp_measure *got = &result->measure[i];
        const int is_share = !strncmp(row[i].name, "solid_share_", strlen("solid_share_"));
        if (!is_share || !got->reached || !(got->value > 1) || isinf(got->value)) continue;
        if (worst < 0 || got->value > result->measure[worst].value) worst = i;
    }
    if (worst < 0) return 0;
    sp_format(
        line, SP_CAUTION_SIZE,
        "At %s %% strain the beams carry %.0f %% of what the solid block does, which no infill "
        "can: they overrate this coupon.",
        row[worst].name + strlen("solid_share_"), 100 * result->measure[worst].value);
    return 1;
}

/* Struts of thin layers lie on each other and may leave their plane, which bonds at their ends do
 * not keep them from (theory, section 8). */
static int put_thin_layers(const sp_case *request, char line[SP_CAUTION_SIZE])
{
    if (request->layers < 1 || request->press_direction == SP_PRESS_THROUGH ||
        request->depth / request->layers >= request->bead_width)
        return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "The layers are thinner (%.3g mm) than a bead is wide (%.3g mm): once struts touch, "
              "forces come out too low, by a fifth at 20 %% strain in one coupon.",
              request->depth / request->layers, request->bead_width);
    return 1;
}

/* A tool path says where beads lie, not how well they hold on to each other. */
static int put_crossing_beads(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const sp_built built = result->network.built;
    if (built != SP_BUILT_LAYERS || result->request.layers) return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "The layers of the tool path hold each other where beads cross, over the whole patch "
              "and as firmly as the filament itself: a print that parts there, or whose beads sag "
              "between the lines below, is softer.");
    return 1;
}

/* Caution of what panels leave out, and tell the efficiency of published ones (Polymers 2025, 17,
 * 3035, abstract: the best of flexible urethane hexagons). */
static int put_edges(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const double ours = sp_measure_value(result, "efficiency_max");
    if (!result->network.panel) return 0;
    sp_format(
        line, SP_CAUTION_SIZE,
        "In this model edges of walls do not lift off the platens, and layers do not split where "
        "sharp folds pull across them: from the first folds on a print may carry less.");
    const size_t used = strlen(line);
    if (isfinite(ours))
        sp_format(line + used, SP_CAUTION_SIZE - used,
                  " Published presses along the walls of urethane hexagons had an efficiency of at "
                  "most 47 %% (Polymers 2025, 17, 3035); this press has %.0f %%.",
                  100 * ours);
    return 1;
}

/* Struts that stretch each by itself give triangles and kagome, the denser they are, too much shear
 * stiffness, beyond the upper bound of such a body, and too little against being held sideways
 * (theory, section 8, E230 and E276). How far is told by solid elements (make joints) at 25 % of
 * lines and at twice as many. */
static int put_stretching(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    static const double dense = 0.25;
    const sp_case *request = &result->request;
    const char *pattern = request->pattern;
    const sp_built built = result->network.built;
    const int stretches = !strcmp(pattern, "triangular") || !strcmp(pattern, "kagome");
    if (!stretches || (built != SP_BUILT_EXTRUDED && built != SP_BUILT_LAYERS) ||
        result->network.nominal_density < dense)
        return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "Dense %s struts stretch each by itself: the stiffness between free sides is "
              "within 5 %%, but that in shear is too high (by 5 to 23 %% if the filament keeps "
              "its volume, beyond the bound for such a body; by 6 %% at a Poisson ratio of "
              "1/4), and kept from widening it is too soft (by 6 to 48 %%; by 12 %%).",
              pattern);
    return 1;
}

/* Caution of a force that is larger than test rigs can measure: the case may hold a slip. */
static int put_bench(const sp_path *path, char line[SP_CAUTION_SIZE])
{
    int i = 0, last = path->step_count - 1;
    while (i <= last && !(path->step[i].force > bench_force)) i++;
    if (i > last) return 0;
    sp_format(
        line, SP_CAUTION_SIZE,
        "From %.3g %% strain on the force is above %g kN (%.4g kN at the end), which hardly a "
        "test bench reaches: are sizes, modulus and strain as meant? press.load_limit ends a "
        "press at a force.",
        100 * sp_path_strain(path, i), bench_force / 1000,
        sp_finite(path->step[last].force) / 1000);
    return 1;
}

/* A drop strains a coupon faster than any test that a law is fitted to. */
static int put_drop(const sp_result *result, char lines[][SP_CAUTION_SIZE])
{
    const sp_path *path = &result->path;
    const sp_case *request = &result->request;
    double speed = 0, shortest = request->relaxation_shortest;
    for (int i = 0; i < path->stage_count; i++)
        for (int k = path->stage[i].first; k <= path->stage[i].last; k++)
            speed = fmax(speed, sp_finite(sp_path_state(path, k)->mass_speed));
    if (!(speed > 0)) return 0;
    const sp_list *times = &request->relaxation_times;
    const int relaxes =
        times->count > 0 || request->relaxation_exponent > 0 || request->relaxation_set > 0;
    for (int i = 0; i < times->count; i++)
        shortest = i ? fmin(shortest, times->value[i]) : times->value[i];
    sp_format(lines[0], SP_CAUTION_SIZE,
              "A drop that is computed is no proof that it protects what falls or what is hit: "
              "where someone could be hurt, applicable standards and drop tests of the printed "
              "part decide.");
    if (relaxes)
        sp_format(lines[1], SP_CAUTION_SIZE,
                  "The mass strains the coupon at %.3g /s, faster than tests of a filament are: "
                  "the law is extrapolated there. Its quickest branch takes %.3g s; what is "
                  "quicker is elastic (material.relaxation.shortest).",
                  speed / path->size[1], shortest);
    else
        sp_format(lines[1], SP_CAUTION_SIZE,
                  "The mass strains the coupon at %.3g /s, and the law has no rate: a filament "
                  "whose modulus falls as t^-0.06 is 1.5 to 1.7 times stiffer there than at 0.01 "
                  "/s, and keeps a part of the energy.",
                  speed / path->size[1]);
    return 2;
}

/* Return the time of the slowest branch that relaxes or flows [s]; 0: nothing does. */
static double slowest_time(const sp_case *request)
{
    const sp_list *times = &request->relaxation_times;
    double slowest = request->flow_share > 0 ? request->flow_time : 0;
    if (request->second_flow_share > 0) slowest = fmax(slowest, request->second_flow_time);
    if (request->relaxation_exponent > 0 || request->relaxation_set > 0)
        slowest = fmax(slowest, request->relaxation_longest);
    for (int i = 0; i < times->count && request->relaxation_shares.count > 0; i++)
        slowest = fmax(slowest, times->value[i]);
    return slowest;
}

/* Caution of times that the branches of a law do not cover. */
static int put_long(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const double slowest = slowest_time(&result->request);
    const sp_segment *longest = NULL;
    for (int i = 0; i < result->path.stage_count; i++) {
        const sp_segment *segment = &result->path.stage[i].segment;
        if (!longest || segment->duration > longest->duration) longest = segment;
    }
    if (!(slowest > 0) || !longest || !(longest->duration > beyond_branches * slowest)) return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "`%s` is %.3g times as long as the slowest branch of the law (%.4g s): what the "
              "filament still relaxes or recovers by then is not in it, so that the end of it is "
              "an extrapolation.",
              longest->text, longest->duration / slowest, slowest);
    return 1;
}

/* Return the mean rate over a stage at which the fibres with the largest strain are strained [1/s];
 * 0 where the platen stands. */
static double fibre_rate(const sp_path *path, const sp_stage *stage)
{
    const double time =
        sp_path_state(path, stage->last)->time - sp_path_state(path, stage->first)->time;
    double way = 0;
    if (stage->segment.duration > 0 || !(time > 0)) return 0;
    for (int k = stage->first + 1; k <= stage->last; k++)
        way +=
            fabs(sp_path_state(path, k)->fibre_strain - sp_path_state(path, k - 1)->fibre_strain);
    return way / time;
}

/* Write the caution about rates beyond those of the data, for the stage that is farthest from
 * them. */
static int put_rates(const sp_result *result, char line[SP_CAUTION_SIZE])
{
    const sp_path *path = &result->path;
    const sp_list *known = &result->request.reach_rates;
    const sp_stage *worst = NULL;
    double beyond = 1, worst_rate = 0;
    for (int i = 0; i < path->stage_count && known->count == 2; i++) {
        const double rate = fibre_rate(path, &path->stage[i]);
        if (!(rate > 0)) continue;
        const double off = fmax(rate / known->value[1], known->value[0] / rate);
        if (off > beyond) beyond = off, worst_rate = rate, worst = &path->stage[i];
    }
    if (!worst) return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "`%s` strains the fibres at %.2g /s where they are strained most, and the data of "
              "the material go from %.2g to %.2g /s (material.reach_rates): %.2g times beyond them "
              "forces, losses and sets are an extrapolation.",
              worst->segment.text, worst_rate, known->value[0], known->value[1], beyond);
    return 1;
}

/* Write the caution about fibres beyond the rows of a measured curve, with how far they go on
 * either side. */
static int put_rows(const sp_path *path, char line[SP_CAUTION_SIZE])
{
    const int most = path->fibre_most > path->rows_most,
              least = path->fibre_least < path->rows_least;
    char text[2][96] = {"", ""};
    if (!most && !least) return 0;
    if (most)
        sp_format(text[0], sizeof text[0], "stretched by %.3g %% (the rows end at %.3g %%)",
                  100 * (path->fibre_most - 1), 100 * (path->rows_most - 1));
    if (least)
        sp_format(text[1], sizeof text[1], "shortened by %.3g %% (the rows end at %.3g %%)",
                  100 * (1 - path->fibre_least), 100 * (1 - path->rows_least));
    sp_format(line, SP_CAUTION_SIZE,
              "Fibres are %s%s%s: beyond the rows of material.table the law is a guess, the true "
              "stress goes on over the log strain as it rose at their end.",
              text[0], most && least ? " and " : "", text[1]);
    return 1;
}

/* What a press in time, or the data of a material, leave out: layers that press on each other
 * relax, but do not yield, and a press may end before its protocol does. */
static int put_limits(const sp_result *result, char lines[][SP_CAUTION_SIZE])
{
    const sp_path *path = &result->path;
    int count = 0, touches = 0;
    for (int i = 0; i < path->stage_count && !touches; i++)
        touches = path->stage[i].segment.duration > 0 &&
                  sp_path_state(path, path->stage[i].first)->contacts > 0;
    if (touches && sp_case_asks_for_time(&result->request) && sp_law_yields(result->request.law))
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "Struts touch while time passes: layers pressed on each other relax as the "
                  "filament does but do not yield with it, so that they give back too much of what "
                  "they carry.");
    count += put_long(result, lines[count]);
    count += put_rates(result, lines[count]);
    if (path->stage_count > 0 && !path->stage[path->stage_count - 1].reached)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "The protocol ended early, in `%s`: figures beyond its end are not reached.",
                  path->stage[path->stage_count - 1].segment.text);
    if (largest_fibre_strain(path) > result->request.reach)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "Fibre strains reach %.3g %%, and the data of the material %.3g %% "
                  "(material.reach): beyond that strain the law is a guess.",
                  100 * sp_finite(largest_fibre_strain(path)), 100 * result->request.reach);
    return count;
}

/* Struts that yield fold by hinges, which stand half an element inside the ends of a strut in
 * space: with n elements forces are up to n/(n - 1) times too high. Planar elements are asked by
 * the joint itself. E222, E260 */
static int put_hinges(const sp_result *result, char *line)
{
    const int asked = result->request.elements_per_strut;
    const int elements = asked > 1 ? asked : usual_elements;
    const sp_path *path = &result->path;
    const sp_step *last = path->step_count > 0 ? &path->step[path->step_count - 1] : NULL;
    if (!sp_law_yields(result->request.law) || path->block || result->network.panel ||
        elements >= fine_mesh || result->network.dimension == 2 || !last ||
        !(last->dissipated > hinge_share * last->work))
        return 0;
    sp_format(line, SP_CAUTION_SIZE,
              "Where struts yield they fold by hinges, and n elements put these half an element "
              "inside the ends of a strut: forces are up to n/(n - 1) too high, with %d elements "
              "by up to %.0f %%. `model.elements_per_strut: 16` leaves 7 %%.",
              elements, 100.0 / (elements - 1));
    return 1;
}

int sp_cautions(const sp_result *result, char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE])
{
    const sp_path *path = &result->path;
    int count = 0;
    snprintf(lines[count++], SP_CAUTION_SIZE, "%s", SP_CAUTION_SAFETY);
    double share = sp_short_strut_share(result), fibre = largest_fibre_strain(path);
    if (share > short_share) put_short(result, share, lines[count++]);
    count += put_too_stiff(result, lines[count]);
    count += put_stretching(result, lines[count]);
    if (path->block) count += sp_block_cautions(result, lines + count);
    count +=
        sp_network_flat_text(&result->network, &result->request, lines[count], SP_CAUTION_SIZE);
    count += sp_network_panel_text(&result->network, lines[count], SP_CAUTION_SIZE);
    count += put_edges(result, lines[count]);
    count += sp_network_stack_text(&result->network, lines[count], SP_CAUTION_SIZE);
    count +=
        sp_network_skin_text(&result->network, &result->request, lines[count], SP_CAUTION_SIZE);
    count +=
        sp_network_block_text(&result->network, &result->request, lines[count], SP_CAUTION_SIZE);
    count += put_thin_layers(&result->request, lines[count]);
    count += put_crossing_beads(result, lines[count]);
    count += sp_network_few_cells_text(&result->network, &result->request, lines[count],
                                       SP_CAUTION_SIZE);
    count += put_bench(path, lines[count]);
    count += put_limits(result, lines + count);
    count += put_rows(path, lines[count]);
    count += put_drop(result, lines + count);
    count += put_hinges(result, lines[count]);
    count += sp_hardness_caution(&result->request, lines[count], SP_CAUTION_SIZE);
    if (isfinite(fibre) && fibre > large_fibre_strain)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "Fibre strains reach %.0f %%: a filament may tear or yield before, and damage is "
                  "not modelled.",
                  100.0 * fibre);
    if (sp_branches_apart(&path->branches) > apart_share)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "There are other stable states, whose forces lie up to %.2g %% from the curve: a "
                  "push decides which of them a print comes to.",
                  100 * sp_branches_apart(&path->branches));
    if (path->stop == SP_STOP_RANGE || path->stop == SP_STOP_GAVE_UP ||
        path->stop == SP_STOP_INTERRUPTED)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "The press ended early (%s): figures beyond its end are not reached.",
                  sp_stop_text(path->stop));
    return count;
}

static void add_jumps(const sp_critical *critical, char *text, size_t size)
{
    const size_t used = strlen(text);
    if (critical->jumps > 0)
        sp_format(text + used, size - used,
                  "; %d %s of single contacts on the way, which release at most %.2g mJ",
                  critical->jumps, critical->jumps == 1 ? "jump" : "jumps",
                  sp_finite(critical->jump_released));
}

int sp_critical_quoted(const sp_critical *critical)
{
    enum { MOST = 3 };
    const int count = critical->found ? critical->strut_count : 0;
    return count < MOST ? count : MOST;
}

void sp_critical_text(const sp_path *path, char *text, size_t size)
{
    const sp_critical *critical = &path->critical;
    if (path->block != SP_BLOCK_NONE) {
        sp_format(text, size, SP_NO_STRUTS);
        return;
    }
    if (critical->untold) {
        sp_format(text, size,
                  "not known: stability may be lost between %.5g %% and %.5g %% strain, where "
                  "no state was found",
                  100.0 * critical->strain, 100.0 * critical->strain_beyond);
        return;
    }
    if (!critical->found && !(critical->strain > 0.0)) {
        sp_format(text, size, "not searched");
        return;
    }
    if (!critical->found) {
        sp_format(text, size, "no instability up to %.4g %% strain%s", 100.0 * critical->strain,
                  critical->cut_short ? ", where the search had taken so long that it was ended"
                                      : "");
        add_jumps(critical, text, size);
        return;
    }
    sp_format(text, size, "at %.4g %% strain, %.4g N (%s: %s)", 100.0 * sp_finite(critical->strain),
              sp_finite(critical->force), sp_critical_word(critical->kind),
              sp_critical_clause(critical->kind));
    for (int i = 0; i < sp_critical_quoted(critical); i++) {
        size_t used = strlen(text);
        sp_format(text + used, size - used, "%s %s %d (%.3g %%)",
                  i ? "," : "; largest shares of the mode's bending energy:",
                  path->shapes.sheet_count ? "wall" : "strut", critical->strut[i],
                  100.0 * sp_finite(critical->share[i]));
    }
}

void sp_buckled_text(const sp_result *result, char *text, size_t size)
{
    const sp_buckled *buckled = &result->path.buckled;
    if (result->path.block != SP_BLOCK_NONE) {
        sp_format(text, size, SP_NO_STRUTS);
        return;
    }
    if (result->network.panel) {
        sp_format(text, size, SP_PANELS_CARRY_ON);
        return;
    }
    if (!buckled->found) {
        sp_format(text, size,
                  "none: struts fold in bending, none passes a maximum of its compression");
        return;
    }
    const char *role = "";
    if (buckled->strut >= 0 && buckled->strut < result->network.strut_count)
        role = result->network.strut_role[buckled->strut] == SP_ROLE_WALL ? " (wall)" : " (infill)";
    sp_format(text, size,
              "strut %d%s at %.4g %% strain, axial force %.4g N, slenderness %.3g, %.3g x its "
              "clamped Euler load",
              buckled->strut, role, 100.0 * sp_finite(buckled->strain),
              sp_finite(buckled->strut_force), sp_finite(buckled->slenderness),
              sp_finite(buckled->euler_ratio));
}

void sp_coupon_text(const sp_result *result, char *text, size_t size)
{
    const sp_case *request = &result->request;
    const sp_network *network = &result->network;
    const double *size_mm = network->block ? network->whole : network->size;
    char seed[48] = "no flaws", rubs[48] = "";
    static const char *const hold[] = {"bonded", "sliding", "friction"};
    if (request->strut_friction > 0 || request->platen_friction > 0)
        sp_format(rubs, sizeof rubs, ", friction %.3g / %.3g (struts / platens)",
                  request->strut_friction, request->platen_friction);
    if (request->flaw_seed && network->built != SP_BUILT_SOLID)
        sp_format(seed, sizeof seed, "flaw seed %d", request->flaw_seed);
    sp_format(text, size, "%s, density %.3g %%, %.4g x %.4g x %.4g mm, %s platens, %s%s",
              request->pattern, 100.0 * sp_finite(network->nominal_density), size_mm[0], size_mm[1],
              size_mm[2], hold[request->platens], seed, rubs);
}

void sp_cautions_each(const sp_result *result, void (*take)(void *user, const char *line),
                      void *user)
{
    char line[SP_CAUTION_MAX][SP_CAUTION_SIZE];
    const int count = sp_cautions(result, line);
    for (int i = 0; i < count; i++)
        if (strcmp(line[i], SP_CAUTION_SAFETY) != 0) take(user, line[i]);
}
