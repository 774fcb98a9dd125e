/* These tests check what the places of a bench answer, without a server: a request and a body go
 * in, JSON or bytes come out (test_bench.c asks through sockets, tests/browser in a browser). */
#include "check.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <jansson.h>

#include "base/alloc.h"
#include "place/place.h"

static char folder[] = "/tmp/strutpress-places-XXXXXX";
static sp_desk *desk;

static int open_desk(void **state)
{
    sp_context context = {0};
    (void)state;
    if (!mkdtemp(folder)) return 1;
    return sp_desk_open(&context, folder, 1, &desk) != SP_OK;
}

static int close_desk(void **state)
{
    char command[96];
    (void)state;
    sp_desk_close(desk);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    return system(command);
}

static sp_reply ask(sp_request request, const char *body)
{
    sp_reply reply;
    sp_reply_make(desk, &request, body ? body : "", body ? strlen(body) : 0, &reply);
    return reply;
}

/* Return the JSON of an answer with this status. */
static json_t *json_of(sp_request request, const char *body, int status)
{
    sp_reply reply = ask(request, body);
    json_t *all = json_loadb(reply.body, reply.size, 0, NULL);
    if (reply.status != status)
        fail_msg("status %d, wanted %d: %.*s", reply.status, status, (int)reply.size, reply.body);
    assert_non_null(all);
    free(reply.body);
    return all;
}

/* Check that the request is refused with this status and a line that holds `words`. */
static void refused(sp_request request, const char *body, int status, const char *words)
{
    json_t *all = json_of(request, body, status);
    const char *line = json_string_value(json_object_get(json_object_get(all, "error"), "message"));
    if (!line || !strstr(line, words)) fail_msg("wanted \"%s\": %s", words, line ? line : "");
    json_decref(all);
}

#define ONE_CELL                                                                                   \
    "\"coupon.width\":\"8 mm\",\"coupon.height\":\"8 mm\",\"coupon.depth\":\"4 mm\","              \
    "\"infill.density\":\"30 %\",\"bead.walls\":\"1\",\"press.steps\":\"6\","                      \
    "\"press.strain\":\"3 %\",\"press.find_critical\":\"no\",\"press.seeds\":\"1\""

/* Every row of a case has its group, kind and help; patterns, laws and filaments are choices. */
static void test_rows(void **state)
{
    (void)state;
    json_t *all = json_of((sp_request){.kind = SP_REQUEST_ROWS}, NULL, 200), *row;
    size_t i, choices = 0;
    json_array_foreach(json_object_get(all, "rows"), i, row)
    {
        assert_non_null(json_string_value(json_object_get(row, "group")));
        assert_non_null(json_string_value(json_object_get(row, "help")));
        const char *key = json_string_value(json_object_get(row, "key"));
        if (!strcmp(key, "infill.pattern") || !strcmp(key, "material.law") ||
            !strcmp(key, "material.filament"))
            choices += json_array_size(json_object_get(row, "choices")) > 5;
    }
    assert_true(i > 60);
    assert_int_equal(choices, 3);
    json_decref(all);
}

static json_t *task_of(long id)
{
    json_t *all = json_of((sp_request){.kind = SP_REQUEST_PRESSES}, NULL, 200), *one, *found = NULL;
    size_t i;
    json_array_foreach(json_object_get(all, "presses"), i,
                       one) if (json_integer_value(json_object_get(one, "id")) == id) found =
        json_incref(one);
    json_decref(all);
    assert_non_null(found);
    return found;
}

/* Wait until a press has ended; its key, "" when it has none. */
static void wait_for(long id, char key[SP_REQUEST_TOKEN])
{
    for (int waited = 0; waited < 6000; waited++) {
        json_t *one = task_of(id);
        const char *word = json_string_value(json_object_get(one, "state"));
        const char *known = json_string_value(json_object_get(one, "key"));
        const int ended = strcmp(word, "waiting") != 0 && strcmp(word, "pressing") != 0;
        snprintf(key, SP_REQUEST_TOKEN, "%s", known ? known : "");
        json_decref(one);
        if (ended) return;
        usleep(10000);
    }
    fail_msg("press %ld did not end", id);
}

