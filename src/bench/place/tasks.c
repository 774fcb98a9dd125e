/* The presses and searches of a bench, as the page asks for them. */
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <strutpress/batch.h>
#include <strutpress/forecast.h>
#include <strutpress/resolve.h>

#include "place/place.h"
#include "base/alloc.h"
#include "case/case_parts.h"
#include "write/json.h"

/* ---- presses ----------------------------------------------- */

static const char *name_of(const json_t *asked, const char *usual)
{
    const char *name = json_string_value(json_object_get(asked, "name"));
    return name && name[0] ? name : usual;
}

static void reply_id(sp_reply *reply, long id)
{
    int failed = 0;
    json_t *all = json_object();
    sp_json_put(all, "id", json_integer(id), &failed);
    sp_reply_json(reply, 201, all, failed);
}

enum { FILE_MOST = 1024 * 1024 };

/* Read a plan or a target of the folder, as its user wrote it; the caller frees the text with
 * sp_free. */
static sp_status read_file(sp_context *context, const sp_desk *desk, const char *name,
                           char path[SP_FILE_SIZE], char **text, size_t *size)
{
    if (!sp_request_name_is_plain(name) || !sp_desk_has_file(desk, name) ||
        !sp_desk_path(desk, "", name, path))
        return sp_fail(context, SP_NO_READ,
                       "received '%.60s'; valid: the name of a file in the folder of the bench",
                       name);
    const sp_status status = sp_desk_read(context, path, FILE_MOST, text, size);
    return status == SP_OK ? sp_names_stay(context, desk, *text) : status;
}

/* Add every coupon of a plan, with one seed of the flaws each, as a batch presses them. A coupon
 * that cannot be pressed does not keep the others back: *failed counts these, `why` tells of the
 * first. */
static sp_status add_coupons(sp_context *context, sp_desk *desk, const char *name,
                             const sp_plan *plan, int *failed, char why[SP_MESSAGE_SIZE])
{
    const int count = sp_plan_count(plan);
    long id;
    if (count > SP_DESK_WAITING)
        return sp_fail(context, SP_BAD_USAGE,
                       "%s has %d coupons; valid: at most %d, or `strutpress batch` into "
                       "bench.store, which this shelf shows",
                       name, count, SP_DESK_WAITING);
    for (int i = 0; i < count; i++) {
        sp_case request;
        char called[SP_DESK_NAME];
        sp_plan_case(plan, i, &request);
        sp_status status = sp_case_set(context, &request, "press.seeds", "1");
        snprintf(called, sizeof called, "%.40s, coupon %d", name, sp_plan_number(plan, i));
        if (status == SP_OK) status = sp_desk_add(context, desk, called, &request, NULL, NULL, &id);
        if (status == SP_OK) continue;
        if (status != SP_BAD_CASE && status != SP_BAD_NETWORK) return status;
        if (!(*failed)++) snprintf(why, SP_MESSAGE_SIZE, "%s", context->message);
    }
    return SP_OK;
}

/* Answer with how many coupons of a plan of the folder wait now, and how many cannot. */
static void reply_plan(sp_desk *desk, const char *name, sp_reply *reply)
{
    sp_context context = {0};
    sp_plan *plan = NULL;
    char path[SP_FILE_SIZE], *text = NULL;
    char why[SP_MESSAGE_SIZE] = "";
    size_t size = 0;
    int failed = 0, left = 0;
    sp_status status = read_file(&context, desk, name, path, &text, &size);
    if (status == SP_OK) status = sp_plan_parse(&context, path, text, size, &plan);
    if (status == SP_OK) status = add_coupons(&context, desk, name, plan, &left, why);
    if (status == SP_OK) {
        json_t *all = json_object();
        sp_json_put(all, "count", json_integer(sp_plan_count(plan) - left), &failed);
        sp_json_put(all, "failed", json_integer(left), &failed);
        sp_json_put(all, "reason", sp_json_text(why), &failed);
        sp_reply_json(reply, 201, all, failed);
    } else {
        sp_reply_status(reply, &context, status, NULL);
    }
    sp_plan_free(plan);
    sp_free(text);
}

