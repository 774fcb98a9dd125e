/* JSON and failures of a bench; see reply.h. */
#include "reply/reply.h"

#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
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

void sp_reply_file(sp_reply *reply, char *bytes, size_t size, const char *type)
{
    char *body = malloc(size + 1);
    if (body) memcpy(body, bytes, size);
    sp_free(bytes);
    if (!body) {
        sp_reply_fail(reply, 500, "no memory for the file", NULL);
        return;
    }
    reply->body = body;
    reply->size = size;
    reply->status = 200;
    reply->type = type;
}

/* No valid request nests deeper; this is checked before the reader recurses. */
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
