/* Layers: planar networks at z = (k + 1/2) depth / n, every other one turned or of another pattern,
 * bonded where the beads of neighbours lie on each other; or those of a tool path whose layers
 * repeat, at the heights that it gives them.
 *
 * Two struts e and f of neighbouring layers, of thicknesses t_e and t_f, are tied by a bond: a
 * strut along z between their centrelines, as long as a layer is high. Its section is the patch in
 * which the beads overlap, of area t_e t_f / sin(angle), at most twice t_e t_f (E220).
 *
 * Beads touch where their centrelines cross, where an end of one comes within half a bead of the
 * other, and, for walls on walls and any two beads of a tool path, at every other node of their
 * mesh between. Both struts are cut
 * there, unless a joint is within half a bead, or its zone goes that far: then that is taken, in
 * the zone with an arm, so that bonds take no joint zone away. */
#include "build/layers.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "base/rng.h"
#include "case/case_parts.h"
#include "network/groups.h"
#include "network/parts.h"
#include "pattern/pattern.h"
#include "planar/plan.h"

static const double along_sine = 0.17; /* two struts are along each other below about 10 deg */
/* The patch of sharp crossings ends there: other crossings are near. */
static const double patch_sine = 0.5;
/* Largest distance of bonds between walls / width of the wall, as far as it has nodes there. */
static const double wall_spacing = 2.5;
static const int struts_most = 4000000;

enum {
    STREAM_LAYER = 100
}; /* stream of the seeds of the layers, apart from the streams in flaws.c */

/* One place where two layers touch. */
typedef struct touch {
    int strut[2];     /* number in the lower and in the upper layer, counted over all layers */
    double along[2];  /* from A of each [mm] */
    double area;      /* of the patch [mm2] */
    int joint[2];     /* where they are cut; known after cutting */
    double arm[2][2]; /* from the joint to the touch, where it lies inside the joint's zone [mm] */
} touch;

typedef struct cut {
    int strut, touch, side;
    double along;
} cut;

typedef struct stack {
    const sp_case *request;
    const sp_drawing *drawing;
    int is_path;             /* 1: they are the layers of a tool path */
    int through;             /* 1: the coupon is pressed through the stack, see stand_on_platens */
    int count;               /* number of layers */
    double near;             /* half a bead [mm] */
    double *height, *middle; /* of each layer [mm] */
    sp_network *layer;
    /* Of each layer, counted over all layers, and one more at the end. */
    int *first_joint, *first_strut;
    int touch_count, touch_capacity;
    touch *touches;
} stack;

/* ---- the layers ----------------------------------------------- */

static sp_case case_of_layer(const sp_case *request, int layer)
{
    sp_case one = *request;
    sp_rng rng;
    one.layers = 0;
    /* Layers turn relative to the first, whatever their pattern. */
    one.angle = sp_pattern_angle(request);
    if (layer % 2) {
        one.angle += request->layer_turn;
        if (request->layer_pattern[0])
            memcpy(one.pattern, request->layer_pattern, sizeof one.pattern);
    }
    if (!request->flaw_seed) return one;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, (uint64_t)(STREAM_LAYER + layer));
    one.flaw_seed = 1 + (int)(sp_rng_uniform(&rng) * (INT_MAX - 1.0));
    return one;
}

/* Press through the stack: the platens are those of the first and of the last layer. */
static void name_outer_layers(stack *all, int k)
{
    sp_network *layer = &all->layer[k];
    const int face = k == 0 ? SP_FACE_LOWER : k == all->count - 1 ? SP_FACE_UPPER : 0;
    for (int j = 0; j < layer->joint_count; j++) layer->joint_face[j] = (unsigned char)face;
}

static sp_status build_layers(sp_context *context, int with_flaws, stack *all)
{
    for (int k = 0; k < all->count; k++) {
        const sp_case one = case_of_layer(all->request, k);
        const sp_drawing *drawing = all->drawing;
        const sp_status status =
            all->is_path ? sp_planar_build_path(context, &one, drawing, k % drawing->repeat,
                                                with_flaws, &all->layer[k])
                         : sp_planar_build(context, &one, drawing, with_flaws, &all->layer[k]);
        if (status != SP_OK) return status;
        if (all->through) name_outer_layers(all, k);
    }
    return SP_OK;
}

