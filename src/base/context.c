/* The failure line and the caution lines of a context. */
#include <strutpress/context.h>

#include <stdarg.h>
#include <stdio.h>

/* One line, whatever the input was: control characters would let a file name forge terminal output. */
static void make_printable(char *text)
{
    for (; *text; text++) {
        const unsigned char c = (unsigned char)*text;
        if (c < 32 || c == 127) *text = '?';
    }
}

static void format_line(char *line, size_t size, const char *format, va_list arguments)
{
    const int length = vsnprintf(line, size, format, arguments);
    if (length < 0) line[0] = '\0';
    make_printable(line);
    if (length >= (int)size) snprintf(line + size - 4, 4, "...");
}

sp_status sp_fail(sp_context *context, sp_status status, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    /* through a second buffer: an argument may be the old message itself */
    char line[SP_MESSAGE_SIZE];
    format_line(line, sizeof line, format, arguments);
    va_end(arguments);
    snprintf(context->message, sizeof context->message, "%s", line);
    return status;
}

void sp_warn(sp_context *context, const char *format, ...)
{
    if (!context->warn) return;
    char line[SP_MESSAGE_SIZE];
    va_list arguments;
    va_start(arguments, format);
    format_line(line, sizeof line, format, arguments);
    va_end(arguments);
    context->warn(context->user, line);
}

const char *sp_version(void)
{
    return SP_VERSION;
}
