/* Turn text into a value and a value into text, one row at a time. Nothing here knows files or
 * lines. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/decimal.h"
#include "case/case_parts.h"

/* A value in the row's own unit is number x multiply / divide; there are two factors so that 28 %
 * is exactly 0.28. */
typedef struct unit_row {
    const char *unit; /* of the row */
    const char *name; /* as written; the first of a unit is the one shown */
    double multiply, divide;
} unit_row;

static const unit_row units[] = {
    {"mm", "mm", 1, 1},
    {"mm", "cm", 10, 1},
    {"mm", "m", 1000, 1},
    {"mm", "um", 1, 1000},
    {"%", "%", 1, 100},
    {"deg", "deg", 1, 1},
    {"deg", "rad", 57.29577951308232, 1},
    {"MPa", "MPa", 1, 1},
    {"MPa", "kPa", 1, 1000},
    {"MPa", "GPa", 1000, 1},
    {"MPa", "N/mm2", 1, 1},
    {"N", "N", 1, 1},
    {"N", "kN", 1000, 1},
    {"mm/min", "mm/min", 1, 1},
    {"mm/min", "mm/s", 60, 1},
    {"mm/min", "cm/min", 10, 1},
    {"mm/s", "mm/s", 1, 1},
    {"mm/s", "mm/min", 1, 60},
    {"mm/s", "cm/min", 1, 6},
    {"1/s", "1/s", 1, 1},
    {"1/s", "1/min", 1, 60},
    {"1/s", "%/s", 1, 100},
    {"1/s", "%/min", 1, 6000},
    {"s", "s", 1, 1},
    {"s", "min", 60, 1},
    {"s", "h", 3600, 1},
    {"s", "d", 86400, 1},
    {"s", "ms", 1, 1000},
    {"g/cm3", "g/cm3", 1, 1},
    {"g/cm3", "kg/m3", 1, 1000},
    /* units of measures */
    {"-", "%", 1, 100},
    {"N/mm", "N/mm", 1, 1},
    {"N/mm", "kN/m", 1, 1},
    {"MJ/m3", "MJ/m3", 1, 1},
    {"MJ/m3", "kJ/m3", 1, 1000},
    {"MJ/m3", "mJ/mm3", 1, 1},
    {"J/kg", "J/kg", 1, 1},
    {"J/kg", "kJ/kg", 1000, 1},
    {"mJ", "mJ", 1, 1},
    {"mJ", "J", 1000, 1},
    {"g", "g", 1, 1},
    {"g", "kg", 1000, 1},
};
enum { UNIT_COUNT = sizeof units / sizeof units[0] };

enum { NUMBER_TEXT = 40 }; /* the longest number that is read */

static void *field_of(sp_case *request, const sp_case_row *row)
{
    return (char *)request + row->offset;
}

static const void *const_field_of(const sp_case *request, const sp_case_row *row)
{
    return (const char *)request + row->offset;
}

static size_t text_capacity(const sp_case_row *row)
{
    return row->kind == SP_KIND_NAME ? SP_NAME_SIZE : SP_FILE_SIZE;
}

static const unit_row *find_unit(const char *unit, const char *name, size_t length)
{
    for (int i = 0; i < UNIT_COUNT; i++)
        if (!strcmp(units[i].unit, unit) && strlen(units[i].name) == length &&
            !strncmp(units[i].name, name, length))
            return &units[i];
    return NULL;
}

const char *sp_case_unit_name(const char *unit, int n)
{
    for (int i = 0; i < UNIT_COUNT; i++)
        if (!strcmp(units[i].unit, unit) && n-- == 0) return units[i].name;
    return NULL;
}

static const char *skip_space(const char *text)
{
    while (*text == ' ' || *text == '\t') text++;
    return text;
}

static size_t trimmed_length(const char *text, size_t length)
{
    while (length && (text[length - 1] == ' ' || text[length - 1] == '\t')) length--;
    return length;
}

static int in_range(const sp_case_row *row, double value)
{
    return value >= row->low && value <= row->high; /* this is false for NaN */
}

/* Read one number with an optional unit from text[0 .. length). */
static int parse_number(const sp_case_row *row, const char *text, size_t length, double *value)
{
    char copy[NUMBER_TEXT];
    length = trimmed_length(text, length);
    size_t digits = sp_decimal_length(text);
    if (!digits || digits > length || digits >= sizeof copy) return 0;
    memcpy(copy, text, digits);
    copy[digits] = 0;
    double number = strtod(copy, NULL);
    const char *unit = skip_space(text + digits);
    size_t unit_length = length - (size_t)(unit - text);
    if (unit_length) {
        const unit_row *found = find_unit(row->unit, unit, unit_length);
        if (!found) return 0;
        number = number * found->multiply / found->divide;
    }
    if (!in_range(row, number)) return 0;
    *value = number;
    return 1;
}

