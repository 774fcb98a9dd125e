/* Legacy VTK, ASCII: POINTS with LINES of a POLYDATA, or with CELLS of an UNSTRUCTURED_GRID (types
 * 3 and 4). Cells are read in both spellings: count and indices in one list (up to version 4), or
 * OFFSETS and CONNECTIVITY (version 5).
 *
 * Of the values of a spatial drawing those named `diameter` are read, as SCALARS or as an array of
 * a FIELD; those of a point count half for each line that ends there. */
#include "drawing/read_parts.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/alloc.h"

static const long count_max = 20000000;
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

/* Read the version line, the title line, ASCII and DATASET; the next word is the kind of the set.
 */
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
    sp_status status = next_integer(reader, 2, count_max, &count);
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
        if (status == SP_OK) status = sp_drawing_add_point(reader->context, reader->drawing, value);
    }
    return status;
}

/* One more cell ends with the lines so far. */
static sp_status end_cell(sp_reader *reader)
{
    int *more =
        sp_grow(reader->cell_end, reader->cell_count, &reader->cell_capacity, 256, sizeof *more);
    if (!more)
        return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %d cells",
                       reader->cell_count + 1);
    reader->cell_end = more;
    reader->cell_end[reader->cell_count++] = reader->drawing->line_count;
    return SP_OK;
}

/* Read cells as up to version 4: "n i0 .. in-1" each. The first count is already in reader->word.
 */
static sp_status read_counted(sp_reader *reader, long cells, long size)
{
    sp_status status = SP_OK;
    for (long c = 0; status == SP_OK && c < cells; c++) {
        long n, from = 0, to;
        if (c) sp_reader_word(reader);
        status = sp_reader_integer(reader, reader->word, 2, size - 1, &n);
        if (status != SP_OK) return status;
        size -= n + 1;
        for (long k = 0; status == SP_OK && k < n; k++) {
            status = next_integer(reader, 0, reader->drawing->point_count - 1L, &to);
            if (status == SP_OK && k) status = sp_reader_add_line(reader, from, to);
            from = to;
        }
        if (status == SP_OK) status = end_cell(reader);
    }
    return status;
}

/* Read cells of version 5: offsets of each cell into one list of points. The word OFFSETS is
 * already read. */
static sp_status read_offsets(sp_reader *reader, long offsets, long size)
{
    /* There can be no more offsets than the text has room for, so that a large number costs
     * nothing. */
    if (offsets > reader->end - reader->at)
        return sp_reader_fail(reader, "as many offsets as the file holds");
    long *offset = sp_alloc((size_t)offsets, sizeof *offset);
    if (!offset) return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %ld cells", offsets);
    sp_reader_word(reader); /* the kind of number, vtktypeint64 */
    sp_status status = next_integer(reader, 0, 0, &offset[0]);
    for (long c = 1; status == SP_OK && c < offsets; c++)
        status = next_integer(reader, offset[c - 1] + 2, size, &offset[c]);
    if (status == SP_OK) status = expect(reader, "CONNECTIVITY", "CONNECTIVITY");
    if (status == SP_OK) sp_reader_word(reader);
    for (long c = 1; status == SP_OK && c < offsets; c++) {
        long from = 0, to;
        for (long k = offset[c - 1]; status == SP_OK && k < offset[c]; k++) {
            status = next_integer(reader, 0, reader->drawing->point_count - 1L, &to);
            if (status == SP_OK && k > offset[c - 1]) status = sp_reader_add_line(reader, from, to);
            from = to;
        }
        if (status == SP_OK) status = end_cell(reader);
    }
    sp_free(offset);
    return status;
}

static sp_status read_cells(sp_reader *reader)
{
    long cells, size;
    sp_status status = next_integer(reader, 1, count_max, &cells);
    if (status == SP_OK) status = next_integer(reader, 2, count_max, &size);
    if (status != SP_OK) return status;
    sp_reader_word(reader);
    if (is(reader, "OFFSETS")) return read_offsets(reader, cells, size);
    return read_counted(reader, cells, size);
}

static sp_status read_types(sp_reader *reader)
{
    long count, type;
    sp_status status = next_integer(reader, 1, count_max, &count);
    for (long i = 0; status == SP_OK && i < count; i++) {
        status = next_integer(reader, 0, 255, &type);
        if (status == SP_OK && type != VTK_LINE && type != VTK_POLY_LINE)
            status = sp_reader_fail(reader, "cell types 3 (line) and 4 (polyline)");
    }
    return status;
}

