/* POST /api/rig: a measured curve, read as `strutpress rig` reads it; nothing is kept. */
#include <stdlib.h>

#include <strutpress/rig.h>

#include "place/place.h"
#include "write/json.h"

typedef struct heard {
    json_t *cautions;
    int failed;
} heard;

static void keep_caution(void *user, const char *line)
{
    heard *h = user;
    sp_json_append(h->cautions, sp_json_text(line), &h->failed);
}

static const double *at(const double *first, size_t stride, int i)
{
    return (const double *)((const char *)first + (size_t)i * stride);
}

static json_t *curve_of(const sp_rig *rig, int specimen, int *failed)
{
    const sp_curve curve = sp_rig_curve(rig, specimen);
    json_t *one = json_object(), *points = json_array();
    for (int i = 0; i < curve.count; i++) {
        json_t *pair = json_array();
        sp_json_append(pair, sp_json_number(*at(curve.shortening, curve.stride, i)), failed);
        sp_json_append(pair, sp_json_number(*at(curve.force, curve.stride, i)), failed);
        sp_json_append(points, pair, failed);
    }
    sp_json_put(one, "name", sp_json_text(sp_rig_name(rig, specimen)), failed);
    sp_json_put(one, "curve", points, failed);
    return one;
}

static json_t *answer_of(sp_context *context, const sp_rig *rig, heard *h)
{
    char *text = NULL;
    size_t size = 0;
    json_t *all = json_object(), *curves = json_array();
    FILE *stream = open_memstream(&text, &size);
    if (stream) {
        sp_rig_table(context, rig, stream);
        fclose(stream);
    }
    for (int i = 0; i < sp_rig_count(rig); i++)
        sp_json_append(curves, curve_of(rig, i, &h->failed), &h->failed);
    sp_json_put(all, "understood", json_string(text ? text : ""), &h->failed);
    sp_json_put(all, "curves", curves, &h->failed);
    sp_json_put(all, "cautions", json_incref(h->cautions), &h->failed);
    free(text);
    return all;
}

void sp_reply_rig(const sp_request *request, const char *body, size_t size, sp_reply *reply)
{
    heard h = {.cautions = json_array()};
    sp_context context = {.warn = keep_caution, .user = &h};
    sp_rig_request how;
    sp_rig *rig = NULL;
    char name[SP_REQUEST_TEXT];
    sp_printable(request->text, name, sizeof name);
    sp_rig_request_default(&how);
    const sp_status status = sp_rig_parse(&context, name, body, size, &how, &rig);
    if (status == SP_OK)
        sp_reply_json(reply, 200, answer_of(&context, rig, &h), h.failed);
    else
        sp_reply_status(reply, &context, status, NULL);
    sp_rig_free(rig);
    json_decref(h.cautions);
}
