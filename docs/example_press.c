/* Press one coupon through the library and print its curve.
 *
 *   cc example_press.c $(pkg-config --cflags --libs strutpress) -o example_press */
#include <stdio.h>

#include <strutpress/strutpress.h>

int main(void)
{
    sp_context context = {0};
    sp_result *result = NULL;
    sp_case request;

    sp_case_default(&request);
    request.width = 16; /* [mm]; every row of docs/reference.md is a member of sp_case */
    request.height = 14;
    request.steps = 15;
    sp_status status = sp_case_set(&context, &request, "infill.density", "15 %");
    if (status == SP_OK) status = sp_case_set(&context, &request, "press.strain", "30 %");
    if (status == SP_OK) status = sp_case_check(&context, &request);
    if (status == SP_OK) status = sp_run(&context, &request, &result);
    if (status != SP_OK) {
        fprintf(stderr, "%s: %s\n", sp_status_text(status), context.message);
        return sp_status_exit(status);
    }

    int count;
    const sp_step *step = sp_result_steps(result, &count);
    for (int i = 0; i < count; i++) printf("%8.3f mm %8.3f N\n", step[i].shortening, step[i].force);
    printf("%s %s\n", sp_stop_text(sp_result_stop(result)), sp_result_reason(result));
    sp_result_free(result);
    return 0;
}
