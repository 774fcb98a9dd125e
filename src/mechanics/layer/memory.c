#include "layer/memory.h"

#include <string.h>

#include "base/alloc.h"

static const int first_room = 64;

sp_status sp_layer_memory_create(sp_context *context, const sp_law *law, double modulus,
                                 sp_layer_memory *memory)
{
    memset(memory, 0, sizeof *memory);
    memory->law = law;
    memory->modulus = modulus;
    memory->count = sp_layer_count(law);
    if (!law->time.on) return SP_OK;
    memory->fresh = sp_alloc((size_t)memory->count, sizeof(double));
    if (!memory->fresh) return sp_fail(context, SP_NO_MEMORY, "no memory for layers in time");
    memory->on = 1;
    sp_layer_memory_arm(memory, 0);
    return SP_OK;
}

void sp_layer_memory_free(sp_layer_memory *memory)
{
    sp_free(memory->fresh);
    sp_free(memory->stiffness);
    sp_free(memory->now);
    sp_free(memory->strain);
    sp_free(memory->history);
    sp_free(memory->key);
    sp_free(memory->first);
    sp_free(memory->slot);
    sp_free(memory->pressed);
    memset(memory, 0, sizeof *memory);
}

/* ---- room ---- */

static int grow(void **block, size_t count, size_t size)
{
    void *grown = sp_resize(*block, count, size);
    if (grown) *block = grown;
    return grown != NULL;
}

static int room_for_slots(sp_layer_memory *m, int most)
{
    if (most <= m->slot_capacity) return 1;
    const size_t room = 2 * (size_t)most + (size_t)first_room;
    if (!grow((void **)&m->stiffness, room, sizeof(double)) ||
        !grow((void **)&m->now, room, sizeof(double)) ||
        !grow((void **)&m->strain, room, sizeof(double)) ||
        !grow((void **)&m->history, room * (size_t)m->count, sizeof(double)))
        return 0;
    m->slot_capacity = (int)room;
    return 1;
}

static int room_for_places(sp_layer_memory *m, int most)
{
    if (most <= m->place_capacity) return 1;
    const size_t room = 2 * (size_t)most + (size_t)first_room;
    if (!grow((void **)&m->slot, room, sizeof(int))) return 0;
    m->place_capacity = (int)room;
    return 1;
}

/* Return the place of a pair in the table, or the empty place that it would take. */
static int find(const sp_layer_memory *m, uint64_t pair)
{
    const uint64_t key = pair + 1, mask = (uint64_t)m->pair_capacity - 1;
    uint64_t at = (key * 0x9e3779b97f4a7c15u >> 20) & mask; /* Knuth 1973, multiplicative hashing */
    while (m->key[at] && m->key[at] != key) at = (at + 1) & mask;
    return (int)at;
}

/* Enlarge the table so that it stays at most half full. */
static int room_for_pairs(sp_layer_memory *m, int most)
{
    if (2 * most <= m->pair_capacity) return 1;
    sp_layer_memory wider = *m;
    wider.pair_capacity = m->pair_capacity ? m->pair_capacity : first_room;
    while (wider.pair_capacity < 4 * most) wider.pair_capacity *= 2;
    wider.key = sp_alloc((size_t)wider.pair_capacity, sizeof *wider.key);
    wider.first = sp_alloc((size_t)wider.pair_capacity, sizeof *wider.first);
    if (!wider.key || !wider.first) {
        sp_free(wider.key);
        sp_free(wider.first);
        return 0;
    }
    for (int i = 0; i < m->pair_capacity; i++) {
        if (!m->key[i]) continue;
        const int at = find(&wider, m->key[i] - 1);
        wider.key[at] = m->key[i];
        wider.first[at] = m->first[i];
    }
    sp_free(m->key);
    sp_free(m->first);
    *m = wider;
    return 1;
}

sp_status sp_layer_reserve(sp_context *context, sp_layer_memory *m)
{
    if (!m->on || (m->fresh_count == 0 && !m->no_room)) return SP_OK;
    int places = m->place_count;
    for (int i = 0; i < m->fresh_count; i++)
        places += m->pressed[i].place.points + m->pressed[i].place.points_beyond;
    if (m->no_room || !room_for_slots(m, m->slot_count + m->fresh_count) ||
        !room_for_places(m, places) || !room_for_pairs(m, m->pair_count + m->fresh_count))
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d layers in time",
                       m->slot_count + m->fresh_count);
    return SP_OK;
}

sp_status sp_layer_memory_copy(sp_context *context, const sp_layer_memory *from,
                               sp_layer_memory *to)
{
    if (!from->on) return SP_OK;
    memcpy(to->fresh, from->fresh, (size_t)from->count * sizeof(double));
    to->step_time = from->step_time;
    to->armed = from->armed;
    to->slot_count = to->place_count = to->pair_count = to->fresh_count = 0;
    if (to->pair_capacity) memset(to->key, 0, (size_t)to->pair_capacity * sizeof *to->key);
    if (from->slot_count == 0) return SP_OK;
    if (!room_for_slots(to, from->slot_count) || !room_for_places(to, from->place_count) ||
        !room_for_pairs(to, from->pair_count))
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d layers in time", from->slot_count);
    const size_t slots = (size_t)from->slot_count;
    memcpy(to->stiffness, from->stiffness, slots * sizeof(double));
    memcpy(to->history, from->history, slots * (size_t)from->count * sizeof(double));
    memcpy(to->slot, from->slot, (size_t)from->place_count * sizeof(int));
    to->slot_count = from->slot_count;
    to->place_count = from->place_count;
    to->pair_count = from->pair_count;
    for (int i = 0; i < from->pair_capacity; i++) {
        if (!from->key[i]) continue;
        const int at = find(to, from->key[i] - 1);
        to->key[at] = from->key[i];
        to->first[at] = from->first[i];
    }
    sp_layer_begin(to);
    return SP_OK;
}