void sp_reply_press(sp_desk *desk, json_t *asked, sp_reply *reply)
{
    const char *plan = json_string_value(json_object_get(asked, "plan"));
    if (plan) {
        reply_plan(desk, plan, reply);
        return;
    }
    sp_context context = {0};
    sp_case request;
    char key[SP_NAME_SIZE], name[SP_DESK_NAME];
    long id = 0;
    sp_status status =
        sp_values_case(&context, desk, json_object_get(asked, "values"), &request, key);
    sp_printable(name_of(asked, request.pattern), name, sizeof name);
    /* A case that cannot be pressed is refused now, not when its turn comes. */
    if (status == SP_OK) {
        status = sp_desk_add(&context, desk, name, &request, NULL, NULL, &id);
        if (status != SP_OK) sp_values_key_of(context.message, key);
    }
    if (status == SP_OK)
        reply_id(reply, id);
    else
        sp_reply_status(reply, &context, status, key);
}

/* Return how many presses one after another the task is on the threads that it has, or would have
 * alone; 0: not known. */
static int rounds_of(const sp_task *task)
{
    const int most = task->threads ? task->threads : task->desk->worker_count;
    const int at_once = task->seeds < most ? task->seeds : most;
    if (task->seeds <= 0) return 0;
    return at_once > 0 ? (task->seeds + at_once - 1) / at_once : 1;
}

/* Write the range of the forecast, and the time left of a press that has reported it, in the words
 * of the command line. */
static void put_times(json_t *one, const sp_task *task, int *failed)
{
    const int rounds = rounds_of(task);
    char words[96];
    sp_json_put(one, "expected_seconds", sp_json_number(task->expected * rounds), failed);
    sp_forecast_range_text(task->expected_low * rounds, task->expected_high * rounds, words,
                           sizeof words);
    sp_json_put(one, "expected", sp_json_text(rounds ? words : ""), failed);
    sp_forecast_left_text(task->left_low, task->left_high, words, sizeof words);
    sp_json_put(one, "left", sp_json_text(task->left_high > 0 ? words : ""), failed);
}

static void put_task(json_t *one, const sp_task *task, int *failed)
{
    sp_json_put(one, "id", json_integer(task->id), failed);
    sp_json_put(one, "name", sp_json_text(task->name), failed);
    sp_json_put(one, "state", sp_json_text(sp_task_word(task->state)), failed);
    sp_json_put(one, "share", sp_json_number(task->share), failed);
    sp_json_put(one, "steps", json_integer(task->point_count), failed);
    sp_json_put(one, "seconds", sp_json_number(task->seconds), failed);
    sp_json_put(one, "seeds", json_integer(task->seeds), failed);
    put_times(one, task, failed);
    sp_json_put(one, "doing", sp_json_text(task->doing), failed);
    sp_json_put(one, "message", task->message[0] ? sp_json_text(task->message) : json_null(),
                failed);
    sp_json_put(one, "key", task->key[0] ? sp_json_text(task->key) : json_null(), failed);
}

void sp_reply_presses(sp_desk *desk, sp_reply *reply)
{
    int failed = 0;
    json_t *all = json_object(), *list = json_array();
    pthread_mutex_lock(&desk->lock);
    for (int i = 0; i < desk->task_count; i++) {
        if (desk->task[i]->is_search) continue;
        json_t *one = json_object();
        put_task(one, desk->task[i], &failed);
        sp_json_append(list, one, &failed);
    }
    pthread_mutex_unlock(&desk->lock);
    sp_json_put(all, "presses", list, &failed);
    sp_reply_json(reply, 200, all, failed);
}

static json_t *notes_of(const char *notes, int *failed)
{
    json_t *all = json_array();
    while (*notes) {
        const char *end = strstr(notes, "; ");
        const size_t length = end ? (size_t)(end - notes) : strlen(notes);
        char line[SP_DESK_NOTES];
        snprintf(line, sizeof line, "%.*s", (int)length, notes);
        sp_json_append(all, sp_json_text(line), failed);
        notes += length + (end ? 2 : 0);
    }
    return all;
}

