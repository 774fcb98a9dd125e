/* Make planar networks of a tool path: compare its layers, take one of each kind, and make walls
 * and struts of its beads. */
#include "toolpath/toolpath.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "toolpath/path_parts.h"

enum { REPEAT_MAX = 4 };
static const double thin_share = 0.01; /* of the usual bead: thinner beads carry nothing */
static const double width_low = 0.01, width_high = 20; /* [mm] of the usual bead */
/* The size of the path may differ by this share of a bead from that of the case. */
static const double size_slack = 0.75;

typedef struct layer_record {
    double z, height, volume;        /* of the piece that is kept [mm3] */
    unsigned char alike[REPEAT_MAX]; /* 1: the layer is like the one 1 .. 4 before it */
    /* > 0: with this many kinds of layers, it is not like the first layer of its kind. */
    unsigned char strayed;
} layer_record;

/* A layer of which one piece is kept. */
typedef struct kept_layer {
    path_layer layer;
    path_left left;
} kept_layer;

typedef struct path {
    const char *file;
    const sp_case *request;
    double box[4];
    int has_box, first, last; /* the layers that are asked for, from 0 */
    int count, capacity;
    layer_record *record;
    /* The last layer that was read: its pieces are known once the layer above it is read. */
    path_layer waiting;
    kept_layer
        first_of[REPEAT_MAX];    /* the first layers that are asked for: copies of their beads */
    kept_layer ring[REPEAT_MAX]; /* the last layers: layer n is ring[n % REPEAT_MAX] */
    int broken[REPEAT_MAX];      /* 1: some layer is not like that 1 .. 4 before it */
    int repeat;                  /* 1: all layers are alike; known after reading */
    double elsewhere;
} path;

int sp_toolpath_is_used(const sp_case *request)
{
    return !strcmp(request->pattern, SP_PRINTED_NAME);
}

/* ---- layers ----------------------------------------------- */

static void keep_box(const path *p, path_beads *beads, double *left)
{
    int kept = 0;
    for (int i = 0; i < beads->count; i++) {
        const path_bead *b = &beads->bead[i];
        const int in = fmin(b->a[0], b->b[0]) >= p->box[0] && fmax(b->a[0], b->b[0]) <= p->box[2] &&
                       fmin(b->a[1], b->b[1]) >= p->box[1] && fmax(b->a[1], b->b[1]) <= p->box[3];
        if (in)
            beads->bead[kept++] = *b;
        else
            *left += b->area * sp_toolpath_length(b);
    }
    beads->count = kept;
}

static double widest_of(const path_beads *beads, double height)
{
    double widest = 0;
    for (int i = 0; i < beads->count; i++)
        widest = fmax(widest, sp_toolpath_width(beads->bead[i].area, height));
    return widest;
}

