/* A block in the place of a coupon: what is made of its path. */
#ifndef SP_PRESS_BLOCK_H
#define SP_PRESS_BLOCK_H

#include <strutpress/path.h>

#include "model/model.h"

/* Force on the whole coupon when the block carries that of `step`: walls of the infill and of the
 * perimeter each as often as the coupon has them; the force itself without a block [N]. E171 */
double sp_whole_force(const sp_network *network, const sp_step *step);

/* From the path of a block to that of the coupon it stands for: size, forces, stiffnesses and
 * energies. What was found of single walls stays; nothing changes without a block. */
void sp_path_stand_for(const sp_network *network, sp_path *path);

#endif
