/* libFuzzer on the readers of plans, of targets and of tested coupons: no crash, no leak, one line for every refusal, and every
 * coupon of a plan is a case. */
#include <stdlib.h>
#include <string.h>

#include <strutpress/batch.h>
#include <strutpress/calibrate.h>
#include <strutpress/seek.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void require(int condition)
{
    if (!condition) abort();
}

static void check_answer(sp_status status, const void *made, const sp_context *context)
{
    require(status == SP_OK || status == SP_BAD_CASE);
    require((status == SP_OK) == (made != NULL) && (status == SP_OK) == !context->message[0]);
    require(!strchr(context->message, '\n'));
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    const char *text = (const char *)data;
    sp_context one = {0}, two = {0}, three = {0};
    sp_plan *plan;
    sp_case request;
    sp_target *target;
    sp_tested *tested;
    /* no file of this machine is read as the base of a case, or as a curve */
    for (size_t i = 0; i + 4 <= size; i++)
        if (!memcmp(data + i, "base", 4) || !memcmp(data + i, "curv", 4)) return 0;
    check_answer(sp_target_parse(&one, "fuzz.yaml", text, size, &target), target, &one);
    sp_target_free(target);
    check_answer(sp_tested_parse(&two, "fuzz.yaml", text, size, &tested), tested, &two);
    sp_tested_free(tested);
    const sp_status status = sp_plan_parse(&three, "fuzz.yaml", text, size, &plan);
    check_answer(status, plan, &three);
    for (int i = 0; status == SP_OK && i < sp_plan_count(plan) && i < 100; i++) {
        sp_plan_case(plan, i, &request);
        require(request.density > 0 && request.density <= 1);
    }
    sp_plan_free(plan);
    return 0;
}
