/* This target runs the requests to a bench: without the token only the source text of the page is
 * answered; an accepted request holds plain names, keys and finite numbers; every refusal is one
 * line. The input is lines: method, path, Host, Origin, token, name, then names and values of
 * arguments. A line of T stands for the right token, one of H for the right Host. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "request/request.h"

enum { LINES = 6 + 2 * SP_REQUEST_ARGUMENTS, LINE_SIZE = 2048 };

static const char token[] = "00112233445566778899aabbccddeeff", host[] = "127.0.0.1:8080";

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static char room[LINES][LINE_SIZE];
    const char *line[LINES] = {0};
    const sp_request_gate gate = {8080, "00112233445566778899aabbccddeeff"};
    int count = 0;
    for (size_t at = 0; at < size && count < LINES; count++) {
        size_t used = 0;
        for (; at < size && data[at] != '\n'; at++)
            if (used + 1 < LINE_SIZE) room[count][used++] = (char)data[at];
        at++;
        room[count][used] = 0;
        line[count] = !strcmp(room[count], "T")   ? token
                      : !strcmp(room[count], "H") ? host
                      : used                      ? room[count]
                                                  : NULL;
    }
    sp_request_asked asked = {.method = line[0] ? line[0] : "GET",
                              .path = line[1] ? line[1] : "/",
                              .host = line[2],
                              .origin = line[3],
                              .token = line[4],
                              .name = line[5]};
    int has_token = asked.token && !strcmp(asked.token, token);
    for (int i = 6; i + 1 < LINES && line[i]; i += 2, asked.argument_count++) {
        asked.argument[asked.argument_count][0] = line[i];
        asked.argument[asked.argument_count][1] = line[i + 1];
        if (!strcmp(line[i], "token") && line[i + 1] && !strcmp(line[i + 1], token)) has_token = 1;
    }
    sp_request request;
    char why[256];
    const int status = sp_request_read(&gate, &asked, &request, why, sizeof why);
    require(status == 0 || status == 400 || status == 403 || status == 404 || status == 405);
    require((status == 0) == (why[0] == 0));
    require(!strchr(why, '\n'));
    if (status != 0) return 0;
    require(asked.host && (!strcmp(asked.host, host) || !strcmp(asked.host, "localhost:8080")));
    require(has_token || request.kind == SP_REQUEST_PART);
    require(isfinite(request.number) && request.id >= 0 && request.from >= 0);
    require(!request.name[0] || sp_request_name_is_plain(request.name));
    require(!strchr(request.name, '/') &&
            strspn(request.key, "0123456789abcdef") == strlen(request.key));
    return 0;
}
