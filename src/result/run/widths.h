/* The coupon printed a little narrower and a little wider. */
#ifndef SP_RUN_WIDTHS_H
#define SP_RUN_WIDTHS_H

#include <strutpress/resolve.h>

#include "law/law.h"
#include "state/width.h"

typedef struct sp_widths {
    double width; /* mean printed width of the struts, by their length; 0: there is no pair [mm] */
    sp_network network[2];
    sp_model model[2];
    sp_width_pair pair;
} sp_widths;

/* Both coupons beside a model of the resolved case with flaws. Without a pair where one of the two
 * cannot be built or is meshed in another way. Errors: SP_NO_MEMORY, SP_INTERRUPTED. */
sp_status sp_widths_build(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                          const sp_model *model, sp_widths *widths);
void sp_widths_free(sp_widths *widths);

#endif
