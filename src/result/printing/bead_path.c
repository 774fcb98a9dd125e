/* Write a coupon of planar layers as motion of a printer: layer by layer the walls from the inside
 * out, then the infill as few lines.
 *
 * Beads of the infill end at the inner face of the walls, where they touch the innermost wall;
 * without walls they end half a bead inside the faces of the coupon. */
#include <strutpress/print.h>

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "case/case_parts.h"
#include "printing/body.h"
#include "printing/trails.h"
#include "write/file_set.h"
#include "write/text.h"

static const double usual_layer = 0.2, usual_filament = 1.75; /* mm: common practice, no source */
static const double usual_speed = 20, usual_travel = 100;     /* mm/s: common practice, no source */

typedef struct writing {
    sp_context *context;
    const sp_case *request;
    sp_bead_path_options options; /* the options, with defaults for those that were left open */
    FILE *stream;
    sp_bead_path_summary *summary;
    double corner[2];    /* of the coupon on the bed [mm] */
    double layer, at[3]; /* height of a layer; where the nozzle stands [mm] */
    int is_begun, fresh; /* 1: the nozzle stands somewhere; 1: the layer begins */
} writing;

/* --- motion --- */

static void say_position(writing *w, const double p[2], double x[2])
{
    for (int k = 0; k < 2; k++) {
        x[k] = w->corner[k] + p[k];
        w->summary->low[k] = fmin(w->summary->low[k], x[k]);
        w->summary->high[k] = fmax(w->summary->high[k], x[k]);
    }
}

/* Move without a bead; do nothing when the nozzle is there already. */
static void travel(writing *w, const double p[2])
{
    double x[2];
    say_position(w, p, x);
    const double way = w->is_begun ? hypot(x[0] - w->at[0], x[1] - w->at[1]) : 0;
    if (w->is_begun && !w->fresh && way < 1e-4) return;
    if (w->fresh) sp_print(w->stream, "G0 F%.0f Z%.4f\n", 60 * w->options.travel_speed, w->at[2]);
    sp_print(w->stream, "G0 F%.0f X%.4f Y%.4f\n", 60 * w->options.travel_speed, x[0], x[1]);
    w->summary->travel_length += way;
    w->summary->seconds += way / w->options.travel_speed;
    w->summary->lines++;
    w->at[0] = x[0], w->at[1] = x[1];
    w->is_begun = 1;
    w->fresh = 0;
}

/* The drawn section is a rectangle: it is what the network has, and it fills walls whose beads lie
 * a width apart. With round sides the bead comes out wider by (1 - pi/4) of the height of a layer.
 * E215 */
static double section_of(const writing *w, double width)
{
    return w->layer * width;
}

static void bead(writing *w, const double p[2], double width)
{
    double x[2];
    say_position(w, p, x);
    const double way = hypot(x[0] - w->at[0], x[1] - w->at[1]);
    if (way < 1e-4) return;
    const double volume = way * section_of(w, width);
    const double filament = volume / (M_PI / 4 * w->options.filament * w->options.filament);
    sp_print(w->stream, "G1 F%.0f X%.4f Y%.4f E%.5f\n", 60 * w->options.speed, x[0], x[1],
             filament);
    w->summary->bead_length += way;
    w->summary->volume += volume;
    w->summary->filament_length += filament;
    w->summary->seconds += way / w->options.speed;
    w->at[0] = x[0], w->at[1] = x[1];
}

/* --- one layer --- */

static void write_walls(writing *w, const sp_slab *slab)
{
    const int count = slab->wall > 0 ? w->request->wall_beads : 0;
    for (int k = count - 1; k >= 0; k--) {
        const double width = slab->wall / count, inset = (k + 0.5) * width;
        const double x = slab->size[0] - inset, y = slab->size[1] - inset;
        const double corner[5][2] = {
            {inset, inset}, {x, inset}, {x, y}, {inset, y}, {inset, inset}};
        travel(w, corner[0]);
        for (int i = 1; i < 5; i++) bead(w, corner[i], width);
    }
}

/* Find the part of a segment inside a box; 0 when there is none. */
static int cut_to_box(double low, const double high[2], double end[2][2])
{
    double t[2] = {0, 1};
    for (int k = 0; k < 2; k++) {
        const double d = end[1][k] - end[0][k];
        if (d == 0 && (end[0][k] < low || end[0][k] > high[k])) return 0;
        if (d == 0) continue;
        const double one = (low - end[0][k]) / d, two = (high[k] - end[0][k]) / d;
        t[0] = fmax(t[0], fmin(one, two));
        t[1] = fmin(t[1], fmax(one, two));
    }
    if (!(t[1] > t[0])) return 0;
    const double a[2] = {end[0][0], end[0][1]}, b[2] = {end[1][0], end[1][1]};
    for (int e = 0; e < 2; e++)
        for (int k = 0; k < 2; k++)
            if (t[e] > 0 && t[e] < 1) end[e][k] = a[k] + t[e] * (b[k] - a[k]);
    return 1;
}

