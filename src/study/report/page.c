/* Write the page: page.html with the named parts and the data put in; it is complete under a
 * temporary name first. */
#include "report/report_parts.h"

#include <string.h>

#include "write/file_set.h"
#include "write/text.h"

enum { DIGITS = 9 }; /* as in curve.csv */

/* '<' occurs in texts only, where \u003c means the same and cannot end the script element around
 * it. */
static int put_data(const char *text, size_t size, void *user)
{
    FILE *stream = user;
    for (size_t i = 0; i < size; i++)
        if (text[i] == '<')
            fputs("\\u003c", stream);
        else
            fputc(text[i], stream);
    return 0;
}

static sp_status put_page(sp_context *context, const json_t *data, FILE *stream, size_t *size)
{
    int refused = 0;
    for (const char *at = sp_report_part("page.html", strlen("page.html")); *at; at++) {
        const char *end = *at == '@' ? strchr(at + 1, '@') : NULL;
        const size_t length = end ? (size_t)(end - at - 1) : 0;
        const char *part = end ? sp_report_part(at + 1, length) : NULL;
        const int is_data = end && length == 4 && !strncmp(at + 1, "data", 4);
        if (is_data)
            refused |=
                json_dump_callback(data, put_data, stream,
                                   JSON_COMPACT | JSON_REAL_PRECISION(DIGITS) | JSON_SORT_KEYS);
        else if (part)
            fputs(part, stream);
        else
            fputc(*at, stream);
        if (is_data || part) at = end;
    }
    const long end = ftell(stream);
    *size = end > 0 ? (size_t)end : 0;
    sp_status status = sp_stream_end(context, stream);
    if (status == SP_OK && refused) return sp_fail(context, SP_NO_MEMORY, "no memory for the page");
    return status;
}

/* Make the name of the page with .svg in place of its ending. */
static sp_status name_picture(sp_context *context, const char *page, char name[SP_SET_NAME_SIZE])
{
    const char *dot = strrchr(page, '.');
    const int length = dot && dot > page ? (int)(dot - page) : (int)strlen(page);
    if (length + 5 > SP_SET_NAME_SIZE || (dot && !strcmp(dot, ".svg")))
        return sp_fail(context, SP_BAD_USAGE,
                       "%s: received a name that leaves none for the picture beside the page; "
                       "valid: one that ends in .html",
                       page);
    snprintf(name, SP_SET_NAME_SIZE, "%.*s.svg", length, page);
    return SP_OK;
}

/* Write one file as a whole: the page (data), or the picture (data NULL). */
static sp_status write_one(report *r, const json_t *data, const char *folder, const char *name,
                           size_t *size)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(r->context, &set, folder, NULL, 1);
    if (status != SP_OK) return status;
    status = sp_file_set_open(r->context, &set, name);
    if (status == SP_OK)
        status =
            data ? put_page(r->context, data, set.stream, size) : sp_report_beside(r, set.stream);
    return sp_file_set_end(r->context, &set, status);
}

sp_status sp_report_write(report *r, const json_t *data, const char *file, size_t *size)
{
    const int has_picture = r->options->beside_strain > 0 || r->options->beside_force > 0;
    char folder[SP_FILE_SIZE], picture[SP_SET_NAME_SIZE];
    const char *slash = strrchr(file, '/'), *name = slash ? slash + 1 : file;
    if (!name[0] || strlen(name) >= SP_SET_NAME_SIZE || strlen(file) >= sizeof folder)
        return sp_fail(r->context, SP_NO_WRITE, "%s: received a name of %zu bytes; valid: 1 .. %d",
                       file, strlen(name), SP_SET_NAME_SIZE - 1);
    sp_status status = has_picture ? name_picture(r->context, name, picture) : SP_OK;
    snprintf(folder, sizeof folder, "%.*s", slash ? (int)(slash - file) : 1, slash ? file : ".");
    if (!folder[0]) snprintf(folder, sizeof folder, "/");
    if (status == SP_OK) status = write_one(r, data, folder, name, size);
    if (status == SP_OK && has_picture) status = write_one(r, NULL, folder, picture, NULL);
    return status;
}
