/* Read a file of columns: its lines, its layout, its rows, the blocks of rows and the names above
 * them. */
#include "columns/columns.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/alloc.h"
#include "columns/columns_parts.h"

static const size_t bytes_max = (size_t)64 << 20;
static const int rows_max = 2000000;
static const int blocks_max = 4096;
static const int texts_max = 4096;
enum { PROBE_LINES = 4000, LONGEST_LINE = 8192 };

typedef struct columns_reader {
    sp_context *context;
    const char *file;
    sp_columns *columns;
    column_layout layout;
    int line_count, row_capacity, block_capacity, text_capacity;
    column_span *line;
} columns_reader;

static sp_status no_memory(const columns_reader *r)
{
    return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->file);
}

/* ---- lines ----------------------------------------------- */

/* Lines end with LF, CR LF, or CR alone. */
static const char *line_end(const char *at, const char *end)
{
    while (at < end && *at != '\n' && *at != '\r') at++;
    return at;
}

static sp_status cut_lines(columns_reader *r, const char *text, size_t length)
{
    const char *end = text + length;
    int capacity = 0;
    for (const char *at = text; at < end;) {
        const char *stop = line_end(at, end);
        column_span *line = sp_grow(r->line, r->line_count, &capacity, 1024, sizeof *line);
        if (!line) return no_memory(r);
        r->line = line;
        r->line[r->line_count++] = (column_span){at, stop};
        at = stop < end && *stop == '\r' && stop + 1 < end && stop[1] == '\n' ? stop + 2 : stop + 1;
    }
    r->columns->line_count = r->line_count;
    return SP_OK;
}

/* Take the first lines, the last and some between: enough to find the layout. */
static sp_status find_layout(columns_reader *r)
{
    const int step = r->line_count > PROBE_LINES ? r->line_count / PROBE_LINES + 1 : 1;
    column_span *probe = sp_alloc(3 * (size_t)PROBE_LINES, sizeof *probe);
    int count = 0;
    if (!probe) return no_memory(r);
    for (int i = 0; i < r->line_count && count < 3 * PROBE_LINES; i++)
        if (i < PROBE_LINES || i % step == 0)
            if (r->line[i].end - r->line[i].from <= LONGEST_LINE) probe[count++] = r->line[i];
    r->layout = sp_column_layout(probe, count);
    sp_free(probe);
    r->columns->delimiter = r->layout.delimiter;
    r->columns->decimal = r->layout.decimal;
    r->columns->column_count = r->layout.column_count;
    if (r->layout.column_count) return SP_OK;
    char shown[80], first[64] = "";
    for (int i = 0; i < r->line_count && !first[0]; i++) {
        const column_span s = sp_span_trim(r->line[i]);
        snprintf(first, sizeof first, "%.*s", (int)(s.end - s.from < 60 ? s.end - s.from : 60),
                 s.from);
    }
    sp_printable(first, shown, sizeof shown);
    return sp_fail(r->context, SP_NO_READ,
                   "%s: received %d lines%s%s%s without two rows of at least two numbers; valid: "
                   "columns of numbers with tab, semicolon, comma or blanks between them",
                   r->file, r->line_count, first[0] ? " (\"" : "", shown, first[0] ? "\")" : "");
}

/* ---- rows ----------------------------------------------- */

static sp_status text_number(columns_reader *r, column_span span, double *value)
{
    sp_columns *c = r->columns;
    char raw[SP_COLUMN_TEXT_SIZE], shown[SP_COLUMN_TEXT_SIZE];
    const column_span s = sp_span_trim(span);
    snprintf(raw, sizeof raw, "%.*s", (int)(s.end - s.from < 40 ? s.end - s.from : 40), s.from);
    sp_printable(raw, shown, sizeof shown);
    for (int i = c->text_count - 1; i >= 0; i--)
        if (!strcmp(c->text[i], shown)) {
            *value = i;
            return SP_OK;
        }
    *value = NAN; /* a column with more texts, such as times of day, tells no specimens apart */
    if (c->text_count >= texts_max || c->text_count > 256) return SP_OK;
    if (c->text_count == r->text_capacity) {
        const int more = r->text_capacity ? 2 * r->text_capacity : 16;
        char(*text)[SP_COLUMN_TEXT_SIZE] = sp_resize(c->text, (size_t)more, sizeof *text);
        if (!text) return no_memory(r);
        c->text = text;
        r->text_capacity = more;
    }
    *value = c->text_count;
    memcpy(c->text[c->text_count++], shown, sizeof shown);
    return SP_OK;
}

static sp_status make_row_room(columns_reader *r, int line)
{
    sp_columns *c = r->columns;
    if (c->row_count < r->row_capacity) return SP_OK;
    if (c->row_count >= rows_max)
        return sp_fail(r->context, SP_NO_READ, "%s:%d: received more than %d rows; valid: fewer",
                       r->file, line, rows_max);
    const int more = r->row_capacity ? 2 * r->row_capacity : 512;
    double *value = sp_resize(c->value, (size_t)more * (size_t)c->column_count, sizeof *value);
    if (value) c->value = value;
    int *number = value ? sp_resize(c->line, (size_t)more, sizeof *number) : NULL;
    if (!number) return no_memory(r);
    c->line = number;
    r->row_capacity = more;
    return SP_OK;
}

