/* The watch looks for the first buckled strut of a coupon with flaws at every accepted state. */
#ifndef SP_BUCKLED_H
#define SP_BUCKLED_H

#include <strutpress/path.h>

#include "state/system.h"

typedef struct sp_buckle_watch {
    int strut_count;
    double *most_force; /* largest axial compression so far [N] */
    double *chord;      /* joint distance there [mm] */
    int *step;          /* step of that largest compression */
    int *passed;        /* 1: the maximum has been passed while the ends kept approaching */
} sp_buckle_watch;

sp_status sp_buckle_watch_create(sp_context *context, const sp_model *model,
                                 sp_buckle_watch *watch);
void sp_buckle_watch_free(sp_buckle_watch *watch);

/* Look for buckled struts in the accepted state of `step`. */
void sp_buckle_watch_look(sp_buckle_watch *watch, const sp_system *system, int step);

/* Find the earliest strut past its maximum, with its figures; the caller fills in the strain of the
 * coupon. */
void sp_buckle_watch_first(const sp_buckle_watch *watch, const sp_model *model,
                           sp_buckled *buckled);

/* Return the Euler load of the free length of a strut between clamped ends, 4 pi^2 EI/L^2
 * (Timoshenko & Gere) [N]. */
double sp_clamped_euler_load(const sp_model *model, int strut);

#endif
