/* Kept states of a pressed coupon in a file beside the store, so that they can be drawn without
 * another press. The file belongs to the bench and to this machine: a mark with the version,
 * counts, and numbers as they stand in memory. A file whose counts do not fit is treated as
 * missing. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "desk/desk.h"

enum { STATES_MAX = 400, STRUTS_MAX = 4000000, FILE_MOST = 512 * 1024 * 1024 };
static const char mark[16] = "strutpress s 1\n";

typedef struct header {
    char mark[16];
    int32_t states, struts, points, spare;
    double size[3];
} header;

/* The head that stands before the positions of a state. */
typedef struct state_header {
    double shortening, force;
    int32_t step, spare;
} state_header;

void sp_shape_free(sp_desk_shape *shape)
{
    sp_free(shape->first_point);
    sp_free(shape->thickness);
    sp_free(shape->position);
    *shape = (sp_desk_shape){0};
}

static int make(sp_desk_shape *shape, int struts, int points)
{
    if (shape->position && shape->strut_count == struts && shape->point_count == points) return 1;
    sp_shape_free(shape);
    shape->first_point = sp_alloc((size_t)struts + 1, sizeof *shape->first_point);
    shape->thickness = sp_alloc((size_t)struts + 1, sizeof *shape->thickness);
    shape->position = sp_alloc(3 * (size_t)points + 1, sizeof *shape->position);
    if (!shape->first_point || !shape->thickness || !shape->position) {
        sp_shape_free(shape);
        return 0;
    }
    shape->strut_count = struts;
    shape->point_count = points;
    return 1;
}

int sp_shape_take(const sp_path *path, int frame, sp_desk_shape *shape)
{
    const sp_shapes *from = &path->shapes;
    const sp_step *step = sp_path_state(path, from->frame_step[frame]);
    if (!make(shape, from->strut_count, from->point_count)) return 0;
    for (int s = 0; s < from->strut_count; s++) {
        shape->first_point[s] = from->first_point[s];
        shape->thickness[s] = from->thickness[s];
    }
    shape->first_point[from->strut_count] = from->point_count;
    const size_t numbers = 3 * (size_t)from->point_count;
    memcpy(shape->position, from->position + (size_t)frame * numbers, numbers * sizeof(double));
    memcpy(shape->size, path->pressed, sizeof shape->size);
    shape->step = from->frame_step[frame];
    shape->shortening = step ? step->shortening : 0;
    shape->force = step ? step->force : 0;
    return 1;
}

/* ---- in a file ----------------------------------------------- */

static int shapes_path(const sp_desk *desk, const char *key, char path[SP_FILE_SIZE])
{
    char name[SP_DESK_NAME];
    snprintf(name, sizeof name, "%s.shapes", key);
    return sp_desk_path(desk, "coupons", name, path);
}

static void put(FILE *stream, const void *bytes, size_t size)
{
    fwrite(bytes, 1, size, stream);
}

static void put_states(FILE *stream, const sp_path *path)
{
    const sp_shapes *from = &path->shapes;
    header head = {.states = from->frame_count - from->back_frames,
                   .struts = from->strut_count,
                   .points = from->point_count};
    memcpy(head.mark, mark, sizeof head.mark);
    memcpy(head.size, path->pressed, sizeof head.size);
    put(stream, &head, sizeof head);
    put(stream, from->first_point, (size_t)from->strut_count * sizeof(int));
    put(stream, from->thickness, (size_t)from->strut_count * sizeof(double));
    for (int f = 0; f < head.states; f++) {
        const sp_step *step = sp_path_state(path, from->frame_step[f]);
        const state_header state = {.shortening = step ? step->shortening : 0,
                                    .force = step ? step->force : 0,
                                    .step = from->frame_step[f]};
        put(stream, &state, sizeof state);
        const size_t numbers = 3 * (size_t)from->point_count;
        put(stream, from->position + (size_t)f * numbers, numbers * sizeof(double));
    }
}

