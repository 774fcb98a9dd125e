/* Legacy VTK, ASCII: POINTS with LINES of a POLYDATA, or with CELLS of an UNSTRUCTURED_GRID (types 3 and 4). Cells are
 * read in both spellings: count and indices in one list (up to version 4), or OFFSETS and CONNECTIVITY (version 5). */
#include "pattern/read_parts.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/alloc.h"

#define COUNT_MAX 20000000L
enum { VTK_LINE = 3, VTK_POLY_LINE = 4 };

static int is(const sp_reader *reader, const char *word)
{
    return strcasecmp(reader->word, word) == 0;
}

static sp_status expect(sp_reader *reader, const char *word, const char *valid)
{
    sp_reader_word(reader);
    return is(reader, word) ? SP_OK : sp_reader_fail(reader, valid);
}

static sp_status next_integer(sp_reader *reader, long low, long high, long *value)
{
    sp_reader_word(reader);
    return sp_reader_integer(reader, reader->word, low, high, value);
}

/* Version line, title line, ASCII, DATASET; the next word is the kind of the set. */
static sp_status read_head(sp_reader *reader)
{
    static const char *const head[] = {"#", "vtk", "DataFile", "Version"};
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < 4; i++)
        status = expect(reader, head[i], "'# vtk DataFile Version 3.0' as the first line");
    if (status != SP_OK) return status;
    sp_reader_skip_line(reader);
    if (reader->at < reader->end) reader->at++, reader->line++;
    sp_reader_skip_line(reader); /* the title */
    status = expect(reader, "ASCII", "ASCII (binary files are not read)");
    if (status == SP_OK) status = expect(reader, "DATASET", "DATASET");
    if (status != SP_OK) return status;
    sp_reader_word(reader);
    if (is(reader, "POLYDATA") || is(reader, "UNSTRUCTURED_GRID")) return SP_OK;
    return sp_reader_fail(reader, "POLYDATA or UNSTRUCTURED_GRID");
}

static sp_status read_points(sp_reader *reader)
{
    long count;
    sp_status status = next_integer(reader, 2, COUNT_MAX, &count);
    if (status != SP_OK) return status;
    sp_reader_word(reader);
    if (!is(reader, "float") && !is(reader, "double") && !is(reader, "int"))
        return sp_reader_fail(reader, "float, double or int");
    for (long i = 0; status == SP_OK && i < count; i++) {
        double value[3] = {0};
        for (int k = 0; status == SP_OK && k < 3; k++) {
            sp_reader_word(reader);
            status = sp_reader_number(reader, &value[k]);
        }
        if (status == SP_OK) status = sp_reader_add_point(reader, value[0], value[1], value[2]);
    }
    return status;
}

/* Cells up to version 4: "n i0 .. in-1" each. The first count is already read into reader->word. */
static sp_status read_counted(sp_reader *reader, long cells, long size, sp_pieces *pieces)
{
    sp_status status = SP_OK;
    for (long c = 0; status == SP_OK && c < cells; c++) {
        long n, from = 0, to;
        if (c) sp_reader_word(reader);
        status = sp_reader_integer(reader, reader->word, 2, size - 1, &n);
        size -= n + 1;
        for (long k = 0; status == SP_OK && k < n; k++) {
            status = next_integer(reader, 0, reader->point_count - 1L, &to);
            if (status == SP_OK && k) status = sp_reader_add_line(reader, from, to, pieces);
            from = to;
        }
    }
    return status;
}

/* Cells of version 5: offsets of each cell into one list of points. The word OFFSETS is already read. */
static sp_status read_offsets(sp_reader *reader, long offsets, long size, sp_pieces *pieces)
{
    /* no more offsets than the text has room for, so that a large number costs nothing */
    if (offsets > reader->end - reader->at)
        return sp_reader_fail(reader, "as many offsets as the file holds");
    long *offset = sp_alloc((size_t)offsets, sizeof *offset);
    if (!offset) return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %ld cells", offsets);
    sp_reader_word(reader); /* vtktypeint64 */
    sp_status status = next_integer(reader, 0, 0, &offset[0]);
    for (long c = 1; status == SP_OK && c < offsets; c++)
        status = next_integer(reader, offset[c - 1] + 2, size, &offset[c]);
    if (status == SP_OK) status = expect(reader, "CONNECTIVITY", "CONNECTIVITY");
    if (status == SP_OK) sp_reader_word(reader);
    for (long c = 1; status == SP_OK && c < offsets; c++) {
        long from = 0, to;
        for (long k = offset[c - 1]; status == SP_OK && k < offset[c]; k++) {
            status = next_integer(reader, 0, reader->point_count - 1L, &to);
            if (status == SP_OK && k > offset[c - 1])
                status = sp_reader_add_line(reader, from, to, pieces);
            from = to;
        }
    }
    sp_free(offset);
    return status;
}

static sp_status read_cells(sp_reader *reader, sp_pieces *pieces)
{
    long cells, size;
    sp_status status = next_integer(reader, 1, COUNT_MAX, &cells);
    if (status == SP_OK) status = next_integer(reader, 2, COUNT_MAX, &size);
    if (status != SP_OK) return status;
    sp_reader_word(reader);
    if (is(reader, "OFFSETS")) return read_offsets(reader, cells, size, pieces);
    return read_counted(reader, cells, size, pieces);
}

static sp_status read_types(sp_reader *reader)
{
    long count, type;
    sp_status status = next_integer(reader, 1, COUNT_MAX, &count);
    for (long i = 0; status == SP_OK && i < count; i++) {
        status = next_integer(reader, 0, 255, &type);
        if (status == SP_OK && type != VTK_LINE && type != VTK_POLY_LINE)
            status = sp_reader_fail(reader, "cell types 3 (line) and 4 (polyline)");
    }
    return status;
}

sp_status sp_read_vtk(sp_reader *reader, sp_pieces *pieces)
{
    sp_status status = read_head(reader);
    int grid = status == SP_OK && is(reader, "UNSTRUCTURED_GRID");
    while (status == SP_OK && sp_reader_word(reader)) {
        if (is(reader, "POINT_DATA") || is(reader, "CELL_DATA")) break; /* values: not used */
        if (is(reader, "METADATA")) {
            /* ends at an empty line; its words are none of ours, so pass over lines until a known one */
            while (sp_reader_word(reader))
                if (reader->newline &&
                    (is(reader, "LINES") || is(reader, "CELLS") || is(reader, "CELL_TYPES") ||
                     is(reader, "POINT_DATA") || is(reader, "CELL_DATA")))
                    break;
            if (!reader->word[0] || is(reader, "POINT_DATA") || is(reader, "CELL_DATA")) break;
        }
        if (is(reader, "POINTS"))
            status = reader->point_count ? sp_reader_fail(reader, "POINTS only once")
                                         : read_points(reader);
        else if (is(reader, grid ? "CELLS" : "LINES"))
            status = read_cells(reader, pieces);
        else if (grid && is(reader, "CELL_TYPES"))
            status = read_types(reader);
        else
            status = sp_reader_fail(reader, grid ? "POINTS, CELLS or CELL_TYPES (lines only)"
                                                 : "POINTS or LINES (lines only)");
    }
    return status;
}
