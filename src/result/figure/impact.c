/* Figures of a mass that falls on the coupon: its first drop, and the mean of the later ones. */
#include <math.h>

#include "measure/curve.h"
#include "measure/measure_list.h"
#include "measure/stages.h"

#define ARGUMENTS const sp_path *path, const sp_network *network, const sp_case *request

/* Find the first drop; with `rebounds` 1, only when it has come to its end. NULL: none. */
static const sp_stage *first_drop(const sp_path *path, int rebounds)
{
    const sp_stage *drop = sp_stage_first(path, SP_SEGMENT_DROP);
    if (!drop || drop->last == drop->first) return NULL;
    /* When the press ends early in a fall, it is not known whether its deepest state was passed. */
    const int turned = sp_stage_deepest(path, drop) < drop->last;
    return (rebounds ? drop->reached : turned) ? drop : NULL;
}

sp_measure sp_measure_impact_peak(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 0);
    return drop ? sp_reached(sp_stage_impact(path, drop).peak_share) : sp_not_reached();
}

sp_measure sp_measure_impact_peak_later(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *first = sp_stage_first(path, SP_SEGMENT_DROP);
    double sum = 0;
    int count = 0;
    for (int i = 0; i < path->stage_count; i++) {
        const sp_stage *stage = &path->stage[i];
        if (stage->segment.kind != SP_SEGMENT_DROP || stage == first || !stage->reached) continue;
        sum += sp_stage_impact(path, stage).peak_share;
        count++;
    }
    return count ? sp_reached(sum / count) : sp_not_reached();
}

sp_measure sp_measure_impact_time(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 0);
    return drop ? sp_reached(sp_stage_impact(path, drop).peak_time) : sp_not_reached();
}

sp_measure sp_measure_impact_duration(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 1);
    if (!drop) return sp_not_reached();
    return sp_reached(sp_path_state(path, drop->last)->time -
                      sp_path_state(path, drop->first)->time);
}

sp_measure sp_measure_impact_depth(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 0);
    return drop ? sp_reached(sp_stage_impact(path, drop).deepest / path->size[1])
                : sp_not_reached();
}

sp_measure sp_measure_impact_bottoming(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 0);
    return drop ? sp_reached(sp_stage_bottoming(path, drop)) : sp_not_reached();
}

sp_measure sp_measure_impact_rebound(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 1);
    return drop ? sp_reached(sp_stage_impact(path, drop).rebound) : sp_not_reached();
}

sp_measure sp_measure_impact_loss(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *drop = first_drop(path, 1);
    if (!drop) return sp_not_reached();
    return sp_reached(1 - sp_stage_impact(path, drop).rebound / drop->segment.height);
}
