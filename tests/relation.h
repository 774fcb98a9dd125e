/* These functions check relations between presses: two coupons that must carry related forces.
 * There is one small coupon per row of the tables of patterns and of cells. Networks are changed in
 * memory, and curves are compared at equal shares of the travel. */
#ifndef TESTS_RELATION_H
#define TESTS_RELATION_H

#include "coupon.h"

#include <strutpress/case.h>
#include <strutpress/network.h>

enum { RELATION_POINTS = 12 };

/* These are the forces and the work of a press at RELATION_POINTS even shares of the travel, taken
 * from the tangents between the steps. */
typedef struct relation_curve {
    char name[96];                 /* of the coupon */
    double force[RELATION_POINTS]; /* [N] */
    double work[RELATION_POINTS];  /* [mJ] */
    double stiffness;              /* of the unloaded coupon [N/mm] */
    double critical;               /* strain of the critical step, the whole travel without one */
} relation_curve;

/* These are the coupons: the planar patterns but the drawn one, the cells in space, and three
 * patterns in two layers. `relation_coupon` gives coupon number i with all lengths `length` times
 * as large. */
int relation_coupon_count(void);
sp_case relation_coupon(int i, double length);
int relation_is_planar(int i); /* 1: extruded through the depth */

/* List every hold of the platens by its word; NULL follows the last. Friction has a coefficient of
 * 0.3. */
const char *relation_hold(int i);
void relation_put_hold(sp_case *request, const char *hold);

/* Return 1 for the rows to run: under RELATIONS=all every row, else every `every`-th one, shifted
 * by `first`; STRUTPRESS_QUICK leaves out more. */
int relation_takes(int i, int first, int every);

/* Build a coupon (with flaws unless flaws.seed is 0) and press it. Fail the test, naming the
 * coupon, where a press does not come to its end. */
relation_curve relation_press(const sp_case *request);
relation_curve relation_press_network(const sp_case *request, const sp_network *network);
/* Do the same, and press also to the critical step of the coupon without flaws, where that press
 * ends. */
relation_curve relation_press_to_critical(const sp_case *request);
sp_network relation_network(const sp_case *request);

/* Check that every force of `got` is `factor` times that of `want` within `tolerance` of the
 * largest. */
void relation_check(const char *relation, const relation_curve *got, double factor,
                    const relation_curve *want, double tolerance);
/* Check the work in the same way, which does not jump where a coupon snaps. */
void relation_check_work(const char *relation, const relation_curve *got,
                         const relation_curve *want, double tolerance);

/* Make all lengths `factor` times as large. */
void relation_scale(sp_network *network, double factor);

/* Mirror the network across the width (0), turn it upside down (1), mirror it through the depth
 * (2); in space also turn it by 90 degrees about the pressing direction, with the sides of the
 * coupon exchanged. */
void relation_mirror(sp_network *network, int axis);
void relation_quarter_turn(sp_network *network);

/* This is a planar drawing: lines of two points each. */
typedef struct relation_drawing {
    int count;
    double *end; /* 4 per line */
} relation_drawing;
relation_drawing relation_lines(const sp_network *network,
                                int room);                  /* room for `room` times as many */
void relation_shuffle(relation_drawing *drawing, int seed); /* order and direction */
void relation_write_drawing(const relation_drawing *drawing, double x, double y, char *file,
                            size_t size); /* moved by x, y; a temporary VTK file */

#endif