/* Make the infill as lines between points: at a joint that is cut off, each bead gets an end of its
 * own. */
typedef struct lines {
    int point_count, edge_count;
    double *point, *width; /* 2 per point, 1 per edge */
    int *edge, *joint;     /* 2 per edge; point of each joint, -1: none yet */
} lines;

static void lines_free(lines *l)
{
    sp_free(l->point), sp_free(l->width), sp_free(l->edge), sp_free(l->joint);
}

static int add_point(lines *l, const double p[2])
{
    memcpy(l->point + 2 * (size_t)l->point_count, p, 2 * sizeof *p);
    return l->point_count++;
}

static int point_of(lines *l, const sp_bead *b, int end, const double at[2])
{
    if (at[0] != b->end[end][0] || at[1] != b->end[end][1]) return add_point(l, at);
    int *joint = &l->joint[b->joint[end]];
    if (*joint < 0) *joint = add_point(l, at);
    return *joint;
}

/* Move beads that lie along a face of a coupon without walls inside it. */
static void hold_inside(double low, const double high[2], double end[2][2])
{
    for (int e = 0; e < 2; e++)
        for (int k = 0; k < 2; k++) end[e][k] = fmin(fmax(end[e][k], low), high[k]);
}

static void take_lines(const sp_slab *slab, lines *l)
{
    const double bound = fmax(slab->wall, slab->margin);
    for (int i = 0; i < slab->bead_count; i++) {
        const sp_bead *b = &slab->bead[i];
        const double low = bound > 0 ? bound : 0.5 * b->width[0];
        const double high[2] = {slab->size[0] - low, slab->size[1] - low};
        double end[2][2];
        memcpy(end, b->end, sizeof end);
        if (!cut_to_box(low, high, end)) {
            if (bound > 0) continue;
            hold_inside(low, high, end);
        }
        l->width[l->edge_count] = b->width[0];
        for (int e = 0; e < 2; e++) l->edge[2 * l->edge_count + e] = point_of(l, b, e, end[e]);
        l->edge_count++;
    }
}

static sp_status write_infill(writing *w, const sp_slab *slab)
{
    const size_t beads = (size_t)slab->bead_count;
    lines l = {.point = sp_alloc(4 * beads + 1, sizeof *l.point),
               .width = sp_alloc(beads + 1, sizeof *l.width),
               .edge = sp_alloc(2 * beads + 1, sizeof *l.edge),
               .joint = sp_alloc((size_t)slab->joint_count + 1, sizeof *l.joint)};
    sp_trails trails = {0};
    sp_status status = SP_OK;
    if (!l.point || !l.width || !l.edge || !l.joint)
        status = sp_fail(w->context, SP_NO_MEMORY, "no memory for a path of %zu beads", beads);
    if (status == SP_OK) {
        memset(l.joint, -1, ((size_t)slab->joint_count + 1) * sizeof *l.joint);
        take_lines(slab, &l);
        const sp_line_drawing drawing = {l.point_count, l.edge_count, l.point, l.edge};
        const double start[2] = {w->at[0] - w->corner[0], w->at[1] - w->corner[1]};
        status = sp_trails_find(w->context, &drawing, start, &trails);
    }
    for (int t = 0; status == SP_OK && t < trails.count; t++) {
        const int *place = trails.place;
        travel(w, l.point + 2 * (size_t)place[trails.first[t]]);
        for (int i = trails.first[t] + 1; i < trails.first[t + 1]; i++)
            bead(w, l.point + 2 * (size_t)place[i], l.width[trails.by[i]]);
    }
    sp_trails_free(&trails);
    lines_free(&l);
    return status;
}

/* A slab is printed in as many layers as make each of them about as high as asked. */
static sp_status write_slab(void *user, const sp_slab *slab)
{
    writing *w = user;
    const double height = slab->upto - slab->from;
    const int layers = (int)fmax(1, round(height / w->options.layer_height));
    sp_status status = SP_OK;
    w->layer = height / layers;
    double thinnest = slab->wall > 0 ? slab->wall / w->request->wall_beads : INFINITY;
    for (int i = 0; i < slab->bead_count; i++) thinnest = fmin(thinnest, slab->bead[i].width[0]);
    if (thinnest < w->layer) {
        char valid[SP_MESSAGE_SIZE];
        sp_format(valid, sizeof valid,
                  "at least the height of a layer, %.4g mm: a bead is wider than high", w->layer);
        return sp_case_fail_at(w->context, w->request, "bead.width", NULL, valid, NULL);
    }
    for (int k = 0; status == SP_OK && k < layers; k++) {
        w->at[2] = slab->from + (k + 1) * w->layer;
        w->fresh = 1;
        w->summary->layers++;
        w->summary->top = w->at[2];
        write_walls(w, slab);
        status = write_infill(w, slab);
    }
    return status;
}