static const char *key_of(const stack *all)
{
    return all->is_path ? "infill.toolpath" : "infill.layers";
}

static sp_status number_layers(sp_context *context, const stack *all)
{
    for (int k = 0; k < all->count; k++) {
        all->first_joint[k + 1] = all->first_joint[k] + all->layer[k].joint_count;
        all->first_strut[k + 1] = all->first_strut[k] + all->layer[k].strut_count;
        if (all->first_strut[k + 1] > struts_most)
            return sp_case_fail_at(context, all->request, key_of(all), NULL,
                                   "layers that take fewer than 4e6 struts", NULL);
    }
    return SP_OK;
}

/* ---- where they touch ----------------------------------------------- */

/* A strut in the plane of its layer. */
typedef struct line {
    int number; /* its number, counted over all layers */
    int role;
    double a[2], u[2], length, thickness;
    double zone[2];         /* joint zones at its ends */
    double firm[4];         /* strut_firm of its ends */
    double low[2], high[2]; /* its box, half a bead larger */
} line;

static line line_of(const stack *all, int layer, int strut)
{
    const sp_network *network = &all->layer[layer];
    const int *joint = network->strut_joint + 2 * (size_t)strut;
    const double *a = network->joint_position + 3 * (size_t)joint[0];
    const double *b = network->joint_position + 3 * (size_t)joint[1];
    line made = {.number = all->first_strut[layer] + strut,
                 .role = network->strut_role[strut],
                 .length = sp_network_strut_length(network, strut),
                 .thickness = network->strut_thickness[strut],
                 .zone = {network->strut_zone[2 * (size_t)strut],
                          network->strut_zone[2 * (size_t)strut + 1]}};
    for (int k = 0; k < 2; k++) {
        made.a[k] = a[k];
        made.u[k] = (b[k] - a[k]) / made.length;
        made.low[k] = fmin(a[k], b[k]) - all->near;
        made.high[k] = fmax(a[k], b[k]) + all->near;
    }
    memcpy(made.firm, network->strut_firm + 4 * (size_t)strut, sizeof made.firm);
    return made;
}

static sp_status add_touch(sp_context *context, stack *all, const line *e, double s, const line *f,
                           double t, double area)
{
    touch *more = sp_grow(all->touches, all->touch_count, &all->touch_capacity, 256, sizeof *more);
    if (!more)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d bonds", all->touch_count + 1);
    all->touches = more;
    all->touches[all->touch_count++] =
        (touch){{e->number, f->number}, {s, t}, area, {-1, -1}, {{0}}};
    return SP_OK;
}

/* Find the place along f nearest to the point at s along e, within `near` of its ends; 0 when the
 * two are farther apart. */
static int place_beside(const line *e, double s, const line *f, double near, double *t)
{
    double x = e->a[0] + s * e->u[0] - f->a[0], y = e->a[1] + s * e->u[1] - f->a[1];
    double along = x * f->u[0] + y * f->u[1], across = x * f->u[1] - y * f->u[0];
    if (fabs(across) > near || along < -near || along > f->length + near) return 0;
    *t = fmin(f->length, fmax(0, along));
    return 1;
}

/* Find where struts along each other touch: at their ends, and for walls and for beads of a tool
 * path also between them. */