static json_t *curve_from(const sp_task *task, long from, int *failed)
{
    json_t *curve = json_array();
    for (long i = from; i < task->point_count; i++) {
        json_t *point = json_array();
        sp_json_append(point, sp_json_number(task->point[i][0]), failed);
        sp_json_append(point, sp_json_number(task->point[i][1]), failed);
        sp_json_append(curve, point, failed);
    }
    return curve;
}

static json_t *band_of(const sp_task *task, int *failed)
{
    json_t *band = json_array();
    for (int i = 0; i < task->band_count; i++) {
        json_t *place = json_array();
        for (int k = 0; k < 3; k++) sp_json_append(place, sp_json_number(task->band[i][k]), failed);
        sp_json_append(band, place, failed);
    }
    return band;
}

void sp_reply_press_from(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    int failed = 0;
    json_t *all = json_object();
    pthread_mutex_lock(&desk->lock);
    const sp_task *task = sp_desk_find(desk, request->id);
    if (task && !task->is_search) {
        put_task(all, task, &failed);
        sp_json_put(all, "curve", curve_from(task, request->from, &failed), &failed);
        sp_json_put(all, "seed", json_integer(task->curve_seed), &failed);
        if (task->band_count) sp_json_put(all, "band", band_of(task, &failed), &failed);
        if (task->shape.position)
            sp_json_put(all, "frame", sp_lines_of_shape(&task->shape, &failed), &failed);
        sp_json_put(all, "cautions", notes_of(task->cautions, &failed), &failed);
        sp_json_put(all, "in_words", sp_json_text(task->words), &failed);
    }
    pthread_mutex_unlock(&desk->lock);
    if (task && !task->is_search) {
        sp_reply_json(reply, 200, all, failed);
        return;
    }
    json_decref(all);
    sp_reply_fail(reply, 404, "there is no such press since the bench was started", NULL);
}

void sp_reply_stop(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    if (sp_desk_stop(desk, request->id))
        sp_reply_json(reply, 200, json_object(), 0);
    else
        sp_reply_fail(reply, 404, "there is no such press since the bench was started", NULL);
}

void sp_reply_again(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    if (sp_desk_again(desk, request->id))
        sp_reply_json(reply, 200, json_object(), 0);
    else
        sp_reply_fail(reply, 404, "there is no such press since the bench was started", NULL);
}

/* ---- searches ----------------------------------------------- */

static int is_plain_key(const char *key)
{
    return sp_values_is_plain(key) && key[0] && !strchr(key, ':');
}

/* Write one value of a target as text: a plain text, a number, or a list or an object of them. 0:
 * refused. */
static int put_value(FILE *stream, const json_t *value)
{
    const char *name;
    json_t *item;
    size_t i;
    int first = 1;
    if (json_is_string(value)) {
        if (!sp_values_is_plain(json_string_value(value))) return 0;
        fprintf(stream, "%s", json_string_value(value));
        return 1;
    }
    if (json_is_number(value)) return fprintf(stream, "%.15g", json_number_value(value)) > 0;
    if (json_is_array(value)) {
        fputc('[', stream);
        json_array_foreach((json_t *)value, i, item)
        {
            if (i) fputs(", ", stream);
            if (!put_value(stream, item)) return 0;
        }
        return fputc(']', stream) != EOF;
    }
    if (!json_is_object(value)) return 0;
    fputc('{', stream);
    json_object_foreach((json_t *)value, name, item)
    {
        if (!is_plain_key(name)) return 0;
        fprintf(stream, "%s%s: ", first ? "" : ", ", name);
        first = 0;
        if (!put_value(stream, item)) return 0;
    }
    return fputc('}', stream) != EOF;
}

