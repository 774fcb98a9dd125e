/* curve.svg: nominal stress against strain, with force and shortening on the second axes.
 *
 * The stress axis ends at a few plateau stresses, so that the plateau is readable under a curve
 * that ends far above it; the key then says where the curve leaves the picture and where it ends.
 * Every mark is explained in the key below the picture, so no text can meet a line or another
 * text. */
#include <math.h>
#include <string.h>

#include "caution/caution.h"
#include "picture/curve_plot.h"
#include "caution/solid.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define LEFT CURVE_LEFT
#define RIGHT 906.0
#define TOP 122.0
#define BOTTOM 582.0
#define KEY_TOP 662.0
#define LETTER CURVE_LETTER
#define SMALL 12.0
/* End of the stress axis / largest of plateau stress, first maximum and critical stress. */
#define ZOOM 4.0
#define ZOOM_WORTH 1.5 /* the axis is cut only when the curve ends this many times above it */
#define ROUND_OFF 1e-6 /* share of the largest stress below which a negative one is zero */

static double place_x(const curve_plot *plot, double strain)
{
    return LEFT + (RIGHT - LEFT) * sp_finite(strain) / plot->strain_end;
}

static double place_y(const curve_plot *plot, double stress)
{
    double share = (sp_finite(stress) - plot->stress_low) / (plot->stress_end - plot->stress_low);
    return BOTTOM -
           (BOTTOM - TOP) * fmax(-2.0, fmin(20.0, share)); /* a place farther outside is moved
                                                              nearer, since it is clipped anyway */
}

static sp_measure figure(const sp_result *result, const char *name)
{
    const double value = sp_measure_value(result, name);
    return isfinite(value) ? (sp_measure){1, value} : (sp_measure){0, 0.0};
}

static void choose_axes(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    double high = 0.0, low = 0.0, far = 0.0;
    for (int i = 0; i < path->step_count; i++) {
        high = fmax(high, sp_finite(sp_path_stress(path, i)));
        low = fmin(low, sp_finite(sp_path_stress(path, i)));
        far = fmax(far, sp_finite(sp_path_strain(path, i)));
    }
    int count;
    const sp_band *band = sp_result_band(plot->result, &count);
    for (int i = 0; i < count; i++) high = fmax(high, sp_finite(band[i].high / plot->area));
    double critical = path->critical.found ? path->critical.force / plot->area : 0.0;
    double wanted = fmax(plot->plateau.value, plot->first_maximum.value);
    wanted = ZOOM * fmax(wanted, sp_finite(critical));
    if (path->critical.found) far = fmax(far, sp_finite(path->critical.strain));
    high = fmax(high, sp_finite(critical));
    double end = wanted > 0.0 && high > ZOOM_WORTH * wanted ? wanted : high * 1.04;
    double tick = sp_svg_tick(end > 0.0 ? end : 1.0, 5);
    plot->stress_end = end > 0.0 ? 0.5 * tick * ceil(2.0 * end / tick) : 1.0;
    plot->stress_low = low < -ROUND_OFF * high ? -0.5 * tick * ceil(-2.0 * low / tick) : 0.0;
    plot->strain_end = far > 0.0 ? fmin(1.0, 0.05 * ceil(far / 0.05 - 1e-9)) : 1.0;
    if (far > 0.0 && far < 0.05) plot->strain_end = 1.05 * far;
}

/* ---- axes ------------------------------------------------------------------------------------ */

typedef enum { AXIS_STRAIN, AXIS_SHORTENING, AXIS_STRESS, AXIS_FORCE } axis;

/* Draw one tick with its number; `value` is in units of the axis, `share` is its share of the axis.
 */
