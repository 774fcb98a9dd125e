#include "state/range.h"

#include <math.h>

#include "beam/beam.h"

static const double law_margin = 2e-3;    /* this share more strain leaves the law */
static const double no_length = 0.02;     /* a piece at this stretch or less has no length left */
static const double fold_share = 0.99;    /* of 180 degrees */
static const double crushed_share = 0.02; /* of the distance at which two struts touch */

const char *sp_range_text(sp_range range)
{
    static const char *const text[] = {
#define SP_RANGE_WORDS(code, words) words,
        SP_RANGE_ROWS(SP_RANGE_WORDS)
#undef SP_RANGE_WORDS
    };
    return text[range];
}

static int is_folded(const sp_model *model, int element, const sp_beam_state *state)
{
    const double *k = state->curvature;
    return model->dimension == 3 && !model->network->strut_panel && /* panels may fold further */
           hypot(k[0], k[1]) * model->spatial[element].length >= fold_share * M_PI;
}

int sp_range_is_crushed(sp_system *system)
{
    return sp_contact_is_crushed(&system->contact, crushed_share);
}

sp_range sp_range_of(sp_system *system)
{
    const sp_model *model = system->model;
    for (int e = 0; e < model->element_count; e++) {
        const sp_beam_state *state = &system->element_state[e];
        if (sp_beam_chord(model, e, state) <= no_length) return SP_RANGE_SHORT;
        if (is_folded(model, e, state)) return SP_RANGE_FOLDED;
        if (!sp_beam_within_law(model, e, state, sp_system_history(system, e), 1 + law_margin))
            return SP_RANGE_LAW;
    }
    /* At an end that yields, the chain that contact presses on has no length before the chord has
     * none, since it goes on with the joint at first (E231). */
    if (sp_contact_lacks_length(&system->contact, no_length)) return SP_RANGE_SHORT;
    return sp_range_is_crushed(system) ? SP_RANGE_CRUSHED : SP_RANGE_INSIDE;
}
