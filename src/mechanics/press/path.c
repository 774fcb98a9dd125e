/* This file stores a path: steps, events and shapes. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "base/so3.h"
#include "press/record.h"

const char *sp_event_text(sp_event_kind kind)
{
    static const char *const text[] = {
#define SP_EVENT_WORDS(code, words) words,
        SP_EVENT_ROWS(SP_EVENT_WORDS)
#undef SP_EVENT_WORDS
    };
    return text[kind];
}

const char *sp_stop_text(sp_stop stop)
{
    static const char *const text[] = {
#define SP_STOP_WORDS(code, exit_status, words) words,
        SP_STOP_ROWS(SP_STOP_WORDS)
#undef SP_STOP_WORDS
    };
    return text[stop];
}

int sp_stop_exit(sp_stop stop)
{
    static const int status[] = {
#define SP_STOP_STATUS(code, exit_status, words) exit_status,
        SP_STOP_ROWS(SP_STOP_STATUS)
#undef SP_STOP_STATUS
    };
    return status[stop];
}

sp_status sp_stop_outcome(sp_stop stop)
{
    if (stop == SP_STOP_INTERRUPTED) return SP_INTERRUPTED;
    return sp_stop_exit(stop) ? SP_GAVE_UP : SP_OK;
}

void sp_path_end(sp_path *path, sp_stop end, const char *format, ...)
{
    va_list more;
    va_start(more, format);
    path->end = end;
    vsnprintf(path->reason, sizeof path->reason, format, more);
    va_end(more);
}

static const struct {
    const char *word, *clause;
} critical_row[] = {
#define SP_CRITICAL_TEXTS(code, word, clause) {word, clause},
    SP_CRITICAL_ROWS(SP_CRITICAL_TEXTS)
#undef SP_CRITICAL_TEXTS
};

const char *sp_critical_word(sp_critical_kind kind)
{
    return critical_row[kind].word;
}

const char *sp_critical_clause(sp_critical_kind kind)
{
    return critical_row[kind].clause;
}

const sp_step *sp_path_state(const sp_path *path, int step)
{
    if (step < 0 || step >= path->step_count + path->back_count) return NULL;
    return step < path->step_count ? &path->step[step] : &path->back[step - path->step_count];
}

double sp_path_strain(const sp_path *path, int step)
{
    return path->step[step].shortening / path->size[1];
}

double sp_path_stress(const sp_path *path, int step)
{
    return path->step[step].force / (path->size[0] * path->size[2]);
}

void sp_path_free(sp_path *path)
{
    sp_shapes *shapes = &path->shapes;
    sp_free(path->step);
    sp_free(path->back);
    sp_free(path->event);
    sp_free(path->stage);
    sp_free(shapes->first_point);
    sp_free(shapes->thickness);
    sp_free(shapes->height);
    sp_free(shapes->role);
    sp_free(shapes->sheet);
    sp_free(shapes->frame_step);
    sp_free(shapes->position);
    sp_free(shapes->fibre_strain);
    sp_free(shapes->mode);
    sp_free(shapes->mode_position);
    memset(path, 0, sizeof *path);
}

sp_status sp_path_begin(sp_context *context, const sp_model *model, int frames, sp_path *path)
{
    const sp_network *network = model->network;
    memset(path, 0, sizeof *path);
    path->rows_most = sp_model_law(model)->rows_most;
    path->rows_least = sp_model_law(model)->rows_least;
    path->fibre_most = path->fibre_least = 1;
    memcpy(path->size, network->size, sizeof path->size);
    memcpy(path->pressed, network->size, sizeof path->pressed);
    path->joint_count = network->joint_count;
    path->strut_count = network->strut_count;
    path->element_count = model->element_count;
    path->unknown_count = model->unknown_count;
    sp_shapes *shapes = &path->shapes;
    shapes->strut_count = network->strut_count;
    shapes->point_count = model->point_count;
    shapes->frame_capacity = frames;
    const size_t struts = (size_t)network->strut_count, points = (size_t)model->point_count,
                 kept = (size_t)frames;
    shapes->first_point = sp_alloc(struts + 1, sizeof(int));
    shapes->thickness = sp_alloc(struts, sizeof(double));
    shapes->role = sp_alloc(struts, 1);
    shapes->frame_step = sp_alloc(kept, sizeof(int));
    shapes->position = sp_alloc(3 * points * kept, sizeof(double));
    shapes->fibre_strain = sp_alloc(points * kept, sizeof(double));
    if (!shapes->first_point || !shapes->thickness || !shapes->role || !shapes->frame_step ||
        !shapes->position || !shapes->fibre_strain) {
        sp_path_free(path);
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d shapes of %zu points", frames,
                       points);
    }
    memcpy(shapes->first_point, model->chain_first, (struts + 1) * sizeof(int));
    memcpy(shapes->thickness, network->strut_thickness, struts * sizeof(double));
    memcpy(shapes->role, network->strut_role, struts);
    if (!network->strut_height) return SP_OK;
    shapes->height = sp_alloc(struts, sizeof(double));
    if (!shapes->height) {
        sp_path_free(path);
        return sp_fail(context, SP_NO_MEMORY, "no memory for %zu struts", struts);
    }
    memcpy(shapes->height, network->strut_height, struts * sizeof(double));
    const int sheets = sp_network_sheets(network, NULL);
    if (sheets == 0) return SP_OK;
    shapes->sheet = sp_alloc((size_t)sheets, sizeof *shapes->sheet);
    if (!shapes->sheet) {
        sp_path_free(path);
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d cells of walls", sheets);
    }
    shapes->sheet_count = sp_network_sheets(network, shapes->sheet);
    return SP_OK;
}

static sp_status add_step(sp_context *context, const sp_step *step, sp_step **list, int *count,
                          int *capacity)
{
    if (*count == *capacity) {
        const int more = 2 * *capacity + 256;
        sp_step *grown = sp_resize(*list, (size_t)more, sizeof *grown);
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d steps", more);
        *list = grown;
        *capacity = more;
    }
    (*list)[(*count)++] = *step;
    return SP_OK;
}

sp_status sp_path_add_step(sp_context *context, sp_path *path, const sp_step *step)
{
    return add_step(context, step, &path->step, &path->step_count, &path->step_capacity);
}

sp_status sp_path_add_back(sp_context *context, sp_path *path, const sp_step *step)
{
    return add_step(context, step, &path->back, &path->back_count, &path->back_capacity);
}

sp_status sp_path_begin_stage(sp_context *context, sp_path *path, const sp_segment *segment)
{
    if (!path->stage) path->stage = sp_alloc(SP_SEGMENT_MAX, sizeof *path->stage);
    if (!path->stage) return sp_fail(context, SP_NO_MEMORY, "no memory for a protocol");
    const int last = path->step_count + path->back_count - 1;
    path->stage[path->stage_count++] = (sp_stage){*segment, last, last, 0};
    return SP_OK;
}

void sp_path_end_stage(sp_path *path, int reached)
{
    if (path->stage_count == 0) return;
    sp_stage *stage = &path->stage[path->stage_count - 1];
    stage->last = path->step_count + path->back_count - 1;
    stage->reached = reached;
}

sp_status sp_path_add_event(sp_context *context, sp_path *path, sp_event_kind kind, int strut,
                            double value)
{
    if (path->event_count == path->event_capacity) {
        const int capacity = 2 * path->event_capacity + 32;
        sp_event *grown = sp_resize(path->event, (size_t)capacity, sizeof *grown);
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d events", capacity);
        path->event = grown;
        path->event_capacity = capacity;
    }
    path->event[path->event_count++] = (sp_event){kind, path->step_count - 1, strut, value};
    return SP_OK;
}

void sp_path_points(const sp_model *model, const double *x, double *position)
{
    sp_model_points(model, x, position);
    if (model->dimension == 3) return;
    /* There are two values per point: spread them into three, from the last point to the first. */
    for (int k = model->point_count - 1; k >= 0; k--) {
        const double px = position[2 * k], py = position[2 * k + 1];
        position[3 * k] = px;
        position[3 * k + 1] = py;
        position[3 * k + 2] = 0;
    }
}

