/* libFuzzer on the target reader, and through it on the parts of a plan: no crash, no leak, one line for every refusal. */
#include <stdlib.h>
#include <string.h>

#include <strutpress/seek.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void require(int condition)
{
    if (!condition) abort();
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_target *target;
    /* no file of this machine is read as the base of a case */
    for (size_t i = 0; i + 4 <= size; i++)
        if (!memcmp(data + i, "base", 4)) return 0;
    const sp_status status =
        sp_target_parse(&context, "fuzz.yaml", (const char *)data, size, &target);
    require(status == SP_OK || status == SP_BAD_CASE);
    require((status == SP_OK) == (target != NULL) && (status == SP_OK) == !context.message[0]);
    require(!strchr(context.message, '\n'));
    sp_target_free(target);
    return 0;
}
