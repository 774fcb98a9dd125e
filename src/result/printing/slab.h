/* A slab: beads that lie in one plane, and the walls around them, as one flat body between two
 * heights. */
#ifndef SP_PRINTING_SLAB_H
#define SP_PRINTING_SLAB_H

#include "printing/surface.h"

/* One printed line. */
typedef struct sp_bead {
    double end[2][2]; /* [mm] */
    int joint[2];     /* numbers of its ends, for turns; -1: the bead goes on in its strut */
    double width[2];  /* at its ends [mm] */
} sp_bead;

typedef struct sp_slab {
    int bead_count;
    sp_bead *bead;
    int joint_count;   /* numbers of ends are below this one */
    double size[2];    /* the coupon reaches from 0 to here [mm] */
    double wall;       /* thickness of the wall around, 0: none [mm] */
    double margin;     /* beads are cut this far inside the coupon [mm] */
    double from, upto; /* heights of its lower and upper face [mm] */
} sp_slab;

/* Add the union of all beads and the wall as shells, one for each separate piece. It is exact
 * except for a grid of 1e-5 mm on which corners lie. Errors: SP_NO_MEMORY, SP_INTERNAL (the surface
 * would not be closed). */
sp_status sp_slab_add(sp_context *context, const sp_slab *slab, sp_surface *surface);

#endif