int sp_case_number_parse(int index, const char *text, double *value)
{
    sp_case_row any = *sp_case_row_at(index);
    any.low = -INFINITY;
    any.high = INFINITY;
    text = skip_space(text);
    return parse_number(&any, text, strlen(text), value);
}

int sp_case_unit_parse(const char *unit, const char *text, double *value)
{
    const sp_case_row any = {.unit = unit, .low = -INFINITY, .high = INFINITY};
    text = skip_space(text);
    return parse_number(&any, text, strlen(text), value) && isfinite(*value);
}

int sp_case_list_parse(int index, const char *text, sp_list *list)
{
    const sp_case_row *row = sp_case_row_at(index);
    sp_list read = {0};
    text = skip_space(text);
    size_t length = trimmed_length(text, strlen(text));
    if (length >= 2 && text[0] == '[' && text[length - 1] == ']') {
        text++;
        length -= 2;
    }
    const char *end = text + length;
    for (;;) {
        text = skip_space(text);
        if (text >= end || read.count == SP_LIST_MAX) return 0;
        const char *comma = memchr(text, ',', (size_t)(end - text));
        size_t item = (size_t)((comma ? comma : end) - text);
        if (!parse_number(row, text, item, &read.value[read.count])) return 0;
        read.count++;
        if (!comma) break;
        text = comma + 1;
    }
    *list = read;
    return 1;
}

/* Find the n-th word of "a|b|c" and its length; NULL past the end. */
static const char *word_at(const char *words, int n, size_t *length)
{
    while (n-- && words) {
        words = strchr(words, '|');
        if (words) words++;
    }
    if (words) *length = strcspn(words, "|");
    return words;
}

int sp_case_row_word(int row, int n, char word[SP_NAME_SIZE])
{
    size_t length = 0;
    const char *found = word_at(sp_case_row_at(row)->words, n, &length);
    if (found) snprintf(word, SP_NAME_SIZE, "%.*s", (int)length, found);
    return found != NULL;
}

static int parse_choice(const sp_case_row *row, const char *text, int *value)
{
    size_t length, given = trimmed_length(text, strlen(text));
    const char *word;
    for (int i = 0; (word = word_at(row->words, i, &length)); i++)
        if (length == given && !strncmp(word, text, length)) {
            *value = i;
            return 1;
        }
    return 0;
}

static int parse_text(const sp_case_row *row, const char *text, char *value)
{
    size_t length = trimmed_length(text, strlen(text));
    if (!length || length >= text_capacity(row)) return 0;
    for (size_t i = 0; i < length; i++)
        if (iscntrl((unsigned char)text[i])) return 0;
    memcpy(value, text, length);
    value[length] = 0;
    return 1;
}

int sp_case_row_parse(sp_case *request, int index, const char *text)
{
    const sp_case_row *row = sp_case_row_at(index);
    void *field = field_of(request, row);
    double number;
    text = skip_space(text);
    switch (row->kind) {
    case SP_KIND_NUMBER:
        if (row->words[0] && !strcmp(text, row->words))
            number = INFINITY;
        else if (!parse_number(row, text, strlen(text), &number))
            return 0;
        *(double *)field = number;
        return 1;
    case SP_KIND_INTEGER:
        if (!parse_number(row, text, strlen(text), &number) || number != floor(number)) return 0;
        *(int *)field = (int)number;
        return 1;
    case SP_KIND_CHOICE:
        return parse_choice(row, text, field);
    case SP_KIND_LIST:
        return sp_case_list_parse(index, text, field);
    case SP_KIND_NAME:
    case SP_KIND_FILE:
    case SP_KIND_TEXT:
        return parse_text(row, text, field);
    }
    return 0;
}

/* Append to a text of fixed size; characters that do not fit are left out. */
static void append(char *text, size_t size, const char *more)
{
    size_t used = strlen(text);
    if (used + 1 < size) snprintf(text + used, size - used, "%s", more);
}

static void append_number(const sp_case_row *row, double value, char *text, size_t size)
{
    char one[NUMBER_TEXT];
    const unit_row *unit = find_unit(row->unit, row->unit, strlen(row->unit));
    if (unit) value = value * unit->divide / unit->multiply;
    snprintf(one, sizeof one, "%.10g", value);
    append(text, size, one);
    if (unit) {
        append(text, size, " ");
        append(text, size, unit->name);
    }
}

