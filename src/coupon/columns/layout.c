/* Find which delimiter and which decimal mark make most lines of a file rows of numbers. */
#include <string.h>

#include "columns/columns_parts.h"

static const double text_cost = 0.9; /* a cell that is no number takes off this many numbers */
/* A line with two numbers among many words counts at least this much. */
static const double score_least = 0.1;
static const double group_cost = 0.01; /* cost of marks between thousands */

/* Ways to read a file, best first: where several give the same cells, the first of them is taken.
 */
static const struct {
    char delimiter, decimal;
} way[] = {{'\t', '.'}, {'\t', ','}, {';', '.'}, {';', ','}, {'|', '.'},
           {'|', ','},  {',', '.'},  {',', ','}, {' ', '.'}, {' ', ','}};

static int split_blanks(column_span line, column_span *cell)
{
    int count = 0;
    const char *at = line.from;
    while (at < line.end && count <= SP_COLUMN_MAX) {
        while (at < line.end && (*at == ' ' || *at == '\t')) at++;
        if (at >= line.end) break;
        const char *from = at;
        if (*at == '"') {
            for (at++; at < line.end && *at != '"'; at++) {
            }
            if (at < line.end) at++;
        } else
            while (at < line.end && *at != ' ' && *at != '\t') at++;
        cell[count++] = (column_span){from, at};
    }
    return count;
}

int sp_column_split(column_span line, char delimiter, column_span cell[SP_COLUMN_MAX + 1])
{
    if (delimiter == ' ') return split_blanks(line, cell);
    int count = 0;
    const char *at = line.from;
    while (count <= SP_COLUMN_MAX) {
        const char *from = at;
        while (at < line.end && *at != delimiter && (*at == ' ' || *at == '\t')) at++;
        if (at < line.end && *at == '"' && delimiter != '"') {
            const char *quote = memchr(at + 1, '"', (size_t)(line.end - at - 1));
            if (quote) at = quote + 1;
        }
        while (at < line.end && *at != delimiter) at++;
        cell[count++] = (column_span){from, at};
        if (at >= line.end) break;
        at++;
    }
    /* A delimiter at the end of the line begins no column. */
    if (count > 1 && sp_span_trim(cell[count - 1]).from == sp_span_trim(cell[count - 1]).end)
        count--;
    return count;
}

typedef struct layout_try {
    double score[SP_COLUMN_MAX + 1]; /* indexed by the count of columns */
    int rows[SP_COLUMN_MAX + 1];
    int texts[SP_COLUMN_MAX + 1][SP_COLUMN_MAX];
} layout_try;

static void try_line(column_span line, char delimiter, char decimal, layout_try *t)
{
    column_span cell[SP_COLUMN_MAX + 1];
    column_cell read[SP_COLUMN_MAX];
    const int count = sp_column_split(line, delimiter, cell);
    int numbers = 0, texts = 0, grouped = 0;
    if (count < 2 || count > SP_COLUMN_MAX) return;
    for (int i = 0; i < count; i++) {
        read[i] = sp_column_cell(cell[i], decimal, delimiter);
        numbers += read[i].kind == CELL_NUMBER;
        texts += read[i].kind == CELL_TEXT;
        grouped += read[i].grouped;
    }
    if (numbers < 2) return;
    for (int i = 0; i < count; i++) t->texts[count][i] += read[i].kind == CELL_TEXT;
    t->rows[count]++;
    const double score = numbers - text_cost * texts - group_cost * grouped;
    t->score[count] += score > score_least ? score : score_least;
}

column_layout sp_column_layout(const column_span *line, int count)
{
    static const layout_try none;
    column_layout best = {0};
    double most = 0;
    for (size_t w = 0; w < sizeof way / sizeof *way; w++) {
        layout_try t = none;
        for (int i = 0; i < count; i++) try_line(line[i], way[w].delimiter, way[w].decimal, &t);
        for (int n = 2; n <= SP_COLUMN_MAX; n++) {
            if (!(t.rows[n] >= 2 && t.score[n] > most)) continue;
            most = t.score[n];
            best = (column_layout){
                .delimiter = way[w].delimiter, .decimal = way[w].decimal, .column_count = n};
            for (int i = 0; i < n; i++) best.is_text[i] = 2 * t.texts[n][i] > t.rows[n];
        }
    }
    return best;
}
