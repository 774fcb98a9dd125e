/* The failure line and the caution lines of a context. */
#include <strutpress/context.h>

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* One printable line, whatever the input was: control characters would let a file name forge
 * terminal output. */
static void format_line(char line[SP_MESSAGE_SIZE], const char *format, va_list arguments)
{
    /* The buffers are local, because an argument may be the old message itself; `clean` has room
     * for every escape. */
    char raw[SP_MESSAGE_SIZE + 4], clean[4 * SP_MESSAGE_SIZE + 20];
    if (vsnprintf(raw, sizeof raw, format, arguments) < 0) raw[0] = '\0';
    sp_printable(raw, clean, sizeof clean);
    if (strlen(clean) < SP_MESSAGE_SIZE) {
        strcpy(line, clean);
        return;
    }
    size_t end = SP_MESSAGE_SIZE - 4;
    while ((clean[end] & 0xc0) == 0x80) end--; /* such a byte is inside a character */
    memcpy(line, clean, end);
    memcpy(line + end, "...", 4);
}

sp_status sp_fail(sp_context *context, sp_status status, const char *format, ...)
{
    if (!context) return status;
    va_list arguments;
    va_start(arguments, format);
    format_line(context->message, format, arguments);
    va_end(arguments);
    return status;
}

/* Format one line and hand it to the listener, if there is one. */
static void send_line(void (*listener)(void *user, const char *line), void *user,
                      const char *format, va_list arguments)
{
    char line[SP_MESSAGE_SIZE];
    if (!listener) return;
    format_line(line, format, arguments);
    listener(user, line);
}

void sp_warn(sp_context *context, const char *format, ...)
{
    if (!context) return;
    va_list arguments;
    va_start(arguments, format);
    send_line(context->warn, context->user, format, arguments);
    va_end(arguments);
}

void sp_say(sp_context *context, const char *format, ...)
{
    if (!context) return;
    va_list arguments;
    va_start(arguments, format);
    send_line(context->say, context->user, format, arguments);
    va_end(arguments);
}

void sp_begin(sp_context *context, const char *text)
{
    if (context && context->progress) context->progress(context->user, 0, text);
}
