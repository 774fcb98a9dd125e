/* These tests check to whom a bench answers and what, and that nothing outside its folder is read
 * or written. The rules of Host and Origin are those of RFC 9110 and RFC 6454; a page elsewhere
 * that a name server has turned to this machine sends its own Host. */
#include <arpa/inet.h>
#include <math.h>
#include <poll.h>
#include <pthread.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>
#include <jansson.h>

#include <strutpress/bench.h>
#include <strutpress/forecast.h>
#include <strutpress/resolve.h>
#include <strutpress/store.h>

#include "desk/desk.h"
#include "request/request.h"

/* ---- the reader of requests ----------------------------------------------- */

static const sp_request_gate gate = {8080, "0123456789abcdef0123456789abcdef"};

static int ask(const char *method, const char *path, const char *host, const char *origin,
               const char *token, sp_request *request)
{
    char why[256];
    const sp_request_asked asked = {
        .method = method, .path = path, .host = host, .origin = origin, .token = token};
    const int status = sp_request_read(&gate, &asked, request, why, sizeof why);
    assert_int_equal(!status, !why[0]); /* a refusal says why */
    return status;
}

static void only_the_page_of_the_bench_is_answered(void **state)
{
    (void)state;
    static const char own[] = "127.0.0.1:8080", good[] = "http://127.0.0.1:8080";
    sp_request request;
    assert_int_equal(ask("GET", "/api/rows", own, NULL, gate.token, &request), 0);
    assert_int_equal(request.kind, SP_REQUEST_ROWS);
    assert_int_equal(ask("GET", "/api/rows", "localhost:8080", good, gate.token, &request), 0);
    static const char *const host[] = {NULL,         "",
                                       "127.0.0.1",  "127.0.0.1:80",
                                       "evil.test",  "127.0.0.1:8080.evil.test",
                                       "[::1]:8080", "127.0.0.1:80800"};
    for (size_t i = 0; i < sizeof host / sizeof *host; i++)
        assert_int_equal(ask("GET", "/api/rows", host[i], NULL, gate.token, &request), 403);
    static const char *const origin[] = {"null",
                                         "",
                                         "https://127.0.0.1:8080",
                                         "http://evil.test",
                                         "http://127.0.0.1:8081",
                                         "http://127.0.0.1:8080/"};
    for (size_t i = 0; i < sizeof origin / sizeof *origin; i++)
        assert_int_equal(ask("POST", "/api/look", own, origin[i], gate.token, &request), 403);
    static const char *const token[] = {NULL, "", "0123456789abcdef0123456789abcdee",
                                        "0123456789abcdef0123456789abcde",
                                        "0123456789abcdef0123456789abcdef0"};
    for (size_t i = 0; i < sizeof token / sizeof *token; i++)
        assert_int_equal(ask("GET", "/api/files", own, NULL, token[i], &request), 403);
    /* The token of a link counts for links only. */
    char why[256];
    sp_request_asked asked = {.method = "GET",
                              .path = "/",
                              .host = own,
                              .argument_count = 1,
                              .argument = {{"token", gate.token}}};
    assert_int_equal(sp_request_read(&gate, &asked, &request, why, sizeof why), 0);
    asked.path = "/api/files";
    assert_int_equal(sp_request_read(&gate, &asked, &request, why, sizeof why), 403);
}

static void places_are_known_and_names_are_plain(void **state)
{
    (void)state;
    static const char own[] = "127.0.0.1:8080";
    sp_request request;
    assert_int_equal(ask("GET", "/api/presses/17", own, NULL, gate.token, &request), 0);
    assert_int_equal(request.id, 17);
    assert_int_equal(ask("GET", "/api/files/foot-2.yaml", own, NULL, gate.token, &request), 0);
    assert_string_equal(request.name, "foot-2.yaml");
    assert_int_equal(ask("DELETE", "/api/files/foot-2.yaml", own, NULL, gate.token, &request), 405);
    assert_int_equal(ask("GET", "/api/look", own, NULL, gate.token, &request), 405);
    static const char *const nowhere[] = {"/api/files/../secret",
                                          "/api/files/..",
                                          "/api/files/.hidden",
                                          "/api/files/a b",
                                          "/api/files/a/b",
                                          "/api/files//etc/passwd",
                                          "/page/../server.c",
                                          "/api/presses/-1",
                                          "/api/presses/1x",
                                          "/api/presses/9999999999",
                                          "/api/shelf/ABC",
                                          "/api/rows/",
                                          "/x",
                                          "/api"};
    for (size_t i = 0; i < sizeof nowhere / sizeof *nowhere; i++)
        assert_int_equal(ask("GET", nowhere[i], own, NULL, gate.token, &request), 404);
}

/* ---- the server ----------------------------------------------- */

typedef struct served {
    char folder[64], link[96], token[SP_REQUEST_TOKEN];
    int port;
    volatile sig_atomic_t interrupt;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t is_ready;
    sp_status status;
    char message[SP_MESSAGE_SIZE];
} served;

static void take_link(void *user, const char *link)
{
    served *s = user;
    pthread_mutex_lock(&s->lock);
    snprintf(s->link, sizeof s->link, "%s", link);
    pthread_cond_signal(&s->is_ready);
    pthread_mutex_unlock(&s->lock);
}