static sp_status touch_along(sp_context *context, stack *all, const line *e, const line *f)
{
    const double area = e->thickness * f->thickness;
    const int first = all->touch_count;
    double from = INFINITY, to = -INFINITY, t;
    sp_status status = SP_OK;
    for (int k = 0; k < 2; k++) {
        double s = k * e->length, at = k * f->length;
        if (place_beside(e, s, f, all->near, &t)) {
            from = fmin(from, s), to = fmax(to, s);
            status = add_touch(context, all, e, s, f, t, area);
        }
        if (status == SP_OK && place_beside(f, at, e, all->near, &t)) {
            from = fmin(from, t), to = fmax(to, t);
            status = add_touch(context, all, e, t, f, at, area);
        }
        if (status != SP_OK) return status;
    }
    if (!all->is_path && !all->through && (e->role != SP_ROLE_WALL || f->role != SP_ROLE_WALL))
        return SP_OK;
    from = fmax(from, e->zone[0]), to = fmin(to, e->length - e->zone[1]);
    if (!(to > from)) return SP_OK;
    /* The touch is where the wall has nodes anyhow, so that bonds leave its mesh as it is. */
    const int nodes = sp_network_elements(to - from, e->thickness);
    const int every = 2 * (to - from) / nodes > (1 + 1e-9) * wall_spacing * e->thickness ? 1 : 2;
    /* Pressed through the stack, a bond carries for all of the stretch on which it stands (E272).
     */
    const double stretch = every * (to - from) / nodes,
                 patch = all->through ? fmin(e->thickness, f->thickness) * stretch : area;
    for (int i = first; i < all->touch_count; i++) /* half of it on either side of a joint */
        all->touches[i].area = fmax(area, patch);
    for (int i = every; status == SP_OK && i < nodes; i += every) {
        double s = from + (to - from) * i / nodes;
        if (place_beside(e, s, f, all->near, &t))
            status = add_touch(context, all, e, s, f, t, patch);
    }
    return status;
}

static sp_status touch_pair(sp_context *context, stack *all, const line *e, const line *f)
{
    for (int k = 0; k < 2; k++)
        if (e->low[k] > f->high[k] || f->low[k] > e->high[k]) return SP_OK;
    const double near = all->near, sine = e->u[0] * f->u[1] - e->u[1] * f->u[0];
    if (fabs(sine) < along_sine) return touch_along(context, all, e, f);
    double x = f->a[0] - e->a[0], y = f->a[1] - e->a[1];
    double s = (x * f->u[1] - y * f->u[0]) / sine, t = (x * e->u[1] - y * e->u[0]) / sine;
    if (s < -near || s > e->length + near || t < -near || t > f->length + near) return SP_OK;
    return add_touch(context, all, e, fmin(e->length, fmax(0, s)), f, fmin(f->length, fmax(0, t)),
                     e->thickness * f->thickness / fmax(fabs(sine), patch_sine));
}

/* Compare every pair of struts of two neighbouring layers; their boxes exclude nearly all pairs. */
static sp_status find_touches(sp_context *context, stack *all, int lower)
{
    const int before = all->touch_count, count = all->layer[lower + 1].strut_count;
    sp_status status = SP_OK;
    sp_poll poll = {.context = context, .doing = "looking where layers touch"};
    line *upper = sp_alloc((size_t)count, sizeof *upper);
    if (!upper) return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", count);
    for (int j = 0; j < count; j++) upper[j] = line_of(all, lower + 1, j);
    for (int i = 0; status == SP_OK && i < all->layer[lower].strut_count; i++) {
        const line e = line_of(all, lower, i);
        status = sp_poll_after(&poll, count);
        for (int j = 0; status == SP_OK && j < count; j++)
            status = touch_pair(context, all, &e, &upper[j]);
    }
    sp_free(upper);
    if (status == SP_OK && all->touch_count == before)
        return sp_case_fail_at(context, all->request, key_of(all), NULL,
                               all->is_path ? "layers that touch somewhere"
                                            : "layers that touch somewhere (another turn or "
                                              "pattern, or walls)",
                               NULL);
    return status;
}

static sp_status find_all_touches(sp_context *context, stack *all)
{
    sp_status status = number_layers(context, all);
    all->touch_count = 0;
    for (int k = 0; status == SP_OK && k + 1 < all->count; k++)
        status = find_touches(context, all, k);
    return status;
}

/* ---- which pieces are connected ----------------------------------------------- */

/* Drop the struts of a layer whose pieces do not reach both platens; `root` tells the pieces and
 * `face` which platens they reach. */