/* Write a section of a target, one line for each of its keys. */
static int put_section(FILE *stream, const char *section, const json_t *value)
{
    const char *name;
    json_t *item;
    if (!value || (json_is_object(value) && !json_object_size(value))) return 1;
    fprintf(stream, "%s:", section);
    if (!json_is_object(value)) {
        fputc(' ', stream);
        const int put = put_value(stream, value);
        fputc('\n', stream);
        return put;
    }
    fputc('\n', stream);
    json_object_foreach((json_t *)value, name, item)
    {
        if (!is_plain_key(name)) return 0;
        fprintf(stream, "  %s: ", name);
        if (!put_value(stream, item)) return 0;
        fputc('\n', stream);
    }
    return 1;
}

/* Write the target as a file for `seek`; NULL: refused. The caller frees it. */
static char *target_text(const char *base, const json_t *target)
{
    static const char *const section[] = {"candidates", "vary",  "require",
                                          "save",       "judge", "seeds"};
    char *text = NULL;
    size_t size = 0;
    FILE *stream = open_memstream(&text, &size);
    int is_good = stream && json_is_object(target);
    if (!stream) return NULL;
    fprintf(stream, "# Written by the bench.\nbase: %s\n", base);
    for (size_t i = 0; i < sizeof section / sizeof *section && is_good; i++)
        is_good = put_section(stream, section[i], json_object_get(target, section[i]));
    fclose(stream);
    if (is_good) return text;
    free(text);
    return NULL;
}

static int plain_folder(const sp_desk *desk, char name[SP_DESK_NAME])
{
    char path[SP_FILE_SIZE];
    for (int n = 1; n < 1000; n++) {
        snprintf(name, SP_DESK_NAME, "answers-%d-target.yaml", n);
        if (sp_desk_has_file(desk, name)) continue;
        snprintf(name, SP_DESK_NAME, "answers-%d", n);
        return sp_desk_path(desk, "", name, path);
    }
    return 0;
}

/* Base case and target are written into the folder as files before anything is searched. */
static sp_status write_target(sp_context *context, const sp_desk *desk, const char *folder,
                              const sp_case *base, const json_t *target, sp_target **read)
{
    char name[SP_DESK_NAME + 16], path[SP_FILE_SIZE], base_path[SP_FILE_SIZE], *text;
    snprintf(name, sizeof name, "%s-base.yaml", folder);
    sp_desk_path(desk, "", name, base_path);
    text = target_text(name, target);
    if (!text)
        return sp_fail(context, SP_BAD_CASE,
                       "target: valid: candidates, vary, require, save and seeds, with plain "
                       "texts and numbers");
    sp_status status = sp_names_stay(context, desk, text);
    if (status == SP_OK) status = sp_desk_write_case(context, base_path, base);
    snprintf(name, sizeof name, "%s-target.yaml", folder);
    sp_desk_path(desk, "", name, path);
    if (status == SP_OK) status = sp_target_parse(context, path, text, strlen(text), read);
    if (status == SP_OK) status = sp_desk_write(context, path, text, strlen(text));
    if (status != SP_OK) unlink(base_path);
    free(text);
    return status;
}

/* A target of the folder is searched as it stands; a copy beside the answers says what was asked.
 */
static sp_status copy_target(sp_context *context, const sp_desk *desk, const char *folder,
                             const char *from, sp_target **read)
{
    char name[SP_DESK_NAME + 16], path[SP_FILE_SIZE], *text = NULL;
    size_t size = 0;
    sp_status status = read_file(context, desk, from, path, &text, &size);
    if (status == SP_OK) status = sp_target_parse(context, path, text, size, read);
    snprintf(name, sizeof name, "%s-target.yaml", folder);
    if (status == SP_OK && !sp_desk_path(desk, "", name, path))
        status = sp_fail(context, SP_NO_WRITE, "the name of the folder is too long");
    if (status == SP_OK) status = sp_desk_write(context, path, text, size);
    sp_free(text);
    return status;
}

