/* A strut has buckled when its axial compression has passed a maximum while its ends keep
 * approaching (E19). */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "stability/buckled.h"

/* The force is past its maximum when it has dropped by this share. */
static const double drop_share = 0.03;
/* Below this share of the clamped Euler load a strut bends and does not buckle; the sway load of a
 * square grid, the lowest of the common patterns, is 0.144 of the Euler load. */
static const double least_euler = 0.1;

/* Return 4 pi^2 EI/L^2. E20 */
double sp_clamped_euler_load(const sp_model *model, int strut)
{
    const double length = sp_network_free_length(model->network, strut);
    return 4 * M_PI * M_PI * sp_model_bending(model, strut) / (length * length);
}

sp_status sp_buckle_watch_create(sp_context *context, const sp_model *model, sp_buckle_watch *watch)
{
    /* Bars of a panel do not count as struts: a panel that has buckled still carries load. */
    const size_t n = model->network->panel ? 0 : (size_t)model->network->strut_count;
    *watch = (sp_buckle_watch){.strut_count = (int)n};
    watch->most_force = sp_alloc(n, sizeof(double));
    watch->chord = sp_alloc(n, sizeof(double));
    watch->step = sp_alloc(n, sizeof(int));
    watch->passed = sp_alloc(n, sizeof(int));
    if (watch->most_force && watch->chord && watch->step && watch->passed) return SP_OK;
    sp_buckle_watch_free(watch);
    return sp_fail(context, SP_NO_MEMORY, "no memory to watch %zu struts", n);
}

void sp_buckle_watch_free(sp_buckle_watch *watch)
{
    sp_free(watch->most_force);
    sp_free(watch->chord);
    sp_free(watch->step);
    sp_free(watch->passed);
    memset(watch, 0, sizeof *watch);
}

void sp_buckle_watch_look(sp_buckle_watch *watch, const sp_system *system, int step)
{
    for (int s = 0; s < watch->strut_count; s++) {
        if (watch->passed[s]) continue;
        const double force = sp_system_strut_force(system, s),
                     chord = sp_system_strut_chord(system, s);
        if (force > watch->most_force[s]) {
            watch->most_force[s] = force;
            watch->chord[s] = chord;
            watch->step[s] = step;
        } else if (watch->most_force[s] >= least_euler * sp_clamped_euler_load(system->model, s) &&
                   force < (1 - drop_share) * watch->most_force[s] && chord < watch->chord[s]) {
            watch->passed[s] = 1;
        }
    }
}

void sp_buckle_watch_first(const sp_buckle_watch *watch, const sp_model *model, sp_buckled *buckled)
{
    *buckled = (sp_buckled){.strut = -1};
    double ratio = 0;
    for (int s = 0; s < watch->strut_count; s++) {
        if (!watch->passed[s]) continue;
        const double own = watch->most_force[s] / sp_clamped_euler_load(model, s);
        if (buckled->found &&
            (watch->step[s] > buckled->step || (watch->step[s] == buckled->step && own <= ratio)))
            continue;
        ratio = own;
        *buckled = (sp_buckled){.found = 1,
                                .strut = s,
                                .step = watch->step[s],
                                .strut_force = watch->most_force[s],
                                .euler_ratio = own,
                                .slenderness = sp_network_free_length(model->network, s) /
                                               sp_model_gyration(model, s)};
    }
}
