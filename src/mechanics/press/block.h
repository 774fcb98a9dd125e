/* A block stands in the place of a coupon; these functions make the path of the coupon from that of
 * the block. */
#ifndef SP_PRESS_BLOCK_H
#define SP_PRESS_BLOCK_H

#include <strutpress/path.h>

#include "model/model.h"

/* Return the force on the whole coupon when the block carries that of `step`: walls of the infill
 * and of the perimeter count as often as the coupon has them. Without a block this is the force of
 * `step` itself [N]. E171 */
double sp_whole_force(const sp_network *network, const sp_step *step);

/* Turn the path of a block into that of the coupon that it stands for: size, forces, stiffnesses
 * and energies. Figures of single walls stay, and without a block nothing changes. */
void sp_path_stand_for(const sp_network *network, sp_path *path);

#endif
