/* The files of this folder share these functions, which cut one strut into elements and chain
 * points. */
#ifndef SP_MODEL_CUT_H
#define SP_MODEL_CUT_H

#include "model/model.h"

#define SP_CUTS_MAX 16 /* elements of a strut that is not cut evenly */

/* These are the first free node, element and chain point for the next strut. */
typedef struct sp_cut {
    int node, element, point;
    /* Where its elements begin and end, as shares of the free length; NULL: evenly spread. */
    const double *share;
} sp_cut;

/* Return the distance along the strut from joint A, whose zone is `zone` long, to the end of
 * element k (1 to count). */
static inline double sp_cut_along(const sp_cut *next, double zone, double free_length, int k,
                                  int count)
{
    return next->share ? zone + free_length * next->share[k] : zone + free_length * k / count;
}

/* Lay inner nodes on the half-sine bow, elements between them, and the chain through all nodes. The
 * section of the strut, its place in strut_element and the reference of its joints must be set. */
void sp_cut_planar(sp_model *model, int strut, sp_cut *next);
void sp_cut_spatial(sp_model *model, int strut, sp_cut *next);

/* Add a point of the chain that is fixed to `node` by `arm` (`dimension` numbers, NULL: none). */
void sp_cut_add_point(sp_model *model, sp_cut *next, int node, int strut, const double *arm,
                      double arc);

#endif
