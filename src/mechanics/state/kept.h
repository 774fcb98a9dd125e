/* An accepted state can be kept aside, so that a press is tried from it and taken back. */
#ifndef SP_KEPT_H
#define SP_KEPT_H

#include "state/system.h"

/* The accepted state of a system consists of this: positions, travel, history of the fibres and of
 * the layers, and grips. Everything else is worked out again when it is evaluated. */
typedef struct sp_kept {
    double *accepted, *history; /* as in sp_system; history NULL where the law is reversible */
    double shortening;
    sp_friction friction;   /* its numbers, with copies of grip and first of its own */
    size_t grips;           /* number of grips that the copy has room for */
    sp_layer_memory layers; /* of a law in time */
} sp_kept;

/* Keep the accepted state of the system in *kept, which is empty ({0}) or holds another state of
 * the same system. Errors: SP_NO_MEMORY. */
sp_status sp_kept_take(sp_context *context, const sp_system *system, sp_kept *kept);

/* Make the kept state the accepted one again and evaluate it. Errors: SP_NO_MEMORY and those of an
 * evaluation. */
sp_status sp_kept_put_back(sp_context *context, const sp_kept *kept, sp_system *system);

void sp_kept_free(sp_kept *kept); /* accepts an empty one */

#endif
