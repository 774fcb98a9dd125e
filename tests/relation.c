#include "relation.h"

#include "coupon.h"

#include <strutpress/inspect.h>

#include "base/rng.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "temporary_file.h"
#include "whole_press.h"

/* --- rows --- */

static const char *const layered[] = {"square", "hexagonal", "bricks"};
enum { LAYERED = sizeof layered / sizeof layered[0] };

static int planar_count(void)
{
    int count;
    sp_pattern_rows(&count);
    return count - 1; /* drawn is the last row */
}

static int cell_count(void)
{
    int count;
    sp_cell_rows(&count);
    return count;
}

int relation_coupon_count(void)
{
    return planar_count() + cell_count() + LAYERED;
}

int relation_is_planar(int i)
{
    return i < planar_count();
}

static void put_pattern(int i, double length, sp_case *request)
{
    int count;
    const int cell = i - planar_count(), layer = cell - cell_count();
    const char *name = layer >= 0  ? layered[layer]
                       : cell >= 0 ? sp_cell_rows(&count)[cell].name
                                   : sp_pattern_rows(&count)[i].name;
    snprintf(request->pattern, sizeof request->pattern, "%s", name);
    request->width = 14 * length, request->height = 12 * length, request->depth = 5 * length;
    request->bead_width = 0.42 * length, request->wall_beads = 1;
    request->angle = 17, request->density = 0.2;
    request->strain = 0.1, request->steps = 40; /* 280 to 70 % */
    if (layer >= 0) request->layers = 2, request->layer_turn = 90;
    if (layer >= 0) request->depth = 1 * length;
    if (layer >= 0 || cell >= 0) request->strain = 0.06, request->steps = 24;
    if (cell < 0 || layer >= 0) return;
    request->width = request->height = request->depth = 8 * length;
    request->cells_x = request->cells_y = request->cells_z = 2;
    request->density = 0.12, request->wall_beads = 0;
}

sp_case relation_coupon(int i, double length)
{
    sp_case request;
    sp_case_default(&request);
    put_pattern(i, length, &request);
    request.load_limit = INFINITY, request.find_critical = 0;
    return request;
}

/* The words of the row stand in its range: "bonded | sliding | friction". */
const char *relation_hold(int i)
{
    static char word[32];
    int row = 0;
    while (strcmp(sp_parameter_at(row).key, "platens.hold")) row++;
    const char *at = sp_parameter_at(row).range;
    for (; i > 0 && *at; i--) at += strcspn(at, " |"), at += strspn(at, " |");
    snprintf(word, sizeof word, "%.*s", (int)strcspn(at, " |"), at);
    return word[0] ? word : NULL;
}

void relation_put_hold(sp_case *request, const char *hold)
{
    coupon_set(request, "platens.hold", hold);
    request->platen_friction = strcmp(hold, "friction") ? 0 : 0.3;
}

int relation_takes(int i, int first, int every)
{
    const char *all = getenv("RELATIONS");
    if (all && !strcmp(all, "all")) return 1;
    return (i + first) % (every * (coupon_quick() ? 4 : 1)) == 0;
}

/* --- presses --- */

/* Take the cubic between two ends with values f and slopes g, at the share t of the way h. */
static double cubic(double t, double h, double fa, double ga, double fb, double gb)
{
    const double s = 1 - t;
    return s * s * (1 + 2 * t) * fa + t * t * (1 + 2 * s) * fb + t * s * h * (s * ga - t * gb);
}

static void read_at(const sp_path *path, double shortening, double *force, double *work)
{
    int i = 1;
    while (i + 1 < path->step_count && path->step[i].shortening < shortening) i++;
    const sp_step *a = &path->step[i - 1], *b = &path->step[i];
    const double h = b->shortening - a->shortening;
    const double t = h > 0 ? fmin(1, (shortening - a->shortening) / h) : 1;
    *force = cubic(t, h, a->force, a->stiffness, b->force, b->stiffness);
    *work = cubic(t, h, a->work, a->force, b->work, b->force);
}