static void keep_spanning(sp_network *layer, int *root, const unsigned char *face, int first)
{
    int joints = 0, struts = 0;
    double gone = 0;
    for (int s = 0; s < layer->strut_count; s++) {
        const int *joint = layer->strut_joint + 2 * (size_t)s;
        const int at = face[sp_group_of(root, first + joint[0])];
        if (at != (SP_FACE_LOWER | SP_FACE_UPPER)) {
            gone += sp_network_strut_length(layer, s) * layer->strut_thickness[s];
            layer->dropped_pieces++;
            layer->dropped_one_platen += at != 0;
            layer->dropped_no_platen += at == 0;
            continue;
        }
        memmove(layer->strut_joint + 2 * (size_t)struts, joint, 2 * sizeof *joint);
        layer->strut_thickness[struts] = layer->strut_thickness[s];
        layer->strut_role[struts] = layer->strut_role[s];
        layer->strut_bow[struts] = layer->strut_bow[s];
        memmove(layer->strut_zone + 2 * (size_t)struts, layer->strut_zone + 2 * (size_t)s,
                2 * sizeof *layer->strut_zone);
        memmove(layer->strut_firm + 4 * (size_t)struts, layer->strut_firm + 4 * (size_t)s,
                4 * sizeof *layer->strut_firm);
        if (layer->strut_taper) {
            layer->strut_taper[struts] = layer->strut_taper[s];
            memmove(layer->strut_end_extra + 2 * (size_t)struts,
                    layer->strut_end_extra + 2 * (size_t)s, 2 * sizeof *layer->strut_end_extra);
        }
        struts++;
    }
    if (struts == layer->strut_count) return;
    layer->strut_count = struts;
    layer->solid_fraction -= gone / (layer->size[0] * layer->size[1]);
    for (int n = 0; n < layer->joint_count; n++) {
        const int stays = face[sp_group_of(root, first + n)] == (SP_FACE_LOWER | SP_FACE_UPPER);
        if (!stays) continue;
        memmove(layer->joint_position + 3 * (size_t)joints, layer->joint_position + 3 * (size_t)n,
                3 * sizeof *layer->joint_position);
        layer->joint_face[joints] = layer->joint_face[n];
        /* struts use the new numbers of joints; these are never larger than the old ones */
        for (int k = 0; joints != n && k < 2 * struts; k++)
            if (layer->strut_joint[k] == n) layer->strut_joint[k] = joints;
        joints++;
    }
    layer->joint_count = joints;
}

/* A layer of a tool path may hold lines that the layers beside it hold, so only the stack tells
 * what reaches both platens. The rest is left out. */
static sp_status drop_loose(sp_context *context, stack *all)
{
    const int count = all->first_joint[all->count];
    int *root = sp_alloc((size_t)count + 1, sizeof *root), before = 0, after = 0;
    unsigned char *face = sp_alloc((size_t)count + 1, sizeof *face);
    sp_status status = SP_OK;
    if (!root || !face) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    for (int n = 0; n < count; n++) root[n] = n;
    for (int k = 0; k < all->count; k++)
        for (int s = 0; s < all->layer[k].strut_count; s++) {
            const int *joint = all->layer[k].strut_joint + 2 * (size_t)s;
            sp_unite(root, all->first_joint[k] + joint[0], all->first_joint[k] + joint[1]);
        }
    for (int i = 0, k = 0; i < all->touch_count; i++) {
        const touch *at = &all->touches[i]; /* in the order of their lower layers */
        while (at->strut[0] >= all->first_strut[k + 1]) k++;
        const int lower = at->strut[0] - all->first_strut[k],
                  upper = at->strut[1] - all->first_strut[k + 1];
        sp_unite(root, all->first_joint[k] + all->layer[k].strut_joint[2 * lower],
                 all->first_joint[k + 1] + all->layer[k + 1].strut_joint[2 * upper]);
    }
    for (int k = 0; k < all->count; k++)
        for (int n = 0; n < all->layer[k].joint_count; n++)
            face[sp_group_of(root, all->first_joint[k] + n)] |= all->layer[k].joint_face[n];
    for (int k = 0; k < all->count; k++) {
        before += all->layer[k].strut_count;
        keep_spanning(&all->layer[k], root, face, all->first_joint[k]);
        after += all->layer[k].strut_count;
    }
    if (after == 0)
        status = sp_case_fail_at(context, all->request, key_of(all), NULL,
                                 "layers of which something reaches both platens", NULL);
    else if (after < before)
        status = find_all_touches(context, all);
done:
    sp_free(root);
    sp_free(face);
    return status;
}

