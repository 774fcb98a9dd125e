/* The few functions of libmicrohttpd that the server calls. The library is opened when a bench is,
 * not when the program is loaded: it brings a large family of others, whose address space no other
 * command needs. */
#ifndef SP_SERVER_LIBRARY_H
#define SP_SERVER_LIBRARY_H

#include <microhttpd.h>

#include <strutpress/context.h>

typedef struct sp_http {
    void *handle;
    __typeof__(MHD_start_daemon) *start_daemon;
    __typeof__(MHD_stop_daemon) *stop_daemon;
    __typeof__(MHD_get_daemon_info) *get_daemon_info;
    __typeof__(MHD_lookup_connection_value) *lookup;
    __typeof__(MHD_get_connection_values) *each_value;
    __typeof__(MHD_http_unescape) *unescape;
    __typeof__(MHD_create_response_from_buffer) *create_response;
    __typeof__(MHD_add_response_header) *add_header;
    __typeof__(MHD_queue_response) *queue_response;
    __typeof__(MHD_destroy_response) *destroy_response;
} sp_http;

/* Open the library. Errors: SP_NO_READ (not installed, or another version). */
sp_status sp_http_open(sp_context *context, sp_http *http);
void sp_http_close(sp_http *http);

#endif
