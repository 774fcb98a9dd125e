/* From a request to its answer; see reply.h. */
#include "answer/reply.h"

#include <stdlib.h>
#include <string.h>

#include "write/json.h"

enum { DEPTH_MAX = 6, DIGITS = 9 };

void sp_reply_fail(sp_reply *reply, int status, const char *message, const char *key)
{
    static const char lost[] = "{\"error\":{\"message\":\"no memory\",\"key\":null}}";
    int failed = 0;
    json_t *all = json_object(), *error = json_object();
    sp_json_put(error, "message", sp_json_text(message), &failed);
    sp_json_put(error, "key", key && key[0] ? sp_json_text(key) : json_null(), &failed);
    sp_json_put(all, "error", error, &failed);
    free(reply->body);
    reply->body = failed ? NULL : json_dumps(all, JSON_COMPACT);
    json_decref(all);
    if (!reply->body) reply->body = strdup(lost);
    reply->size = reply->body ? strlen(reply->body) : 0;
    reply->status = status;
    reply->type = "application/json";
}

void sp_reply_json(sp_reply *reply, int status, json_t *json, int failed)
{
    char *text =
        json && !failed ? json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(json);
    if (!text) {
        sp_reply_fail(reply, 500, "no memory for the answer", NULL);
        return;
    }
    reply->body = text;
    reply->size = strlen(text);
    reply->status = status;
    reply->type = "application/json";
}

void sp_reply_status(sp_reply *reply, const sp_context *context, sp_status status, const char *key)
{
    const int http = status == SP_NO_MEMORY || status == SP_INTERNAL || status == SP_NO_WRITE ? 500
                     : status == SP_BAD_USAGE                                                 ? 409
                                                                                              : 400;
    sp_reply_fail(reply, http, context->message[0] ? context->message : sp_status_text(status),
                  key);
}

json_t *sp_reply_lines(const char *text)
{
    return json_string(text);
}

/* Nothing that is asked for nests deeper; checked before the reader recurses. */
static int is_shallow(const char *body, size_t size)
{
    int depth = 0, quoted = 0;
    for (size_t i = 0; i < size; i++) {
        if (quoted && body[i] == '\\')
            i++;
        else if (body[i] == '"')
            quoted = !quoted;
        else if (!quoted && (body[i] == '[' || body[i] == '{') && ++depth > DEPTH_MAX)
            return 0;
        else if (!quoted && (body[i] == ']' || body[i] == '}'))
            depth--;
    }
    return 1;
}

json_t *sp_reply_object(sp_reply *reply, const char *body, size_t size)
{
    json_error_t where;
    char line[256];
    json_t *asked =
        is_shallow(body, size) ? json_loadb(body, size, JSON_REJECT_DUPLICATES, &where) : NULL;
    if (json_is_object(asked)) return asked;
    json_decref(asked);
    if (!is_shallow(body, size))
        snprintf(line, sizeof line, "received JSON nested more than %d deep", DEPTH_MAX);
    else
        snprintf(line, sizeof line, "received something else; valid: one object of JSON");
    sp_reply_fail(reply, 400, line, NULL);
    return NULL;
}

static void reply_to_object(sp_desk *desk, const sp_request *request, json_t *asked,
                            sp_reply *reply)
{
    switch (request->kind) {
    case SP_REQUEST_LOOK:
        sp_reply_look(desk, asked, reply);
        break;
    case SP_REQUEST_PRESS:
        sp_reply_press(desk, asked, reply);
        break;
    case SP_REQUEST_SEEK:
        sp_reply_seek(desk, asked, reply);
        break;
    default:
        sp_reply_save(desk, asked, reply);
    }
}

void sp_reply_make(sp_desk *desk, const sp_request *request, const char *body, size_t size,
                   sp_reply *reply)
{
    json_t *asked;
    *reply = (sp_reply){0};
    switch (request->kind) {
    case SP_REQUEST_ROWS:
        sp_reply_rows(reply);
        break;
    case SP_REQUEST_LOOK:
    case SP_REQUEST_PRESS:
    case SP_REQUEST_SEEK:
    case SP_REQUEST_SAVE:
        asked = sp_reply_object(reply, body, size);
        if (asked) reply_to_object(desk, request, asked, reply);
        json_decref(asked);
        break;
    case SP_REQUEST_PRESSES:
        sp_reply_presses(desk, reply);
        break;
    case SP_REQUEST_PRESS_FROM:
        sp_reply_press_from(desk, request, reply);
        break;
    case SP_REQUEST_PRESS_STOP:
    case SP_REQUEST_SEEK_STOP:
        sp_reply_stop(desk, request, reply);
        break;
    case SP_REQUEST_SHELF:
        sp_reply_shelf(desk, request, reply);
        break;
    case SP_REQUEST_COUPON:
        sp_reply_coupon(desk, request, reply);
        break;
    case SP_REQUEST_STATE:
        sp_reply_state(desk, request, reply);
        break;
    case SP_REQUEST_MESH:
        sp_reply_mesh(desk, request, reply);
        break;
    case SP_REQUEST_RIG:
        sp_reply_rig(request, body, size, reply);
        break;
    case SP_REQUEST_SEEK_NOW:
        sp_reply_seek_now(desk, request, reply);
        break;
    case SP_REQUEST_FILES:
        sp_reply_files(desk, reply);
        break;
    case SP_REQUEST_FILE_TEXT:
        sp_reply_file_text(desk, request, reply);
        break;
    case SP_REQUEST_REPORT:
        sp_reply_report(desk, reply);
        break;
    default:
        sp_reply_fail(reply, 404, "there is no such place", NULL);
    }
}
