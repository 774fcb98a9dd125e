/* Names of files in texts that were sent: a plan or a target may name its base, drawings, tables
 * and curves, and none of them may lead out of the folder. */
#include <string.h>

#include "place/place.h"
#include "batch/scalars.h"

typedef struct search {
    const sp_desk *desk;
    char outside[SP_FILE_SIZE]; /* the first name that leads out of the folder */
} search;

/* One name without the blanks around it. */
static int look_at_name(search *s, const char *name, size_t length)
{
    char one[SP_FILE_SIZE];
    while (length && strchr(" \t", *name)) name++, length--;
    while (length && strchr(" \t", name[length - 1])) length--;
    if (!length) return 1;
    if (length >= sizeof one) return 0; /* no file has such a long name */
    memcpy(one, name, length);
    one[length] = 0;
    if (!sp_desk_keeps(s->desk, one)) memcpy(s->outside, one, length + 1);
    return !s->outside[0];
}

/* A value may be a name, or several between these marks. */
static int look_at_scalar(void *user, const char *scalar)
{
    search *s = user;
    int stays = look_at_name(s, scalar, strlen(scalar));
    for (const char *at = scalar; stays && *at;) {
        const size_t length = strcspn(at, ";,[]\n");
        stays = look_at_name(s, at, length);
        at += length + (at[length] != 0);
    }
    return stays;
}

sp_status sp_names_stay(sp_context *context, const sp_desk *desk, const char *text)
{
    search s = {.desk = desk};
    if (sp_plan_each_scalar(text, strlen(text), look_at_scalar, &s)) return SP_OK;
    return sp_fail(context, SP_BAD_CASE,
                   "received '%.60s', which leads out of the folder of the bench; valid: files "
                   "that stand in it",
                   s.outside[0] ? s.outside : "a value of more than 1000 letters");
}