void sp_path_moves(const sp_system *system, const double *mode, double *move)
{
    const sp_model *model = system->model;
    const double *turned = system->contact.turned;
    for (int k = 0; k < model->point_count; k++) {
        const double *m = mode + model->unknowns * model->point_node[k];
        const double *arm = turned + model->dimension * k;
        double *to = move + 3 * k;
        memcpy(to, m, (size_t)model->dimension * sizeof(double));
        if (model->dimension == 2) {
            to[0] -= arm[1] * m[2];
            to[1] += arm[0] * m[2];
            to[2] = 0;
        } else {
            double turn[3];
            sp_cross(m + 3, arm, turn);
            for (int d = 0; d < 3; d++) to[d] += turn[d];
        }
    }
}

void sp_path_add_frame(const sp_system *system, sp_path *path)
{
    const sp_model *model = system->model;
    sp_shapes *shapes = &path->shapes;
    if (shapes->frame_count == shapes->frame_capacity) return;
    const int step = path->step_count + path->back_count - 1;
    if (shapes->frame_count > 0 && shapes->frame_step[shapes->frame_count - 1] == step) return;
    const size_t at = (size_t)shapes->frame_count++ * (size_t)model->point_count;
    shapes->frame_step[shapes->frame_count - 1] = step;
    sp_path_points(model, system->x, shapes->position + 3 * at);
    double *strain = shapes->fibre_strain + at;
    for (int s = 0; s < model->network->strut_count; s++) {
        const int first = model->strut_element[s], last = model->strut_element[s + 1] - 1;
        int e = first;
        for (int k = model->chain_first[s]; k + 1 < model->chain_first[s + 1]; k++) {
            /* A joint zone shows the strain of the element that leaves it. */
            const int rigid = model->point_node[k] == model->point_node[k + 1];
            strain[k] = sp_system_element_strain(system, rigid ? (e == first ? first : last) : e);
            e += !rigid;
        }
    }
}

#define WHOLE(name)                                                                                \
    {                                                                                              \
#name, "", offsetof(sp_step, name), 1                                                      \
    }
#define NUMBER(name, unit)                                                                         \
    {                                                                                              \
#name, unit, offsetof(sp_step, name), 0                                                    \
    }

const sp_step_column *sp_step_columns(int *count, size_t *stride)
{
    static const sp_step_column columns[] = {
        NUMBER(shortening, "mm"),   NUMBER(force, "N"),       NUMBER(stiffness, "N/mm"),
        NUMBER(stored, "mJ"),       NUMBER(dissipated, "mJ"), NUMBER(work, "mJ"),
        NUMBER(released, "mJ"),     NUMBER(residual, "N"),    NUMBER(imbalance, "N"),
        NUMBER(fibre_strain, ""),   WHOLE(contacts),          WHOLE(iterations),
        WHOLE(factorizations),      WHOLE(negative_pivots),   NUMBER(time, "s"),
        NUMBER(mass_speed, "mm/s"), NUMBER(softened, "mJ"),   NUMBER(relaxed, "mJ"),
        NUMBER(flowed, "mJ"),       NUMBER(wall_force, "N"),
    };
    *count = (int)(sizeof columns / sizeof columns[0]);
    *stride = sizeof(sp_step);
    return columns;
}