static void draw_tick(curve_plot *plot, axis side, double share, double value)
{
    char number[SP_NUMBER_SIZE];
    double x = LEFT + (RIGHT - LEFT) * share, y = BOTTOM - (BOTTOM - TOP) * share;
    sp_number(number, fabs(value) < 1e-12 ? 0.0 : value, 6);
    sp_svg *svg = &plot->svg;
    switch (side) {
    case AXIS_STRAIN:
        sp_svg_line(svg, x, TOP, x, BOTTOM, 0.6, "#e3e6ea", NULL);
        sp_svg_line(svg, x, BOTTOM, x, BOTTOM + 6.0, 1.0, SP_INK, NULL);
        sp_svg_text(svg, x, BOTTOM + 22.0, LETTER, SP_SVG_MIDDLE, SP_INK, number);
        break;
    case AXIS_SHORTENING:
        sp_svg_line(svg, x, TOP - 6.0, x, TOP, 1.0, SP_INK, NULL);
        sp_svg_text(svg, x, TOP - 11.0, LETTER, SP_SVG_MIDDLE, SP_INK, number);
        break;
    case AXIS_STRESS:
        sp_svg_line(svg, LEFT, y, RIGHT, y, 0.6, "#e3e6ea", NULL);
        sp_svg_line(svg, LEFT - 6.0, y, LEFT, y, 1.0, SP_INK, NULL);
        sp_svg_text(svg, LEFT - 10.0, y + 5.0, LETTER, SP_SVG_RIGHT, SP_INK, number);
        break;
    case AXIS_FORCE:
        sp_svg_line(svg, RIGHT, y, RIGHT + 6.0, y, 1.0, SP_INK, NULL);
        sp_svg_text(svg, RIGHT + 10.0, y + 5.0, LETTER, SP_SVG_LEFT, SP_INK, number);
        break;
    }
}

static void draw_axis(curve_plot *plot, axis side, double low, double end)
{
    double tick = sp_svg_tick(end - low, side == AXIS_STRAIN || side == AXIS_SHORTENING ? 8 : 6);
    for (double k = ceil(low / tick - 1e-9); k * tick <= end + 1e-9 * tick; k += 1.0)
        draw_tick(plot, side, (k * tick - low) / (end - low), k * tick);
}

static void draw_axes(curve_plot *plot)
{
    double height = plot->result->path.size[1], area = plot->area;
    sp_svg *svg = &plot->svg;
    draw_axis(plot, AXIS_STRAIN, 0.0, 100.0 * plot->strain_end);
    draw_axis(plot, AXIS_STRESS, plot->stress_low, plot->stress_end);
    draw_axis(plot, AXIS_SHORTENING, 0.0, plot->strain_end * height);
    draw_axis(plot, AXIS_FORCE, plot->stress_low * area, plot->stress_end * area);
    double middle_x = 0.5 * (LEFT + RIGHT), middle_y = 0.5 * (TOP + BOTTOM);
    sp_svg_text(svg, middle_x, BOTTOM + 44.0, LETTER, SP_SVG_MIDDLE, SP_INK, "nominal strain [%]");
    sp_svg_text(svg, middle_x, TOP - 34.0, LETTER, SP_SVG_MIDDLE, SP_INK, "shortening [mm]");
    sp_svg_text_upright(svg, 24.0, middle_y, LETTER, SP_INK, "nominal stress [MPa]");
    sp_svg_text_upright(svg, CURVE_PICTURE_WIDTH - 14.0, middle_y, LETTER, SP_INK, "force [N]");
}

/* ---- marks ----------------------------------------------------------------------------------- */

static void draw_plateau(curve_plot *plot)
{
    if (!plot->plateau.reached) return;
    double from = place_x(plot, CURVE_PLATEAU_FROM), to = place_x(plot, CURVE_PLATEAU_TO);
    double y = place_y(plot, plot->plateau.value);
    sp_print(plot->svg.stream,
             "<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\" fill=\"" SP_GREEN
             "\" fill-opacity=\"0.10\"/>\n",
             from, TOP, to - from, BOTTOM - TOP);
    sp_svg_line(&plot->svg, from, y, to, y, 2.0, SP_GREEN, NULL);
}

static void draw_densification(curve_plot *plot)
{
    if (!plot->densification.reached) return;
    double x = place_x(plot, plot->densification.value);
    sp_svg_line(&plot->svg, x, TOP, x, BOTTOM, 1.4, SP_INK, "7 5");
}

static void begin_line(curve_plot *plot, const char *colour, double width)
{
    sp_print(plot->svg.stream,
             "<polyline fill=\"none\" stroke=\"%s\" stroke-width=\"%.3g\" "
             "stroke-linejoin=\"round\" points=\"",
             colour, width);
}

static void draw_back(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    if (path->back_count < 1) return;
    sp_svg_raw(&plot->svg, "<g stroke-dasharray=\"7 4\">\n");
    begin_line(plot, SP_BLUE, 1.8);
    for (int i = -1; i < path->back_count; i++) {
        const sp_step *step = i < 0 ? &path->step[path->step_count - 1] : &path->back[i];
        sp_print(plot->svg.stream, "%.2f,%.2f ", place_x(plot, step->shortening / path->size[1]),
                 place_y(plot, step->force / plot->area));
    }
    sp_svg_raw(&plot->svg, "\"/>\n</g>\n");
}

