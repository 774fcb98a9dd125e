/* Press one coupon through the library and print its curve.
 *
 *   cc example_press.c $(pkg-config --cflags --libs strutpress) -o example_press */
#include <stdio.h>

#include <strutpress/strutpress.h>

int main(void)
{
    sp_context context = {0};
    sp_result result = {0};
    sp_case request;

    sp_case_default(&request);
    sp_status status = sp_case_set(&context, &request, "infill.pattern", "square");
    if (status == SP_OK) status = sp_case_set(&context, &request, "infill.density", "15 %");
    request.width = 16; /* [mm]; every row of docs/reference.md is a member of sp_case */
    request.height = 14;
    request.strain = 0.3;
    request.steps = 15;
    if (status == SP_OK) status = sp_case_check(&context, &request);
    if (status == SP_OK) status = sp_run(&context, &request, &result);
    if (status != SP_OK) {
        fprintf(stderr, "%s: %s\n", sp_status_text(status), context.message);
        sp_result_free(&result);
        return sp_status_exit(status);
    }

    printf("%10s %10s %10s\n", "strain", "force N", "stress MPa");
    for (int i = 0; i < result.path.step_count; i++)
        printf("%10.4f %10.4f %10.5f\n", sp_path_strain(&result.path, i), result.path.step[i].force,
               sp_path_stress(&result.path, i));
    sp_result_free(&result);
    return 0;
}