static void *run(void *user)
{
    served *s = user;
    sp_context context = {.interrupt = &s->interrupt};
    const sp_bench_options options = {
        .folder = s->folder, .threads = 1, .ready = take_link, .user = s};
    s->status = sp_bench_serve(&context, &options);
    pthread_mutex_lock(&s->lock);
    snprintf(s->message, sizeof s->message, "%s", context.message);
    if (!s->link[0]) snprintf(s->link, sizeof s->link, "-");
    pthread_cond_signal(&s->is_ready);
    pthread_mutex_unlock(&s->lock);
    return NULL;
}

static void start(served *s)
{
    s->link[0] = 0;
    s->interrupt = 0;
    pthread_mutex_init(&s->lock, NULL);
    pthread_cond_init(&s->is_ready, NULL);
    assert_int_equal(pthread_create(&s->thread, NULL, run, s), 0);
    pthread_mutex_lock(&s->lock);
    while (!s->link[0]) pthread_cond_wait(&s->is_ready, &s->lock);
    pthread_mutex_unlock(&s->lock);
    if (s->link[0] == '-') fail_msg("%s", s->message);
    assert_int_equal(sscanf(s->link, "http://127.0.0.1:%d/?token=%32[0-9a-f]", &s->port, s->token),
                     2);
}

static void stop(served *s)
{
    __atomic_store_n(&s->interrupt, 1, __ATOMIC_RELAXED);
    pthread_join(s->thread, NULL);
    pthread_mutex_destroy(&s->lock);
    pthread_cond_destroy(&s->is_ready);
    assert_int_equal(s->status, SP_OK);
}

static int reach(const served *s)
{
    struct sockaddr_in place = {.sin_family = AF_INET, .sin_port = htons((uint16_t)s->port)};
    place.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    const int line = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(line >= 0);
    assert_int_equal(connect(line, (struct sockaddr *)&place, sizeof place), 0);
    return line;
}

/* Send bytes as they are and read until the other side closes. The caller frees the answer. */
static char *talk(const served *s, const char *head, const char *body)
{
    const int line = reach(s);
    size_t size = 0, room = 1 << 16;
    char *answer = malloc(room);
    assert_non_null(answer);
    assert_true(send(line, head, strlen(head), MSG_NOSIGNAL) == (ssize_t)strlen(head));
    if (body) send(line, body, strlen(body), MSG_NOSIGNAL); /* a refusal may come before its end */
    for (ssize_t got; (got = recv(line, answer + size, room - size - 1, 0)) > 0;) {
        size += (size_t)got;
        if (room - size > 1024) continue;
        room *= 2;
        answer = realloc(answer, room);
        assert_non_null(answer);
    }
    answer[size] = 0;
    close(line);
    return answer;
}

/* Send one request with the token; returns the status, and the JSON of its body when it is wanted.
 */
static int call(const served *s, const char *method, const char *path, const char *body,
                json_t **json)
{
    char head[1024];
    int status = 0;
    snprintf(head, sizeof head,
             "%s %s HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nBench-Token: %s\r\nContent-Length: %zu\r\n"
             "Connection: close\r\n\r\n",
             method, path, s->port, s->token, body ? strlen(body) : 0);
    char *answer = talk(s, head, body);
    assert_int_equal(sscanf(answer, "HTTP/1.1 %d", &status), 1);
    const char *text = strstr(answer, "\r\n\r\n");
    assert_non_null(text);
    assert_null(strstr(answer, ":nan"));
    if (json) *json = json_loads(text + 4, 0, NULL);
    free(answer);
    return status;
}

static const char *text_at(const json_t *object, const char *name)
{
    const char *text = json_string_value(json_object_get(object, name));
    return text ? text : "";
}

static void make_folder(served *s)
{
    memset(s, 0, sizeof *s);
    strcpy(s->folder, "/tmp/strutpress_bench_XXXXXX");
    assert_non_null(mkdtemp(s->folder));
}

static void remove_folder(const served *s)
{
    char command[128];
    snprintf(command, sizeof command, "rm -r '%s'", s->folder);
    assert_int_equal(system(command), 0);
}

static void wait_for(const served *s, const char *path, const char *wanted)
{
    for (int i = 0; i < 3000; i++) {
        json_t *now = NULL;
        assert_int_equal(call(s, "GET", path, NULL, &now), 200);
        const int is_there = !strcmp(text_at(now, "state"), wanted);
        if (!strcmp(text_at(now, "state"), "failed")) fail_msg("%s", text_at(now, "message"));
        json_decref(now);
        if (is_there) return;
        const struct timespec pause = {.tv_nsec = 20000000};
        nanosleep(&pause, NULL);
    }
    fail_msg("%s was not reached", wanted);
}

static const char small[] =
    "{\"values\":{\"infill.pattern\":\"square\",\"coupon.width\":\"12 mm\",\"coupon.height\":"
    "\"10 mm\",\"press.strain\":\"20 %\",\"press.steps\":\"20\",\"press.find_critical\":\"no\"},"
    "\"name\":\"small\"}";
