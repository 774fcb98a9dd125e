/* Reading line drawings: the file, its format, and what both formats share. */
#include "pattern/read_parts.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/alloc.h"
#include "case/case_parts.h"

#define FILE_MAX (64L << 20)
#define COORDINATE_MAX 1e6 /* mm */
#define FLAT 1e-6          /* mm: how far z may vary */

int sp_reader_word(sp_reader *reader)
{
    reader->newline = 0;
    while (reader->at < reader->end && isspace((unsigned char)*reader->at)) {
        if (*reader->at == '\n') reader->line++, reader->newline = 1;
        reader->at++;
    }
    const char *from = reader->at;
    while (reader->at < reader->end && !isspace((unsigned char)*reader->at)) reader->at++;
    size_t length = (size_t)(reader->at - from), room = sizeof reader->word - 1;
    /* A longer word is no keyword and no number: cut it, and leave a mark that no parser accepts. */
    memcpy(reader->word, from, length < room ? length : room);
    reader->word[length < room ? length : room] = 0;
    if (length >= room) memcpy(reader->word + room - 3, "...", 3);
    return length > 0;
}

void sp_reader_skip_line(sp_reader *reader)
{
    while (reader->at < reader->end && *reader->at != '\n') reader->at++;
}

sp_status sp_reader_fail(const sp_reader *reader, const char *valid)
{
    size_t length = strlen(reader->name), room = 300;
    const char *tail = length > room ? reader->name + length - room : reader->name;
    if (!reader->word[0])
        return sp_fail(reader->context, SP_BAD_NETWORK,
                       "%s:%d: received the end of the file; valid: %s", tail, reader->line, valid);
    return sp_fail(reader->context, SP_BAD_NETWORK, "%s:%d: received '%s'; valid: %s", tail,
                   reader->line, reader->word, valid);
}

sp_status sp_reader_number(sp_reader *reader, double *value)
{
    char *stop;
    errno = 0;
    *value = strtod(reader->word, &stop);
    if (stop == reader->word || *stop || !(fabs(*value) <= COORDINATE_MAX))
        return sp_reader_fail(reader, "a coordinate in mm, -1e6 .. 1e6");
    return SP_OK;
}

sp_status sp_reader_integer(sp_reader *reader, const char *text, long low, long high, long *value)
{
    char valid[80], *stop;
    errno = 0;
    *value = strtol(text, &stop, 10);
    if (stop != text && !*stop && !errno && *value >= low && *value <= high) return SP_OK;
    snprintf(valid, sizeof valid, "a whole number, %ld .. %ld", low, high);
    return sp_reader_fail(reader, high < low ? "points before the lines that join them" : valid);
}

sp_status sp_reader_add_point(sp_reader *reader, double x, double y, double z)
{
    if (reader->point_count == 0) reader->level = z;
    if (fabs(z - reader->level) > FLAT)
        return sp_reader_fail(reader, "one z for all points (a drawing is flat)");
    if (reader->point_count == reader->point_capacity) {
        int capacity = reader->point_capacity ? 2 * reader->point_capacity : 256;
        double *point = sp_resize(reader->point, (size_t)capacity, 2 * sizeof *point);
        if (!point)
            return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %d points", capacity);
        reader->point = point;
        reader->point_capacity = capacity;
    }
    double *point = reader->point + 2 * (size_t)reader->point_count++;
    point[0] = x, point[1] = y;
    return SP_OK;
}

sp_status sp_reader_add_line(sp_reader *reader, long from, long to, sp_pieces *pieces)
{
    const double *a = reader->point + 2 * from, *b = reader->point + 2 * to;
    return sp_pieces_add(reader->context, pieces, a[0], a[1], b[0], b[1]);
}

static int has_extension(const char *name, const char *extension)
{
    const char *dot = strrchr(name, '.');
    return dot && strcasecmp(dot, extension) == 0;
}

sp_status sp_parse_lines(sp_context *context, const char *name, const char *text, size_t size,
                         sp_pieces *pieces)
{
    static const char head[] = "# vtk DataFile Version";
    sp_reader reader = {
        .context = context, .name = name, .at = text, .end = text + size, .line = 1};
    sp_status status;
    int lines = pieces->count;
    if (memchr(text, 0, size)) {
        snprintf(reader.word, sizeof reader.word, "binary data");
        return sp_reader_fail(&reader, "text (legacy VTK, ASCII, or OBJ)");
    }
    int is_vtk = size >= sizeof head - 1 && memcmp(text, head, sizeof head - 1) == 0;
    if (is_vtk || has_extension(name, ".vtk"))
        status = sp_read_vtk(&reader, pieces);
    else if (has_extension(name, ".obj"))
        status = sp_read_obj(&reader, pieces);
    else {
        sp_reader_word(&reader);
        status = sp_reader_fail(&reader, "a file that starts with '# vtk DataFile Version' or is "
                                         "named .vtk or .obj");
    }
    if (status == SP_OK && pieces->count == lines) {
        reader.word[0] = 0;
        status = sp_reader_fail(&reader, "at least one line before it");
    }
    sp_free(reader.point);
    return status;
}

sp_status sp_read_lines(sp_context *context, const char *file, sp_pieces *pieces)
{
    char *text = NULL;
    sp_status status = SP_OK;
    size_t size = 0, capacity = 0;
    FILE *stream = fopen(file, "rb");
    if (!stream)
        return sp_fail(context, SP_NO_READ, "%.300s: cannot be opened: %s", file, strerror(errno));
    for (;;) {
        if (size + 1 >= capacity) {
            capacity = capacity ? 2 * capacity : 65536;
            char *more = sp_resize(text, capacity, 1);
            if (!more) {
                status = sp_fail(context, SP_NO_MEMORY, "no memory for %zu bytes", capacity);
                goto done;
            }
            text = more;
        }
        size_t got = fread(text + size, 1, capacity - size - 1, stream);
        if (got == 0) break;
        size += got;
        if (size > (size_t)FILE_MAX) {
            status =
                sp_fail(context, SP_BAD_NETWORK, "%.300s: received over %ld MB; valid: up to that",
                        file, FILE_MAX >> 20);
            goto done;
        }
    }
    if (ferror(stream)) {
        status = sp_fail(context, SP_NO_READ, "%.300s: cannot be read: %s", file, strerror(errno));
        goto done;
    }
    text[size] = 0;
    status = sp_parse_lines(context, file, text, size, pieces);
done:
    fclose(stream);
    sp_free(text);
    return status;
}
