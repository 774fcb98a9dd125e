/* Parts of making the resolved case. */
#ifndef SP_RUN_RESOLVE_PARTS_H
#define SP_RUN_RESOLVE_PARTS_H

#include <strutpress/resolve.h>

#include "spatial/plan.h"

/* unread.c: warn of every key that was given and that this case does not read, by the column
 * `readers` of the rows. */
void sp_warn_of_unread(sp_context *context, const sp_resolved *resolved);
/* unread.c: return 1 when this case reads a row; else say why not, in words that follow "KEY is not
 * read". */
enum { SP_WHY_SIZE = 256 };
int sp_case_reads(const sp_resolved *resolved, int row, char why[SP_WHY_SIZE]);

/* forecast.c: forecast what the press of a settled case will take; `cells` counts the struts of a
 * spatial pattern. Everything is zero, without a failure, where no forecast can be made. Errors:
 * SP_NO_MEMORY. */
sp_status sp_expect(sp_context *context, const sp_resolved *resolved, const sp_spatial_count *cells,
                    sp_forecast *expected);

#endif