static relation_curve curve_of(const sp_case *request, const sp_path *path)
{
    relation_curve curve = {.stiffness = path->step[0].stiffness, .critical = request->strain};
    snprintf(curve.name, sizeof curve.name, "%s, layers %d, hold %d", request->pattern,
             request->layers, request->platens);
    const double travel = path->step[path->step_count - 1].shortening;
    for (int k = 0; k < RELATION_POINTS; k++)
        read_at(path, travel * (k + 1) / RELATION_POINTS, &curve.force[k], &curve.work[k]);
    if (path->critical.found) curve.critical = path->critical.strain;
    return curve;
}

sp_network relation_network(const sp_case *request)
{
    sp_context context = {0};
    sp_network network = {0};
    sp_case asked = *request;
    if (coupon_settle(&context, &asked) != SP_OK ||
        sp_network_build(&context, &asked, asked.flaw_seed != 0, &network) != SP_OK)
        fail_msg("%s: %s", request->pattern, context.message);
    return network;
}

static relation_curve press(const sp_case *request, const sp_network *network, int to_critical)
{
    sp_context context = {0};
    sp_case asked = *request;
    sp_law law;
    sp_model model;
    sp_path path;
    if (coupon_settle(&context, &asked) != SP_OK) fail_msg("%s", context.message);
    if (sp_law_prepare(&context, &asked, &law) != SP_OK) fail_msg("%s", context.message);
    const sp_model_options mesh = {.platens = asked.platens,
                                   .elements_per_strut = asked.elements_per_strut,
                                   .section_points = asked.section_points,
                                   .contact_spacing = asked.contact_spacing,
                                   .friction_struts = asked.strut_friction,
                                   .friction_platens = asked.platen_friction,
                                   .shear_factor = asked.shear_factor};
    const sp_press_options options = {.strain = asked.strain,
                                      .load_limit = INFINITY,
                                      .steps = asked.steps,
                                      .follow_perfect = to_critical,
                                      .stop_at_critical = to_critical};
    if (sp_model_build(&context, network, &law, &mesh, &model) != SP_OK ||
        press_whole_model(&context, &model, &options, &path) != SP_OK)
        fail_msg("%s, hold %d: %s", asked.pattern, asked.platens, context.message);
    const relation_curve curve = curve_of(&asked, &path);
    sp_path_free(&path);
    sp_model_free(&model);
    sp_law_free(&law);
    return curve;
}

relation_curve relation_press_network(const sp_case *request, const sp_network *network)
{
    return press(request, network, 0);
}

relation_curve relation_press(const sp_case *request)
{
    sp_network network = relation_network(request);
    const relation_curve curve = press(request, &network, 0);
    sp_network_free(&network);
    return curve;
}

relation_curve relation_press_to_critical(const sp_case *request)
{
    sp_case perfect = *request;
    perfect.flaw_seed = 0;
    sp_network network = relation_network(&perfect);
    const relation_curve curve = press(&perfect, &network, 1);
    sp_network_free(&network);
    return curve;
}

static void compare(const char *relation, const char *what, const double *got, double factor,
                    const double *want, double tolerance)
{
    double largest = 0, off = 0;
    for (int k = 0; k < RELATION_POINTS; k++) {
        largest = fmax(largest, fabs(factor * want[k]));
        const double apart = fabs(got[k] - factor * want[k]);
        if (!(apart <= off)) off = apart;
    }
    check_report(relation, off / largest, 0);
    if (!(largest > 0 && off <= tolerance * largest))
        fail_msg("%s: %s is off by %.3g of the largest, wanted within %.3g", relation, what,
                 off / largest, tolerance);
}

void relation_check(const char *relation, const relation_curve *got, double factor,
                    const relation_curve *want, double tolerance)
{
    compare(relation, want->name, got->force, factor, want->force, tolerance);
}

void relation_check_work(const char *relation, const relation_curve *got,
                         const relation_curve *want, double tolerance)
{
    compare(relation, want->name, got->work, 1, want->work, tolerance);
}

/* --- networks changed in memory --- */

static void scale_piece(sp_layer_piece *piece, double factor)
{
    piece->from *= factor, piece->length *= factor;
    for (int k = 0; k < 2; k++) {
        piece->zone[k] *= factor, piece->firm[2 * k] *= factor, piece->firm[2 * k + 1] *= factor;
        for (int d = 0; d < 2; d++) piece->arm[k][d] *= factor;
    }
}

