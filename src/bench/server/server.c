/* The server of a bench: one connection at a time is read, judged (request/request.h) and answered
 * (place/place.h); the work of presses is done by the desk. */
#include <strutpress/bench.h>

#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <time.h>

#include "base/poll.h"
#include "desk/desk.h"
#include "place/place.h"
#include "request/request.h"
#include "server/library.h"
#include "server/page.h"

enum {
    CONNECTIONS_MAX = 64,
    POOL = 4, /* threads that answer, so that one that draws a mesh does not hold up the others */
    SILENCE_MAX = 5,    /* seconds without a byte after which a connection is closed */
    REQUEST_MAX = 10,   /* seconds that a request may take to arrive */
    RATE_MAX = 200,     /* requests in a second; more are refused */
    MEMORY_MAX = 32768, /* bytes of the head of a request */
};

typedef struct bench {
    sp_http http;
    sp_desk *desk;
    sp_request_gate gate;
    pthread_mutex_t lock; /* for the two members that follow */
    time_t second;
    int requests;
} bench;

/* This is a request while its body arrives. */
typedef struct arriving {
    sp_request request;
    int refused; /* status of HTTP, 0: the request is accepted */
    char why[SP_MESSAGE_SIZE];
    time_t begun;
    char *body;
    size_t size, room;
} arriving;

/* ---- answers ----------------------------------------------- */

static const char policy[] =
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src 'self' data: blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/* The report is one file that contains its scripts. */
static const char report_policy[] =
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

static enum MHD_Result send_bytes(const bench *b, struct MHD_Connection *connection, int status,
                                  const char *type, const char *csp, void *body, size_t size,
                                  enum MHD_ResponseMemoryMode mode)
{
    const sp_http *http = &b->http;
    struct MHD_Response *response = http->create_response(size, body, mode);
    if (!response) {
        if (mode == MHD_RESPMEM_MUST_FREE) free(body);
        return MHD_NO;
    }
    http->add_header(response, "Content-Type", type);
    http->add_header(response, "Content-Security-Policy", csp);
    http->add_header(response, "X-Content-Type-Options", "nosniff");
    http->add_header(response, "Referrer-Policy", "no-referrer");
    http->add_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    http->add_header(response, "Cache-Control", "no-store");
    const enum MHD_Result sent = http->queue_response(connection, (unsigned)status, response);
    http->destroy_response(response);
    return sent;
}

static enum MHD_Result send_reply(const bench *b, struct MHD_Connection *connection,
                                  sp_reply *reply, const char *csp)
{
    return send_bytes(b, connection, reply->status, reply->type, csp, reply->body, reply->size,
                      MHD_RESPMEM_MUST_FREE);
}

static enum MHD_Result refuse(const bench *b, struct MHD_Connection *connection, int status,
                              const char *why)
{
    sp_reply reply = {0};
    sp_reply_fail(&reply, status, why, NULL);
    return send_reply(b, connection, &reply, policy);
}

static enum MHD_Result send_part(const bench *b, struct MHD_Connection *connection,
                                 const char *name)
{
    const char *type;
    size_t size;
    const char *text = sp_page_part(name, &type, &size);
    if (!text) return refuse(b, connection, 404, "the page has no such part");
    return send_bytes(b, connection, 200, type, policy, (void *)(size_t)text, size,
                      MHD_RESPMEM_PERSISTENT);
}

static enum MHD_Result answer(const bench *b, struct MHD_Connection *connection,
                              const arriving *came)
{
    sp_reply reply;
    if (came->request.kind == SP_REQUEST_PAGE) return send_part(b, connection, "index.html");
    if (came->request.kind == SP_REQUEST_PART) return send_part(b, connection, came->request.name);
    sp_reply_make(b->desk, &came->request, came->body ? came->body : "", came->size, &reply);
    return send_reply(b, connection, &reply,
                      came->request.kind == SP_REQUEST_REPORT ? report_policy : policy);
}

/* ---- a request arrives ----------------------------------------------- */

static int is_too_often(bench *b)
{
    const time_t now = time(NULL);
    pthread_mutex_lock(&b->lock);
    if (now != b->second) b->requests = 0;
    b->second = now;
    const int many = ++b->requests > RATE_MAX;
    pthread_mutex_unlock(&b->lock);
    return many;
}

static enum MHD_Result take_argument(void *user, enum MHD_ValueKind kind, const char *name,
                                     const char *value)
{
    sp_request_asked *asked = user;
    (void)kind;
    if (asked->argument_count < SP_REQUEST_ARGUMENTS) {
        asked->argument[asked->argument_count][0] = name;
        asked->argument[asked->argument_count++][1] = value;
    }
    return MHD_YES;
}