/* ---- cutting and bonding ----------------------------------------------- */

static sp_status make_room(sp_context *context, const stack *all, sp_network *network)
{
    size_t cuts = 2 * (size_t)all->touch_count;
    size_t n = (size_t)all->first_joint[all->count] + cuts;
    size_t m = (size_t)all->first_strut[all->count] + cuts + (size_t)all->touch_count;
    if (all->through) n += cuts, m += cuts; /* feet: of two layers a bond has one at either end */
    sp_status status = sp_network_room(context, network, n, m);
    if (status != SP_OK) return status;
    network->strut_piece = sp_alloc(m, sizeof *network->strut_piece);
    if (!network->strut_piece) return sp_fail(context, SP_NO_MEMORY, "no memory for %zu struts", m);
    if (!all->layer[0].strut_taper) return SP_OK;
    network->strut_end_extra = sp_alloc(2 * m, sizeof *network->strut_end_extra);
    network->strut_taper = sp_alloc(m, sizeof *network->strut_taper);
    if (!network->strut_end_extra || !network->strut_taper)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %zu struts", m);
    return SP_OK;
}

static void copy_joints(const stack *all, sp_network *network)
{
    for (int k = 0; k < all->count; k++)
        for (int n = 0; n < all->layer[k].joint_count; n++) {
            size_t at = (size_t)network->joint_count++;
            const double *p = all->layer[k].joint_position + 3 * (size_t)n;
            network->joint_position[3 * at] = p[0];
            network->joint_position[3 * at + 1] = p[1];
            network->joint_position[3 * at + 2] = all->middle[k];
            network->joint_face[at] = all->through ? 0 : all->layer[k].joint_face[n];
        }
}

/* Add a strut between two joints with the section axes of a bead of this layer; the unit vector
 * `up` is across it. */
static int add_strut(sp_network *network, int a, int b, double thickness, double height,
                     const double up[3])
{
    int s = network->strut_count++;
    network->strut_joint[2 * s] = a, network->strut_joint[2 * s + 1] = b;
    network->strut_thickness[s] = thickness;
    network->strut_height[s] = height;
    memcpy(network->strut_up + 3 * (size_t)s, up, 3 * sizeof *up);
    return s;
}

static int cut_joint(sp_network *network, int a, int b, double share)
{
    int n = network->joint_count++;
    const double *p = network->joint_position + 3 * (size_t)a;
    const double *q = network->joint_position + 3 * (size_t)b;
    for (int k = 0; k < 3; k++)
        network->joint_position[3 * (size_t)n + (size_t)k] = p[k] + share * (q[k] - p[k]);
    /* a wall in the face of a platen stays where it is */
    network->joint_face[n] = network->joint_face[a] & network->joint_face[b];
    return n;
}

/* A touch is given joint `n` of strut `whole`, from which it lies `arm` along the strut. */
static void take_joint(const stack *all, const cut *at, int n, double arm, const line *whole)
{
    touch *taker = &all->touches[at->touch];
    taker->joint[at->side] = n;
    for (int k = 0; k < 2; k++) taker->arm[at->side][k] = arm * whole->u[k];
}

/* Return how near to one of its ends a strut is not cut: inside the joint zone a bond moves with
 * the joint, and the part that bends beyond it is a quarter of a bead or more. */
static double whole_end(const stack *all, const line *whole, int end)
{
    return fmax(all->near, whole->zone[end] + 0.5 * all->near);
}

/* Find the ends of the whole strut, in which `plan` is drawn. */
static void copy_taper(const sp_network *plan, int strut, sp_network *network, int piece)
{
    if (!plan->strut_taper) return;
    network->strut_taper[piece] = plan->strut_taper[strut];
    memcpy(network->strut_end_extra + 2 * (size_t)piece, plan->strut_end_extra + 2 * (size_t)strut,
           2 * sizeof *plan->strut_end_extra);
}

