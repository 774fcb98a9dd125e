/* Write text and numbers on a stream; see text.h. */
#include "write/text.h"

#include <errno.h>
#include <locale.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

static const char cut[] = "..."; /* the end of a text that does not fit */

/* The C locale as an object: glibc keeps it for good, so that taking it is cheap and cannot fail
 * for lack of memory. */
static locale_t enter_c_locale(locale_t *mine)
{
    *mine = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    return *mine ? uselocale(*mine) : (locale_t)0;
}

static void leave_c_locale(locale_t mine, locale_t before)
{
    if (!mine) return;
    uselocale(before);
    freelocale(mine);
}

void sp_print(FILE *stream, const char *format, ...)
{
    locale_t mine, before = enter_c_locale(&mine);
    va_list arguments;
    va_start(arguments, format);
    vfprintf(stream, format, arguments);
    va_end(arguments);
    leave_c_locale(mine, before);
}

void sp_format(char *text, size_t size, const char *format, ...)
{
    locale_t mine, before = enter_c_locale(&mine);
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(text, size, format, arguments);
    if (length < 0) text[0] = '\0';
    if (length >= (int)size && size > sizeof cut) memcpy(text + size - sizeof cut, cut, sizeof cut);
    va_end(arguments);
    leave_c_locale(mine, before);
}

const char *sp_number(char text[SP_NUMBER_SIZE], double value, int digits)
{
    text[0] = '\0';
    if (isfinite(value))
        sp_format(text, SP_NUMBER_SIZE, "%.*g", digits, value == 0.0 ? 0.0 : value);
    return text;
}

double sp_finite(double value)
{
    return isfinite(value) ? value : 0.0;
}

void sp_csv_text(FILE *stream, const char *text)
{
    char clean[SP_MESSAGE_SIZE + 128];
    sp_printable(text, clean, sizeof clean);
    fputc('"', stream);
    if (clean[0] && strchr("=+-@", clean[0])) fputc('\'', stream);
    for (const char *sign = clean; *sign; sign++) {
        if (*sign == '"') fputc('"', stream);
        fputc(*sign, stream);
    }
    fputc('"', stream);
}

int sp_text_columns(const char *text)
{
    int columns = 0;
    for (; *text; text++) columns += ((unsigned char)*text & 0xc0) != 0x80;
    return columns;
}

sp_status sp_stream_end(sp_context *context, FILE *stream)
{
    int before = ferror(stream), cause = errno;
    if (fflush(stream) != 0)
        cause = errno;
    else if (!before)
        return SP_OK;
    return sp_fail(context, SP_NO_WRITE, "cannot write: %s",
                   cause ? strerror(cause) : "the stream refuses it");
}

void sp_name_in_words(const char *name, char *words, size_t size)
{
    snprintf(words, size, "%s", name);
    for (char *at = words; *at; at++)
        if (*at == '_') *at = ' ';
}