/* This is another coupon, with one seed of its flaws. */
static const char once[] =
    "{\"values\":{\"infill.pattern\":\"square\",\"coupon.width\":\"12 mm\",\"coupon.height\":"
    "\"10 mm\",\"press.strain\":\"10 %\",\"press.steps\":\"10\",\"press.find_critical\":\"no\","
    "\"press.seeds\":\"1\"},\"name\":\"once\"}";

/* A coupon of the shelf is the median of its seeds, between their ends, and its band holds its
 * curve. */
static void the_seeds_are_one_coupon(const json_t *one)
{
    const json_t *curve = json_object_get(one, "curve"), *band = json_object_get(one, "band");
    const json_t *ends = json_object_get(json_object_get(one, "ends"), "force_10");
    const double force =
        json_number_value(json_object_get(json_object_get(one, "figures"), "force_10"));
    assert_int_equal(json_array_size(json_object_get(one, "seeds")), 5);
    assert_int_equal(json_array_size(json_object_get(one, "keys")), 5);
    assert_true(force > json_number_value(json_array_get(ends, 0)));
    assert_true(force < json_number_value(json_array_get(ends, 1)));
    assert_true(json_array_size(band) > 1);
    for (size_t i = 0; i < json_array_size(band); i++) {
        const json_t *place = json_array_get(band, i);
        const double at = json_number_value(json_array_get(json_array_get(curve, i), 1));
        assert_true(at >= json_number_value(json_array_get(place, 0)) - 1e-6);
        assert_true(at <= json_number_value(json_array_get(place, 1)) + 1e-6);
    }
}

/* The range of five seeds is five times that of one, in the words of `check`. */
static void the_seeds_together_have_a_range(const json_t *forecast)
{
    static const char before[] = "9 of 10 such coupons take ";
    const double seconds = json_number_value(json_object_get(forecast, "seconds"));
    const char *one = strstr(text_at(forecast, "words"), before);
    char all[32], range[80], low[32];
    double from = 0;
    assert_non_null(one);
    assert_int_equal(json_integer_value(json_object_get(forecast, "seeds")), 5);
    sp_forecast_time_text(5 * seconds, all, sizeof all);
    assert_true(strstr(text_at(forecast, "together"), all) == text_at(forecast, "together"));
    if (sscanf(text_at(forecast, "together") + strlen(all),
               " of processor time together (9 of 10 such coupons take %79[^)])", range) != 1)
        fail_msg("%s", text_at(forecast, "together"));
    /* Both lines begin with a time; a small one is written as "under 0.1 s". */
    if (sscanf(one + strlen(before), "%lf", &from) != 1) return;
    assert_int_equal(sscanf(range, "%31s", low), 1);
    assert_true(fabs(atof(low) / (5 * from) - 1) < 0.2);
}

static void a_coupon_is_pressed_and_stands_on_the_shelf(void **state)
{
    (void)state;
    served s;
    json_t *said = NULL, *shelf = NULL;
    char path[160], key[SP_KEY_SIZE];
    make_folder(&s);
    start(&s);
    assert_int_equal(call(&s, "POST", "/api/look", small, &said), 200);
    assert_string_equal(text_at(said, "kind"), "planar");
    assert_true(json_array_size(json_object_get(said, "lines")) % 7 == 0);
    assert_non_null(strstr(text_at(said, "yaml"), "width: 12 mm\n"));
    the_seeds_together_have_a_range(json_object_get(said, "forecast"));
    json_decref(said);
    assert_int_equal(call(&s, "POST", "/api/presses", small, &said), 201);
    assert_int_equal(json_integer_value(json_object_get(said, "id")), 1);
    json_decref(said);
    wait_for(&s, "/api/presses/1", "done");
    assert_int_equal(call(&s, "GET", "/api/presses/1?from=15", NULL, &said), 200);
    assert_true(json_array_size(json_object_get(said, "curve")) > 3);
    assert_int_equal(json_integer_value(json_object_get(said, "seeds")), 5);
    assert_true(json_array_size(json_object_get(said, "band")) > 10);
    assert_non_null(json_object_get(json_object_get(said, "frame"), "lines"));
    snprintf(key, sizeof key, "%s", text_at(said, "key"));
    json_decref(said);
    snprintf(path, sizeof path, "/api/shelf/%s/states?strain=0.1", key);
    assert_int_equal(call(&s, "GET", path, NULL, &said), 200);
    assert_true(json_number_value(json_object_get(said, "strain")) > 0.05 &&
                json_number_value(json_object_get(said, "strain")) < 0.15);
    json_decref(said);
    stop(&s);
    /* A bench that is started again finds the coupon, and so does the command line. */
    start(&s);
    assert_int_equal(call(&s, "GET", "/api/shelf?figures=force_10&curves=4", NULL, &shelf), 200);
    const json_t *one = json_array_get(json_object_get(shelf, "coupons"), 0);
    assert_string_equal(text_at(one, "key"), key);
    assert_int_equal(json_array_size(json_object_get(one, "curve")), 4);
    the_seeds_are_one_coupon(one);
    snprintf(path, sizeof path, "/api/shelf/%s", key);
    assert_int_equal(call(&s, "GET", path, NULL, &said), 200);
    assert_non_null(strstr(text_at(said, "in_words"), "as its law has no losses."));
    json_decref(said);
    snprintf(path, sizeof path, "/api/shelf?figures=force_10&known=%s", text_at(shelf, "state"));
    json_decref(shelf);
    /* A caller that knows this state does not get it again. */
    assert_int_equal(call(&s, "GET", path, NULL, &shelf), 200);
    assert_true(json_is_true(json_object_get(shelf, "unchanged")));
    assert_null(json_object_get(shelf, "coupons"));
    json_decref(shelf);
    stop(&s);
    sp_store *store;
    snprintf(path, sizeof path, "%s/bench.store", s.folder);
    assert_int_equal(sp_store_open(NULL, path, SP_STORE_READ, &store), SP_OK);
    sp_store_close(store);
    remove_folder(&s);
}

