/* Gather the cautions of many coupons, each kind once. */
#include <ctype.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/compare_parts.h"

static const char joint[] = "; ";

static int is_of_number(char letter)
{
    return isdigit((unsigned char)letter) || letter == '.';
}

/* Return whether two cautions are equal except for their numbers. */
static int is_alike(const char *known, const char *text, size_t length)
{
    const char *end = text + length;
    for (;; known++, text++) {
        while (is_of_number(*known)) known++;
        while (text < end && is_of_number(*text)) text++;
        if (!*known || text == end) return !*known && text == end;
        if (*known != *text) return 0;
    }
}

static sp_status take_one(sp_context *context, sp_compare *c, const char *text, size_t length)
{
    int kind = 0;
    while (kind < c->caution_count && !is_alike(c->caution[kind].text, text, length)) kind++;
    if (kind == CAUTION_MAX) {
        c->cautions_untold++;
        return SP_OK;
    }
    if (kind == c->caution_count) {
        char *copy = sp_alloc(length + 1, 1);
        if (!copy) return sp_fail(context, SP_NO_MEMORY, "no memory for the comparison");
        memcpy(copy, text, length);
        c->caution[c->caution_count++].text = copy;
    }
    c->caution[kind].count++;
    return SP_OK;
}

sp_status sp_compare_take_cautions(sp_context *context, sp_compare *c, const char *text, int *count)
{
    sp_status status = SP_OK;
    *count = 0;
    c->cautioned += !!text[0];
    while (text[0] && status == SP_OK) {
        const char *next = strstr(text, joint);
        const size_t length = next ? (size_t)(next - text) : strlen(text);
        status = take_one(context, c, text, length);
        ++*count;
        text += length + (next ? strlen(joint) : 0);
    }
    return status;
}

void sp_compare_free_cautions(sp_compare *c)
{
    for (int i = 0; i < c->caution_count; i++) sp_free(c->caution[i].text);
}