void sp_case_value_text(const sp_case *request, int index, char *text, size_t size)
{
    const sp_case_row *row = sp_case_row_at(index);
    const void *field = const_field_of(request, row);
    char word[SP_NAME_SIZE];
    if (!size) return;
    text[0] = 0;
    switch (row->kind) {
    case SP_KIND_NUMBER: {
        double value = *(const double *)field;
        if (isinf(value))
            append(text, size, row->words);
        else if (!isnan(value))
            append_number(row, value, text, size);
        break;
    }
    case SP_KIND_INTEGER:
        snprintf(text, size, "%d", *(const int *)field);
        break;
    case SP_KIND_CHOICE:
        if (sp_case_row_word(index, *(const int *)field, word)) append(text, size, word);
        break;
    case SP_KIND_LIST: {
        const sp_list *list = field;
        for (int i = 0; i < list->count; i++) {
            if (i) append(text, size, ", ");
            append_number(row, list->value[i], text, size);
        }
        break;
    }
    case SP_KIND_NAME:
    case SP_KIND_FILE:
    case SP_KIND_TEXT:
        append(text, size, field);
        break;
    }
    if (!text[0]) append(text, size, "not given");
}

static int number_is_valid(const sp_case_row *row, double value)
{
    if (isnan(value)) return !row->fallback[0]; /* the case does not give it */
    return isinf(value) ? value > 0 && row->words[0] : in_range(row, value);
}

static int list_is_valid(const sp_case_row *row, const sp_list *list)
{
    if (list->count < 0 || list->count > SP_LIST_MAX) return 0;
    for (int i = 0; i < list->count; i++)
        if (!in_range(row, list->value[i])) return 0;
    return list->count > 0 || !row->fallback[0];
}

static int text_is_valid(const sp_case_row *row, const char *text)
{
    const char *end = memchr(text, 0, text_capacity(row));
    return end && (end > text || !row->fallback[0]);
}

int sp_case_row_is_valid(const sp_case *request, int index, char *received, size_t size)
{
    const sp_case_row *row = sp_case_row_at(index);
    const void *field = const_field_of(request, row);
    char word[SP_NAME_SIZE];
    int valid = 0;
    snprintf(received, size, "%s", row->kind == SP_KIND_NUMBER ? "not a number" : "nothing");
    switch (row->kind) {
    case SP_KIND_NUMBER:
        valid = number_is_valid(row, *(const double *)field);
        if (!isnan(*(const double *)field)) sp_case_value_text(request, index, received, size);
        break;
    case SP_KIND_INTEGER:
        valid = in_range(row, *(const int *)field);
        snprintf(received, size, "%d", *(const int *)field);
        break;
    case SP_KIND_CHOICE:
        valid = *(const int *)field >= 0 && sp_case_row_word(index, *(const int *)field, word);
        snprintf(received, size, "%d", *(const int *)field);
        break;
    case SP_KIND_LIST:
        valid = list_is_valid(row, field);
        if (((const sp_list *)field)->count > SP_LIST_MAX)
            snprintf(received, size, "%d numbers", ((const sp_list *)field)->count);
        else
            sp_case_value_text(request, index, received, size);
        break;
    case SP_KIND_NAME:
    case SP_KIND_FILE:
    case SP_KIND_TEXT:
        valid = text_is_valid(row, field);
        break;
    }
    return valid;
}

/* Write " (units mm, cm, m, um)" when the row has a unit. */
static void append_units(const sp_case_row *row, char *text, size_t size)
{
    int count = 0;
    for (int i = 0; i < UNIT_COUNT; i++)
        if (!strcmp(units[i].unit, row->unit)) {
            append(text, size, count++ ? ", " : " (units ");
            append(text, size, units[i].name);
        }
    if (count && !strcmp(row->unit, "%")) append(text, size, " or none for a fraction");
    if (count) append(text, size, ")");
}

void sp_case_unit_text(const char *unit, char *text, size_t size)
{
    const sp_case_row any = {.unit = unit};
    snprintf(text, size, "a number");
    append_units(&any, text, size);
}

void sp_case_range_text(int index, char *text, size_t size)
{
    const sp_case_row *row = sp_case_row_at(index);
    char word[SP_NAME_SIZE];
    if (!size) return;
    text[0] = 0;
    switch (row->kind) {
    case SP_KIND_LIST:
    case SP_KIND_NUMBER:
    case SP_KIND_INTEGER:
        if (row->kind == SP_KIND_INTEGER) append(text, size, "a whole number ");
        if (row->kind == SP_KIND_LIST) append(text, size, "[a, b, ...] of at most 6 numbers ");
        append_number(row, row->low, text, size);
        append(text, size, " .. ");
        append_number(row, row->high, text, size);
        append_units(row, text, size);
        if (row->words[0]) {
            append(text, size, " or ");
            append(text, size, row->words);
        }
        break;
    case SP_KIND_CHOICE:
        for (int i = 0; sp_case_row_word(index, i, word); i++) {
            if (i) append(text, size, " | ");
            append(text, size, word);
        }
        break;
    case SP_KIND_NAME:
        append(text, size, "a name of at most 47 characters");
        break;
    case SP_KIND_FILE:
        append(text, size, "a file name of at most 1023 bytes");
        break;
    case SP_KIND_TEXT:
        append(text, size, "segments in words, at most 1023 characters");
        break;
    }
}