static arriving *begin(bench *b, struct MHD_Connection *connection, const char *method,
                       const char *path)
{
    const sp_http *http = &b->http;
    arriving *came = calloc(1, sizeof *came);
    char name[SP_REQUEST_TEXT];
    if (!came) return NULL;
    const char *given = http->lookup(connection, MHD_HEADER_KIND, "Bench-Name");
    snprintf(name, sizeof name, "%s", given ? given : "");
    http->unescape(name); /* a name of a file is percent-encoded in a header (RFC 3986) */
    sp_request_asked asked = {.method = method,
                              .path = path,
                              .host = http->lookup(connection, MHD_HEADER_KIND, "Host"),
                              .origin = http->lookup(connection, MHD_HEADER_KIND, "Origin"),
                              .token = http->lookup(connection, MHD_HEADER_KIND, "Bench-Token"),
                              .name = given ? name : NULL};
    http->each_value(connection, MHD_GET_ARGUMENT_KIND, take_argument, &asked);
    came->begun = time(NULL);
    came->refused = sp_request_read(&b->gate, &asked, &came->request, came->why, sizeof came->why);
    const char *length = http->lookup(connection, MHD_HEADER_KIND, "Content-Length");
    if (!came->refused && is_too_often(b)) {
        came->refused = 429;
        snprintf(came->why, sizeof came->why, "more than %d requests in a second", RATE_MAX);
    }
    if (!came->refused && length && strtoull(length, NULL, 10) > came->request.body) {
        came->refused = 413;
        snprintf(came->why, sizeof came->why, "received %.20s bytes; valid: at most %zu", length,
                 came->request.body);
    }
    return came;
}

/* Add a part of a body; 0: the body is larger than it may be, or there is no memory for it. */
static int keep_body(arriving *came, const char *bytes, size_t size)
{
    if (came->size + size > came->request.body) return 0;
    if (came->size + size + 1 > came->room) {
        const size_t room = 2 * (came->size + size) + 1024;
        char *larger = realloc(came->body, room);
        if (!larger) return 0;
        came->body = larger;
        came->room = room;
    }
    memcpy(came->body + came->size, bytes, size);
    came->size += size;
    came->body[came->size] = 0;
    return 1;
}

static enum MHD_Result on_request(void *user, struct MHD_Connection *connection, const char *path,
                                  const char *method, const char *version, const char *bytes,
                                  size_t *size, void **kept)
{
    bench *b = user;
    arriving *came = *kept;
    (void)version;
    if (!came) {
        *kept = came = begin(b, connection, method, path);
        if (!came) return MHD_NO;
        /* A refusal does not wait for a body that nobody reads. */
        return came->refused ? refuse(b, connection, came->refused, came->why) : MHD_YES;
    }
    if (came->refused) {
        *size = 0;
        return MHD_YES;
    }
    if (time(NULL) - came->begun > REQUEST_MAX) return MHD_NO;
    if (*size) {
        if (!keep_body(came, bytes, *size)) return MHD_NO;
        *size = 0;
        return MHD_YES;
    }
    return answer(b, connection, came);
}

static void on_end(void *user, struct MHD_Connection *connection, void **kept,
                   enum MHD_RequestTerminationCode code)
{
    arriving *came = *kept;
    (void)user, (void)connection, (void)code;
    if (came) free(came->body);
    free(came);
    *kept = NULL;
}

/* ---- the bench ----------------------------------------------- */

static sp_status make_token(sp_context *context, char token[SP_REQUEST_TOKEN])
{
    unsigned char random[(SP_REQUEST_TOKEN - 1) / 2];
    if (getrandom(random, sizeof random, 0) != (ssize_t)sizeof random)
        return sp_fail(context, SP_INTERNAL, "the system gives no random numbers for a token");
    for (size_t i = 0; i < sizeof random; i++) snprintf(token + 2 * i, 3, "%02x", random[i]);
    return SP_OK;
}

static sp_status serve(sp_context *context, const sp_bench_options *options, bench *b)
{
    struct sockaddr_in place = {.sin_family = AF_INET, .sin_port = htons((uint16_t)options->port)};
    char link[96];
    place.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    struct MHD_Daemon *daemon = b->http.start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_EPOLL, 0, NULL, NULL, on_request, b,
        MHD_OPTION_SOCK_ADDR, &place, MHD_OPTION_NOTIFY_COMPLETED, on_end, NULL,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MAX, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)SILENCE_MAX, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)MEMORY_MAX,
        MHD_OPTION_THREAD_POOL_SIZE, (unsigned)POOL, MHD_OPTION_END);
    if (!daemon)
        return sp_fail(context, SP_BAD_USAGE,
                       "port %d of this machine cannot be used; valid: one that is free, or none "
                       "given",
                       options->port);
    const union MHD_DaemonInfo *info = b->http.get_daemon_info(daemon, MHD_DAEMON_INFO_BIND_PORT);
    b->gate.port = info ? info->port : options->port;
    snprintf(link, sizeof link, "http://127.0.0.1:%d/?token=%s", b->gate.port, b->gate.token);
    if (options->ready) options->ready(options->user, link);
    while (!sp_interrupted(context)) {
        const struct timespec pause = {.tv_nsec = 100000000};
        nanosleep(&pause, NULL);
        sp_desk_watch_looks(b->desk);
    }
    sp_desk_watch_looks(b->desk);
    b->http.stop_daemon(daemon);
    return SP_OK;
}

sp_status sp_bench_serve(sp_context *context, const sp_bench_options *options)
{
    bench b = {.desk = NULL};
    sp_status status = sp_http_open(context, &b.http);
    if (status == SP_OK) status = make_token(context, b.gate.token);
    if (status == SP_OK) status = sp_desk_open(context, options->folder, options->threads, &b.desk);
    pthread_mutex_init(&b.lock, NULL);
    if (status == SP_OK) status = serve(context, options, &b);
    sp_desk_close(b.desk);
    pthread_mutex_destroy(&b.lock);
    sp_http_close(&b.http);
    return status;
}
