#include "measure/stages.h"

#include <math.h>
#include <stddef.h>

#include "measure/curve.h"

const sp_stage *sp_stage_first(const sp_path *path, sp_segment_kind kind)
{
    for (int i = 0; i < path->stage_count; i++)
        if (path->stage[i].segment.kind == kind) return &path->stage[i];
    return NULL;
}

const sp_stage *sp_stage_last(const sp_path *path, sp_segment_kind kind)
{
    for (int i = path->stage_count - 1; i >= 0; i--)
        if (path->stage[i].segment.kind == kind) return &path->stage[i];
    return NULL;
}

/* Find the first state of a stage that is so long after its beginning, -1: the stage was shorter.
 * Round-off of times that were met exactly is ignored. */
static int state_at(const sp_path *path, const sp_stage *stage, double seconds)
{
    const double begin = sp_path_state(path, stage->first)->time;
    for (int i = stage->first; i <= stage->last; i++)
        if (sp_path_state(path, i)->time - begin >= seconds * (1 - 1e-9)) return i;
    return -1;
}

static double share_of(const sp_path *path, const sp_stage *stage, int state, double seconds)
{
    const double begin = sp_path_state(path, stage->first)->time;
    const double after = sp_path_state(path, state)->time,
                 before = sp_path_state(path, state - 1)->time;
    return after > before ? fmin(1, (begin + seconds - before) / (after - before)) : 1;
}

/* Return a member of a state this many seconds after a stage began. */
static sp_measure value_after(const sp_path *path, const sp_stage *stage, double seconds,
                              size_t member)
{
    const int i = stage ? state_at(path, stage, seconds) : -1;
    if (i < 0) return sp_not_reached();
    const double to = *(const double *)((const char *)sp_path_state(path, i) + member);
    if (i == stage->first) return sp_reached(to);
    const double from = *(const double *)((const char *)sp_path_state(path, i - 1) + member);
    const double share = share_of(path, stage, i, seconds);
    return sp_reached((1 - share) * from + share * to);
}

sp_measure sp_stage_force(const sp_path *path, const sp_stage *stage, double seconds)
{
    return value_after(path, stage, seconds, offsetof(sp_step, force));
}

sp_measure sp_stage_shortening(const sp_path *path, const sp_stage *stage, double seconds)
{
    return value_after(path, stage, seconds, offsetof(sp_step, shortening));
}

sp_measure sp_stage_time_to(const sp_path *path, const sp_stage *stage, double shortening)
{
    for (int i = stage ? stage->first + 1 : 0; stage && i <= stage->last; i++) {
        const sp_step *a = sp_path_state(path, i - 1), *b = sp_path_state(path, i);
        if (b->shortening > shortening) continue;
        const double share = a->shortening > b->shortening
                                 ? (a->shortening - shortening) / (a->shortening - b->shortening)
                                 : 1;
        return sp_reached(a->time + share * (b->time - a->time) -
                          sp_path_state(path, stage->first)->time);
    }
    return sp_not_reached();
}

int sp_stage_deepest(const sp_path *path, const sp_stage *stage)
{
    int deepest = stage->first;
    for (int i = stage->first; i <= stage->last; i++)
        if (sp_path_state(path, i)->shortening > sp_path_state(path, deepest)->shortening)
            deepest = i;
    return deepest;
}

double sp_stage_bottoming(const sp_path *path, const sp_stage *stage)
{
    const int deepest = sp_stage_deepest(path, stage);
    const sp_step *first = sp_path_state(path, stage->first), *best = first;
    double largest = 0, most = 0;
    for (int i = stage->first + 1; i <= deepest; i++) {
        const sp_step *step = sp_path_state(path, i);
        largest = fmax(largest, step->force);
        if (!(largest > 0) || (step->work - first->work) / largest < most) continue;
        most = (step->work - first->work) / largest;
        best = step;
    }
    const double depth = sp_path_state(path, deepest)->shortening;
    return depth > 0 ? 1 - best->shortening / depth : 0;
}

sp_impact sp_stage_impact(const sp_path *path, const sp_stage *stage)
{
    const sp_step *first = sp_path_state(path, stage->first),
                  *last = sp_path_state(path, stage->last), *peak = first;
    for (int i = stage->first; i <= stage->last; i++)
        if (sp_path_state(path, i)->force > peak->force) peak = sp_path_state(path, i);
    const double up = fmax(0, -last->mass_speed);
    return (sp_impact){
        .peak = peak->force,
        .peak_share = peak->force / (stage->segment.mass * SP_GRAVITY),
        .peak_time = peak->time - first->time,
        .deepest = sp_path_state(path, sp_stage_deepest(path, stage))->shortening,
        .rebound = up * up / (2 * 1e3 * SP_GRAVITY),
    };
}

static void add_press(const sp_path *path, const sp_stage *stage, sp_cycle *cycle)
{
    const int drops = stage->segment.kind == SP_SEGMENT_DROP;
    const sp_step *first = sp_path_state(path, stage->first),
                  *last = sp_path_state(path, drops ? sp_stage_deepest(path, stage) : stage->last);
    for (int i = stage->first; i <= stage->last; i++)
        cycle->peak = fmax(cycle->peak, sp_path_state(path, i)->force);
    cycle->end_force = last->force;
    cycle->end_strain = last->shortening / path->size[1];
    cycle->work += last->work - first->work;
}

int sp_cycles(const sp_path *path, sp_cycle *cycle, int most)
{
    int count = 0;
    for (int i = 0; i < path->stage_count; i++) {
        const sp_stage *stage = &path->stage[i];
        const sp_step *first = sp_path_state(path, stage->first),
                      *last = sp_path_state(path, stage->last);
        const int drops = stage->segment.kind == SP_SEGMENT_DROP;
        const int presses = drops || stage->segment.kind == SP_SEGMENT_PRESS;
        if (presses && !stage->reached) continue;
        if (presses && (count == 0 || cycle[count - 1].number != stage->segment.cycle)) {
            if (count == most) return count;
            cycle[count++] = (sp_cycle){.number = stage->segment.cycle};
        }
        if (count == 0) continue;
        if (presses) add_press(path, stage, &cycle[count - 1]);
        if (stage->segment.kind == SP_SEGMENT_RELEASE) {
            cycle[count - 1].returned += first->work - last->work;
            cycle[count - 1].released = stage->reached;
        }
        if (drops) {
            cycle[count - 1].returned = first->work + cycle[count - 1].work - last->work;
            cycle[count - 1].released = 1;
        }
        cycle[count - 1].left = last->shortening;
    }
    return count;
}

sp_measure sp_cycle_force(const sp_path *path, int number, double strain)
{
    double zero = 0;
    for (int k = 0; k < path->stage_count; k++) {
        const sp_stage *stage = &path->stage[k];
        if (stage->segment.kind == SP_SEGMENT_ZERO)
            zero = sp_path_state(path, stage->last)->shortening;
        const double u = zero + strain * (path->size[1] - zero);
        const int drops = stage->segment.kind == SP_SEGMENT_DROP;
        if (!(drops || stage->segment.kind == SP_SEGMENT_PRESS) || stage->segment.cycle != number)
            continue;
        for (int i = stage->first + 1; i <= stage->last; i++) {
            const sp_step *a = sp_path_state(path, i - 1), *b = sp_path_state(path, i);
            if (!(a->shortening < u && u <= b->shortening * (1 + 1e-12))) continue;
            const double share = (u - a->shortening) / (b->shortening - a->shortening);
            return sp_reached(a->force + fmin(1, share) * (b->force - a->force));
        }
    }
    return sp_not_reached();
}
