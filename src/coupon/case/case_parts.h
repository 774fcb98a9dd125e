/* What the case room shares inside and with the rooms above it: rows, failure lines, nearest names.
 */
#ifndef SP_CASE_CASE_PARTS_H
#define SP_CASE_CASE_PARTS_H

#include <stddef.h>

#include <strutpress/case.h>
#include <strutpress/context.h>

typedef enum {
    SP_KIND_NUMBER,
    SP_KIND_INTEGER,
    SP_KIND_CHOICE,
    SP_KIND_NAME,
    SP_KIND_FILE,
    SP_KIND_TEXT,
    SP_KIND_LIST
} sp_kind;

typedef struct sp_case_row {
    const char *key;
    size_t offset; /* of the field in sp_case */
    sp_kind kind;
    const char *unit, *fallback;
    double low, high;
    const char *words, *readers, *doc; /* readers: see case_rows.h */
} sp_case_row;

enum { SP_EXCERPT_SIZE = 64, SP_VALID_SIZE = 640 };

const sp_case_row *sp_case_row_at(int row);
int sp_case_row_find(const char *key); /* -1 when unknown */
/* Return 1 when the case asks for a law in time: softening, relaxation or flow. */
int sp_case_asks_for_time(const sp_case *request);

/* Find file number `which` of material.table or material.table_compression ("a.txt; b.txt") as it
 * is written there. 0: there is none, -1: its name is too long. */
int sp_case_table_name(const char *files, int which, char name[SP_FILE_SIZE]);

/* 1 when keys begin with this and a point: "material.softening". */
int sp_case_is_group(const char *key);

/* Sections of a case file in the order of the reference. */
int sp_case_section_count(void);
const char *sp_case_section_at(int section, const char **doc);

/* Parse one value into the field of a row; the field changes only on success. 0 = refused, see
 * sp_case_range_text. */
int sp_case_row_parse(sp_case *request, int row, const char *text);
/* Read a number in the unit of a row, of any size; it is for differences between values. 0 =
 * refused. */
int sp_case_number_parse(int row, const char *text, double *value);
/* Read a number in the unit of a measure ("N", "MPa", "-"), and say in words what would be
 * accepted: "a number (units N, kN)". */
int sp_case_unit_parse(const char *unit, const char *text, double *value);
void sp_case_unit_text(const char *unit, char *text, size_t size);
/* Return 1 when a row holds what a file could have given it, however it was set; else `received`
 * says what it holds. */
int sp_case_row_is_valid(const sp_case *request, int row, char *received, size_t size);
/* Read the items of "[a, b]" or "a, b" by the unit and range of a row; 0 = refused. */
int sp_case_list_parse(int row, const char *text, sp_list *list);
/* Set a value, with its failure line, origin and line; line 0 = set by a program or the command
 * line. "infill.offset" and "infill.cells" set all their rows. */
sp_status sp_case_set_at(sp_context *context, sp_case *request, const char *key, int line,
                         const char *value);
/* Find the rows that a key sets: one, or the three of "infill.offset" and keys like it; 0 when
 * there is no such key. */
int sp_case_key_rows(const char *key, int row[3]);
/* Return 1 when two keys set a row in common. */
int sp_case_keys_meet(const char *left, const char *right);
/* Return the line on which a key that stands for three rows, or one of these rows, was given; 0 =
 * not given, or no such key. */
int sp_case_triple_line(const sp_case *request, const char *key);
/* The n-th choice of a row; 0 past the last one. */
int sp_case_row_word(int row, int n, char word[SP_NAME_SIZE]);
/* Say what a row accepts, in words: "0.1 .. 10000 mm (units mm, cm, m, um)". */
void sp_case_range_text(int row, char *text, size_t size);

/* Name of the n-th unit of numbers in `unit`, the unit itself first; NULL past the last one. */
const char *sp_case_unit_name(const char *unit, int n);
/* Guess what a text that a row refused was meant to be ("30 %" for 30, "0.3" for 0,3, "88.9 mm"
 * for 3.5in); "" when there is no guess. */
void sp_case_near_miss(int row, const char *text, char guess[SP_NAME_SIZE]);

/* Find the nearest known name by edit distance (insert, delete, replace, swap neighbours), case
 * ignored. Start with {0}. */
typedef struct sp_nearest {
    char name[SP_NAME_SIZE]; /* "": no name is near */
    int distance;
} sp_nearest;
void sp_nearest_offer(sp_nearest *nearest, const char *received, const char *known);

/* Add a name to a list of valid ones, "a, b, c"; names that do not fit are left out. */
void sp_case_add_name(char *list, size_t size, const char *name);

/* Write the one line of every refusal: "FILE:LINE: KEY: received 'VALUE'; valid: VALID (did you
 * mean 'NEAREST'?)". The received text is cut to a printable excerpt; line 0 leaves out the line,
 * nearest NULL or "" the question. */
sp_status sp_case_fail(sp_context *context, const char *source, int line, const char *key,
                       const char *received, const char *valid, const char *nearest);
/* Refuse the value of a row of a case that is already read; `received` NULL shows its present
 * value.
 */
sp_status sp_case_fail_at(sp_context *context, const sp_case *request, const char *key,
                          const char *received, const char *valid, const char *nearest);

/* The bytes of a file in one block that the caller frees with sp_free, also after a failure. */
sp_status sp_case_read_file(sp_context *context, const char *file, char **text, size_t *size);
/* Refuses binary text, other encodings than UTF-8, line ends that are not seen as such, and tabs in
 * the indentation. */
sp_status sp_case_check_text(sp_context *context, const char *name, const char *text, size_t size);

/* First SP_EXCERPT_SIZE - 4 bytes of text, cut between UTF-8 characters, with "..." when cut. */
void sp_case_excerpt(const char *text, char excerpt[SP_EXCERPT_SIZE]);

#endif