static void add_piece(const stack *all, const sp_layer_piece *whole, const line *shape, double bow,
                      int from, int to, double end, sp_network *network)
{
    const double up[3] = {-shape->u[1], shape->u[0], 0};
    const int s = add_strut(network, from, to, shape->thickness, all->height[whole->layer], up);
    network->strut_role[s] = (unsigned char)shape->role;
    network->strut_bow[s] = bow * (end - whole->from) / whole->length;
    network->strut_piece[s] = *whole;
    double *zone = network->strut_zone + 2 * s, *firm = network->strut_firm + 4 * s;
    if (from == whole->joint[0])
        zone[0] = whole->zone[0], memcpy(firm, whole->firm, 2 * sizeof *firm);
    if (to == whole->joint[1])
        zone[1] = whole->zone[1], memcpy(firm + 2, whole->firm + 2, 2 * sizeof *firm);
    copy_taper(&all->layer[whole->layer], whole->whole - all->first_strut[whole->layer], network,
               s);
}

/* Cut a strut of a layer into pieces, between joints that are half a bead apart or more. */
static void add_pieces(const stack *all, int layer, int strut, const cut *cuts, int count,
                       sp_network *network)
{
    const sp_network *from = &all->layer[layer];
    const line whole = line_of(all, layer, strut);
    const double bow = from->strut_bow[strut];
    sp_layer_piece piece = {.layer = layer,
                            .whole = whole.number,
                            .joint = {all->first_joint[layer] + from->strut_joint[2 * strut],
                                      all->first_joint[layer] + from->strut_joint[2 * strut + 1]},
                            .length = whole.length,
                            .zone = {whole.zone[0], whole.zone[1]}};
    const int *end = piece.joint;
    memcpy(piece.firm, whole.firm, sizeof piece.firm);
    int last = end[0];
    for (int i = 0; i < count; i++) {
        const double at = cuts[i].along, left = whole.length - at;
        if (at < whole_end(all, &whole, 0))
            take_joint(all, &cuts[i], end[0], fmin(at, whole.zone[0]), &whole);
        else if (left < whole_end(all, &whole, 1))
            take_joint(all, &cuts[i], end[1], -fmin(left, whole.zone[1]), &whole);
        else {
            if (last == end[0] || at - piece.from >= all->near) {
                const int joint = cut_joint(network, end[0], end[1], at / whole.length);
                add_piece(all, &piece, &whole, bow, last, joint, at, network);
                last = joint, piece.from = at;
            }
            take_joint(all, &cuts[i], last, 0, &whole);
        }
    }
    add_piece(all, &piece, &whole, bow, last, end[1], whole.length, network);
}

static int compare_cut(const void *left, const void *right)
{
    const cut *a = left, *b = right;
    if (a->strut != b->strut) return a->strut - b->strut;
    if (a->along < b->along || a->along > b->along) return a->along < b->along ? -1 : 1;
    return a->touch != b->touch ? a->touch - b->touch : a->side - b->side;
}

static sp_status cut_struts(sp_context *context, const stack *all, sp_network *network)
{
    int count = 2 * all->touch_count, next = 0;
    cut *cuts = sp_alloc((size_t)count, sizeof *cuts);
    if (!cuts) return sp_fail(context, SP_NO_MEMORY, "no memory for %d bonds", count);
    for (int i = 0; i < count; i++)
        cuts[i] =
            (cut){all->touches[i / 2].strut[i % 2], i / 2, i % 2, all->touches[i / 2].along[i % 2]};
    qsort(cuts, (size_t)count, sizeof *cuts, compare_cut);
    for (int k = 0; k < all->count; k++)
        for (int s = 0; s < all->layer[k].strut_count; s++) {
            int begin = next;
            while (next < count && cuts[next].strut == all->first_strut[k] + s) next++;
            add_pieces(all, k, s, cuts + begin, next - begin, network);
        }
    sp_free(cuts);
    return SP_OK;
}

static double arm_size(const touch *at)
{
    return hypot(at->arm[0][0], at->arm[0][1]) + hypot(at->arm[1][0], at->arm[1][1]);
}

static int compare_touch(const void *left, const void *right)
{
    const touch *a = left, *b = right;
    for (int k = 0; k < 2; k++)
        if (a->joint[k] != b->joint[k]) return a->joint[k] - b->joint[k];
    if (a->area > b->area || a->area < b->area)
        return a->area > b->area ? -1 : 1; /* the largest patch comes first */
    const double one = arm_size(a), other = arm_size(b);
    return one < other ? -1 : one > other;
}