/* ---- an evaluation ---- */

void sp_layer_begin(sp_layer_memory *m)
{
    m->fresh_count = m->no_room = 0;
    if (!m->armed) {
        m->armed = 1;
        sp_layer_arm(m->law, m->modulus, m->step_time, 1, m->fresh);
        if (m->slot_count)
            sp_layer_arm(m->law, m->modulus, m->step_time, m->slot_count, m->history);
    }
    if (m->slot_count) memset(m->now, 0, (size_t)m->slot_count * sizeof *m->now);
}

/* Find the slot of a place, or -1. */
static int slot_of(const sp_layer_memory *m, const sp_layer_place *place)
{
    if (m->pair_count == 0) return -1;
    const int at = find(m, place->pair);
    if (!m->key[at]) return -1;
    return m->slot[m->first[at] + (place->side ? place->points_beyond : 0) + place->which];
}

static void note(sp_layer_memory *m, const sp_layer_place *place, double stiffness, double w)
{
    if (m->fresh_count == m->fresh_capacity) {
        const int room = 2 * m->fresh_capacity + first_room;
        if (!grow((void **)&m->pressed, (size_t)room, sizeof *m->pressed)) {
            m->no_room = 1;
            return;
        }
        m->fresh_capacity = room;
    }
    m->pressed[m->fresh_count++] = (sp_layer_fresh){*place, stiffness, w};
}

sp_layer_answer sp_layer_press(sp_layer_memory *m, const sp_layer_place *place, double stiffness,
                               double w)
{
    const int slot = slot_of(m, place);
    if (slot < 0) {
        note(m, place, stiffness, w);
        return sp_layer_eval(m->law, m->modulus, w, m->fresh);
    }
    m->now[slot] = w;
    m->stiffness[slot] = stiffness;
    return sp_layer_eval(m->law, m->modulus, w, m->history + (size_t)m->count * (size_t)slot);
}

/* ---- accepted states ---- */

static double *history_of(const sp_layer_memory *m, int slot)
{
    return m->history + (size_t)m->count * (size_t)slot;
}

void sp_layer_memory_arm(sp_layer_memory *m, double dt)
{
    m->step_time = dt;
    m->armed = 0;
}

/* Give a pair places for its points, none of which has a slot yet. */
static int places_of(sp_layer_memory *m, const sp_layer_place *place)
{
    const int at = find(m, place->pair), count = place->points + place->points_beyond;
    if (m->key[at]) return m->first[at];
    m->key[at] = place->pair + 1;
    m->first[at] = m->place_count;
    m->pair_count++;
    for (int i = 0; i < count; i++) m->slot[m->place_count++] = -1;
    return m->first[at];
}

void sp_layer_memory_keep(sp_layer_memory *m)
{
    if (!m->on) return;
    for (int i = 0; i < m->fresh_count; i++) { /* sp_layer_reserve has made room */
        const sp_layer_fresh *f = &m->pressed[i];
        const int first = places_of(m, &f->place), slot = m->slot_count++;
        m->slot[first + (f->place.side ? f->place.points_beyond : 0) + f->place.which] = slot;
        m->stiffness[slot] = f->stiffness;
        m->now[slot] = f->w;
        memcpy(history_of(m, slot), m->fresh, (size_t)m->count * sizeof(double));
    }
    m->fresh_count = 0;
    sp_layer_memory_arm(m, 0);
    if (m->slot_count == 0) return;
    memcpy(m->strain, m->now, (size_t)m->slot_count * sizeof *m->now);
    sp_layer_keep(m->law, m->modulus, m->slot_count, m->strain, m->history);
}

static double difference(const sp_layer_memory *m, double w, const double *history)
{
    return sp_layer_spent(m->law, m->modulus, w, history) -
           sp_layer_eval(m->law, m->modulus, w, history).energy;
}

double sp_layer_memory_difference(const sp_layer_memory *m)
{
    double sum = 0;
    for (int i = 0; i < m->fresh_count; i++)
        sum += m->pressed[i].stiffness * difference(m, m->pressed[i].w, m->fresh);
    for (int i = 0; i < m->slot_count; i++)
        sum += m->stiffness[i] * difference(m, m->now[i], history_of(m, i));
    return sum;
}

void sp_layer_memory_add_lost(const sp_layer_memory *m, sp_law_lost *lost)
{
    for (int i = 0; i < m->slot_count; i++)
        sp_layer_add_lost(m->law, m->stiffness[i], history_of(m, i), lost);
}