static void write_file(const served *s, const char *name, const char *text)
{
    char path[160];
    snprintf(path, sizeof path, "%s/%s", s->folder, name);
    FILE *stream = fopen(path, "w");
    assert_non_null(stream);
    fputs(text, stream);
    fclose(stream);
}

/* Ask for the first press until it reports the time left. */
static json_t *told_of_the_time(const served *s)
{
    for (int i = 0; i < 3000; i++) {
        json_t *now = NULL;
        assert_int_equal(call(s, "GET", "/api/presses/1", NULL, &now), 200);
        if (text_at(now, "left")[0]) return now;
        json_decref(now);
        const struct timespec pause = {.tv_nsec = 20000000};
        nanosleep(&pause, NULL);
    }
    fail_msg("%s", "no press has told what is left of it");
    return NULL;
}

/* The queue gives the forecast as a range, and the time left of a press that runs, both in the
 * words of the command line. */
static void a_press_tells_what_is_left(void **state)
{
    (void)state;
    static const char coupon[] =
        "{\"values\":{\"infill.density\":\"40 %\",\"press.steps\":\"3000\",\"press.seeds\":\"1\"}}";
    sp_context context = {0};
    sp_case request;
    sp_resolved resolved;
    served s;
    json_t *said;
    char range[80];
    sp_case_default(&request);
    request.density = 0.4, request.steps = 3000;
    assert_int_equal(sp_case_resolve(&context, &request, &resolved), SP_OK);
    sp_forecast_range_text(resolved.expected.low, resolved.expected.high, range, sizeof range);
    sp_resolved_free(&resolved);
    assert_non_null(strstr(range, " to "));
    make_folder(&s);
    start(&s);
    assert_int_equal(call(&s, "POST", "/api/presses", coupon, NULL), 201);
    said = told_of_the_time(&s);
    const char *left = text_at(said, "left"), *end = strstr(left, " left");
    assert_string_equal(text_at(said, "expected"), range);
    assert_true(end && !end[5]);
    assert_true(strstr(left, " to ") || strstr(left, "about ") == left);
    json_decref(said);
    assert_int_equal(call(&s, "POST", "/api/presses/1/stop", NULL, NULL), 200);
    wait_for(&s, "/api/presses/1", "stopped");
    assert_int_equal(call(&s, "GET", "/api/presses/1", NULL, &said), 200);
    assert_string_equal(text_at(said, "left"), "");
    json_decref(said);
    stop(&s);
    remove_folder(&s);
}

/* Files that the command line reads are pressed and searched unchanged: coupons of a plan, a
 * target. */
static void files_of_the_folder_are_done(void **state)
{
    (void)state;
    static const struct {
        const char *path, *body;
        int status;
    } row[] = {
        {"/api/presses", "{\"plan\":\"../plan.yaml\"}", 400},
        {"/api/presses", "{\"plan\":\"none.yaml\"}", 400},
        {"/api/presses", "{\"plan\":\"away.yaml\"}", 400},
        {"/api/presses", "{\"plan\":\"target.yaml\"}", 400},
        {"/api/presses", "{\"plan\":\"many.yaml\"}", 409},
        {"/api/seeks", "{\"file\":\"/etc/passwd\"}", 400},
        {"/api/seeks", "{\"file\":\"plan.yaml\"}", 400},
        {"/api/presses", "{\"plan\":\"plan.yaml\"}", 201},
        {"/api/seeks", "{\"file\":\"target.yaml\"}", 201},
    };
    served s;
    json_t *said = NULL;
    char path[160];
    make_folder(&s);
    write_file(&s, "base.yaml",
               "coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}\nbead: {walls: 1}\n"
               "press: {strain: 20 %, steps: 10, find_critical: no}\n");
    /* Two of the four coupons have walls thicker than the coupon, and fail as in a batch. */
    write_file(&s, "plan.yaml",
               "base: base.yaml\naxes:\n  infill.density: [20 %, 25 %]\n  bead.walls: [1, 20]\n");
    write_file(&s, "many.yaml",
               "base: base.yaml\naxes:\n  infill.density: {from: 15 %, to: 30 %, count: 601}\n");
    write_file(&s, "away.yaml", "base: /etc/passwd\naxes:\n  infill.density: [20 %, 25 %]\n");
    write_file(&s, "target.yaml",
               "base: base.yaml\nvary:\n  infill.density: {from: 18 %, to: 26 %, within: 2 %}\n"
               "require:\n  force_at 1 mm: {at_least: 1 N}\nsave: mass\nseeds: 1\n");
    start(&s);
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        json_decref(said);
        said = NULL;
        const int status = call(&s, "POST", row[i].path, row[i].body, &said);
        if (status != row[i].status)
            fail_msg("%s: %d, %s", row[i].body, status,
                     text_at(json_object_get(said, "error"), "message"));
        if (status == 201 && i == sizeof row / sizeof *row - 2)
            assert_int_equal(10 * json_integer_value(json_object_get(said, "count")) +
                                 json_integer_value(json_object_get(said, "failed")),
                             22);
    }
    snprintf(path, sizeof path, "/api/seeks/%d",
             (int)json_integer_value(json_object_get(said, "id")));
    json_decref(said);
    wait_for(&s, "/api/presses/1", "done");
    wait_for(&s, path, "done");
    said = NULL;
    assert_int_equal(call(&s, "GET", path, NULL, &said), 200);
    assert_int_equal(json_array_size(json_object_get(said, "answers")), 1);
    json_decref(said);
    snprintf(path, sizeof path, "%s/%s-target.yaml", s.folder, "answers-1");
    assert_int_equal(access(path, R_OK), 0);
    stop(&s);
    remove_folder(&s);
}