sp_status sp_shapes_write(sp_context *context, const sp_desk *desk, const char *key,
                          const sp_result *result)
{
    const sp_path *path = sp_result_path(result);
    char file[SP_FILE_SIZE], *bytes = NULL;
    size_t size = 0;
    if (!path->shapes.frame_count || !path->shapes.point_count) return SP_OK;
    if (!shapes_path(desk, key, file))
        return sp_fail(context, SP_NO_WRITE, "%s: the name is too long", desk->folder);
    FILE *stream = open_memstream(&bytes, &size);
    if (!stream) return sp_fail(context, SP_NO_MEMORY, "no memory for the states of a coupon");
    put_states(stream, path);
    const int failed = ferror(stream);
    sp_status status = fclose(stream) || failed
                           ? sp_fail(context, SP_NO_MEMORY, "no memory for the states of a coupon")
                           : sp_desk_write(context, file, bytes, size);
    free(bytes);
    return status;
}

static size_t state_size(const header *head)
{
    return sizeof(state_header) + 3 * (size_t)head->points * sizeof(double);
}

static size_t start_of_states(const header *head)
{
    return sizeof *head + (size_t)head->struts * (sizeof(int) + sizeof(double));
}

static int adds_up(const header *head, size_t size)
{
    return !memcmp(head->mark, mark, sizeof mark) && head->states > 0 &&
           head->states <= STATES_MAX && head->struts > 0 && head->struts <= STRUTS_MAX &&
           head->points > 0 && head->points <= 16 * STRUTS_MAX &&
           size == start_of_states(head) + (size_t)head->states * state_size(head);
}

static state_header state_at(const char *bytes, const header *head, int state)
{
    state_header found;
    memcpy(&found, bytes + start_of_states(head) + (size_t)state * state_size(head), sizeof found);
    return found;
}

/* Find the first state that carries the force, or the one nearest to the strain. */
static int choose(const char *bytes, const header *head, double number, int by_force)
{
    int best = 0;
    double least = INFINITY;
    for (int i = 0; i < head->states; i++) {
        const state_header state = state_at(bytes, head, i);
        const double off =
            fabs((by_force ? state.force : state.shortening / head->size[1]) - number);
        if (by_force && state.force >= number) return i;
        if (off < least) {
            best = i;
            least = off;
        }
    }
    return best;
}

static int take_state(const char *bytes, const header *head, int state, sp_desk_shape *shape)
{
    const char *at = bytes + sizeof *head;
    if (!make(shape, head->struts, head->points)) return 0;
    memcpy(shape->first_point, at, (size_t)head->struts * sizeof(int));
    shape->first_point[head->struts] = head->points;
    at += (size_t)head->struts * sizeof(int);
    memcpy(shape->thickness, at, (size_t)head->struts * sizeof(double));
    const state_header found = state_at(bytes, head, state);
    memcpy(shape->position,
           bytes + start_of_states(head) + (size_t)state * state_size(head) + sizeof found,
           3 * (size_t)head->points * sizeof(double));
    memcpy(shape->size, head->size, sizeof shape->size);
    shape->shortening = found.shortening;
    shape->force = found.force;
    shape->step = found.step;
    for (int s = 0; s < head->struts; s++)
        if (shape->first_point[s] < 0 || shape->first_point[s] > shape->first_point[s + 1])
            return -1;
    return 1;
}

sp_status sp_shapes_read(sp_context *context, const sp_desk *desk, const char *key, double number,
                         int by_force, sp_desk_shape *shape)
{
    char file[SP_FILE_SIZE], *bytes = NULL;
    size_t size = 0;
    header head;
    int taken = -1;
    *shape = (sp_desk_shape){0};
    if (!shapes_path(desk, key, file) ||
        sp_desk_read(context, file, FILE_MOST, &bytes, &size) != SP_OK || size < sizeof head)
        taken = -1;
    else {
        memcpy(&head, bytes, sizeof head);
        if (adds_up(&head, size))
            taken = take_state(bytes, &head, choose(bytes, &head, number, by_force), shape);
    }
    sp_free(bytes);
    if (taken == 1) return SP_OK;
    sp_shape_free(shape);
    return taken == 0 ? sp_fail(context, SP_NO_MEMORY, "no memory for the states of a coupon")
                      : sp_fail(context, SP_NO_READ,
                                "no states of this coupon are kept here; press it on the bench, "
                                "and they are");
}