/* Read one diameter per point. */
static sp_status read_point_diameters(sp_reader *reader)
{
    sp_drawing *drawing = reader->drawing;
    sp_status status = SP_OK;
    double *value = sp_alloc((size_t)drawing->point_count, sizeof *value);
    if (!value)
        return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %d diameters",
                       drawing->point_count);
    for (int n = 0; status == SP_OK && n < drawing->point_count; n++) {
        sp_reader_word(reader);
        status = sp_reader_diameter(reader, &value[n]);
    }
    for (int i = 0; status == SP_OK && i < drawing->line_count; i++)
        drawing->line_diameter[i] =
            0.5 * (value[drawing->line_point[2 * i]] + value[drawing->line_point[2 * i + 1]]);
    sp_free(value);
    return status;
}

/* Read one diameter per cell, for all its lines. */
static sp_status read_cell_diameters(sp_reader *reader)
{
    sp_status status = SP_OK;
    for (int c = 0, i = 0; status == SP_OK && c < reader->cell_count; c++) {
        double value = 0;
        sp_reader_word(reader);
        status = sp_reader_diameter(reader, &value);
        for (; i < reader->cell_end[c]; i++) reader->drawing->line_diameter[i] = value;
    }
    return status;
}

/* Read what follows SCALARS: name, kind, components (may be left out), LOOKUP_TABLE and its name.
 * *found tells that the values that come next are diameters. */
static sp_status read_scalars_head(sp_reader *reader, int *found)
{
    long components;
    sp_reader_word(reader);
    *found = is(reader, "diameter");
    if (!*found) return SP_OK;
    sp_reader_word(reader); /* the kind of number: double, float, ... */
    sp_reader_word(reader);
    if (!is(reader, "LOOKUP_TABLE")) {
        sp_status status = sp_reader_integer(reader, reader->word, 1, 1, &components);
        if (status == SP_OK) status = expect(reader, "LOOKUP_TABLE", "LOOKUP_TABLE");
        if (status != SP_OK) return status;
    }
    sp_reader_word(reader); /* the name of the table: default */
    return SP_OK;
}

/* Read what stands after the name `diameter` of an array of a FIELD: components, count, kind. */
static sp_status read_array_head(sp_reader *reader, long count)
{
    long value;
    sp_status status = next_integer(reader, 1, 1, &value);
    if (status == SP_OK) status = next_integer(reader, count, count, &value);
    sp_reader_word(reader);
    return status;
}

/* Read from POINT_DATA or CELL_DATA to the end of the file, and skip values that are no diameters.
 */
static sp_status read_values(sp_reader *reader)
{
    sp_status status = SP_OK;
    int of_cells = 0, more = 1;
    while (status == SP_OK && more) {
        long count = of_cells ? reader->cell_count : reader->drawing->point_count, value;
        int found = 0;
        if (is(reader, "POINT_DATA") || is(reader, "CELL_DATA")) {
            of_cells = is(reader, "CELL_DATA");
            count = of_cells ? reader->cell_count : reader->drawing->point_count;
            status = next_integer(reader, count, count, &value);
        } else if (reader->newline && is(reader, "SCALARS"))
            status = read_scalars_head(reader, &found);
        else if (reader->newline && is(reader, "diameter")) {
            status = read_array_head(reader, count);
            found = 1;
        }
        if (status == SP_OK && found)
            status = of_cells ? read_cell_diameters(reader) : read_point_diameters(reader);
        if (status == SP_OK) more = sp_reader_word(reader);
    }
    return status;
}

static int at_values(const sp_reader *reader)
{
    return is(reader, "POINT_DATA") || is(reader, "CELL_DATA");
}

sp_status sp_read_vtk(sp_reader *reader)
{
    sp_status status = read_head(reader);
    int grid = status == SP_OK && is(reader, "UNSTRUCTURED_GRID");
    while (status == SP_OK && sp_reader_word(reader)) {
        if (at_values(reader)) break;
        if (is(reader, "METADATA")) {
            /* Metadata end at an empty line: skip lines until one begins with a known word. */
            while (sp_reader_word(reader))
                if (reader->newline && (is(reader, "LINES") || is(reader, "CELLS") ||
                                        is(reader, "CELL_TYPES") || at_values(reader)))
                    break;
            if (!reader->word[0] || at_values(reader)) break;
        }
        if (is(reader, "POINTS"))
            status = reader->drawing->point_count ? sp_reader_fail(reader, "POINTS only once")
                                                  : read_points(reader);
        else if (is(reader, grid ? "CELLS" : "LINES"))
            status = read_cells(reader);
        else if (grid && is(reader, "CELL_TYPES"))
            status = read_types(reader);
        else
            status = sp_reader_fail(reader, grid ? "POINTS, CELLS or CELL_TYPES (lines only)"
                                                 : "POINTS or LINES (lines only)");
    }
    if (status != SP_OK || !at_values(reader) || sp_drawing_is_flat(reader->drawing)) return status;
    return read_values(reader);
}
