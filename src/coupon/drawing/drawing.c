/* The arrays of a drawing, see drawing.h. */
#include "drawing/drawing.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"

static const double flat = 1e-6; /* mm: how far z may vary in a flat drawing */

/* Return 1 when `count` more lines or points are too many. */
static int is_full(sp_context *context, int count, const char *what)
{
    if (count < SP_DRAWING_MAX) return 0;
    sp_fail(context, SP_BAD_NETWORK, "drawing: received more than %d %s; valid: at most that many",
            count, what);
    return 1;
}

sp_status sp_drawing_add_point(sp_context *context, sp_drawing *drawing, const double point[3])
{
    if (is_full(context, drawing->point_count, "points")) return SP_BAD_NETWORK;
    double *more = sp_grow(drawing->point, drawing->point_count, &drawing->point_capacity, 256,
                           3 * sizeof *more);
    if (!more)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d points", drawing->point_count + 1);
    drawing->point = more;
    double *to = drawing->point + 3 * (size_t)drawing->point_count++;
    for (int k = 0; k < 3; k++) to[k] = point[k];
    return SP_OK;
}

sp_status sp_drawing_add_line(sp_context *context, sp_drawing *drawing, int from, int to,
                              double diameter)
{
    if (is_full(context, drawing->line_count, "lines")) return SP_BAD_NETWORK;
    if (drawing->line_count == drawing->line_capacity) {
        int capacity = drawing->line_capacity ? 2 * drawing->line_capacity : 256;
        int *point = sp_resize(drawing->line_point, (size_t)capacity, 2 * sizeof *point);
        if (point) drawing->line_point = point;
        double *width = sp_resize(drawing->line_diameter, (size_t)capacity, sizeof *width);
        if (width) drawing->line_diameter = width;
        if (!point || !width)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", capacity);
        drawing->line_capacity = capacity;
    }
    size_t at = (size_t)drawing->line_count++;
    drawing->line_point[2 * at] = from, drawing->line_point[2 * at + 1] = to;
    drawing->line_diameter[at] = diameter;
    return SP_OK;
}

int sp_drawing_is_flat(const sp_drawing *drawing)
{
    for (int n = 1; n < drawing->point_count; n++)
        if (fabs(drawing->point[3 * (size_t)n + 2] - drawing->point[2]) > flat) return 0;
    return 1;
}

/* ---- equal lines ----------------------------------------------------------------------------- */

/* The ends and the diameter of a line, the smaller end first. */
typedef struct line_key {
    double end[6], diameter;
} line_key;

/* A line and the hash of its key: equal lines have equal hashes and follow each other when they are
 * sorted. */
typedef struct hashed {
    uint64_t hash;
    int line;
} hashed;

static line_key key_of(const sp_drawing *drawing, int line)
{
    line_key key = {.diameter = drawing->line_diameter[line]};
    if (isnan(key.diameter)) key.diameter = 0; /* the diameter is not given */
    const double *a = drawing->point + 3 * (size_t)drawing->line_point[2 * (size_t)line];
    const double *b = drawing->point + 3 * (size_t)drawing->line_point[2 * (size_t)line + 1];
    int k = 0;
    while (k < 2 && !(a[k] < b[k]) && !(a[k] > b[k])) k++;
    const int swap = a[k] > b[k];
    for (int i = 0; i < 3; i++) {
        key.end[i] = (swap ? b[i] : a[i]) + 0.0; /* adding 0.0 makes minus zero zero */
        key.end[3 + i] = (swap ? a[i] : b[i]) + 0.0;
    }
    return key;
}

/* Hash by FNV-1a, word by word, with the bits mixed at the end. */
static uint64_t hash_of(const line_key *key)
{
    uint64_t hash = UINT64_C(0xcbf29ce484222325), word;
    for (size_t i = 0; i < sizeof *key / sizeof word; i++) {
        memcpy(&word, (const char *)key + i * sizeof word, sizeof word);
        hash = (hash ^ word ^ word >> 32) * UINT64_C(0x100000001b3);
    }
    return hash ^ hash >> 29;
}

static int compare_hashed(const void *left, const void *right)
{
    const hashed *a = left, *b = right;
    if (a->hash != b->hash) return a->hash < b->hash ? -1 : 1;
    return a->line - b->line;
}

/* Among lines with the same hash, mark those that are equal to the first line and are more than may
 * be kept. */
static void mark_equal(const sp_drawing *drawing, const hashed *list, int count, int most,
                       unsigned char *dropped)
{
    const line_key first = key_of(drawing, list[0].line);
    for (int i = 1, equal = 1; i < count; i++) {
        const line_key key = key_of(drawing, list[i].line);
        if (memcmp(&key, &first, sizeof key)) continue;
        if (++equal > most) dropped[list[i].line] = 1;
    }
}

static void drop_marked(sp_drawing *drawing, const unsigned char *dropped)
{
    int kept = 0;
    for (int i = 0; i < drawing->line_count; i++) {
        if (dropped[i]) continue;
        memmove(drawing->line_point + 2 * (size_t)kept, drawing->line_point + 2 * (size_t)i,
                2 * sizeof *drawing->line_point);
        drawing->line_diameter[kept++] = drawing->line_diameter[i];
    }
    drawing->line_count = kept;
}

sp_status sp_drawing_drop_equal(sp_context *context, sp_drawing *drawing, int most)
{
    const int count = drawing->line_count;
    sp_status status = SP_OK;
    if (count <= most) return SP_OK;
    hashed *list = sp_alloc((size_t)count, sizeof *list);
    unsigned char *dropped = sp_alloc((size_t)count, sizeof *dropped);
    if (!list || !dropped) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", count);
        goto done;
    }
    for (int i = 0; i < count; i++) {
        const line_key key = key_of(drawing, i);
        list[i] = (hashed){hash_of(&key), i};
    }
    qsort(list, (size_t)count, sizeof *list, compare_hashed);
    for (int from = 0, to; from < count; from = to) {
        for (to = from + 1; to < count && list[to].hash == list[from].hash; to++) {
        }
        if (to - from > most) mark_equal(drawing, list + from, to - from, most, dropped);
    }
    drop_marked(drawing, dropped);
done:
    sp_free(list);
    sp_free(dropped);
    return status;
}

void sp_drawing_free(sp_drawing *drawing)
{
    sp_free(drawing->point);
    sp_free(drawing->line_point);
    sp_free(drawing->line_diameter);
    sp_free(drawing->layer_height);
    sp_free(drawing->printed);
    *drawing = (sp_drawing){0};
}