/* A press becomes a coupon of the shelf, with a curve, states and a body for a printer. */
static void test_a_coupon_of_the_shelf(void **state)
{
    (void)state;
    char key[SP_REQUEST_TOKEN];
    json_t *all =
        json_of((sp_request){.kind = SP_REQUEST_PRESS}, "{\"values\":{" ONE_CELL "}}", 201);
    const long id = (long)json_integer_value(json_object_get(all, "id"));
    json_decref(all);
    wait_for(id, key);
    sp_request request = {.kind = SP_REQUEST_COUPON};
    snprintf(request.key, sizeof request.key, "%s", key);
    all = json_of(request, NULL, 200);
    assert_true(json_array_size(json_object_get(all, "curve")) > 3);
    assert_non_null(strstr(json_string_value(json_object_get(all, "yaml")), "coupon:"));
    json_decref(all);
    request.kind = SP_REQUEST_STATE;
    request.number = 0.02;
    all = json_of(request, NULL, 200);
    assert_true(json_array_size(json_object_get(all, "lines")) > 0);
    assert_true(json_number_value(json_object_get(all, "force_N")) > 0);
    json_decref(all);
    request.kind = SP_REQUEST_MESH;
    for (int i = 0; i < 2; i++) {
        strcpy(request.name, i ? "stl" : "3mf");
        sp_reply reply = ask(request, NULL);
        assert_int_equal(reply.status, 200);
        assert_true(reply.size > 200 && (i || !memcmp(reply.body, "PK", 2)));
        free(reply.body);
    }
    sp_reply page = ask((sp_request){.kind = SP_REQUEST_REPORT}, NULL);
    assert_int_equal(page.status, 200);
    free(page.body);
    strcpy(request.key, "0123456789abcdef0123456789abcdef");
    refused(request, NULL, 404, "no such coupon");
    request.kind = SP_REQUEST_COUPON;
    refused(request, NULL, 404, "no such coupon");
    request.kind = SP_REQUEST_STATE;
    refused(request, NULL, 404, "");
}

/* A curve of a rig is read and answered; a text without rows is refused in one line. */
static void test_rig(void **state)
{
    (void)state;
    sp_request request = {.kind = SP_REQUEST_RIG, .text = "squares.csv"};
    json_t *all = json_of(request,
                          "travel [mm],force [N]\n0,0\n0.1,1\n0.2,2\n0.3,3.1\n0.4,4\n0.5,5\n"
                          "0.6,6\n0.7,6.9\n0.8,8\n0.9,9\n1.0,10\n",
                          200);
    json_t *curve = json_object_get(json_array_get(json_object_get(all, "curves"), 0), "curve");
    assert_true(json_array_size(curve) > 5);
    assert_non_null(strstr(json_string_value(json_object_get(all, "understood")), "squares.csv"));
    json_decref(all);
    refused(request, "no rows at all\n", 400, "squares.csv");
}

static void save(const char *body, int status, const char *words)
{
    const sp_request request = {.kind = SP_REQUEST_SAVE};
    if (status == 201)
        json_decref(json_of(request, body, status));
    else
        refused(request, body, status, words);
}

