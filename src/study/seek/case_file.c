/* Write a case that `press` reads back to exactly the same coupon. */
#include "seek/case_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "case/case_parts.h"
#include "write/text.h"

enum { VALUE_SIZE = 2 * SP_FILE_SIZE };

/* Write the shortest text that reads back to exactly the same number, in the unit of sp_case. */
static void exact_number(double value, char *text, size_t size)
{
    for (int digits = 15; digits <= 17; digits++) {
        sp_format(text, size, "%.*g", digits, value);
        if (!(strtod(text, NULL) < value || strtod(text, NULL) > value)) return;
    }
}

/* Write a number with its unit where that loses no digit. */
static void number_text(const sp_case *request, int row, char *text, size_t size)
{
    const double value = *(const double *)((const char *)request + sp_case_row_at(row)->offset);
    double again;
    sp_case_value_text(request, row, text, size);
    if (isinf(value)) return;
    if (sp_case_number_parse(row, text, &again) && !(again < value || again > value)) return;
    exact_number(value, text, size);
}

static void list_text(const sp_case *request, int row, char *text, size_t size)
{
    const sp_list *list = (const void *)((const char *)request + sp_case_row_at(row)->offset);
    size_t used = (size_t)snprintf(text, size, "[");
    for (int i = 0; i < list->count; i++) {
        char number[40];
        exact_number(list->value[i], number, sizeof number);
        used += (size_t)snprintf(text + used, size - used, "%s%s", i ? ", " : "", number);
    }
    snprintf(text + used, size - used, "]");
}

/* The whole path is written, between quotes, because the case file stands in another folder than
 * the one to which the name was relative. */
static size_t put_whole_path(const char *file, char *text, size_t size)
{
    char *whole = realpath(file, NULL);
    const char *name = whole ? whole : file;
    size_t used = 0;
    for (; *name && used + 4 < size; name++)
        used += (size_t)snprintf(text + used, size - used, *name == '\'' ? "''" : "%c", *name);
    free(whole);
    return used;
}

static void file_text(const char *file, char *text, size_t size)
{
    size_t used = (size_t)snprintf(text, size, "'");
    used += put_whole_path(file, text + used, size - used);
    snprintf(text + used, size - used, "'");
}

/* Several files stand in one value, see sp_case_table_name. */
static void tables_text(const char *files, char *text, size_t size)
{
    char name[SP_FILE_SIZE];
    size_t used = (size_t)snprintf(text, size, "'");
    for (int i = 0; sp_case_table_name(files, i, name) > 0 && used + 4 < size; i++) {
        used += (size_t)snprintf(text + used, size - used, "%s", i ? "; " : "");
        used += put_whole_path(name, text + used, size - used);
    }
    snprintf(text + used, size - used, "'");
}

static void value_text(const sp_case *request, int row, char *text, size_t size)
{
    const sp_kind kind = sp_case_row_at(row)->kind;
    const char *field = (const char *)request + sp_case_row_at(row)->offset;
    if (kind == SP_KIND_NUMBER)
        number_text(request, row, text, size);
    else if (kind == SP_KIND_LIST)
        list_text(request, row, text, size);
    else if (kind == SP_KIND_FILE &&
             (field == request->table_file || field == request->table_compression))
        tables_text(field, text, size);
    else if (kind == SP_KIND_FILE)
        file_text(field, text, size);
    else
        sp_case_value_text(request, row, text, size);
}

static int is_default(const sp_case *request, const sp_case *usual, int row)
{
    char text[VALUE_SIZE], other[VALUE_SIZE];
    value_text(request, row, text, sizeof text);
    value_text(usual, row, other, sizeof other);
    return !strcmp(text, other);
}

/* Find the first row that is no default; -1: there is none. */
static int first_given(const sp_case *request, const sp_case *usual)
{
    for (int row = 0; row < sp_parameter_count(); row++)
        if (!is_default(request, usual, row)) return row;
    return -1;
}

void sp_seek_write_case(const sp_case *request, const char *head, FILE *stream)
{
    sp_case usual;
    const char *section = "";
    size_t length = 0;
    char text[VALUE_SIZE];
    sp_case_default(&usual);
    /* A file without any value is no case, so then the pattern stands in it as a default. */
    const int always = first_given(request, &usual) < 0 ? sp_case_row_find("infill.pattern") : -1;
    sp_print(stream, "%s", head);
    for (int row = 0; row < sp_parameter_count(); row++) {
        const char *key = sp_case_row_at(row)->key, *dot = strchr(key, '.');
        if (row != always && is_default(request, &usual, row)) continue;
        if (length != (size_t)(dot - key) || strncmp(section, key, length)) {
            section = key;
            length = (size_t)(dot - key);
            sp_print(stream, "%.*s:\n", (int)length, section);
        }
        value_text(request, row, text, sizeof text);
        sp_print(stream, "  %s: %s\n", dot + 1, text);
    }
}
