/* Read a cell of a column: a number as people and rigs write it, or something else. */
#include <ctype.h>
#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/decimal.h"
#include "columns/columns_parts.h"

enum { DIGITS_MAX = 60 };

/* Return the length of a blank at `at`: a plain one, or one at which no line breaks (U+00A0,
 * U+202F). */
static size_t blank_length(const char *at, const char *end)
{
    if (at < end && (*at == ' ' || *at == '\t')) return 1;
    if (end - at >= 2 && !memcmp(at, "\xc2\xa0", 2)) return 2;
    if (end - at >= 3 && !memcmp(at, "\xe2\x80\xaf", 3)) return 3;
    return 0;
}

column_span sp_span_trim(column_span s)
{
    size_t n;
    while ((n = blank_length(s.from, s.end))) s.from += n;
    while (s.end > s.from) {
        if (s.end[-1] == ' ' || s.end[-1] == '\t')
            s.end--;
        else if (s.end - s.from >= 2 && blank_length(s.end - 2, s.end) == 2)
            s.end -= 2;
        else
            break;
    }
    if (s.end - s.from >= 2 && *s.from == '"' && s.end[-1] == '"') {
        s.from++, s.end--;
        return sp_span_trim((column_span){s.from, s.end});
    }
    return s;
}

static int is_missing(column_span s)
{
    static const char *const word[] = {"",     "-",   "--",  "---",  "----", "n/a",     "na",
                                       "nan",  "#nv", "inf", "-inf", "null", "#value!", "+inf",
                                       "#n/a", "*",   ".",   "none", "-nan", "#####"};
    const size_t length = (size_t)(s.end - s.from);
    for (size_t i = 0; i < sizeof word / sizeof *word; i++)
        if (strlen(word[i]) == length && !strncasecmp(s.from, word[i], length)) return 1;
    return 0;
}

/* Return the length of a mark between thousands at `at`, which exactly three digits follow; 0 when
 * there is none. */
static size_t group_length(const char *at, const char *end, char decimal, char delimiter)
{
    size_t n = *at == '\'' || *at == (decimal == '.' ? ',' : '.') ? 1 : 0;
    if (!n && delimiter != ' ') n = blank_length(at, end);
    if (!n || end - at < (ptrdiff_t)n + 3) return 0;
    for (size_t i = n; i < n + 3; i++)
        if (!isdigit((unsigned char)at[i])) return 0;
    return end - at > (ptrdiff_t)n + 3 && isdigit((unsigned char)at[n + 3]) ? 0 : n;
}

/* Copy sign, digits, decimal mark and exponent as C writes them; return the place behind them, NULL
 * when they are no number. */
static const char *copy_number(column_span s, char decimal, char delimiter, char *out, int *grouped)
{
    const char *at = s.from;
    int count = 0, digits = 0;
    if (s.end - at >= 3 && !memcmp(at, "\xe2\x88\x92", 3))
        out[count++] = '-', at += 3; /* U+2212, the minus of typesetters */
    else if (at < s.end && (*at == '-' || *at == '+'))
        out[count++] = *at++;
    const char *first = at;
    while (at < s.end && count < DIGITS_MAX) {
        if (isdigit((unsigned char)*at)) {
            out[count++] = *at++;
            digits++;
            continue;
        }
        const size_t group = digits && digits % 3 <= 3 && *first != '0' && (*grouped || digits <= 3)
                                 ? group_length(at, s.end, decimal, delimiter)
                                 : 0;
        if (!group) break;
        *grouped = 1;
        at += group;
    }
    if (at < s.end && *at == decimal && count < DIGITS_MAX) {
        out[count++] = '.';
        for (at++; at < s.end && isdigit((unsigned char)*at) && count < DIGITS_MAX; at++, digits++)
            out[count++] = *at;
    }
    if (!digits) return NULL;
    if (at + 1 < s.end && (*at == 'e' || *at == 'E') && count < DIGITS_MAX) {
        const char *e = at + 1;
        if (e < s.end && (*e == '+' || *e == '-')) e++;
        if (e < s.end && isdigit((unsigned char)*e)) {
            out[count++] = 'e';
            for (at++;
                 at < s.end && (at < e || isdigit((unsigned char)*at)) && count < DIGITS_MAX + 8;
                 at++)
                out[count++] = *at;
        }
    }
    out[count] = 0;
    return at;
}

/* Read "1:02:03.5" as seconds. */
static int read_clock(column_span s, char decimal, double *value)
{
    double part = 0, sum = 0;
    int colons = 0, digits = 0;
    double place = 0;
    for (const char *c = s.from; c < s.end; c++) {
        if (isdigit((unsigned char)*c)) {
            digits++;
            if (place > 0) {
                part += (*c - '0') * place;
                place /= 10;
            } else
                part = 10 * part + (*c - '0');
        } else if (*c == ':' && digits && place == 0 && colons < 2) {
            sum = 60 * (sum + part);
            part = digits = 0;
            colons++;
        } else if ((*c == decimal || *c == '.') && digits && colons && place == 0)
            place = 0.1;
        else
            return 0;
    }
    *value = sum + part;
    return colons > 0 && digits > 0 && s.end - s.from < 24;
}

column_cell sp_column_cell(column_span span, char decimal, char delimiter)
{
    column_cell cell = {CELL_TEXT, NAN, 0, {NULL, NULL}};
    char number[DIGITS_MAX + 16], *end;
    double factor;
    const column_span s = sp_span_trim(span);
    if (is_missing(s)) {
        cell.kind = CELL_MISSING;
        return cell;
    }
    if (read_clock(s, decimal, &cell.value)) {
        cell.kind = CELL_NUMBER;
        return cell;
    }
    const char *rest = copy_number(s, decimal, delimiter, number, &cell.grouped);
    if (!rest || !sp_decimal(number, &end, &cell.value) || *end) {
        cell.value = NAN;
        return cell;
    }
    cell.unit = sp_span_trim((column_span){rest, s.end});
    if (rest < s.end &&
        !sp_unit_find(cell.unit.from, (size_t)(cell.unit.end - cell.unit.from), &factor))
        return cell; /* it is a word that begins with a number */
    cell.kind = isfinite(cell.value) ? CELL_NUMBER : CELL_MISSING;
    if (!isfinite(cell.value)) cell.value = NAN;
    return cell;
}