static void a_press_is_stopped(void **state)
{
    (void)state;
    served s;
    json_t *shelf = NULL;
    make_folder(&s);
    start(&s);
    assert_int_equal(call(&s, "POST", "/api/presses",
                          "{\"values\":{\"infill.density\":\"40 %\",\"press.steps\":\"3000\"}}",
                          NULL),
                     201);
    assert_int_equal(call(&s, "POST", "/api/presses", small, NULL), 201);
    assert_int_equal(call(&s, "POST", "/api/presses/2/stop", NULL, NULL), 200);
    assert_int_equal(call(&s, "POST", "/api/presses/1/stop", NULL, NULL), 200);
    wait_for(&s, "/api/presses/1", "stopped");
    wait_for(&s, "/api/presses/2", "stopped");
    assert_int_equal(call(&s, "GET", "/api/shelf", NULL, &shelf), 200);
    assert_int_equal(json_array_size(json_object_get(shelf, "coupons")), 0);
    json_decref(shelf);
    assert_int_equal(call(&s, "POST", "/api/presses/3/stop", NULL, NULL), 404);
    stop(&s);
    remove_folder(&s);
}

static void hostile_requests_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *path, *body;
        int status;
    } row[] = {
        {"/api/look", "", 400},
        {"/api/look", "[]", 400},
        {"/api/look", "{\"values\":{\"infill.density\":1e999}}", 400},
        {"/api/look", "{\"values\":{\"infill.density\":\"nan\"}}", 400},
        {"/api/look", "{\"values\":{\"infill.pattern\":\"kagome\\n  density: 3\"}}", 400},
        {"/api/look",
         "{\"values\":{\"infill.pattern\":\"drawn\",\"infill.network\":"
         "\"../../etc/passwd\"}}",
         400},
        {"/api/look",
         "{\"values\":{\"infill.pattern\":\"drawn\",\"infill.network\":"
         "\"out.vtk\"}}",
         400},
        {"/api/look", "[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[", 400},
        {"/api/presses", "{\"values\":{\"no.such\":\"1\"}}", 400},
        {"/api/files", "{\"kind\":\"case\",\"name\":\"../out.yaml\",\"values\":{}}", 400},
        {"/api/files", "{\"kind\":\"case\",\"name\":\".out.yaml\",\"values\":{}}", 400},
        {"/api/files", "{\"kind\":\"case\",\"name\":\"out.sh\",\"values\":{}}", 400},
        {"/api/files", "{\"kind\":\"target\",\"name\":\"t.yaml\",\"text\":\"a: [\"}", 400},
        {"/api/seeks", "{\"values\":{},\"target\":{\"save\":\"mass\\nbase: /etc/passwd\"}}", 400},
        {"/api/rig", "no curve at all", 400},
        /* These files lie outside the folder: named by their path, by a link, hidden by YAML, or in
         * a list. */
        {"/api/look", "{\"values\":{\"infill.pattern\":\"drawn\",\"infill.network\":\"link\"}}",
         400},
        {"/api/files", "{\"kind\":\"plan\",\"name\":\"p.yaml\",\"text\":\"base: /etc/passwd\"}",
         400},
        {"/api/files",
         "{\"kind\":\"plan\",\"name\":\"p.yaml\",\"text\":\"base: ../../etc/passwd\"}", 400},
        {"/api/files",
         "{\"kind\":\"plan\",\"name\":\"p.yaml\",\"text\":"
         "\"\\\"b\\\\x61se\\\": \\\"\\\\x2fetc/passwd\\\"\"}",
         400},
        {"/api/files", "{\"kind\":\"target\",\"name\":\"t.yaml\",\"text\":\"base: link\"}", 400},
        {"/api/files",
         "{\"kind\":\"target\",\"name\":\"t.yaml\",\"text\":\"match: {curve: 'a; /etc/passwd'}\"}",
         400},
        {"/api/seeks",
         "{\"values\":{},\"target\":{\"candidates\":{\"material.table\":[\"/etc/passwd\"]},"
         "\"save\":\"mass\"}}",
         400},
    };
    served s;
    json_t *said;
    char path[160], target[96];
    make_folder(&s);
    snprintf(path, sizeof path, "%s/out.vtk", s.folder);
    assert_int_equal(symlink("/etc/passwd", path), 0); /* a link out of the folder */
    snprintf(path, sizeof path, "%s/link", s.folder);
    assert_int_equal(symlink("/etc/passwd", path), 0);
    start(&s);
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        said = NULL;
        const int status = call(&s, "POST", row[i].path, row[i].body, &said);
        if (status != row[i].status) fail_msg("%s %s: %d", row[i].path, row[i].body, status);
        const char *message = text_at(json_object_get(said, "error"), "message");
        assert_true(strlen(message) > 5);
        assert_null(strstr(message, "root:")); /* nothing of what stands there is told */
        json_decref(said);
    }
    assert_int_equal(call(&s, "GET", "/api/files/out.vtk", NULL, NULL), 404);
    assert_int_equal(call(&s, "GET", "/api/files/%2e%2e%2fetc%2fpasswd", NULL, NULL), 404);
    assert_int_equal(call(&s, "GET", "/../../../../etc/passwd", NULL, NULL), 404);
    snprintf(target, sizeof target, "/api/shelf/%032d/states?strain=nan", 7);
    assert_int_equal(call(&s, "GET", target, NULL, NULL), 400);
    stop(&s);
    remove_folder(&s);
}

