/* One coupon of the shelf: its settings and curve, one of its states, and its body for a printer.
 */
#include <stdlib.h>
#include <string.h>

#include <strutpress/print.h>
#include <strutpress/resolve.h>

#include "place/place.h"
#include "base/alloc.h"
#include "compare/compare_parts.h"
#include "write/json.h"

enum { MESH_MOST = 256 * 1024 * 1024 };

typedef struct wanted {
    const char *key;
    long long id; /* -1: not found */
    sp_case request;
    char cautions[SP_DESK_NOTES], reason[SP_MESSAGE_SIZE];
} wanted;

static sp_status look_for(void *user, const sp_stored *stored)
{
    wanted *w = user;
    if (strcmp(stored->key, w->key) != 0) return SP_OK;
    w->id = stored->id;
    sp_compare_case_of_text(stored->text, &w->request);
    snprintf(w->cautions, sizeof w->cautions, "%s", stored->cautions ? stored->cautions : "");
    snprintf(w->reason, sizeof w->reason, "%s", stored->reason ? stored->reason : "");
    return SP_OK;
}

/* The case file that the bench kept knows the files that it names; the text in the store does not.
 */
static void prefer_file(sp_desk *desk, wanted *w)
{
    char name[SP_DESK_NAME], path[SP_FILE_SIZE];
    sp_context context = {0};
    sp_case kept;
    snprintf(name, sizeof name, "%s.yaml", w->key);
    if (sp_desk_path(desk, "coupons", name, path) && sp_case_read(&context, path, &kept) == SP_OK)
        w->request = kept;
}

static sp_status find(sp_context *context, sp_desk *desk, const char *key, wanted *w)
{
    *w = (wanted){.key = key, .id = -1};
    const sp_status status = sp_store_each(context, desk->store, look_for, w);
    if (status != SP_OK) return status;
    if (w->id < 0) return sp_fail(context, SP_NO_READ, "there is no such coupon on the shelf");
    prefer_file(desk, w);
    return SP_OK;
}

static void fail_find(sp_reply *reply, const sp_context *context)
{
    sp_reply_fail(reply, 404, context->message, NULL);
}

static json_t *curve_of(sp_context *context, sp_desk *desk, long long id, int *failed)
{
    int count = 0;
    sp_curve_point *point = NULL;
    json_t *curve = json_array();
    if (sp_store_curve(context, desk->store, id, &count, &point) != SP_OK) count = 0;
    for (int i = 0; i < count; i++) {
        json_t *one = json_array();
        sp_json_append(one, sp_json_number(point[i].shortening), failed);
        sp_json_append(one, sp_json_number(point[i].force), failed);
        sp_json_append(one, sp_json_number(point[i].strain), failed);
        sp_json_append(curve, one, failed);
    }
    sp_store_free_curve(point);
    return curve;
}

static json_t *yaml_of(const sp_case *request)
{
    char *text = sp_desk_case_text(request, "");
    json_t *made = text ? json_string(text) : NULL;
    free(text);
    return made;
}

/* Read what the press said in words; null for a coupon that another program has pressed. */
static json_t *words_of(const sp_desk *desk, const char *key)
{
    char name[SP_DESK_NAME], path[SP_FILE_SIZE], *text = NULL;
    size_t size = 0;
    sp_context context = {0};
    snprintf(name, sizeof name, "%s.words", key);
    if (!sp_desk_path(desk, "coupons", name, path) ||
        sp_desk_read(&context, path, SP_DESK_WORDS, &text, &size) != SP_OK)
        return json_null();
    json_t *words = sp_json_text(text);
    sp_free(text);
    return words;
}

void sp_reply_coupon(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    sp_context context = {0};
    wanted *w = calloc(1, sizeof *w);
    int failed = 0;
    if (!w || find(&context, desk, request->key, w) != SP_OK) {
        fail_find(reply, &context);
        free(w);
        return;
    }
    json_t *all = json_object();
    sp_json_put(all, "key", sp_json_text(request->key), &failed);
    sp_json_put(all, "values", sp_values_of_case(&w->request, &failed), &failed);
    sp_json_put(all, "height_mm", sp_json_number(w->request.height), &failed);
    sp_json_put(all, "curve", curve_of(&context, desk, w->id, &failed), &failed);
    sp_json_put(all, "yaml", yaml_of(&w->request), &failed);
    sp_json_put(all, "in_words", words_of(desk, request->key), &failed);
    sp_json_put(all, "cautions", sp_json_text(w->cautions), &failed);
    sp_json_put(all, "reason", sp_json_text(w->reason), &failed);
    sp_reply_json(reply, 200, all, failed);
    free(w);
}

void sp_reply_state(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    sp_context context = {0};
    sp_desk_shape shape;
    int failed = 0;
    const sp_status status =
        sp_shapes_read(&context, desk, request->key, request->number, request->by_force, &shape);
    if (status != SP_OK) {
        sp_reply_fail(reply, status == SP_NO_MEMORY ? 500 : 404, context.message, NULL);
        return;
    }
    json_t *all = sp_lines_of_shape(&shape, &failed);
    sp_shape_free(&shape);
    sp_reply_json(reply, 200, all, failed);
}

/* ---- the body ----------------------------------------------- */

static sp_status make_mesh(sp_context *context, sp_desk *desk, const wanted *w, const char *format,
                           char **bytes, size_t *size)
{
    char folder[SP_FILE_SIZE], path[SP_FILE_SIZE + 32];
    const sp_print_options options = {0};
    sp_resolved resolved;
    sp_status status = sp_desk_make_folder(context, desk, "meshes");
    if (status != SP_OK) return status;
    sp_desk_path(desk, "meshes", w->key, folder);
    snprintf(path, sizeof path, "meshes/%s", w->key);
    status = sp_desk_make_folder(context, desk, path);
    if (status != SP_OK) return status;
    status = sp_case_resolve(context, &w->request, &resolved);
    if (status == SP_OK) status = sp_print_mesh(context, &resolved, &options, folder, NULL);
    sp_resolved_free(&resolved);
    snprintf(path, sizeof path, "%s/%s", folder,
             strcmp(format, "stl") ? SP_PRINT_3MF : SP_PRINT_STL);
    return status == SP_OK ? sp_desk_read(context, path, MESH_MOST, bytes, size) : status;
}

void sp_reply_mesh(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    sp_context context = {.interrupt = desk->interrupt};
    wanted *w = calloc(1, sizeof *w);
    char *bytes = NULL;
    size_t size = 0;
    if (!w || find(&context, desk, request->key, w) != SP_OK) {
        fail_find(reply, &context);
        free(w);
        return;
    }
    const sp_status status = make_mesh(&context, desk, w, request->name, &bytes, &size);
    free(w);
    if (status != SP_OK) {
        sp_reply_status(reply, &context, status, NULL);
        return;
    }
    sp_reply_file(reply, bytes, size,
                  strcmp(request->name, "stl") == 0 ? "model/stl" : "model/3mf");
}