/* Draw the block as points of a line, up to the end of the picture. */
static void solid_points(curve_plot *plot, int bonded, int downwards)
{
    const sp_solid_curve *solid = &plot->result->path.solid;
    int last = solid->count - 1;
    while (last > 1 && 0.01 * (last - 1) > plot->strain_end) last--;
    for (int i = 0; i <= last; i++) {
        const int percent = downwards ? last - i : i;
        sp_print(plot->svg.stream, "%.2f,%.2f ", place_x(plot, 0.01 * percent),
                 place_y(plot, sp_solid_force(solid, percent, bonded) / plot->area));
    }
}

static void draw_solid(curve_plot *plot, int bonded)
{
    sp_svg_raw(&plot->svg, bonded ? "<g>\n" : "<g stroke-dasharray=\"9 3 2 3\">\n");
    begin_line(plot, SP_GREY, 1.8);
    solid_points(plot, bonded, 0);
    sp_svg_raw(&plot->svg, "\"/>\n</g>\n");
}

static void draw_solids(curve_plot *plot)
{
    for (int i = 0; i < plot->key_count; i++) {
        if (plot->key[i].mark == MARK_SOLID) draw_solid(plot, 1);
        if (plot->key[i].mark == MARK_SOLID_SLIDING) draw_solid(plot, 0);
    }
}

/* Shade what lies between the curve of the beams and that of the block, as far as the beams go. */
static void draw_band(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    if (!sp_has_band(plot->result)) return;
    const double end = place_x(plot, sp_path_strain(path, path->step_count - 1));
    sp_print(plot->svg.stream,
             "<clipPath id=\"pressed\"><rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" "
             "height=\"%.2f\"/></clipPath>\n<polygon clip-path=\"url(#pressed)\" fill=\"" SP_SKY
             "\" fill-opacity=\"0.25\" points=\"",
             LEFT, TOP, fmax(0.0, end - LEFT), BOTTOM - TOP);
    for (int i = 0; i < path->step_count; i++)
        sp_print(plot->svg.stream, "%.2f,%.2f ", place_x(plot, sp_path_strain(path, i)),
                 place_y(plot, sp_path_stress(path, i)));
    solid_points(plot, sp_solid_is_bonded(&plot->result->request), 1);
    sp_svg_raw(&plot->svg, "\"/>\n");
}

static void seed_point(curve_plot *plot, double strain, double force)
{
    sp_print(plot->svg.stream, "%.2f,%.2f ", place_x(plot, strain),
             place_y(plot, force / plot->area));
}

/* Shade the band between the lowest and the highest force of the seeds, and draw their median. */
static void draw_seeds(curve_plot *plot)
{
    int count;
    const sp_band *band = sp_result_band(plot->result, &count);
    if (count < 2) return;
    sp_svg_raw(&plot->svg, "<polygon fill=\"" SP_BLUE "\" fill-opacity=\"0.2\" points=\"");
    for (int i = 0; i < count; i++) seed_point(plot, band[i].strain, band[i].high);
    for (int i = count - 1; i >= 0; i--) seed_point(plot, band[i].strain, band[i].low);
    sp_svg_raw(&plot->svg, "\"/>\n<g stroke-dasharray=\"2 3\">\n");
    begin_line(plot, SP_BLUE, 1.2);
    for (int i = 0; i < count; i++) seed_point(plot, band[i].strain, band[i].median);
    sp_svg_raw(&plot->svg, "\"/>\n</g>\n");
}

/* Shade the band between the lowest and the highest force of the states that were not taken, from
 * the state of the press at which they were looked for. */
static void draw_branches(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    for (int k = 0; k < path->branches.look_count; k++) {
        const sp_look *look = &path->branches.look[k];
        int from = 0;
        if (look->points == 0) continue;
        while (from + 1 < path->step_count && sp_path_strain(path, from) < look->strain - 1e-9)
            from++;
        sp_svg_raw(&plot->svg,
                   "<polygon fill=\"" SP_PURPLE "\" fill-opacity=\"0.25\" stroke=\"" SP_PURPLE
                   "\" stroke-width=\"0.8\" points=\"");
        seed_point(plot, look->strain, path->step[from].force);
        for (int i = 0; i < look->points; i++) seed_point(plot, look->at[i], look->high[i]);
        for (int i = look->points - 1; i >= 0; i--) seed_point(plot, look->at[i], look->low[i]);
        sp_svg_raw(&plot->svg, "\"/>\n");
    }
}