static int exists(const served *s, const char *name)
{
    char path[160];
    struct stat found;
    snprintf(path, sizeof path, "%s/%s", s->folder, name);
    return lstat(path, &found) == 0;
}

static void a_file_is_replaced_only_when_asked(void **state)
{
    (void)state;
    static const char keep[] = "{\"kind\":\"case\",\"name\":\"foot.yaml\",\"values\":{}}";
    served s;
    char path[160];
    make_folder(&s);
    start(&s);
    assert_int_equal(call(&s, "POST", "/api/files", keep, NULL), 201);
    assert_int_equal(call(&s, "POST", "/api/files", keep, NULL), 409);
    assert_int_equal(call(&s, "POST", "/api/files",
                          "{\"kind\":\"case\",\"name\":\"foot.yaml\",\"replace\":true,\"values\":{"
                          "\"coupon.width\":\"31 mm\"}}",
                          NULL),
                     201);
    assert_int_equal(call(&s, "POST", "/api/files",
                          "{\"kind\":\"plan\",\"name\":\"p.yaml\",\"text\":\"base: foot.yaml\\n"
                          "axes: {infill.density: [8 %, 12 %]}\"}",
                          NULL),
                     201);
    /* A form that gives nothing is a case of defaults, and its file is such a case. */
    assert_int_equal(call(&s, "GET", "/api/files/foot.yaml?as=values", NULL, NULL), 200);
    assert_int_equal(call(&s, "POST", "/api/files",
                          "{\"kind\":\"case\",\"name\":\"usual.yaml\",\"values\":{}}", NULL),
                     201);
    assert_int_equal(call(&s, "GET", "/api/files/usual.yaml?as=values", NULL, NULL), 200);
    /* A search that is refused leaves no file. */
    assert_int_equal(call(&s, "POST", "/api/seeks",
                          "{\"values\":{},\"target\":{\"save\":\"no such figure\"}}", NULL),
                     400);
    assert_false(exists(&s, "answers-1-base.yaml"));
    stop(&s);
    /* A store outside the folder does not belong to it. */
    snprintf(path, sizeof path, "rm %s/bench.store*", s.folder);
    assert_int_equal(system(path), 0);
    snprintf(path, sizeof path, "%s/bench.store", s.folder);
    assert_int_equal(symlink("/etc/passwd", path), 0);
    volatile sig_atomic_t interrupt = 1;
    sp_context context = {.interrupt = &interrupt};
    const sp_bench_options options = {.folder = s.folder};
    assert_int_equal(sp_bench_serve(&context, &options), SP_NO_READ);
    assert_non_null(strstr(context.message, "valid: a store that stands in it"));
    remove_folder(&s);
}

static void answers_are_for_this_page_alone(void **state)
{
    (void)state;
    static const char *const path[] = {"/api/rows", "/?token=wrong", "/page/bench.js"};
    static const char *const wanted[] = {
        "X-Content-Type-Options: nosniff", "Content-Security-Policy: default-src 'none'",
        "Referrer-Policy: no-referrer",    "Cache-Control: no-store",
        "frame-ancestors 'none'",          "Cross-Origin-Resource-Policy: same-origin"};
    served s;
    char head[512];
    make_folder(&s);
    start(&s);
    for (size_t i = 0; i < sizeof path / sizeof *path; i++) {
        snprintf(head, sizeof head,
                 "GET %s HTTP/1.1\r\nHost: localhost:%d\r\nConnection: close\r\n\r\n", path[i],
                 s.port);
        char *answer = talk(&s, head, NULL);
        assert_int_equal(!strncmp(answer, "HTTP/1.1 200", 12), i == 2);
        for (size_t k = 0; k < sizeof wanted / sizeof *wanted; k++)
            assert_non_null(strstr(answer, wanted[k]));
        assert_null(strstr(answer, "Access-Control"));
        assert_null(strstr(answer, s.token));
        free(answer);
    }
    stop(&s);
    remove_folder(&s);
}

/* When many requests come one after the other, no more are answered than the rate allows for the
 * seconds that they take. */
