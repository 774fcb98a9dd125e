/* Read Wavefront OBJ: v (points) and l (lines). Names, groups and materials are skipped; anything
 * with an area is refused. */
#include "drawing/read_parts.h"

#include <string.h>

static sp_status read_point(sp_reader *reader)
{
    double value[3];
    sp_status status = SP_OK;
    for (int k = 0; k < 3 && status == SP_OK; k++) {
        if (!sp_reader_word(reader) || reader->newline)
            return sp_reader_fail(reader, "three coordinates after v");
        status = sp_reader_number(reader, &value[k]);
    }
    if (status == SP_OK) status = sp_drawing_add_point(reader->context, reader->drawing, value);
    sp_reader_skip_line(reader); /* a weight or a colour may follow */
    return status;
}

/* Read "7", "-1" (the last point so far) or "7/3" (with a texture index, not used) as a point from
 * 0. */
static sp_status read_index(sp_reader *reader, long *point)
{
    char text[SP_WORD_SIZE];
    memcpy(text, reader->word, sizeof text);
    char *slash = strchr(text, '/');
    if (slash) *slash = 0;
    long count = reader->drawing->point_count;
    if (text[0] == '-') {
        sp_status status = sp_reader_integer(reader, text, -count, -1, point);
        *point += count;
        return status;
    }
    sp_status status = sp_reader_integer(reader, text, 1, count, point);
    *point -= 1;
    return status;
}

/* Read on to the first word of the next line. */
static sp_status read_polyline(sp_reader *reader)
{
    long last = 0, point = 0;
    int count = 0;
    while (sp_reader_word(reader) && !reader->newline) {
        sp_status status = read_index(reader, &point);
        if (status == SP_OK && count) status = sp_reader_add_line(reader, last, point);
        if (status != SP_OK) return status;
        last = point;
        count++;
    }
    return count < 2 ? sp_reader_fail(reader, "at least two points after l") : SP_OK;
}

static int is_passed_over(const char *word)
{
    static const char *const words[] = {"o", "g", "s", "vt", "vn", "vp", "mtllib", "usemtl"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(word, words[i]) == 0) return 1;
    return word[0] == '#';
}

sp_status sp_read_obj(sp_reader *reader)
{
    sp_status status = SP_OK;
    int more = sp_reader_word(reader);
    while (status == SP_OK && more) {
        if (strcmp(reader->word, "l") == 0) {
            status = read_polyline(reader);
            more = reader->word[0] != 0;
            continue;
        }
        if (strcmp(reader->word, "v") == 0)
            status = read_point(reader);
        else if (is_passed_over(reader->word))
            sp_reader_skip_line(reader);
        else
            status = sp_reader_fail(reader, "v or l (points and lines only)");
        if (status == SP_OK) more = sp_reader_word(reader);
    }
    return status;
}
