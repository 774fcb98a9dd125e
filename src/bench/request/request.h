/* What a request to the bench asks for: read and judged before anything is done for it. The reader
 * knows no socket, so that it can be given any bytes (tests/fuzz/fuzz_request.c). */
#ifndef SP_REQUEST_REQUEST_H
#define SP_REQUEST_REQUEST_H

#include <stddef.h>

enum {
    SP_REQUEST_ARGUMENTS = 8,
    SP_REQUEST_NAME = 64,   /* of a file in the folder, with its 0 */
    SP_REQUEST_TEXT = 1024, /* of an argument, with its 0 */
    SP_REQUEST_TOKEN = 33,  /* 128 random bits in hexadecimal digits, with their 0 */
    SP_REQUEST_BODY = 256 * 1024,
    SP_REQUEST_FILE = 4 * 1024 * 1024, /* the body that is a curve of a rig */
};

/* What a bench answers. */
typedef enum sp_request_kind {
    SP_REQUEST_PAGE,        /* GET /?token= */
    SP_REQUEST_PART,        /* GET /page/NAME: name */
    SP_REQUEST_ROWS,        /* GET /api/rows */
    SP_REQUEST_LOOK,        /* POST /api/look */
    SP_REQUEST_PRESS,       /* POST /api/presses */
    SP_REQUEST_PRESSES,     /* GET /api/presses */
    SP_REQUEST_PRESS_FROM,  /* GET /api/presses/ID?from=: id, from */
    SP_REQUEST_PRESS_STOP,  /* POST /api/presses/ID/stop: id */
    SP_REQUEST_PRESS_AGAIN, /* POST /api/presses/ID/again: id */
    SP_REQUEST_SHELF,       /* GET /api/shelf?figures=&curves=&known=: text, from, name */
    SP_REQUEST_COUPON,      /* GET /api/shelf/KEY: key */
    SP_REQUEST_STATE,       /* GET /api/shelf/KEY/states?strain= or force=: key, number, by_force */
    SP_REQUEST_MESH,        /* GET /api/shelf/KEY/mesh?format=: key, name */
    SP_REQUEST_RIG,         /* POST /api/rig: name */
    SP_REQUEST_SEEK,        /* POST /api/seeks */
    SP_REQUEST_SEEK_NOW,    /* GET /api/seeks/ID: id */
    SP_REQUEST_SEEK_STOP,   /* POST /api/seeks/ID/stop: id */
    SP_REQUEST_SAVE,        /* POST /api/files */
    SP_REQUEST_FILES,       /* GET /api/files */
    SP_REQUEST_FILE_TEXT,   /* GET /api/files/NAME?as=: name, text */
    SP_REQUEST_REPORT       /* GET /api/report */
} sp_request_kind;

/* What is asked of every request to one bench: its names and its token. */
typedef struct sp_request_gate {
    int port;
    char token[SP_REQUEST_TOKEN];
} sp_request_gate;

/* This is a request as it came: texts after percent-decoding, NULL where nothing was sent. */
typedef struct sp_request_asked {
    const char *method, *path;
    const char *host, *origin, *token, *name; /* headers Host, Origin, Bench-Token, Bench-Name */
    int argument_count;
    const char *argument[SP_REQUEST_ARGUMENTS][2]; /* name and value behind the ? */
} sp_request_asked;

typedef struct sp_request {
    sp_request_kind kind;
    long id, from;
    char key[SP_REQUEST_TOKEN]; /* of a coupon in a store */
    char name[SP_REQUEST_NAME];
    char text[SP_REQUEST_TEXT];
    double number;
    int by_force;
    size_t body; /* the most bytes that its body may have */
} sp_request;

/* Read a request and judge it. Returns 0, or the HTTP status of a refusal, with its line in `why`:
 * 403 for a wrong Host, Origin or token, 404 for an unknown place, 405 for a known place with
 * another method, 400 for an argument that is invalid. */
int sp_request_read(const sp_request_gate *gate, const sp_request_asked *asked, sp_request *request,
                    char *why, size_t size);

/* Return 1 for a name of a file that may stand in the folder: letters, digits, and - _ . between
 * them, no point at the start. */
int sp_request_name_is_plain(const char *name);

#endif