static void the_rate_is_limited(void **state)
{
    (void)state;
    enum { MANY = 600, RATE = 200 };
    served s;
    int taken = 0, refused = 0;
    make_folder(&s);
    start(&s);
    const time_t begun = time(NULL);
    for (int i = 0; i < MANY; i++) {
        const int status = call(&s, "GET", "/api/presses", NULL, NULL);
        taken += status == 200;
        refused += status == 429;
    }
    const int seconds = (int)(time(NULL) - begun) + 1;
    assert_int_equal(taken + refused, MANY);
    assert_true(taken <= RATE * seconds);
    stop(&s);
    remove_folder(&s);
}

/* A head that does not end and a body that does not come: the bench closes both, and answers others
 * meanwhile. */
static void slow_requests_are_let_go(void **state)
{
    (void)state;
    served s;
    char head[512];
    int line[2];
    make_folder(&s);
    start(&s);
    snprintf(head, sizeof head,
             "POST /api/look HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nBench-Token: %s\r\n"
             "Content-Length: 100\r\n\r\n{",
             s.port, s.token);
    for (int i = 0; i < 2; i++) {
        const size_t size = i ? strlen(head) : 20;
        line[i] = reach(&s);
        assert_int_equal(send(line[i], head, size, MSG_NOSIGNAL), (ssize_t)size);
    }
    assert_int_equal(call(&s, "GET", "/api/presses", NULL, NULL), 200);
    for (int i = 0; i < 2; i++) {
        char rest[4096];
        struct pollfd ready = {.fd = line[i], .events = POLLIN};
        assert_int_equal(poll(&ready, 1, 60000), 1);
        const ssize_t got = recv(line[i], rest, sizeof rest, 0);
        assert_true(got <= 0 || !memcmp(rest, "HTTP/1.1 4", 10)); /* closed, or 408 */
        close(line[i]);
    }
    stop(&s);
    remove_folder(&s);
}

static void tell_parent(void *user, const char *link)
{
    const int to = *(const int *)user;
    if (write(to, link, strlen(link)) < 0) _exit(1);
}

static void find_state(const served *s, const char *path, const char *wanted)
{
    json_t *said = NULL;
    assert_int_equal(call(s, "GET", path, NULL, &said), 200);
    assert_string_equal(text_at(said, "state"), wanted);
    json_decref(said);
}

/* Wait until the folder of the queue holds no file. */
static void queue_is_empty(const served *s)
{
    char command[160];
    snprintf(command, sizeof command, "test -z \"$(ls %s/queue)\"", s->folder);
    for (int i = 0; i < 200; i++) {
        const struct timespec pause = {.tv_nsec = 20000000};
        if (system(command) == 0) return;
        nanosleep(&pause, NULL);
    }
    fail_msg("%s", "files are left in the queue");
}

/* Check what the next bench of the folder does with a queue of three. The first was being pressed
 * when the bench was killed, so it waits until the user asks for it; the second goes on by itself;
 * the third is not a case. After a bench that was ended in good order all of them go on. */
static void the_queue_goes_on(served *s)
{
    char path[160];
    json_t *said = NULL;
    snprintf(path, sizeof path, "echo 'no head' > %s/queue/000009.yaml", s->folder);
    assert_int_equal(system(path), 0);
    start(s);
    find_state(s, "/api/presses/1", "offered");
    wait_for(s, "/api/presses/2", "done");
    find_state(s, "/api/presses/3", "failed");
    assert_int_equal(call(s, "GET", "/api/presses/3", NULL, &said), 200);
    assert_non_null(strstr(text_at(said, "message"), "000009.yaml"));
    json_decref(said);
    snprintf(path, sizeof path, "%s/queue/000009.yaml", s->folder);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(call(s, "POST", "/api/presses/1/again", NULL, NULL), 200);
    wait_for(s, "/api/presses/1", "pressing");
    stop(s);
    start(s);
    wait_for(s, "/api/presses/1", "pressing");
    assert_int_equal(call(s, "POST", "/api/presses/1/stop", NULL, NULL), 200);
    wait_for(s, "/api/presses/1", "stopped");
    queue_is_empty(s);
}

/* A bench that is killed while it presses loses nothing that was finished, and knows which tasks
 * waited. */
static void a_killed_bench_loses_nothing_finished(void **state)
{
    (void)state;
    served s;
    int pipes[2];
    json_t *shelf = NULL;
    make_folder(&s);
    assert_int_equal(pipe(pipes), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        volatile sig_atomic_t never = 0;
        sp_context context = {.interrupt = &never};
        const sp_bench_options options = {
            .folder = s.folder, .threads = 1, .ready = tell_parent, .user = &pipes[1]};
        _exit((int)sp_bench_serve(&context, &options));
    }
    const ssize_t size = read(pipes[0], s.link, sizeof s.link - 1);
    assert_true(size > 0);
    assert_int_equal(sscanf(s.link, "http://127.0.0.1:%d/?token=%32[0-9a-f]", &s.port, s.token), 2);
    assert_int_equal(call(&s, "POST", "/api/presses", small, NULL), 201);
    wait_for(&s, "/api/presses/1", "done");
    assert_int_equal(call(&s, "POST", "/api/presses",
                          "{\"values\":{\"infill.density\":\"40 %\",\"press.steps\":\"3000\"}}",
                          NULL),
                     201);
    assert_int_equal(call(&s, "POST", "/api/presses", once, NULL), 201);
    wait_for(&s, "/api/presses/2", "pressing");
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, NULL, 0), child);
    close(pipes[0]);
    close(pipes[1]);
    the_queue_goes_on(&s);
    assert_int_equal(call(&s, "GET", "/api/shelf", NULL, &shelf), 200);
    assert_int_equal(json_array_size(json_object_get(shelf, "coupons")), 2);
    json_decref(shelf);
    stop(&s);
    remove_folder(&s);
}