typedef struct row_try {
    int is_row, count, missing, grouped;
    column_span cell[SP_COLUMN_MAX + 1];
    column_cell read[SP_COLUMN_MAX + 1];
} row_try;

static void try_row(const columns_reader *r, column_span line, row_try *t)
{
    const column_layout *l = &r->layout;
    int numbers = 0;
    t->is_row = t->missing = t->grouped = 0;
    t->count = sp_column_split(line, l->delimiter, t->cell);
    if (t->count > l->column_count) return;
    for (int i = 0; i < t->count; i++) {
        t->read[i] = sp_column_cell(t->cell[i], l->decimal, l->delimiter);
        if (l->is_text[i]) continue;
        if (t->read[i].kind == CELL_TEXT) return;
        numbers += t->read[i].kind == CELL_NUMBER;
        t->missing += t->read[i].kind == CELL_MISSING;
        t->grouped += t->read[i].grouped;
    }
    t->is_row = numbers >= 2;
}

/* Return 1: the line is a row, which is added; 0: it is none; -1: out of memory or too many rows,
 * and *status says so. */
static int add_row(columns_reader *r, int line, row_try *t, sp_status *status)
{
    sp_columns *c = r->columns;
    column_span span = r->line[line];
    if (span.end - span.from > LONGEST_LINE) return 0;
    try_row(r, span, t);
    if (!t->is_row) {
        const char *remark = memchr(span.from, '#', (size_t)(span.end - span.from));
        if (!remark || remark == span.from) return 0;
        try_row(r, sp_span_trim((column_span){span.from, remark}), t);
        if (!t->is_row) return 0;
    }
    if (SP_OK != (*status = make_row_room(r, line + 1))) return -1;
    double *value = c->value + (size_t)c->row_count * (size_t)c->column_count;
    for (int i = 0; i < c->column_count; i++) {
        value[i] = i < t->count ? t->read[i].value : NAN;
        if (i < t->count && r->layout.is_text[i] &&
            SP_OK != (*status = text_number(r, t->cell[i], &value[i])))
            return -1;
    }
    c->missing += t->missing;
    c->grouped += t->grouped;
    c->line[c->row_count++] = line + 1;
    return 1;
}

/* ---- heads ----------------------------------------------- */

/* Single blanks stand between the words of a name, not between columns: "Travel [mm] Load [N]". */
static int join_units(column_span *cell, int count)
{
    int kept = 0;
    for (int i = 0; i < count; i++)
        if (kept && strchr("[(", *cell[i].from) && strchr("])", cell[i].end[-1]))
            cell[kept - 1].end = cell[i].end;
        else
            cell[kept++] = cell[i];
    return kept;
}

/* Split a head line into cells with any delimiter that gives as many cells as there are columns; 0:
 * none does. */
static int split_head(const columns_reader *r, column_span line,
                      column_span cell[SP_COLUMN_MAX + 1])
{
    static const char other[] = {'\t', ';', '|', ',', ' '};
    const int wanted = r->layout.column_count;
    while (line.from < line.end && strchr("#% \t", *line.from)) line.from++;
    if (line.end - line.from > LONGEST_LINE || line.end == line.from) return 0;
    for (int k = -1; k < 5; k++) {
        const char delimiter = k < 0 ? r->layout.delimiter : other[k];
        int count = sp_column_split(line, delimiter, cell);
        if (delimiter == ' ' && count > wanted) count = join_units(cell, count);
        if (count == wanted) return count;
        if (k < 0 && count >= 2 && count < wanted && delimiter != ' ') return count;
    }
    return 0;
}

static int count_text(const columns_reader *r, const column_span *cell, int count)
{
    int text = 0;
    for (int i = 0; i < count; i++)
        text += sp_column_cell(cell[i], r->layout.decimal, r->layout.delimiter).kind == CELL_TEXT;
    return text;
}

/* Take the names and units of the columns from the lines above the first row. */
static void read_head(const columns_reader *r, sp_column_block *block)
{
    column_span name[SP_COLUMN_MAX + 1], unit[SP_COLUMN_MAX + 1];
    const column_span none = {"", ""};
    int names = 0, is_units = 0, units = 0;
    const int end = block->head_line - 1 + block->head_count; /* index behind the head */
    for (int line = end - 1; line >= block->head_line - 1 && line >= end - 4 && !names; line--) {
        if (sp_span_trim(r->line[line]).from == sp_span_trim(r->line[line]).end) continue;
        int count = split_head(r, r->line[line], name);
        if (!count) continue;
        if (!is_units && sp_column_is_unit_line(name, count)) {
            memcpy(unit, name, sizeof unit);
            is_units = 1;
            units = count;
            continue;
        }
        if (count_text(r, name, count) * 2 >= count) names = count;
    }
    block->has_names = names > 0 || is_units;
    for (int i = 0; i < r->layout.column_count; i++) {
        sp_column *column = &block->column[i];
        sp_column_named(i < names ? name[i] : none, is_units && i < units ? unit[i] : none, column);
        column->is_text = r->layout.is_text[i];
    }
}

