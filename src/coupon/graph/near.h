/* Pairs of points that are close, by a grid of cells: the work grows with the points and with the
 * pairs, not with the square of the points, and it is known before it is done. */
#ifndef SP_GRAPH_NEAR_H
#define SP_GRAPH_NEAR_H

#include <strutpress/context.h>

#define SP_CROSSINGS_MAX                                                                           \
    4000000 /* crossings of a network at most, more than any press could take */

/* Fail with "network: received COUNT WHAT; valid: up to MOST". */
sp_status sp_network_too_many(sp_context *context, double count, const char *what, double most);

/* Count `more` comparisons of joints and struts of a network before they are made. Errors:
 * SP_BAD_NETWORK with the count when there are over two thousand million in all, which no drawing
 * of struts needs. */
sp_status sp_network_compare(sp_context *context, double *compared, double more);

typedef struct sp_near_point {
    double at[3];
    int joint;
} sp_near_point;

/* Visit every pair of points closer than `reach` once, and some pairs that are farther apart; the
 * order has no meaning. *compared counts them. Errors: SP_BAD_NETWORK (too many pairs),
 * SP_NO_MEMORY. */
sp_status sp_near_each(sp_context *context, const sp_near_point *point, int count, double reach,
                       double *compared, void (*visit)(void *user, int a, int b), void *user);

#endif
