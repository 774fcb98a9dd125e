/* The only user of Qhull, see voronoi_edges.h. */
#include "random/voronoi_edges.h"

#include <stdio.h>

#include "base/poll.h"

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wpedantic"
#include <libqhull_r/qhull_ra.h>
#pragma GCC diagnostic pop

/* Edges join the centres of the circles or spheres about neighbouring Delaunay triangles or
 * tetrahedra. */
static sp_status hand_over(qhT *qh, sp_status (*add)(void *user, const double *a, const double *b),
                           void *user)
{
    facetT *facet, *neighbor, **neighborp;
    FORALLfacets
    {
        if (facet->upperdelaunay || !facet->center) continue;
        FOREACHneighbor_(facet)
        {
            if (neighbor->upperdelaunay || !neighbor->center || neighbor->id < facet->id) continue;
            sp_status status = add(user, facet->center, neighbor->center);
            if (status != SP_OK) return status;
        }
    }
    return SP_OK;
}

sp_status sp_voronoi_edges(sp_context *context, int dimension, double *point, int count,
                           sp_status (*add)(void *user, const double *a, const double *b),
                           void *user)
{
    int curlong, totlong;
    char command[] = "qhull d Qbb Qc";
    sp_status status = sp_poll_now(context, "finding the cells about random points");
    if (status != SP_OK) return status;
    qhT work, *qh = &work;
    qh_zero(qh, NULL);
    FILE *silent = tmpfile(); /* Qhull needs a stream for its messages */
    int failed =
        qh_new_qhull(qh, dimension, count, point, False, command, NULL, silent ? silent : stderr);
    if (failed) {
        status = sp_fail(context, failed == qh_ERRmem ? SP_NO_MEMORY : SP_INTERNAL,
                         "voronoi: Qhull fails with code %d on %d points", failed, count);
    } else {
        qh_setvoronoi_all(qh);
        status = hand_over(qh, add, user);
    }
    qh_freeqhull(qh, !qh_ALL);
    qh_memfreeshort(qh, &curlong, &totlong);
    if (silent) fclose(silent);
    if (status == SP_OK) status = sp_poll_now(context, "finding the cells about random points");
    return status;
}
