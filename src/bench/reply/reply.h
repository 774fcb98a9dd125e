/* How a bench answers: JSON and failures, values of a form, struts as numbers. */
#ifndef SP_REPLY_REPLY_H
#define SP_REPLY_REPLY_H

#include <jansson.h>

#include "desk/desk.h"
#include "request/request.h"

typedef struct sp_reply {
    int status;       /* of HTTP */
    const char *type; /* of the body */
    char *body;       /* from malloc, owned */
    size_t size;
} sp_reply;

/* Answer {"error": {"message", "key"}}; key NULL or "": the failure is not about one value. */
void sp_reply_fail(sp_reply *reply, int status, const char *message, const char *key);

/* Answer with `json`, which is taken over; NULL, or `failed`, is a lack of memory. */
void sp_reply_json(sp_reply *reply, int status, json_t *json, int failed);
/* Answer with the failure line of a context, and the HTTP status that fits. */
void sp_reply_status(sp_reply *reply, const sp_context *context, sp_status status, const char *key);
/* Read the JSON object of a body; NULL: it was refused, and the reply says why. */
json_t *sp_reply_object(sp_reply *reply, const char *body, size_t size);

/* Answer with the bytes of a file, from sp_alloc, which are taken over. */
void sp_reply_file(sp_reply *reply, char *bytes, size_t size, const char *type);

/* ---- values.c: the values of a form ---- */

/* Read a case from {"KEY": "text", ...}, as from a case file of the folder. Files are plain names
 * that stand in the folder. `key` gets the one that was refused. Errors: SP_BAD_CASE. */
sp_status sp_values_case(sp_context *context, const sp_desk *desk, const json_t *values,
                         sp_case *request, char key[SP_NAME_SIZE]);
/* List the values that are no defaults, as a form takes them. */
json_t *sp_values_of_case(const sp_case *request, int *failed);
/* Find the key with which a failure line begins, "" for none. */
void sp_values_key_of(const char *message, char key[SP_NAME_SIZE]);
/* Return 1 for a line of text that may stand behind a key in a file: letters, digits and the marks
 * of numbers, units, lists and protocols. */
int sp_values_is_plain(const char *text);

/* ---- lines.c: struts as numbers ---- */

/* Answer "lines": x, y, z of both ends and thickness of every piece [mm]; "size_mm", "kind". */
void sp_lines_of_network(json_t *to, const sp_network *network, int *failed);
/* Answer the same for a state, with "shortening_mm", "force_N", "strain", "step". */
json_t *sp_lines_of_shape(const sp_desk_shape *shape, int *failed);

#endif
