/* libmicrohttpd, opened when it is needed; see library.h. */
#include "server/library.h"

#include <dlfcn.h>
#include <string.h>

static const char file[] = "libmicrohttpd.so.12";

/* Copy the pointer through memcpy, since ISO C does not convert between pointers to data and to
 * functions. */
static int take(const sp_http *http, const char *name, void *to, size_t size)
{
    void *found = dlsym(http->handle, name);
    if (found) memcpy(to, &found, size);
    return found != NULL;
}

#define TAKE(member, name) take(http, name, &http->member, sizeof http->member)

sp_status sp_http_open(sp_context *context, sp_http *http)
{
    memset(http, 0, sizeof *http);
    http->handle = dlopen(file, RTLD_NOW | RTLD_LOCAL);
    if (!http->handle)
        return sp_fail(context, SP_NO_READ,
                       "%s cannot be opened; valid: GNU libmicrohttpd, on Debian 12 the package "
                       "libmicrohttpd12",
                       file);
    if (TAKE(start_daemon, "MHD_start_daemon") && TAKE(stop_daemon, "MHD_stop_daemon") &&
        TAKE(get_daemon_info, "MHD_get_daemon_info") &&
        TAKE(lookup, "MHD_lookup_connection_value") &&
        TAKE(each_value, "MHD_get_connection_values") && TAKE(unescape, "MHD_http_unescape") &&
        TAKE(create_response, "MHD_create_response_from_buffer") &&
        TAKE(add_header, "MHD_add_response_header") && TAKE(queue_response, "MHD_queue_response") &&
        TAKE(destroy_response, "MHD_destroy_response"))
        return SP_OK;
    sp_http_close(http);
    return sp_fail(context, SP_NO_READ, "%s lacks a function that the bench calls", file);
}

void sp_http_close(sp_http *http)
{
    if (http->handle) dlclose(http->handle);
    http->handle = NULL;
}
