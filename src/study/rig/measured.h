/* One measured curve, as a fit or a search reads it: from a file of a rig, with several specimens
 * their mean. */
#ifndef SP_RIG_MEASURED_H
#define SP_RIG_MEASURED_H

#include <strutpress/rig.h>

#include "batch/plan_parts.h"

/* Force over shortening, from zero on. */
typedef struct sp_measured {
    int count;
    double *shortening; /* count [mm], not falling; owned */
    double *force;      /* count [N]; owned */
    /* For several specimens this is the root mean square of the standard deviation of the force,
     * over its mean; else 0. */
    double spread;
    sp_rig *rig; /* the file that it was taken from; owned */
} sp_measured;

/* Read a measured curve. The height and the area of the request turn strain and stress into mm and
 * N; without them a file of strains or stresses is refused. context->say gets in one line what
 * was understood. SP_NO_READ, SP_NO_MEMORY. Freed with sp_measured_free, also after a failure. */
sp_status sp_measured_read(sp_context *context, const char *file, const sp_rig_request *request,
                           sp_measured *measured);
void sp_measured_free(sp_measured *measured);
/* Draw what was understood, as SVG. SP_NO_MEMORY, SP_NO_WRITE. */
sp_status sp_measured_draw(sp_context *context, const sp_measured *measured, FILE *stream);
/* Return the measured curve as figures read it; height and area are those of the request. */
sp_curve sp_measured_view(const sp_measured *measured);

/* Read `curve: FILE`, or `curve: {file: FILE, zero: toe, specimen: 2, ...}` with the keys of
 * sp_rig_request_set. Errors as for sp_plan_parse. */
sp_status sp_measured_node(plan_reader *r, const yaml_node_t *node, sp_rig_request *request,
                           char file[SP_FILE_SIZE]);

#endif