static sp_status add_record(sp_context *context, path *p, const layer_record *record)
{
    layer_record *grown = sp_grow(p->record, p->count, &p->capacity, 64, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", p->file);
    p->record = grown;
    p->record[p->count++] = *record;
    return SP_OK;
}

static sp_status copy_beads(sp_context *context, const char *file, const path_beads *from,
                            path_beads *to)
{
    to->count = 0;
    for (int i = 0; i < from->count; i++) {
        const sp_status status = sp_toolpath_add(context, file, to, &from->bead[i]);
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

/* Layers that are each like the one before may have moved far, all together, and come back: compare
 * this one with the first of its kind. */
static sp_status look_for_drift(sp_context *context, path *p, const path_layer *layer, double cell,
                                int number, layer_record *record)
{
    const int place = number - p->first;
    int by = 1;
    for (int k = 0; k < REPEAT_MAX; k++) p->broken[k] |= place > k && !record->alike[k];
    while (by <= REPEAT_MAX && p->broken[by - 1]) by++;
    if (by > REPEAT_MAX || place < by || !(cell > 0)) return SP_OK;
    const int alike = sp_toolpath_alike(&layer->beads, &p->first_of[place % by].layer.beads, cell);
    if (alike < 0) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", p->file);
    record->strayed = (unsigned char)(alike ? 0 : by);
    return SP_OK;
}

/* Take the layer that waited; `above` is NULL for the last one. */
static sp_status settle(sp_context *context, path *p, const path_layer *above)
{
    path_layer *layer = &p->waiting;
    const int number = p->count;
    layer_record record = {.z = layer->z, .height = layer->height};
    kept_layer *place = &p->ring[number % REPEAT_MAX];
    path_left left = {0};
    const path_layer *below = number > p->first ? &p->ring[(number - 1) % REPEAT_MAX].layer : NULL;
    sp_status status = SP_OK;
    if (layer->beads.count)
        status = sp_toolpath_keep_piece(context, p->file, below, above, p->request->path_gap,
                                        p->has_box, layer, &left);
    if (status != SP_OK) return status;
    for (int i = 0; i < layer->beads.count; i++)
        record.volume += layer->beads.bead[i].area * sp_toolpath_length(&layer->beads.bead[i]);
    p->elsewhere += left.volume_length;
    const double cell = 0.5 * widest_of(&layer->beads, layer->height);
    for (int k = 0; k < REPEAT_MAX && cell > 0; k++) {
        if (number - 1 - k < p->first) break;
        const int alike = sp_toolpath_alike(
            &layer->beads, &p->ring[(number - 1 - k) % REPEAT_MAX].layer.beads, cell);
        if (alike < 0) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", p->file);
        record.alike[k] = (unsigned char)alike;
        if (k == 0 && alike) break; /* the other distances need not be compared */
    }
    /* A layer that is like the one before it is also like all layers that the one before is like.
     */
    for (int k = 1; k < REPEAT_MAX && record.alike[0]; k++)
        record.alike[k] = p->record[number - 1].alike[k - 1];
    status = look_for_drift(context, p, layer, cell, number, &record);
    if (status == SP_OK) status = add_record(context, p, &record);
    if (status == SP_OK && number - p->first < REPEAT_MAX)
        status = copy_beads(context, p->file, &layer->beads,
                            &p->first_of[number - p->first].layer.beads);
    sp_toolpath_free(&place->layer.beads);
    *place = (kept_layer){*layer, left}; /* the kept layer takes the beads over */
    *layer = (path_layer){0};
    return status;
}

static sp_status take_layer(sp_context *context, void *user, path_layer *layer)
{
    path *p = user;
    const int waits = p->waiting.beads.count > 0, number = p->count + waits;
    const int asked = number >= p->first && number <= p->last;
    sp_status status = SP_OK;
    if (p->has_box) keep_box(p, &layer->beads, &p->elsewhere);
    if (waits) status = settle(context, p, asked ? layer : NULL);
    if (status != SP_OK) return status;
    if (asked && layer->beads.count) {
        p->waiting = *layer; /* the waiting layer takes them over */
        layer->beads = (path_beads){0};
        return SP_OK;
    }
    const layer_record other = {.z = layer->z, .height = layer->height};
    for (int i = 0; i < layer->beads.count; i++)
        p->elsewhere += layer->beads.bead[i].area * sp_toolpath_length(&layer->beads.bead[i]);
    if (asked) sp_toolpath_free(&p->ring[number % REPEAT_MAX].layer.beads);
    return add_record(context, p, &other);
}

/* ---- which layers ----------------------------------------------- */

static const kept_layer *layer_at(const path *p, int number)
{
    return &p->ring[number % REPEAT_MAX];
}

/* Find the first layer that is not like the one `by` before it; one behind the last when all are.
 */
static int first_break(const path *p, int from, int to, int by)
{
    int i = from + by;
    while (i <= to && p->record[i].alike[by - 1]) i++;
    return i;
}

/* Find the longest run of layers that repeat: by the least number of kinds, and more than twice. */
static void find_run(const path *p, int from, int to, int *best, int *best_end)
{
    *best = *best_end = from;
    for (int by = 1; by <= REPEAT_MAX; by++)
        for (int begin = from; begin <= to;) {
            const int end = first_break(p, begin, to, by) - 1;
            if (end <= to && end - begin + 1 >= 2 * by && end - begin > *best_end - *best)
                *best = begin, *best_end = end;
            begin = end >= begin + by ? end - by + 2 : begin + 1;
        }
}

static sp_status refuse_layers(sp_context *context, const path *p, int from, int to)
{
    int by = 1, best = from, best_end = from;
    char such[80] = "";
    for (int k = 2; k <= REPEAT_MAX && from + k <= to; k++)
        if (first_break(p, from, to, k) - k > first_break(p, from, to, by) - by) by = k;
    const int at = first_break(p, from, to, by);
    find_run(p, from, to, &best, &best_end);
    if (best_end > best)
        snprintf(such, sizeof such, ", such as infill.path_layers: [%d, %d]", best + 1,
                 best_end + 1);
    return sp_fail(context, SP_NO_READ,
                   "%s: received layer %d (at %.4g mm) that is not as layer %d; valid: layers all "
                   "alike, or that repeat by 2 to %d%s",
                   p->file, at + 1, p->record[at].z, at + 1 - by, REPEAT_MAX, such);
}

static sp_status check_drift(sp_context *context, const path *p, int from, int to)
{
    for (int i = from; i <= to; i++)
        if (p->record[i].strayed == p->repeat)
            return sp_fail(context, SP_NO_READ,
                           "%s: received layers that drift: layer %d (at %.4g mm) is not as layer "
                           "%d, though each is as the one %d before it; valid: layers that stay "
                           "over each other within half a bead",
                           p->file, i + 1, p->record[i].z, from + (i - from) % p->repeat + 1,
                           p->repeat);
    return SP_OK;
}

static sp_status check_layers(sp_context *context, path *p, int *from, int *to)
{
    *from = p->first;
    *to = p->last < p->count - 1 ? p->last : p->count - 1;
    if (*to < *from || !layer_at(p, *to)->layer.beads.count)
        return sp_fail(context, SP_NO_READ,
                       "%s: received %d layers with printed lines%s; valid: a path that prints%s",
                       p->file, p->count, p->has_box ? " in the box" : "",
                       p->first > 0 ? " in the layers of infill.path_layers" : "");
    for (int by = 1; by <= REPEAT_MAX && !p->repeat && (by == 1 || *to - *from >= by); by++)
        if (first_break(p, *from, *to, by) > *to) p->repeat = by;
    return p->repeat ? check_drift(context, p, *from, *to) : refuse_layers(context, p, *from, *to);
}

/* ---- figures ----------------------------------------------- */

typedef struct weighed {
    double width, length;
} weighed;

static int by_width(const void *a, const void *b)
{
    const double x = ((const weighed *)a)->width, y = ((const weighed *)b)->width;
    return (x > y) - (x < y);
}

/* Find the last layers of the path, one of each kind, from number *first on. */
static int kinds(const path *p, int to, int *first)
{
    *first = to - p->repeat + 1;
    return p->repeat;
}

static sp_status take_widths(sp_context *context, const path *p, int to, sp_toolpath_figures *f)
{
    int first, count = 0, n = 0;
    double all = 0, sum = 0;
    const int many = kinds(p, to, &first);
    for (int k = 0; k < many; k++) n += layer_at(p, first + k)->layer.beads.count;
    weighed *w = sp_alloc((size_t)n + 1, sizeof *w);
    if (!w) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", p->file);
    for (int k = 0; k < many; k++) {
        const path_layer *layer = &layer_at(p, first + k)->layer;
        for (int i = 0; i < layer->beads.count; i++, count++) {
            const path_bead *b = &layer->beads.bead[i];
            w[count] = (weighed){sp_toolpath_width(b->area, layer->height), sp_toolpath_length(b)};
            all += w[count].length;
        }
    }
    qsort(w, (size_t)count, sizeof *w, by_width);
    f->width_least = w[0].width;
    f->width_most = w[count - 1].width;
    f->bin_from = f->width_least;
    f->bin_width = fmax(f->width_most - f->width_least, 0.02 * f->width_most) / SP_TOOLPATH_BINS;
    for (int i = 0; i < count; i++) {
        if (sum < 0.5 * all) f->width_median = w[i].width;
        sum += w[i].length;
        const int bin = (int)fmin(SP_TOOLPATH_BINS - 1, (w[i].width - f->bin_from) / f->bin_width);
        f->bin[bin] += w[i].length / all;
    }
    const double h = f->layer_height;
    f->flat_median = f->width_median > h ? f->width_median - h * (1 - M_PI / 4) : f->width_median;
    sp_free(w);
    return SP_OK;
}

/* Find the corners of the box around all beads, as rectangles of their volume. */
static void find_box(const path *p, int to, double low[2], double high[2])
{
    int first;
    const int many = kinds(p, to, &first);
    low[0] = low[1] = INFINITY;
    high[0] = high[1] = -INFINITY;
    for (int n = 0; n < many; n++) {
        const path_layer *layer = &layer_at(p, first + n)->layer;
        for (int i = 0; i < layer->beads.count; i++) {
            const path_bead *b = &layer->beads.bead[i];
            const double length = sp_toolpath_length(b), half = 0.5 * b->area / layer->height;
            if (!(length > 0)) continue;
            for (int k = 0; k < 2; k++) {
                const double across = half * fabs(b->b[1 - k] - b->a[1 - k]) / length;
                low[k] = fmin(low[k], fmin(b->a[k], b->b[k]) - across);
                high[k] = fmax(high[k], fmax(b->a[k], b->b[k]) + across);
            }
        }
    }
}

static sp_status check_size(sp_context *context, const path *p, const sp_toolpath_figures *f)
{
    if (!(f->width_median >= width_low && f->width_median <= width_high))
        return sp_fail(context, SP_NO_READ,
                       "%s: received beads of %.4g mm; valid: %g to %g mm (is "
                       "infill.filament_diameter right?)",
                       p->file, f->width_median, width_low, width_high);
    const sp_case *c = p->request;
    const int along = c->press_direction != SP_PRESS_ACROSS;
    const double slack = size_slack * f->width_median, y = along ? c->depth : c->height,
                 z = along ? c->height : c->depth, *size = f->size;
    if (fabs(c->width - size[0]) <= slack && fabs(y - size[1]) <= slack &&
        fabs(z - size[2]) <= fmax(slack, 0.51 * f->layer_height))
        return SP_OK;
    return sp_fail(context, SP_BAD_CASE,
                   "%s: received a path of %.5g x %.5g x %.5g mm for a coupon of %.5g x %.5g x "
                   "%.5g mm; valid: coupon: "
                   "{width: %.5g mm, height: %.5g mm, depth: %.5g mm}",
                   p->file, size[0], size[1], size[2], c->width, c->height, c->depth, size[0],
                   size[along ? 2 : 1], size[along ? 1 : 2]);
}

/* ---- the straight line ----------------------------------------------- */

static sp_status make_path(sp_context *context, const sp_case *request, path *p)
{
    *p = (path){.file = request->toolpath_file, .request = request, .last = PATH_LAYERS_MAX};
    if (!request->toolpath_file[0])
        return sp_case_fail_at(context, request, "infill.toolpath", "nothing",
                               "the file of a tool path, because infill.pattern is printed", NULL);
    if (request->path_box.count && request->path_box.count != 4)
        return sp_case_fail_at(context, request, "infill.path_box", NULL,
                               "[x, y, x, y] of two corners", NULL);
    if (request->path_layers.count && request->path_layers.count != 2)
        return sp_case_fail_at(context, request, "infill.path_layers", NULL, "[first, last]", NULL);
    if (request->path_layers.count) {
        p->first = (int)request->path_layers.value[0] - 1;
        p->last = (int)request->path_layers.value[1] - 1;
    }
    if (p->first > p->last || p->first < 0)
        return sp_case_fail_at(context, request, "infill.path_layers", NULL,
                               "[first, last], from 1 up", NULL);
    p->has_box = request->path_box.count == 4;
    for (int k = 0; k < 2 && p->has_box; k++) {
        p->box[k] = fmin(request->path_box.value[k], request->path_box.value[k + 2]);
        p->box[k + 2] = fmax(request->path_box.value[k], request->path_box.value[k + 2]);
    }
    return SP_OK;
}

static sp_status read_file(sp_context *context, path *p, path_reader *reader)
{
    struct stat about;
    FILE *stream = fopen(p->file, "rb");
    if (!stream) return sp_fail(context, SP_NO_READ, "%s: %s", p->file, strerror(errno));
    sp_status status = SP_OK;
    if (fstat(fileno(stream), &about) == 0 && S_ISDIR(about.st_mode))
        status = sp_fail(context, SP_NO_READ, "%s: is a folder; valid: the file of a tool path",
                         p->file);
    if (status == SP_OK) status = sp_toolpath_read(context, stream, reader);
    fclose(stream);
    return status;
}

/* Add the lines of one kind of layer at z = `at`; all layers of that kind together are `upright` mm
 * high. */
static sp_status add_layer(sp_context *context, const path *p, const path_layer *layer,
                           const double low[2], double upright, int at, sp_drawing *drawing,
                           sp_toolpath_figures *f)
{
    path_line *line = NULL;
    int count = 0;
    const double gap = p->request->path_gap;
    sp_status status =
        sp_toolpath_walls(context, p->file, layer->height, gap, &layer->beads, &line, &count);
    for (int i = 0; i < count; i++)
        for (int k = 0; k < 2; k++) line[i].a[k] -= low[k], line[i].b[k] -= low[k];
    for (int i = 0; i < count && status == SP_OK; i++)
        f->network += hypot(line[i].a[0] - line[i].b[0], line[i].a[1] - line[i].b[1]) *
                      line[i].thickness * upright;
    if (status == SP_OK)
        status = sp_toolpath_draw_ends(context, p->file, f->flat_median, gap, line, count);
    for (int i = 0; i < count && status == SP_OK; i++) {
        const double a[3] = {line[i].a[0], line[i].a[1], at},
                     b[3] = {line[i].b[0], line[i].b[1], at};
        const double length = hypot(a[0] - b[0], a[1] - b[1]);
        if (!(length > 0) || line[i].thickness < thin_share * f->flat_median) continue;
        status = sp_drawing_add_point(context, drawing, a);
        if (status == SP_OK) status = sp_drawing_add_point(context, drawing, b);
        if (status == SP_OK)
            status = sp_drawing_add_line(context, drawing, drawing->point_count - 2,
                                         drawing->point_count - 1, line[i].thickness);
    }
    sp_free(line);
    return status;
}

static sp_status make_network(sp_context *context, const path *p, const double low[2], int from,
                              int to, sp_drawing *drawing, sp_toolpath_figures *f)
{
    sp_status status = SP_OK;
    for (int k = 0; k < p->repeat && status == SP_OK; k++) {
        const int last = to - (to - from - k) % p->repeat;
        double upright = 0;
        for (int i = from + k; i <= to; i += p->repeat) upright += p->record[i].height;
        status = add_layer(context, p, &layer_at(p, last)->layer, low, upright, k, drawing, f);
    }
    if (status != SP_OK || p->repeat == 1) return status;
    drawing->repeat = p->repeat;
    drawing->layer_count = to - from + 1;
    drawing->layer_height = sp_alloc((size_t)drawing->layer_count, sizeof(double));
    if (!drawing->layer_height) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", p->file);
    for (int i = from; i <= to; i++) drawing->layer_height[i - from] = p->record[i].height;
    return SP_OK;
}

sp_status sp_toolpath_drawing(sp_context *context, const sp_case *request, sp_drawing *drawing,
                              sp_toolpath_figures *figures)
{
    path p;
    sp_toolpath_figures own = {0}, *f = figures ? figures : &own;
    double low[2], high[2];
    int from = 0, to = 0;
    *f = (sp_toolpath_figures){0};
    *drawing = (sp_drawing){0};
    sp_status status = make_path(context, request, &p);
    const double turn = request->path_turn * M_PI / 180, d = request->filament_diameter;
    path_reader reader = {.file = p.file,
                          .filament = M_PI * d * d / 4,
                          .turn = {cos(turn), sin(turn)},
                          .take = take_layer,
                          .user = &p};
    if (status == SP_OK) status = read_file(context, &p, &reader);
    if (status == SP_OK && p.waiting.beads.count) status = settle(context, &p, NULL);
    if (status == SP_OK) status = check_layers(context, &p, &from, &to);
    if (status == SP_OK) {
        find_box(&p, to, low, high);
        f->lines = reader.lines, f->moves = reader.moves;
        f->layers = to - from + 1, f->first_layer = from + 1, f->found_layers = p.count;
        f->repeat = p.repeat;
        f->layer_height = layer_at(&p, to)->layer.height;
        f->elsewhere = p.elsewhere + reader.without;
        for (int k = 0; k < p.repeat; k++) {
            f->other_pieces += layer_at(&p, to - k)->left.pieces;
            f->loose += layer_at(&p, to - k)->left.length;
        }
        for (int k = 0; k < 2; k++) f->size[k] = high[k] - low[k];
        for (int i = from; i <= to; i++)
            f->size[2] += p.record[i].height, f->metered += p.record[i].volume;
        status = take_widths(context, &p, to, f);
    }
    if (status == SP_OK) status = check_size(context, &p, f);
    if (status == SP_OK) status = make_network(context, &p, low, from, to, drawing, f);
    if (status == SP_OK) {
        drawing->printed = sp_alloc(1, sizeof *drawing->printed);
        if (drawing->printed)
            *drawing->printed = *f;
        else
            status = sp_fail(context, SP_NO_MEMORY, "%s: out of memory", p.file);
    }
    if (status == SP_OK) {
        drawing->file_size = reader.size;
        sp_hash_text(&reader.hash, drawing->file_hash);
        if (f->loose > 0)
            sp_warn(context, "%s: %.4g mm of lines of the layer touch nothing and are left out",
                    p.file, f->loose);
    } else
        sp_drawing_free(drawing);
    for (int k = 0; k < REPEAT_MAX; k++) {
        sp_toolpath_free(&p.ring[k].layer.beads);
        sp_toolpath_free(&p.first_of[k].layer.beads);
    }
    sp_toolpath_free(&p.waiting.beads);
    sp_free(p.record);
    return status;
}

/* ---- table ----------------------------------------------- */

sp_status sp_toolpath_table(sp_context *context, const sp_drawing *drawing, FILE *stream)
{
    if (!drawing || !drawing->printed) return SP_OK;
    const sp_toolpath_figures f = *drawing->printed;
    fprintf(
        stream,
        "tool path  %ld lines, %ld moves that print, %d layers; %d are used, from layer %d on\n",
        f.lines, f.moves, f.found_layers, f.layers, f.first_layer);
    if (f.repeat > 1)
        fprintf(stream,
                "layers     repeat by %d: each as the one %d before it, bonded where beads cross\n",
                f.repeat, f.repeat);
    fprintf(stream,
            "printed    %.5g x %.5g x %.5g mm, layers of %.4g mm; %d other pieces left out\n",
            f.size[0], f.size[1], f.size[2], f.layer_height, f.other_pieces);
    fprintf(stream, "metered    %.5g mm3 in these layers, %.5g mm3 elsewhere\n", f.metered,
            f.elsewhere);
    fprintf(stream,
            "struts     %.5g mm3 as lines of the network, %+.2f %% from the metered filament\n",
            f.network, 100 * (f.network / f.metered - 1));
    fprintf(stream, "beads      %.4g mm wide (%.4g to %.4g), as a rectangle of the layer %.4g mm\n",
            f.width_median, f.width_least, f.width_most, f.flat_median);
    for (int i = 0; i < SP_TOOLPATH_BINS; i++)
        if (f.bin[i] > 0)
            fprintf(stream, "           %6.4g .. %-6.4g mm %5.1f %% of the length %.*s\n",
                    f.bin_from + i * f.bin_width, f.bin_from + (i + 1) * f.bin_width,
                    100 * f.bin[i], (int)ceil(40 * f.bin[i]),
                    "########################################");
    return ferror(stream) ? sp_fail(context, SP_NO_WRITE, "the table cannot be written") : SP_OK;
}
