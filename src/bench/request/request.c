/* The requests that a bench knows, and who may ask; see request.h. */
#include "request/request.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PARTS_MAX = 5, WORD_SIZE = 128 };

/* One row per place: its method and its path, where ID is a number, KEY a coupon, NAME a file. */
typedef struct place {
    const char *method, *path;
    sp_request_kind kind;
    size_t body;
    int is_open; /* the answer needs no token: it is source text that anyone may read */
    int by_link; /* a link is followed without headers, so the token may stand in the address */
} place;

static const place places[] = {
    {"GET", "", SP_REQUEST_PAGE, 0, 0, 1},
    {"GET", "page/NAME", SP_REQUEST_PART, 0, 1, 0},
    {"GET", "api/rows", SP_REQUEST_ROWS, 0, 0, 0},
    {"POST", "api/look", SP_REQUEST_LOOK, SP_REQUEST_BODY, 0, 0},
    {"POST", "api/presses", SP_REQUEST_PRESS, SP_REQUEST_BODY, 0, 0},
    {"GET", "api/presses", SP_REQUEST_PRESSES, 0, 0, 0},
    {"GET", "api/presses/ID", SP_REQUEST_PRESS_FROM, 0, 0, 0},
    {"POST", "api/presses/ID/stop", SP_REQUEST_PRESS_STOP, SP_REQUEST_BODY, 0, 0},
    {"POST", "api/presses/ID/again", SP_REQUEST_PRESS_AGAIN, SP_REQUEST_BODY, 0, 0},
    {"GET", "api/shelf", SP_REQUEST_SHELF, 0, 0, 0},
    {"GET", "api/shelf/KEY", SP_REQUEST_COUPON, 0, 0, 0},
    {"GET", "api/shelf/KEY/states", SP_REQUEST_STATE, 0, 0, 0},
    {"GET", "api/shelf/KEY/mesh", SP_REQUEST_MESH, 0, 0, 1},
    {"POST", "api/rig", SP_REQUEST_RIG, SP_REQUEST_FILE, 0, 0},
    {"POST", "api/seeks", SP_REQUEST_SEEK, SP_REQUEST_BODY, 0, 0},
    {"GET", "api/seeks/ID", SP_REQUEST_SEEK_NOW, 0, 0, 0},
    {"POST", "api/seeks/ID/stop", SP_REQUEST_SEEK_STOP, SP_REQUEST_BODY, 0, 0},
    {"POST", "api/files", SP_REQUEST_SAVE, SP_REQUEST_BODY, 0, 0},
    {"GET", "api/files", SP_REQUEST_FILES, 0, 0, 0},
    {"GET", "api/files/NAME", SP_REQUEST_FILE_TEXT, 0, 0, 0},
    {"GET", "api/report", SP_REQUEST_REPORT, 0, 0, 1},
};
enum { PLACE_COUNT = sizeof places / sizeof *places };

