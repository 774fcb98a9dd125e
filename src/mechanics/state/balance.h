/* These are the forces and moments that the platens exert on the whole coupon: at an equilibrium
 * they add up to zero. */
#ifndef SP_BALANCE_H
#define SP_BALANCE_H

#include "state/system.h"

typedef struct sp_balance {
    double force[3];  /* sum over both platens [N]; the last is 0 in the plane */
    double moment[3]; /* about the corner of the coupon at 0, 0, 0 [N mm]; the first two are 0 in
                         the plane */
} sp_balance;

/* Sum up the forces of the platens at the last evaluation, joint by joint and point by point: those
 * that hold heights and turns, friction, the push on struts that fold against a platen, and all
 * forces on bonded joints. Nodes that are held against drift are not held by a platen: where
 * an equilibrium needs these forces, the sum is not zero. */
void sp_balance_of_platens(const sp_system *system, sp_balance *balance);

/* Return the largest of the forces, and of the moments divided by the longest side of the coupon
 * [N]. */
double sp_balance_largest(const sp_balance *balance, const double size[3]);

#endif
