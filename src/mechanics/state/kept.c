#include "state/kept.h"

#include <string.h>

#include "base/alloc.h"

static size_t history_size(const sp_system *system)
{
    return system->history ? system->history_first[system->model->element_count] : 0;
}

/* Copy the grips and the list of the first grip of each segment; loads are noted again by every
 * evaluation. */
static int copy_friction(const sp_system *system, sp_kept *kept)
{
    const sp_friction *from = &system->contact.friction;
    sp_grip *grip = kept->friction.grip;
    int *first = kept->friction.first;
    if (!from->first) return 1;
    const size_t points = (size_t)system->model->point_count, count = (size_t)from->count;
    if (!first) first = sp_alloc(points, sizeof *first);
    if (count > kept->grips) {
        sp_grip *grown = sp_resize(grip, count, sizeof *grip);
        if (grown) grip = grown, kept->grips = count;
    }
    kept->friction = *from;
    kept->friction.grip = grip;
    kept->friction.first = first;
    if (!first || count > kept->grips) return 0;
    if (count > 0) memcpy(grip, from->grip, count * sizeof *grip);
    memcpy(first, from->first, points * sizeof *first);
    return 1;
}

/* Copy the grips of the kept state into the present arrays, which never shrink, so that the kept
 * grips fit. */
static void put_friction_back(const sp_kept *kept, sp_system *system)
{
    sp_friction *friction = &system->contact.friction;
    const sp_friction now = *friction;
    if (!now.first) return;
    *friction = kept->friction;
    friction->load = now.load;
    friction->load_capacity = now.load_capacity;
    friction->grip = now.grip;
    friction->before = now.before;
    friction->first = now.first;
    friction->face_point = now.face_point;
    if (friction->count > 0)
        memcpy(friction->grip, kept->friction.grip,
               (size_t)friction->count * sizeof *friction->grip);
    memcpy(friction->first, kept->friction.first,
           (size_t)system->model->point_count * sizeof *friction->first);
    for (int i = 0; i < friction->count; i++) friction->grip[i].block[0] = -1;
}

sp_status sp_kept_take(sp_context *context, const sp_system *system, sp_kept *kept)
{
    const size_t values = sp_system_values(system), history = history_size(system);
    if (!kept->accepted) kept->accepted = sp_alloc(values, sizeof(double));
    if (!kept->history && history > 0) kept->history = sp_alloc(history, sizeof(double));
    if (!kept->accepted || (history > 0 && !kept->history) || !copy_friction(system, kept))
        return sp_fail(context, SP_NO_MEMORY, "no memory to keep the state of %d nodes",
                       system->model->node_count);
    const sp_layer_memory *layers = &system->contact.layers;
    sp_status status = SP_OK;
    if (layers->on && !kept->layers.on)
        status = sp_layer_memory_create(context, layers->law, layers->modulus, &kept->layers);
    if (status == SP_OK) status = sp_layer_memory_copy(context, layers, &kept->layers);
    if (status != SP_OK) return status;
    memcpy(kept->accepted, system->accepted, values * sizeof(double));
    if (history > 0) memcpy(kept->history, system->history, history * sizeof(double));
    kept->shortening = system->accepted_shortening;
    return SP_OK;
}

sp_status sp_kept_put_back(sp_context *context, const sp_kept *kept, sp_system *system)
{
    const size_t history = history_size(system);
    memcpy(system->accepted, kept->accepted, sp_system_values(system) * sizeof(double));
    system->accepted_shortening = kept->shortening;
    if (history > 0) memcpy(system->history, kept->history, history * sizeof(double));
    put_friction_back(kept, system);
    const sp_status status = sp_layer_memory_copy(context, &kept->layers, &system->contact.layers);
    return status == SP_OK ? sp_system_restore(context, system) : status;
}

void sp_kept_free(sp_kept *kept)
{
    sp_free(kept->accepted);
    sp_free(kept->history);
    sp_free(kept->friction.grip);
    sp_free(kept->friction.first);
    sp_layer_memory_free(&kept->layers);
    memset(kept, 0, sizeof *kept);
}