void sp_reply_seek(sp_desk *desk, json_t *asked, sp_reply *reply)
{
    sp_context context = {0};
    sp_case base;
    sp_target *target = NULL;
    const char *from = json_string_value(json_object_get(asked, "file"));
    char key[SP_NAME_SIZE] = "", folder[SP_DESK_NAME], name[SP_DESK_NAME];
    long id = 0;
    sp_status status = SP_OK;
    if (!from)
        status = sp_values_case(&context, desk, json_object_get(asked, "values"), &base, key);
    if (status == SP_OK && !plain_folder(desk, folder))
        status = sp_fail(&context, SP_NO_WRITE, "the folder holds a thousand answers already");
    if (status == SP_OK)
        status = from ? copy_target(&context, desk, folder, from, &target)
                      : write_target(&context, desk, folder, &base,
                                     json_object_get(asked, "target"), &target);
    sp_printable(name_of(asked, folder), name, sizeof name);
    if (status == SP_OK)
        status = sp_desk_add(&context, desk, name, NULL, target, folder, &id);
    else
        sp_target_free(target);
    if (status == SP_OK)
        reply_id(reply, id);
    else
        sp_reply_status(reply, &context, status, key);
}

/* Write one candidate of the records of `seek`, with what the page needs to continue from it. */
static json_t *answer_of(const sp_desk *desk, const sp_task *task, const json_t *candidate,
                         int *failed)
{
    json_t *one = json_object(), *figures = json_object(), *misses = json_array(), *figure;
    const char *name, *file = json_string_value(json_object_get(candidate, "case"));
    json_object_foreach(json_object_get(candidate, "figures"), name, figure)
        sp_json_put(figures, name, json_incref(json_object_get(figure, "median")), failed);
    if (json_object_get(candidate, "misses"))
        sp_json_append(misses, json_incref(json_object_get(candidate, "misses")), failed);
    sp_json_put(one, "name", json_incref(json_object_get(candidate, "candidate")), failed);
    sp_json_put(one, "reached", json_incref(json_object_get(candidate, "reached")), failed);
    sp_json_put(one, "remarks", json_incref(json_object_get(candidate, "remarks")), failed);
    sp_json_put(one, "figures", figures, failed);
    sp_json_put(one, "misses", misses, failed);
    if (file) {
        sp_context context = {0};
        sp_case request;
        sp_coupon_key *known = calloc(1, sizeof *known);
        char path[SP_FILE_SIZE];
        if (known && sp_desk_path(desk, task->folder, file, path) &&
            sp_case_read(&context, path, &request) == SP_OK) {
            sp_json_put(one, "values", sp_values_of_case(&request, failed), failed);
            if (sp_coupon_key_of_case(&context, &request, known) == SP_OK)
                sp_json_put(one, "key", sp_json_text(known->key), failed);
        }
        free(known);
        sp_json_put(one, "case", sp_json_text(file), failed);
    }
    return one;
}

static json_t *answers_of(const sp_desk *desk, const sp_task *task, int *failed)
{
    json_t *all = json_array(), *candidate;
    json_t *records = task->answer ? json_loads(task->answer, 0, NULL) : NULL;
    size_t i;
    json_array_foreach(json_object_get(records, "candidates"), i, candidate)
        sp_json_append(all, answer_of(desk, task, candidate, failed), failed);
    json_decref(records);
    return all;
}

void sp_reply_seek_now(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    int failed = 0;
    json_t *all = json_object();
    pthread_mutex_lock(&desk->lock);
    const sp_task *task = sp_desk_find(desk, request->id);
    const int is_there = task && task->is_search;
    if (is_there) {
        put_task(all, task, &failed);
        if (task->state == SP_TASK_RUNNING)
            sp_json_put(all, "state", sp_json_text("searching"), &failed);
        sp_json_put(all, "folder", sp_json_text(task->folder), &failed);
        sp_json_put(all, "answers", answers_of(desk, task, &failed), &failed);
    }
    pthread_mutex_unlock(&desk->lock);
    if (is_there) {
        sp_reply_json(reply, 200, all, failed);
        return;
    }
    json_decref(all);
    sp_reply_fail(reply, 404, "there is no such search since the bench was started", NULL);
}