/* Two drawings for forms may run at a time, and one that takes too long is ended. */
static void drawing_has_turns(void **state)
{
    (void)state;
    served s;
    sp_desk *desk = NULL;
    sp_context context = {0};
    make_folder(&s);
    assert_int_equal(sp_desk_open(&context, s.folder, 1, &desk), SP_OK);
    sp_desk_look *one = sp_desk_begin_look(desk), *two = sp_desk_begin_look(desk);
    assert_non_null(one);
    assert_non_null(two);
    assert_null(sp_desk_begin_look(desk));
    one->begun -= SP_DESK_LOOK_SECONDS + 1;
    sp_desk_watch_looks(desk);
    assert_int_equal(one->interrupt, 1);
    assert_int_equal(two->interrupt, 0);
    sp_desk_end_look(desk, one);
    assert_ptr_equal(sp_desk_begin_look(desk), one);
    assert_int_equal(one->interrupt, 0);
    sp_desk_close(desk);
    remove_folder(&s);
}

static void large_and_many_are_borne(void **state)
{
    (void)state;
    enum { MANY = 1000 };
    static int line[MANY];
    served s;
    char head[512];
    int status = 0;
    make_folder(&s);
    start(&s);
    snprintf(head, sizeof head,
             "POST /api/look HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nBench-Token: %s\r\n"
             "Content-Length: 10485760\r\nConnection: close\r\n\r\n{",
             s.port, s.token);
    char *answer = talk(&s, head, NULL); /* refused by its length, before its bytes */
    assert_int_equal(sscanf(answer, "HTTP/1.1 %d", &status), 1);
    assert_int_equal(status, 413);
    free(answer);
    /* This one does not say how long it is. */
    snprintf(head, sizeof head,
             "POST /api/look HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nBench-Token: %s\r\n"
             "Transfer-Encoding: chunked\r\nConnection: close\r\n\r\na00000\r\n",
             s.port, s.token);
    char *body = malloc((10 << 20) + 1);
    assert_non_null(body);
    memset(body, ' ', 10 << 20);
    body[10 << 20] = 0;
    answer = talk(&s, head, body);
    assert_true(!answer[0] || !strncmp(answer, "HTTP/1.1 4", 10));
    free(answer);
    free(body);
    for (int i = 0; i < MANY; i++) {
        line[i] = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK, 0);
        struct sockaddr_in place = {.sin_family = AF_INET, .sin_port = htons((uint16_t)s.port)};
        place.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        if (line[i] >= 0) connect(line[i], (struct sockaddr *)&place, sizeof place);
    }
    for (int i = 0; i < MANY; i++)
        if (line[i] >= 0) close(line[i]);
    for (int i = 0; i < 100 && status != 200; i++) {
        const struct timespec pause = {.tv_nsec = 50000000};
        nanosleep(&pause, NULL);
        status = call(&s, "GET", "/api/presses", NULL, NULL);
    }
    assert_int_equal(status, 200); /* answered again once they have gone */
    stop(&s);
    remove_folder(&s);
}

static void a_folder_that_is_none_is_refused(void **state)
{
    (void)state;
    volatile sig_atomic_t interrupt = 1;
    sp_context context = {.interrupt = &interrupt};
    const sp_bench_options options = {.folder = "/no/such/folder"};
    assert_int_equal(sp_bench_serve(&context, &options), SP_NO_READ);
    assert_non_null(strstr(context.message, "valid: the name of a folder that exists"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_the_page_of_the_bench_is_answered),
        cmocka_unit_test(places_are_known_and_names_are_plain),
        /* This test begins another process, so it comes before any that starts threads. */
        cmocka_unit_test(a_killed_bench_loses_nothing_finished),
        cmocka_unit_test(a_coupon_is_pressed_and_stands_on_the_shelf),
        cmocka_unit_test(files_of_the_folder_are_done),
        cmocka_unit_test(a_press_tells_what_is_left),
        cmocka_unit_test(a_press_is_stopped),
        cmocka_unit_test(hostile_requests_are_refused),
        cmocka_unit_test(a_file_is_replaced_only_when_asked),
        cmocka_unit_test(answers_are_for_this_page_alone),
        cmocka_unit_test(the_rate_is_limited),
        cmocka_unit_test(slow_requests_are_let_go),
        cmocka_unit_test(drawing_has_turns),
        cmocka_unit_test(large_and_many_are_borne),
        cmocka_unit_test(a_folder_that_is_none_is_refused),
    };
    signal(SIGPIPE, SIG_IGN);
    return cmocka_run_group_tests_name("test_bench", tests, NULL, NULL);
}