int sp_request_name_is_plain(const char *name)
{
    static const char letters[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.";
    const size_t length = strlen(name);
    return length > 0 && length < SP_REQUEST_NAME && name[0] != '.' && name[0] != '-' &&
           strspn(name, letters) == length;
}

/* ---- words of a path ----------------------------------------------- */

typedef struct words {
    int count;
    char word[PARTS_MAX][WORD_SIZE];
} words;

/* Split a path into words; 0: there are more words, or longer ones, than any place has. */
static int split(const char *path, words *to)
{
    to->count = 0;
    while (*path == '/') path++;
    while (*path) {
        const size_t length = strcspn(path, "/");
        if (to->count == PARTS_MAX || length >= WORD_SIZE) return 0;
        snprintf(to->word[to->count++], WORD_SIZE, "%.*s", (int)length, path);
        path += length;
        if (*path == '/' && !*++path) return 0; /* the path ends in a slash */
    }
    return 1;
}

static int read_id(const char *text, long *id)
{
    char *end;
    if (strlen(text) > 9 || !strlen(text) || strspn(text, "0123456789") != strlen(text)) return 0;
    *id = strtol(text, &end, 10);
    return 1;
}

static int is_key(const char *text)
{
    return strlen(text) == SP_REQUEST_TOKEN - 1 &&
           strspn(text, "0123456789abcdef") == SP_REQUEST_TOKEN - 1;
}

static int take_word(const char *wanted, const char *word, sp_request *request)
{
    if (!strcmp(wanted, "ID")) return read_id(word, &request->id);
    if (!strcmp(wanted, "KEY")) {
        if (!is_key(word)) return 0;
        strcpy(request->key, word);
        return 1;
    }
    if (!strcmp(wanted, "NAME")) {
        if (!sp_request_name_is_plain(word)) return 0;
        strcpy(request->name, word);
        return 1;
    }
    return !strcmp(wanted, word);
}

static int path_fits(const char *path, const words *asked, sp_request *request)
{
    words wanted;
    if (!split(path, &wanted) || wanted.count != asked->count) return 0;
    for (int i = 0; i < wanted.count; i++)
        if (!take_word(wanted.word[i], asked->word[i], request)) return 0;
    return 1;
}

/* ---- who asks ----------------------------------------------- */

/* Compare two texts in a time that does not tell how many letters were right. */
static int is_same(const char *left, const char *right)
{
    const size_t length = strlen(right);
    unsigned difference = strlen(left) != length;
    for (size_t i = 0; i < length && left[i]; i++)
        difference |= (unsigned)(unsigned char)left[i] ^ (unsigned)(unsigned char)right[i];
    return !difference;
}

/* List the names of this machine that a browser may use; a name that a foreign server has pointed
 * to this machine is none of them. */
static int is_own_host(const sp_request_gate *gate, const char *host)
{
    char own[48];
    snprintf(own, sizeof own, "127.0.0.1:%d", gate->port);
    if (!strcmp(host, own)) return 1;
    snprintf(own, sizeof own, "localhost:%d", gate->port);
    return !strcmp(host, own);
}

static const char *argument_of(const sp_request_asked *asked, const char *name)
{
    for (int i = 0; i < asked->argument_count; i++)
        if (!strcmp(asked->argument[i][0], name))
            return asked->argument[i][1] ? asked->argument[i][1] : "";
    return NULL;
}

static int check_asker(const sp_request_gate *gate, const sp_request_asked *asked,
                       const place *known, char *why, size_t size)
{
    static const char scheme[] = "http://";
    const char *token = asked->token;
    if (!asked->host || !is_own_host(gate, asked->host)) {
        snprintf(why, size, "the bench answers at 127.0.0.1:%d only", gate->port);
        return 403;
    }
    if (asked->origin && (strncmp(asked->origin, scheme, strlen(scheme)) != 0 ||
                          !is_own_host(gate, asked->origin + strlen(scheme)))) {
        snprintf(why, size, "another page asked; valid: the page of this bench");
        return 403;
    }
    if (!token && known->by_link) token = argument_of(asked, "token");
    if (!known->is_open && (!token || !is_same(token, gate->token))) {
        snprintf(why, size, "the token is missing or wrong: open the link that the bench printed");
        return 403;
    }
    return 0;
}

/* ---- arguments ----------------------------------------------- */

static int refuse(char *why, size_t size, const char *name, const char *valid)
{
    snprintf(why, size, "%s: valid: %s", name, valid);
    return 400;
}

static int read_number(const char *text, double low, double high, double *number)
{
    char *end;
    *number = strtod(text, &end);
    return end != text && !*end && isfinite(*number) && *number >= low && *number <= high;
}

static int read_arguments(const sp_request_asked *asked, sp_request *request, char *why,
                          size_t size)
{
    const char *from = argument_of(asked, "from"), *figures = argument_of(asked, "figures");
    const char *strain = argument_of(asked, "strain"), *force = argument_of(asked, "force");
    const char *format = argument_of(asked, "format"), *as = argument_of(asked, "as");
    const char *curves = argument_of(asked, "curves"), *known = argument_of(asked, "known");
    switch (request->kind) {
    case SP_REQUEST_PRESS_FROM:
        if (from && !read_id(from, &request->from))
            return refuse(why, size, "from", "a number of a state");
        return 0;
    case SP_REQUEST_SHELF:
        if (curves && (!read_id(curves, &request->from) || request->from > 2000))
            return refuse(why, size, "curves", "points of a curve, 0 .. 2000");
        if (figures && strlen(figures) >= SP_REQUEST_TEXT)
            return refuse(why, size, "figures", "up to 1000 letters");
        if (known && strlen(known) >= SP_REQUEST_NAME)
            return refuse(why, size, "known", "the state of an answer before");
        snprintf(request->text, sizeof request->text, "%s", figures ? figures : "");
        snprintf(request->name, sizeof request->name, "%s", known ? known : "");
        return 0;
    case SP_REQUEST_STATE:
        request->by_force = force != NULL;
        if (!strain == !force || !read_number(force ? force : strain, force ? -1e9 : 0,
                                              force ? 1e9 : 1, &request->number))
            return refuse(why, size, "states", "strain=0 .. 1 or force= in N");
        return 0;
    case SP_REQUEST_MESH:
        if (!format || (strcmp(format, "3mf") != 0 && strcmp(format, "stl") != 0))
            return refuse(why, size, "format", "3mf, stl");
        strcpy(request->name, format);
        return 0;
    case SP_REQUEST_FILE_TEXT:
        if (as && strcmp(as, "values") != 0) return refuse(why, size, "as", "values");
        snprintf(request->text, sizeof request->text, "%s", as ? as : "");
        return 0;
    case SP_REQUEST_RIG:
        if (asked->name && strlen(asked->name) >= SP_REQUEST_TEXT)
            return refuse(why, size, "Bench-Name", "a shorter name");
        snprintf(request->text, sizeof request->text, "%s",
                 asked->name && asked->name[0] ? asked->name : "curve");
        return 0;
    default:
        return 0;
    }
}

int sp_request_read(const sp_request_gate *gate, const sp_request_asked *asked, sp_request *request,
                    char *why, size_t size)
{
    words path;
    const place *found = NULL;
    int other_method = 0;
    why[0] = 0;
    memset(request, 0, sizeof *request);
    const int readable = asked->path && split(asked->path, &path);
    for (int i = 0; i < PLACE_COUNT && readable && !found; i++) {
        sp_request tried = {.kind = places[i].kind, .body = places[i].body};
        if (!path_fits(places[i].path, &path, &tried)) continue;
        if (strcmp(places[i].method, asked->method) != 0) {
            other_method = 1;
            continue;
        }
        found = &places[i];
        *request = tried;
    }
    const place nowhere = {0};
    const int refused = check_asker(gate, asked, found ? found : &nowhere, why, size);
    if (refused) return refused;
    if (!found) {
        snprintf(why, size, "%s",
                 other_method ? "this place is asked by another method" : "there is no such place");
        return other_method ? 405 : 404;
    }
    return read_arguments(asked, request, why, size);
}
