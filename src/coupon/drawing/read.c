/* Read line drawings: open the file, find its format, and do what the formats share. */
#include "drawing/read_parts.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/alloc.h"
#include "base/decimal.h"

static const long file_max = 64L << 20;    /* bytes */
static const double coordinate_most = 1e6; /* mm */
/* Equal lines are kept up to this number: cells that are drawn one by one share their edges, and
 * further copies add nothing. */
static const int equal_most = 8;
static const double diameter_least = 0.01; /* mm; the same bound as for a bead */
static const double diameter_most = 100.0;

int sp_is_coordinate(double value)
{
    return fabs(value) <= coordinate_most;
}

int sp_is_diameter(double value)
{
    return value >= diameter_least && value <= diameter_most;
}

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
    /* A longer word is no keyword and no number: cut it, and leave a mark that no parser accepts.
     */
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

/* Read the word as a number within bounds. NaN is outside all bounds. */
static sp_status number_in(sp_reader *reader, int (*is_valid)(double), const char *valid,
                           double *value)
{
    char *stop;
    if (!sp_decimal(reader->word, &stop, value) || *stop || !is_valid(*value))
        return sp_reader_fail(reader, valid);
    return SP_OK;
}

sp_status sp_reader_number(sp_reader *reader, double *value)
{
    return number_in(reader, sp_is_coordinate, SP_COORDINATE_VALID, value);
}

sp_status sp_reader_diameter(sp_reader *reader, double *value)
{
    return number_in(reader, sp_is_diameter, SP_DIAMETER_VALID, value);
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

sp_status sp_reader_add_line(sp_reader *reader, long from, long to)
{
    return sp_drawing_add_line(reader->context, reader->drawing, (int)from, (int)to, NAN);
}

static int has_extension(const char *name, const char *extension)
{
    const char *dot = strrchr(name, '.');
    return dot && strcasecmp(dot, extension) == 0;
}

static sp_status parse_text(sp_reader *reader, size_t size)
{
    static const char head[] = "# vtk DataFile Version";
    sp_status status;
    if (has_extension(reader->name, ".stl")) {
        snprintf(reader->word, sizeof reader->word, "a surface of triangles");
        return sp_reader_fail(reader,
                              "lines (VTK, OBJ or 3MF); `strutpress check` reads triangles");
    }
    if (memchr(reader->at, 0, size)) {
        snprintf(reader->word, sizeof reader->word, "binary data");
        return sp_reader_fail(reader, "text (legacy VTK, ASCII, or OBJ) or a 3MF archive");
    }
    int is_vtk = size >= sizeof head - 1 && memcmp(reader->at, head, sizeof head - 1) == 0;
    if (is_vtk || has_extension(reader->name, ".vtk"))
        status = sp_read_vtk(reader);
    else if (has_extension(reader->name, ".obj"))
        status = sp_read_obj(reader);
    else {
        sp_reader_word(reader);
        return sp_reader_fail(reader, "a file that starts with '# vtk DataFile Version' or is "
                                      "named .vtk, .obj or .3mf");
    }
    if (status == SP_OK && reader->drawing->line_count == 0) {
        reader->word[0] = 0;
        status = sp_reader_fail(reader, "at least one line before it");
    }
    return status;
}

sp_status sp_drawing_parse(sp_context *context, const char *name, const char *bytes, size_t size,
                           sp_drawing *drawing)
{
    sp_status status;
    *drawing = (sp_drawing){0};
    if (has_extension(name, ".3mf") || (size >= 4 && memcmp(bytes, "PK\3\4", 4) == 0))
        status = sp_read_3mf(context, name, bytes, size, drawing);
    else {
        sp_reader reader = {.context = context,
                            .name = name,
                            .at = bytes,
                            .end = bytes + size,
                            .line = 1,
                            .drawing = drawing};
        status = parse_text(&reader, size);
        sp_free(reader.cell_end);
        drawing->is_spatial = !sp_drawing_is_flat(drawing);
    }
    if (status == SP_OK) status = sp_drawing_drop_equal(context, drawing, equal_most);
    if (status != SP_OK) sp_drawing_free(drawing);
    return status;
}

static void keep_hash(const char *bytes, size_t size, sp_drawing *drawing)
{
    sp_hash hash = sp_hash_begin();
    sp_hash_add(&hash, bytes, size);
    sp_hash_text(&hash, drawing->file_hash);
    drawing->file_size = size;
}

sp_status sp_read_bytes(sp_context *context, const char *file, char **bytes, size_t *size)
{
    char *text = NULL;
    sp_status status = SP_OK;
    size_t capacity = 0;
    FILE *stream = fopen(file, "rb");
    *bytes = NULL;
    *size = 0;
    if (!stream)
        return sp_fail(context, SP_NO_READ, "%.300s: cannot be opened: %s", file, strerror(errno));
    for (;;) {
        if (*size + 1 >= capacity) {
            capacity = capacity ? 2 * capacity : 65536;
            char *more = sp_resize(text, capacity, 1);
            if (!more) {
                status = sp_fail(context, SP_NO_MEMORY, "no memory for %zu bytes", capacity);
                break;
            }
            text = more;
        }
        size_t got = fread(text + *size, 1, capacity - *size - 1, stream);
        if (got == 0) break;
        *size += got;
        if (*size > (size_t)file_max) {
            status = sp_fail(context, SP_BAD_NETWORK,
                             "%.300s: received more than %ld MB; valid: at most that many", file,
                             file_max >> 20);
            break;
        }
    }
    if (status == SP_OK && ferror(stream))
        status = sp_fail(context, SP_NO_READ, "%.300s: cannot be read: %s", file, strerror(errno));
    fclose(stream);
    if (status == SP_OK) {
        text[*size] = 0;
        *bytes = text;
    } else
        sp_free(text);
    return status;
}

sp_status sp_drawing_read(sp_context *context, const char *file, sp_drawing *drawing)
{
    char *text;
    size_t size;
    *drawing = (sp_drawing){0};
    sp_status status = sp_read_bytes(context, file, &text, &size);
    if (status == SP_OK) status = sp_drawing_parse(context, file, text, size, drawing);
    if (status == SP_OK) keep_hash(text, size, drawing);
    sp_free(text);
    return status;
}