/* --- the file --- */

static sp_status check_bed(writing *w, const sp_network *network)
{
    const int flat = sp_built_is_flat(network->built);
    const double size[3] = {network->size[0], network->size[flat ? 2 : 1],
                            network->size[flat ? 1 : 2]};
    for (int k = 0; k < 2; k++) {
        const double given = w->options.corner[k];
        w->corner[k] = isnan(given) ? 0.5 * (w->options.bed[k] - size[k]) : given;
    }
    for (int k = 0; k < 3; k++) {
        const double corner = k < 2 ? w->corner[k] : 0;
        if (corner < 0 || !(corner + size[k] <= w->options.bed[k]))
            return sp_fail(w->context, SP_BAD_CASE,
                           "the path would leave the bed: the coupon reaches from %.4g to %.4g mm "
                           "along %c; valid: within 0 to %.4g mm",
                           corner, corner + size[k], "xyz"[k], w -> options.bed[k]);
    }
    return SP_OK;
}

static void print_begin(const writing *w, const sp_network *network)
{
    char title[SP_MESSAGE_SIZE];
    sp_body_title(network, title);
    sp_print(
        w->stream,
        "(strutpress %s: %s)\n"
        "(This file moves a machine. It sets no temperature, finds no zero and knows no clamp.)\n"
        "(Put your own start before it and your own end behind it; watch the first layer.)\n"
        "(Filament of %.4g mm, length of it in E. Bed of %.4g x %.4g x %.4g mm.)\n"
        "G21\nG90\nM83\n",
        sp_version(), title, w->options.filament, w->options.bed[0], w->options.bed[1],
        w->options.bed[2]);
}

static void fill_in(sp_bead_path_options *options)
{
    if (!(options->layer_height > 0)) options->layer_height = usual_layer;
    if (!(options->filament > 0)) options->filament = usual_filament;
    if (!(options->speed > 0)) options->speed = usual_speed;
    if (!(options->travel_speed > 0)) options->travel_speed = usual_travel;
}

/* Count what a whole path holds. */
static sp_status write_motion(writing *w, const sp_network *network)
{
    const sp_print_options *print = &w->options.print;
    const sp_body_options body = {.without_walls = print->without_walls,
                                  .width_scale = print->width_scale};
    print_begin(w, network);
    sp_status status =
        sp_body_slabs(w->context, network, sp_body_wall(w->request), &body, write_slab, w);
    return status == SP_OK ? sp_stream_end(w->context, w->stream) : status;
}

static sp_status write_file(writing *w, const sp_network *network, const char *folder)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(w->context, &set, folder, "path", 1);
    if (status != SP_OK) return status;
    status = sp_file_set_open(w->context, &set, SP_PRINT_PATH);
    if (status == SP_OK) {
        w->stream = set.stream;
        status = sp_file_set_close(w->context, &set, write_motion(w, network));
    }
    return sp_file_set_end(w->context, &set, status);
}

sp_status sp_print_path(sp_context *context, const sp_resolved *resolved,
                        const sp_bead_path_options *options, const char *folder,
                        sp_bead_path_summary *summary)
{
    sp_context own = {0};
    sp_network network;
    const sp_case *request = &resolved->request;
    if (!context) context = &own;
    *summary = (sp_bead_path_summary){.low = {INFINITY, INFINITY}, .high = {-INFINITY, -INFINITY}};
    if (resolved->built == SP_BUILT_SPATIAL || resolved->built == SP_BUILT_SOLID)
        return sp_case_fail_at(context, request, "infill.pattern", NULL,
                               "a planar pattern: its layers are lines of beads", NULL);
    if (resolved->built == SP_BUILT_PANELS && request->skin > 0)
        return sp_case_fail_at(context, request, "coupon.skins", NULL,
                               "0: beads of full layers are not written", NULL);
    writing w = {.context = context, .request = request, .options = *options, .summary = summary};
    fill_in(&w.options);
    const sp_resolved drawn = sp_body_as_drawn(resolved);
    sp_status status = sp_resolved_network(context, &drawn, options->print.with_flaws, &network);
    if (status != SP_OK) return status;
    status = check_bed(&w, &network);
    if (status == SP_OK) status = write_file(&w, &network, folder);
    sp_network_free(&network);
    return status;
}
