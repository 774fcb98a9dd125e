/* A resolved case is what was asked, settled once for everything that is done with it.
 *
 * Units: as in a case. Ownership: a resolved case is the caller's, and sp_resolved_free gives back
 * its drawing. Errors: each function names its own. Threads: from several at once, each with its
 * own context; a resolved case is only read.
 *
 * Ranges are checked however the members of the case were set, names and derived values are
 * settled, the drawing is parsed and kept with the hash of its bytes, and what a press will take is
 * known. Nothing changes it afterwards: a press, a check, the key in a store, the order of a batch
 * and every forecast read the same one. */
#ifndef STRUTPRESS_RESOLVE_H
#define STRUTPRESS_RESOLVE_H

#include <strutpress/case.h>
#include <strutpress/forecast.h>
#include <strutpress/network.h>

SP_PUBLIC_BEGIN

struct sp_drawing;

typedef struct sp_resolved {
    /* The case with what follows from it (SP_ORIGIN_DERIVED): material.modulus of a hardness,
     * infill.angle of the pattern, of a spatial pattern the third of density, cell_size and
     * strut_diameter, the strain state of struts in space. */
    sp_case request;
    sp_built built; /* how the coupon is printed */
    int dimension;  /* of its network: 2 planar, 3 spatial and layers; of the solid block: 2 */
    struct sp_drawing *drawing; /* NULL: none is pressed; owned */
    /* The forecast is counted from the case, or for a drawing from its network; 0 seconds where it
     * is not known. */
    sp_forecast expected;
} sp_resolved;

/* Settle a case. Warns of every key that was given and that no part of this press reads. Errors:
 * SP_BAD_CASE, SP_NO_READ and SP_BAD_NETWORK (the drawing), SP_NO_MEMORY; *resolved then holds the
 * case as far as it could be settled, which is enough for its key in a store. Free with
 * sp_resolved_free in any case. */
sp_status sp_case_resolve(sp_context *context, const sp_case *asked, sp_resolved *resolved);
void sp_resolved_free(sp_resolved *resolved);

/* Build the network of a resolved case, with its flaws only when `with_flaws` is 1. Errors are
 * those of sp_network_build. */
sp_status sp_resolved_network(sp_context *context, const sp_resolved *resolved, int with_flaws,
                              sp_network *network);

SP_PUBLIC_END

#endif