/* Add one bond between two joints, however often their struts touch there. Where a touch was given
 * a joint outside its zone, the bond leans a little. */
static void add_bonds(const stack *all, sp_network *network)
{
    if (all->touch_count == 0) return; /* there is one layer only */
    qsort(all->touches, (size_t)all->touch_count, sizeof *all->touches, compare_touch);
    for (int i = 0; i < all->touch_count; i++) {
        const touch *at = &all->touches[i];
        if (i && at[-1].joint[0] == at->joint[0] && at[-1].joint[1] == at->joint[1]) continue;
        const double *p = network->joint_position + 3 * (size_t)at->joint[0];
        const double *q = network->joint_position + 3 * (size_t)at->joint[1];
        /* The axis across the bond, level in y, is x less its share along the bond. */
        double x = q[0] + at->arm[1][0] - p[0] - at->arm[0][0], z = q[2] - p[2], far = hypot(x, z);
        const double up[3] = {z / far, 0, -x / far};
        double side = sqrt(at->area);
        int s = add_strut(network, at->joint[0], at->joint[1], side, side, up);
        network->strut_piece[s] = (sp_layer_piece){.layer = -1, .whole = -1};
        memcpy(network->strut_piece[s].arm, at->arm, sizeof at->arm);
    }
}

/* Pressed through the stack, a foot under every bonded joint of the first layer, and over those of
 * the last, is the half of the bead that lies on the platen. E272 */
static sp_status stand_on_platens(sp_context *context, const stack *all, sp_network *network)
{
    const int struts = network->strut_count, joints = network->joint_count;
    const double last = all->middle[all->count - 1] + 0.5 * all->height[all->count - 1];
    const double up[3] = {1, 0, 0};
    unsigned char *has_foot = sp_alloc((size_t)joints + 1, sizeof *has_foot);
    if (!has_foot) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", joints);
    for (int s = 0; s < struts; s++)
        for (int end = 0; network->strut_piece[s].layer < 0 && end < 2; end++) {
            const int joint = network->strut_joint[2 * s + end];
            const double *at = network->joint_position + 3 * (size_t)joint;
            const double outer = all->middle[end ? all->count - 1 : 0];
            if (fabs(at[2] - outer) > 0 || has_foot[joint]) continue;
            const int foot = network->joint_count++;
            double *to = network->joint_position + 3 * (size_t)foot;
            has_foot[joint] = 1;
            to[0] = at[0], to[1] = at[1], to[2] = end ? last : 0;
            network->joint_face[foot] = end ? SP_FACE_UPPER : SP_FACE_LOWER;
            const int made = add_strut(network, end ? joint : foot, end ? foot : joint,
                                       network->strut_thickness[s], network->strut_height[s], up);
            network->strut_piece[made] = (sp_layer_piece){.layer = -1, .whole = -1};
        }
    sp_free(has_foot);
    return SP_OK;
}

/* Pressed through the stack, z, along which the layers lie on each other, becomes the height, as
 * for panels (panels.h). */
static void turn_upright(const stack *all, sp_network *network)
{
    const double depth = network->size[1];
    const int last = all->count - 1;
    for (int j = 0; j < network->joint_count; j++) {
        double *at = network->joint_position + 3 * (size_t)j, y = at[1];
        at[1] = at[2], at[2] = depth - y;
    }
    for (int s = 0; s < network->strut_count; s++) {
        double *up = network->strut_up + 3 * (size_t)s, y = up[1];
        up[1] = up[2], up[2] = -y;
    }
    network->size[1] = all->middle[last] + 0.5 * all->height[last];
    network->size[2] = depth;
}

