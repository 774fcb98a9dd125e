/* --tested: curves of a rig beside coupons that are compared. */
#include "terminal/cli.h"

static int same_size(const sp_case *a, const sp_case *b)
{
    return a->width == b->width && a->height == b->height && a->depth == b->depth;
}

sp_status read_tested(sp_context *context, const sp_case *request, int count, tested_curves *tested,
                      sp_compare_options *how)
{
    const sp_case *first = &request[0];
    sp_rig_request q;
    if (!tested->file) return SP_OK;
    for (int i = 1; i < count; i++)
        if (!same_size(&request[i], first))
            return sp_fail(context, SP_BAD_USAGE,
                           "received --tested with coupons of two sizes, %.4g x %.4g x %.4g mm and "
                           "%.4g x %.4g x %.4g mm; valid: coupons of the size of the tested part",
                           first->width, first->height, first->depth, request[i].width,
                           request[i].height, request[i].depth);
    sp_rig_request_default(&q);
    q.height = first->height;
    q.area = first->width * first->depth;
    const sp_status status = sp_rig_read(context, tested->file, &q, &tested->rig);
    if (status != SP_OK) return status;
    const int specimens = sp_rig_count(tested->rig);
    how->tested = tested->curve;
    how->tested_count = specimens < TESTED_MAX ? specimens : TESTED_MAX;
    how->tested_name = tested->file;
    for (int i = 0; i < how->tested_count; i++) tested->curve[i] = sp_rig_curve(tested->rig, i);
    return SP_OK;
}

void free_tested(tested_curves *tested)
{
    sp_rig_free(tested->rig);
    tested->rig = NULL;
}
