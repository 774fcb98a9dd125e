/* libFuzzer on the readers of targets and of tested coupons, and through them on the parts of a plan: no crash, no leak, one
 * line for every refusal. */
#include <stdlib.h>
#include <string.h>

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
    sp_context one = {0}, two = {0};
    sp_target *target;
    sp_tested *tested;
    /* no file of this machine is read as the base of a case, or as a curve */
    for (size_t i = 0; i + 4 <= size; i++)
        if (!memcmp(data + i, "base", 4) || !memcmp(data + i, "curv", 4)) return 0;
    check_answer(sp_target_parse(&one, "fuzz.yaml", text, size, &target), target, &one);
    sp_target_free(target);
    check_answer(sp_tested_parse(&two, "fuzz.yaml", text, size, &tested), tested, &two);
    sp_tested_free(tested);
    return 0;
}