/* Cases, plans and targets are read before they are saved; what may not be saved is refused. */
static void test_files(void **state)
{
    (void)state;
    save("{\"kind\":\"case\",\"name\":\"one.yaml\",\"values\":{" ONE_CELL "}}", 201, "");
    save("{\"kind\":\"case\",\"name\":\"one.yaml\",\"values\":{}}", 409, "already");
    save("{\"kind\":\"case\",\"name\":\"one.yaml\",\"replace\":true,\"values\":{" ONE_CELL "}}",
         201, "");
    save("{\"kind\":\"plan\",\"name\":\"some.yaml\",\"text\":\"base: one.yaml\\naxes:\\n"
         "  infill.density: [20 %, 30 %]\\n\"}",
         201, "");
    save("{\"kind\":\"target\",\"name\":\"goal.yaml\",\"text\":\"base: one.yaml\\nvary:\\n"
         "  infill.density: {from: 20 %, to: 30 %}\\nrequire:\\n  force_at 2 %: {at_least: 1 "
         "N}\\n\"}",
         201, "");
    save("{\"kind\":\"plan\",\"name\":\"out.yaml\",\"text\":\"base: ../one.yaml\\n\"}", 400, "");
    save("{\"kind\":\"plan\",\"name\":\"bad.yaml\",\"text\":\"base: one.yaml\\nnothing: 1\\n\"}",
         400, "");
    save("{\"kind\":\"plan\",\"name\":\"no.yaml\"}", 400, "text");
    save("{\"kind\":\"story\",\"name\":\"a.yaml\"}", 400, "kind");
    save("{\"kind\":\"case\",\"name\":\"../a.yaml\"}", 400, "name");
    save("{\"kind\":\"case\",\"name\":\"a.yaml\",\"values\":{\"infill.density\":\"lots\"}}", 400,
         "density");
    save("[1, 2]", 400, "");
    json_t *all = json_of((sp_request){.kind = SP_REQUEST_FILES}, NULL, 200), *one;
    size_t i, cases = 0, plans = 0, targets = 0;
    json_array_foreach(json_object_get(all, "files"), i, one)
    {
        const char *kind = json_string_value(json_object_get(one, "kind"));
        cases += !strcmp(kind, "case"), plans += !strcmp(kind, "plan");
        targets += !strcmp(kind, "target");
    }
    json_decref(all);
    assert_true(cases == 1 && plans == 1 && targets == 1);
    sp_request request = {.kind = SP_REQUEST_FILE_TEXT, .name = "one.yaml"};
    sp_reply reply = ask(request, NULL);
    assert_int_equal(reply.status, 200);
    assert_true(reply.size > 20);
    free(reply.body);
    strcpy(request.text, "values");
    all = json_of(request, NULL, 200);
    assert_non_null(json_object_get(json_object_get(all, "values"), "coupon.width"));
    json_decref(all);
    strcpy(request.name, "some.yaml");
    refused(request, NULL, 400, "");
    strcpy(request.name, "none.yaml");
    refused(request, NULL, 404, "no such file");
}

/* A search is kept in the folder as files, is found again, and ends with an answer. */
static void test_seek(void **state)
{
    (void)state;
    const sp_request seek = {.kind = SP_REQUEST_SEEK};
    sp_request now = {.kind = SP_REQUEST_SEEK_NOW};
    json_t *all = json_of(seek,
                          "{\"name\":\"soft\",\"values\":{" ONE_CELL "},\"target\":{"
                          "\"candidates\":{\"infill.pattern\":[\"square\"]},"
                          "\"vary\":{\"infill.density\":{\"from\":\"26 %\",\"to\":\"34 %\","
                          "\"within\":\"4 %\"}},"
                          "\"require\":{\"force_at 2 %\":{\"at_least\":\"1 N\"}},"
                          "\"save\":\"mass\",\"seeds\":1}}",
                          201);
    now.id = (long)json_integer_value(json_object_get(all, "id"));
    json_decref(all);
    int answers = 0;
    for (int waited = 0; waited < 6000 && !answers; waited++) {
        all = json_of(now, NULL, 200);
        answers = json_array_size(json_object_get(all, "answers")) > 0;
        json_decref(all);
        if (!answers) usleep(10000);
    }
    assert_true(answers);
    refused(seek, "{\"values\":{" ONE_CELL "},\"target\":{\"vary\":{\"a: b\":1}}}", 400, "target");
    refused(seek, "{\"values\":{" ONE_CELL "},\"target\":[1]}", 400, "target");
    refused(seek, "{\"values\":{\"no.key\":\"1\"},\"target\":{}}", 400, "");
    now.id = 4000;
    refused(now, NULL, 404, "");
}

/* Presses that do not exist are refused, and values are checked before they wait in the queue. */
static void test_refusals(void **state)
{
    (void)state;
    refused((sp_request){.kind = SP_REQUEST_PRESS_FROM, .id = 4000}, NULL, 404, "");
    refused((sp_request){.kind = SP_REQUEST_PRESS_STOP, .id = 4000}, NULL, 404, "");
    refused((sp_request){.kind = SP_REQUEST_PRESS_AGAIN, .id = 4000}, NULL, 404, "");
    refused((sp_request){.kind = SP_REQUEST_PRESS}, "{\"values\":{\"infill.density\":\"0 %\"}}",
            400, "density");
    refused((sp_request){.kind = SP_REQUEST_LOOK}, "{\"values\":{\"infill.pattern\":\"none\"}}",
            400, "pattern");
    refused((sp_request){.kind = SP_REQUEST_LOOK}, "not json", 400, "");
    refused((sp_request){.kind = SP_REQUEST_PAGE}, NULL, 404, "no such place");
}

