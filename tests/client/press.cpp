// A C++ program that knows the public headers and the shared library only: presses one coupon, prints its last state.
#include <cstdio>
#include <memory>

#include <strutpress/strutpress.h>

int main()
{
    sp_context context{};
    sp_case request;
    sp_case_default(&request);
    request.width = 12;
    request.height = 10;
    request.strain = 0.05;
    request.steps = 3;
    request.find_critical = 0;

    sp_result *pressed = nullptr;
    const sp_status status = sp_run(&context, &request, &pressed);
    const std::unique_ptr<sp_result, decltype(&sp_result_free)> result(pressed, sp_result_free);
    if (status != SP_OK) {
        std::fprintf(stderr, "%s: %s\n", sp_status_text(status), context.message);
        return sp_status_exit(status);
    }
    int count = 0;
    const sp_step *step = sp_result_steps(result.get(), &count);
    std::printf("strutpress %s: %.3f mm, %.3f N\n", sp_version(), step[count - 1].shortening,
                step[count - 1].force);
    return sp_version_number() == SP_VERSION_NUMBER && step[count - 1].force > 0 ? 0 : 1;
}