static void fill_figures(const stack *all, sp_network *network)
{
    memcpy(network->size, all->layer[0].size, sizeof network->size);
    network->cell_size = all->layer[0].cell_size;
    for (int k = 0; k < all->count; k++) {
        const double share = all->is_path ? all->height[k] / all->request->depth : 1.0 / all->count;
        network->nominal_density += all->layer[k].nominal_density * share;
        network->solid_fraction += all->layer[k].solid_fraction * share;
        network->dropped_stubs += all->layer[k].dropped_stubs;
        network->dropped_pieces += all->layer[k].dropped_pieces;
        network->dropped_one_platen += all->layer[k].dropped_one_platen;
        network->dropped_no_platen += all->layer[k].dropped_no_platen;
        network->dropped_flat += all->layer[k].dropped_flat;
    }
}

/* Find where the layers lie, and how near two places must be to be one. */
static sp_status place_layers(sp_context *context, stack *all)
{
    const sp_case *request = all->request;
    double below = 0;
    for (int k = 0; k < all->count && !all->is_path; k++) {
        all->height[k] = request->depth / all->count;
        all->middle[k] = (k + 0.5) * all->height[k];
    }
    all->near = 0.5 * request->bead_width;
    if (!all->is_path) return SP_OK;
    for (int k = 0; k < all->count; k++) {
        all->height[k] = all->drawing->layer_height[k];
        all->middle[k] = below + 0.5 * all->height[k];
        below += all->height[k];
    }
    all->near = INFINITY;
    for (int k = 0; k < all->drawing->repeat; k++)
        all->near = fmin(all->near, 0.5 * sp_planar_usual_thickness(all->drawing, k));
    return all->near > 0 ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for a tool path");
}

int sp_layers_of_path(const sp_drawing *drawing)
{
    return drawing && drawing->repeat > 0;
}

/* Describe the coupon as it is printed: pressed through the stack, its height is what the layers
 * call depth; joint zones hold beads in their plane only. */
static sp_case as_printed(const sp_case *request)
{
    sp_case flat = *request;
    if (request->press_direction != SP_PRESS_THROUGH) return flat;
    flat.height = request->depth;
    flat.depth = request->height;
    flat.joint_zone = 0;
    flat.thickening = 1;
    return flat;
}

sp_status sp_layers_build(sp_context *context, const sp_case *pressed, const sp_drawing *drawing,
                          int with_flaws, sp_network *network)
{
    const sp_case flat = as_printed(pressed), *request = &flat;
    const int is_path = sp_layers_of_path(drawing);
    const int layers = is_path ? drawing->layer_count : request->layers;
    const size_t count = (size_t)layers;
    stack all = {.request = request, .drawing = drawing, .is_path = is_path, .count = layers};
    all.through = request->press_direction == SP_PRESS_THROUGH;
    sp_status status = SP_OK;
    *network = (sp_network){.dimension = 3};
    all.layer = sp_alloc(count, sizeof *all.layer);
    all.height = sp_alloc(count, sizeof *all.height);
    all.middle = sp_alloc(count, sizeof *all.middle);
    all.first_joint = sp_alloc(count + 1, sizeof *all.first_joint);
    all.first_strut = sp_alloc(count + 1, sizeof *all.first_strut);
    if (!all.layer || !all.height || !all.middle || !all.first_joint || !all.first_strut)
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d layers", layers);
    if (status == SP_OK) status = place_layers(context, &all);
    if (status == SP_OK) status = build_layers(context, with_flaws, &all);
    if (status == SP_OK) status = find_all_touches(context, &all);
    if (status == SP_OK && (is_path || all.through)) status = drop_loose(context, &all);
    if (status == SP_OK) status = make_room(context, &all, network);
    if (status == SP_OK) {
        copy_joints(&all, network);
        status = cut_struts(context, &all, network);
    }
    if (status == SP_OK) {
        add_bonds(&all, network);
        fill_figures(&all, network);
        if (all.through) {
            status = stand_on_platens(context, &all, network);
            turn_upright(&all, network);
        }
    }
    if (status == SP_OK) {
        status = sp_network_count_pieces(context, network);
    }
    if (status != SP_OK) sp_network_free(network);
    for (int k = 0; all.layer && k < all.count; k++) sp_network_free(&all.layer[k]);
    sp_free(all.layer);
    sp_free(all.height);
    sp_free(all.middle);
    sp_free(all.first_joint);
    sp_free(all.first_strut);
    sp_free(all.touches);
    return status;
}