/* Files of the folder that cannot be read, made or written are refused with their cause. */
static void test_folder(void **state)
{
    (void)state;
    sp_context context = {0};
    char path[SP_FILE_SIZE], *text = NULL, long_name[SP_FILE_SIZE + 8];
    size_t size = 0;
    assert_true(sp_desk_path(desk, "", "plain.txt", path));
    assert_int_equal(sp_desk_write(&context, path, "some text", 9), SP_OK);
    assert_int_equal(sp_desk_read(&context, path, 100, &text, &size), SP_OK);
    assert_int_equal(size, 9);
    sp_free(text);
    assert_int_equal(sp_desk_read(&context, path, 3, &text, &size), SP_NO_READ);
    assert_non_null(strstr(context.message, "larger than 3 bytes"));
    assert_int_equal(sp_desk_make_folder(&context, desk, "plain.txt"), SP_NO_WRITE);
    assert_non_null(strstr(context.message, "is not a folder"));
    assert_int_equal(sp_desk_make_folder(&context, desk, "none/inside"), SP_NO_WRITE);
    assert_non_null(strstr(context.message, "cannot be made"));
    memset(long_name, 'a', sizeof long_name - 1);
    long_name[sizeof long_name - 1] = '\0';
    assert_int_equal(sp_desk_make_folder(&context, desk, long_name), SP_NO_WRITE);
    assert_non_null(strstr(context.message, "too long"));
    assert_true(sp_desk_path(desk, "none", "inside.txt", path));
    assert_int_equal(sp_desk_write(&context, path, "x", 1), SP_NO_WRITE);
    assert_int_equal(sp_desk_read(&context, path, 100, &text, &size), SP_NO_READ);
}

static void put(const char *place, const char *name, const char *text)
{
    char path[160];
    snprintf(path, sizeof path, "%s/%s", place, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

/* A bench takes over the queue of the last one: a search whose target is in the folder waits; a
 * search without its target, and a file that does not belong to the queue, become failed tasks that
 * say why. */
static void test_left_in_the_queue(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_desk *next;
    char place[] = "/tmp/strutpress-queue-XXXXXX", path[96];
    assert_non_null(mkdtemp(place));
    snprintf(path, sizeof path, "%s/queue", place);
    assert_int_equal(mkdir(path, 0755), 0);
    put(place, "answers-1-base.yaml", "infill: {density: 30 %}\n");
    put(place, "answers-1-target.yaml",
        "base: answers-1-base.yaml\nvary:\n  infill.density: {from: 20 %, to: 30 %}\n"
        "require:\n  force_25: {at_least: 1000000 N}\n");
    put(place, "queue/000001.begun.search",
        "# Waits in the queue of the bench; its name there: found\nanswers-1\n");
    put(place, "queue/000002.search",
        "# Waits in the queue of the bench; its name there: lost\nanswers-2\n");
    put(place, "queue/000003.search",
        "# Waits in the queue of the bench; its name there: outside\n../answers-1\n");
    put(place, "queue/000004.yaml", "infill: {density: 30 %}\n");
    put(place, "queue/notes.txt", "left alone\n");
    if (sp_desk_open(&context, place, 1, &next) != SP_OK) fail_msg("%s", context.message);
    pthread_mutex_lock(&next->lock);
    assert_int_equal(next->task_count, 4);
    const sp_task_state want[] = {SP_TASK_OFFERED, SP_TASK_FAILED, SP_TASK_FAILED, SP_TASK_FAILED};
    for (int i = 0; i < 4; i++) assert_int_equal(next->task[i]->state, want[i]);
    assert_non_null(next->task[0]->target);
    assert_non_null(strstr(next->task[1]->message, "target of this search is not in the folder"));
    assert_non_null(strstr(next->task[2]->message, "target of this search is not in the folder"));
    assert_non_null(strstr(next->task[3]->message, "is no file of the queue"));
    pthread_mutex_unlock(&next->lock);
    sp_desk_close(next);
    char command[96];
    snprintf(command, sizeof command, "rm -rf %s", place);
    assert_int_equal(system(command), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows),   cmocka_unit_test(test_a_coupon_of_the_shelf),
        cmocka_unit_test(test_rig),    cmocka_unit_test(test_files),
        cmocka_unit_test(test_seek),   cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_folder), cmocka_unit_test(test_left_in_the_queue),
    };
    return cmocka_run_group_tests(tests, open_desk, close_desk);
}
