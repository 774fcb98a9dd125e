/* The band of the first stiffness over the corners of the joints. */
#ifndef SP_RUN_CORNERS_H
#define SP_RUN_CORNERS_H

#include "law/law.h"
#include "run/result.h"

/* Find the first stiffness of the coupon of a case, flaws included, with sharp corners, with its
 * own, and with full ones. Errors: those of building, and SP_NO_MEMORY. */
sp_status sp_corners_take(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                          sp_corners *corners);

#endif