static sp_status begin_block(columns_reader *r, int head_line, int head_count)
{
    sp_columns *c = r->columns;
    if (c->block_count >= blocks_max)
        return sp_fail(r->context, SP_NO_READ,
                       "%s:%d: received more than %d tables of numbers; valid: fewer", r->file,
                       head_line, blocks_max);
    sp_column_block *grown =
        sp_grow(c->block, c->block_count, &r->block_capacity, 4, sizeof *grown);
    if (!grown) return no_memory(r);
    c->block = grown;
    sp_column_block *block = &c->block[c->block_count++];
    memset(block, 0, sizeof *block);
    block->first_row = c->row_count;
    block->head_line = head_line;
    block->head_count = head_count;
    read_head(r, block);
    return SP_OK;
}

/* Take units that stand behind the numbers of the first row, where the head has none. */
static void take_cell_units(const columns_reader *r, const row_try *t, sp_column_block *block)
{
    const column_span none = {"", ""};
    for (int i = 0; i < t->count; i++) {
        sp_column *column = &block->column[i];
        if (r->layout.is_text[i] || column->unit[0] || t->read[i].unit.from == t->read[i].unit.end)
            continue;
        const column_span name = {column->name, column->name + strlen(column->name)};
        sp_column_named(name.from == name.end ? none : name, t->read[i].unit, column);
    }
}

static sp_status read_rows(columns_reader *r)
{
    sp_columns *c = r->columns;
    row_try *t = sp_alloc(1, sizeof *t);
    sp_status status = t ? SP_OK : no_memory(r);
    int head = 0; /* index behind the last row */
    int in_block = 0;
    for (int line = 0; line < r->line_count && status == SP_OK; line++) {
        const int rows = c->row_count;
        const int added = add_row(r, line, t, &status);
        if (added == 1 && !in_block) {
            c->row_count = rows;
            status = begin_block(r, head + 1, line - head);
            c->row_count = rows + 1;
            if (status == SP_OK) take_cell_units(r, t, &c->block[c->block_count - 1]);
            in_block = 1;
        }
        if (added == 1 && status == SP_OK) {
            c->block[c->block_count - 1].row_count++;
            head = line + 1;
        }
        /* A blank line or a remark between two rows does not begin a new block. */
        const column_span left = sp_span_trim(r->line[line]);
        if (added == 0 && left.from < left.end && *left.from != '#') in_block = 0;
    }
    sp_free(t);
    return status;
}

/* ---- the whole file ----------------------------------------------- */

void sp_columns_free(sp_columns *columns)
{
    sp_free(columns->value);
    sp_free(columns->line);
    sp_free(columns->block);
    sp_free(columns->text);
    *columns = (sp_columns){0};
}

sp_status sp_columns_parse(sp_context *context, const char *file, const char *bytes, size_t size,
                           sp_columns *columns)
{
    columns_reader r = {.context = context, .file = file, .columns = columns};
    char *text = NULL;
    size_t length = 0;
    *columns = (sp_columns){0};
    sp_status status =
        sp_column_text(context, file, bytes, size, &text, &length, &columns->encoding);
    if (status == SP_OK) status = cut_lines(&r, text, length);
    if (status == SP_OK) status = find_layout(&r);
    if (status == SP_OK) status = read_rows(&r);
    sp_free(r.line);
    sp_free(text);
    return status;
}

static sp_status read_bytes(sp_context *context, const char *file, FILE *stream, char **bytes,
                            size_t *size)
{
    size_t capacity = 0;
    for (;;) {
        if (*size == capacity) {
            const size_t more = capacity ? 2 * capacity : 1 << 16;
            char *room = sp_resize(*bytes, more, 1);
            if (!room) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
            *bytes = room;
            capacity = more;
        }
        const size_t got = fread(*bytes + *size, 1, capacity - *size, stream);
        *size += got;
        if (*size > bytes_max)
            return sp_fail(context, SP_NO_READ,
                           "%s: received more than %zu MB; valid: a file of columns up to that",
                           file, bytes_max >> 20);
        if (!got) break;
    }
    if (ferror(stream)) return sp_fail(context, SP_NO_READ, "%s: %s", file, strerror(errno));
    return SP_OK;
}

sp_status sp_columns_read(sp_context *context, const char *file, sp_columns *columns)
{
    struct stat about;
    char *bytes = NULL;
    size_t size = 0;
    *columns = (sp_columns){0};
    FILE *stream = fopen(file, "rb");
    if (!stream) return sp_fail(context, SP_NO_READ, "%s: %s", file, strerror(errno));
    sp_status status = SP_OK;
    if (fstat(fileno(stream), &about) == 0 && S_ISDIR(about.st_mode))
        status = sp_fail(context, SP_NO_READ,
                         "%s: is a folder; valid: a text file of columns of numbers", file);
    if (status == SP_OK) status = read_bytes(context, file, stream, &bytes, &size);
    fclose(stream);
    if (status == SP_OK) status = sp_columns_parse(context, file, bytes, size, columns);
    sp_free(bytes);
    return status;
}