void relation_scale(sp_network *network, double factor)
{
    for (int k = 0; k < 3; k++) network->size[k] *= factor;
    for (int k = 0; k < 3 * network->joint_count; k++) network->joint_position[k] *= factor;
    for (int s = 0; s < network->strut_count; s++) {
        network->strut_thickness[s] *= factor, network->strut_bow[s] *= factor;
        network->strut_zone[2 * s] *= factor, network->strut_zone[2 * s + 1] *= factor;
        for (int k = 0; k < 4; k++) network->strut_firm[4 * s + k] *= factor;
        if (network->strut_height) network->strut_height[s] *= factor;
        if (network->strut_piece) scale_piece(&network->strut_piece[s], factor);
    }
}

void relation_mirror(sp_network *network, int axis)
{
    for (int n = 0; n < network->joint_count; n++) {
        double *p = network->joint_position + 3 * n;
        p[axis] = network->size[axis] - p[axis];
        if (axis != 1) continue;
        const int face = network->joint_face[n];
        network->joint_face[n] = (unsigned char)((face & SP_FACE_LOWER ? SP_FACE_UPPER : 0) |
                                                 (face & SP_FACE_UPPER ? SP_FACE_LOWER : 0));
    }
    for (int s = 0; s < network->strut_count; s++)
        if (network->dimension == 2) /* the bow is to the left of the strut */
            network->strut_bow[s] = -network->strut_bow[s];
        else
            network->strut_up[3 * s + axis] = -network->strut_up[3 * s + axis];
    for (int s = 0; network->strut_piece && axis < 2 && s < network->strut_count; s++)
        for (int k = 0; k < 2; k++)
            network->strut_piece[s].arm[k][axis] = -network->strut_piece[s].arm[k][axis];
}

void relation_quarter_turn(sp_network *network)
{
    const double width = network->size[0];
    for (int n = 0; n < network->joint_count; n++) {
        double *p = network->joint_position + 3 * n;
        const double x = p[0];
        p[0] = p[2], p[2] = width - x;
    }
    for (int s = 0; s < network->strut_count; s++) {
        double *up = network->strut_up + 3 * s;
        const double x = up[0];
        up[0] = up[2], up[2] = -x;
    }
    network->size[0] = network->size[2], network->size[2] = width;
}

/* --- drawings --- */

relation_drawing relation_lines(const sp_network *network, int room)
{
    relation_drawing drawing = {.count = network->strut_count};
    drawing.end = malloc((size_t)(4 * room * drawing.count) * sizeof(double));
    assert_non_null(drawing.end);
    for (int k = 0; k < 2 * drawing.count; k++)
        for (int i = 0; i < 2; i++)
            drawing.end[2 * k + i] = network->joint_position[3 * network->strut_joint[k] + i];
    return drawing;
}

void relation_shuffle(relation_drawing *drawing, int seed)
{
    sp_rng rng;
    sp_rng_seed(&rng, (uint64_t)seed, 0);
    for (int i = drawing->count - 1; i >= 0; i--) {
        double *a = drawing->end + 4 * i, swap[4];
        double *b = drawing->end + 4 * (int)(sp_rng_uniform(&rng) * (i + 1));
        const int turned = sp_rng_uniform(&rng) < 0.5;
        memcpy(swap, a, sizeof swap);
        memmove(a, b, sizeof swap);
        memcpy(b, swap, sizeof swap);
        for (int k = 0; turned && k < 2; k++) {
            const double x = a[k];
            a[k] = a[2 + k], a[2 + k] = x;
        }
    }
}

void relation_write_drawing(const relation_drawing *drawing, double x, double y, char *file,
                            size_t size)
{
    char *text = NULL;
    size_t length;
    FILE *stream = open_memstream(&text, &length);
    assert_non_null(stream);
    fprintf(stream,
            "# vtk DataFile Version 3.0\nlines\nASCII\nDATASET POLYDATA\nPOINTS %d double\n",
            2 * drawing->count);
    for (int k = 0; k < 2 * drawing->count; k++)
        fprintf(stream, "%.17g %.17g 0\n", x + drawing->end[2 * k], y + drawing->end[2 * k + 1]);
    fprintf(stream, "LINES %d %d\n", drawing->count, 3 * drawing->count);
    for (int k = 0; k < drawing->count; k++) fprintf(stream, "2 %d %d\n", 2 * k, 2 * k + 1);
    fclose(stream);
    write_temporary_file(file, size, text);
    free(text);
}
