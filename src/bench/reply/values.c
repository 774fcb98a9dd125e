/* Turn values of a form into a case and back; see reply.h. */
#include <string.h>

#include "reply/reply.h"
#include "case/case_parts.h"
#include "write/json.h"

enum { VALUE_MAX = 512 };

int sp_values_is_plain(const char *text)
{
    static const char marks[] = " .,+-%/_[]():;|<>=^*";
    const size_t length = strlen(text);
    for (const char *at = text; *at; at++) {
        const unsigned char c = (unsigned char)*at;
        const int letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if (!letter && !(c >= '0' && c <= '9') && c < 0x80 && !strchr(marks, c)) return 0;
        if (c < 0x20 || c == 0x7f) return 0;
    }
    return length < VALUE_MAX && !strstr(text, ": ") && !strstr(text, "\xe2\x80") &&
           !strstr(text, "\xc2\x85");
}

/* Check the files of a value, "a.csv; b.csv": plain names of the folder, and no links out of it. */
static int names_are_plain(const sp_desk *desk, const char *value)
{
    for (const char *at = value; *at;) {
        char name[SP_REQUEST_NAME] = "";
        at += strspn(at, " ;");
        const size_t whole = strcspn(at, ";");
        size_t length = whole;
        while (length && at[length - 1] == ' ') length--;
        if (length >= sizeof name) return 0;
        memcpy(name, at, length);
        name[length] = 0;
        if (length && !sp_request_name_is_plain(name)) return 0;
        /* A name without a point may be a word that the key knows, and then it is no file. */
        if (length && strchr(name, '.') && !sp_desk_has_file(desk, name)) return 0;
        if (length && !sp_desk_keeps(desk, name)) return 0;
        at += whole;
    }
    return 1;
}

static sp_status set(sp_context *context, const sp_desk *desk, const char *key, const json_t *value,
                     sp_case *request)
{
    const char *text = json_string_value(value);
    const int row = sp_case_row_find(key);
    if (!text || !sp_values_is_plain(text))
        return sp_fail(context, SP_BAD_CASE,
                       "%.60s: received %s; valid: a text as in a case file, such as '12 %%'", key,
                       text ? "a text with marks that a case file may read otherwise" : "no text");
    if (row >= 0 && sp_case_row_at(row)->kind == SP_KIND_FILE && !names_are_plain(desk, text))
        return sp_fail(context, SP_BAD_CASE,
                       "%s: received '%.60s'; valid: the name of a file in the folder of the bench",
                       key, text);
    return sp_case_set(context, request, key, text);
}

sp_status sp_values_case(sp_context *context, const sp_desk *desk, const json_t *values,
                         sp_case *request, char key[SP_NAME_SIZE])
{
    const char *name;
    json_t *value;
    key[0] = 0;
    sp_case_default(request);
    if (!json_is_object(values))
        return sp_fail(context, SP_BAD_CASE, "values: valid: one object, {\"KEY\": \"text\"}");
    sp_desk_path(desk, "", "bench", request->source); /* files are beside it */
    json_object_foreach((json_t *)values, name, value)
    {
        snprintf(key, SP_NAME_SIZE, "%s", name);
        const char *text = json_string_value(value);
        if (text && !text[0]) continue; /* an empty field stands for the default */
        const sp_status status = set(context, desk, name, value, request);
        if (status != SP_OK) return status;
    }
    key[0] = 0;
    return SP_OK;
}

json_t *sp_values_of_case(const sp_case *request, int *failed)
{
    json_t *values = json_object();
    sp_case usual;
    sp_case_default(&usual);
    for (int row = 0; row < sp_parameter_count(); row++) {
        char text[SP_MESSAGE_SIZE + SP_FILE_SIZE], other[SP_MESSAGE_SIZE + SP_FILE_SIZE];
        if (request->origin[row] == SP_ORIGIN_DERIVED) continue;
        sp_case_value_text(request, row, text, sizeof text);
        sp_case_value_text(&usual, row, other, sizeof other);
        if (!strcmp(text, other)) continue;
        if (sp_case_row_at(row)->kind == SP_KIND_FILE && strrchr(text, '/'))
            memmove(text, strrchr(text, '/') + 1, strlen(strrchr(text, '/') + 1) + 1);
        sp_json_put(values, sp_case_row_at(row)->key, sp_json_text(text), failed);
    }
    return values;
}

void sp_values_key_of(const char *message, char key[SP_NAME_SIZE])
{
    const size_t length = strcspn(message, ": ");
    key[0] = 0;
    if (length >= SP_NAME_SIZE) return;
    memcpy(key, message, length);
    key[length] = 0;
    if (sp_case_row_find(key) < 0) key[0] = 0;
}