static void draw_curve(curve_plot *plot, const sp_path *path, const char *colour, double width)
{
    if (path->step_count < 1) return;
    begin_line(plot, colour, width);
    for (int i = 0; i < path->step_count; i++)
        sp_print(plot->svg.stream, "%.2f,%.2f ", place_x(plot, sp_path_strain(path, i)),
                 place_y(plot, sp_path_stress(path, i)));
    sp_svg_raw(&plot->svg, "\"/>\n");
}

/* A mark outside the frame is left out, because the key tells its figure anyway. */
static void mark_place(curve_plot *plot, mark_kind mark, double strain, double stress)
{
    if (!(stress >= plot->stress_low && stress <= plot->stress_end)) return;
    sp_curve_mark(&plot->svg, mark, place_x(plot, strain), place_y(plot, stress));
}

static void mark_step(curve_plot *plot, mark_kind mark, int step)
{
    const sp_path *path = &plot->result->path;
    if (step < 0 || step >= path->step_count) return;
    mark_place(plot, mark, sp_path_strain(path, step), sp_path_stress(path, step));
}

static void draw_marks(curve_plot *plot)
{
    const sp_path *path = &plot->result->path;
    for (int i = 0; i < path->event_count; i++)
        if (path->event[i].kind == SP_EVENT_SNAP) mark_step(plot, MARK_SNAP, path->event[i].step);
    if (plot->plateau_end.reached)
        mark_place(plot, MARK_PLATEAU_END, plot->plateau_end.value,
                   CURVE_PLATEAU_RISE * plot->plateau.value);
    if (path->critical.found)
        mark_place(plot, MARK_CRITICAL, path->critical.strain, path->critical.force / plot->area);
    if (path->buckled.found)
        mark_step(plot, MARK_BUCKLED, path->buckled.step); /* this mark lies inside the frame */
}

/* Draw all that belongs to the curve, cut at the frame. */
static void draw_inside(curve_plot *plot)
{
    sp_print(plot->svg.stream,
             "<clipPath id=\"frame\"><rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" "
             "height=\"%.2f\"/></clipPath>\n<g clip-path=\"url(#frame)\">\n",
             LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP);
    draw_plateau(plot);
    draw_densification(plot);
    draw_band(plot);
    draw_seeds(plot);
    draw_branches(plot);
    draw_solids(plot);
    draw_back(plot);
    draw_curve(plot, &plot->result->path, SP_BLUE, 2.4);
    draw_curve(plot, &plot->result->perfect, SP_VERMILION, 1.4);
    sp_svg_raw(&plot->svg, "</g>\n");
    sp_svg_box(&plot->svg, LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP, NULL, SP_INK);
    draw_marks(plot);
}

static void prepare(curve_plot *plot, const sp_result *result)
{
    *plot = (curve_plot){.result = result, .area = result->path.size[0] * result->path.size[2]};
    plot->plateau = figure(result, "plateau_stress");
    plot->plateau_end = figure(result, "plateau_end");
    plot->densification = figure(result, "densification_strain");
    plot->efficiency = figure(result, "efficiency_max");
    plot->first_maximum = figure(result, "first_maximum");
    plot->set = figure(result, "set_strain");
    plot->kept = figure(result, "energy_kept");
    choose_axes(plot);
    sp_curve_key_fill(plot);
}

sp_status sp_writer_curve_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    curve_plot plot;
    char line[256];
    prepare(&plot, result);
    double text_width = CURVE_PICTURE_WIDTH - LEFT - 24.0, key = sp_curve_key_height(&plot);
    double foot = sp_svg_paragraph_height(SMALL, text_width, SP_CAUTION_SAFETY);
    plot.svg = sp_svg_begin(stream, CURVE_PICTURE_WIDTH, KEY_TOP + key + foot + 24.0, "Load curve");
    sp_svg_text_bold(&plot.svg, LEFT, 34.0, 20.0, SP_INK, "Load curve");
    sp_coupon_text(result, line, sizeof line);
    sp_svg_text(&plot.svg, LEFT, 58.0, LETTER, SP_SVG_LEFT, SP_GREY, line);
    draw_axes(&plot);
    draw_inside(&plot);
    sp_curve_key_draw(&plot, KEY_TOP);
    sp_svg_paragraph(&plot.svg, LEFT, KEY_TOP + key + 16.0, SMALL, text_width, SP_GREY,
                     SP_CAUTION_SAFETY);
    sp_svg_end(&plot.svg);
    return sp_stream_end(context, stream);
}
