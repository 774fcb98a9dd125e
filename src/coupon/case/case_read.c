/* Read a YAML case file into a typed case, through libyaml's events: they carry line numbers and
 * show duplicate keys. */
#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <yaml.h>

#include "base/alloc.h"
#include "case/case_parts.h"

enum {
    FILE_LIMIT = 64 << 20,
    READ_BLOCK = 64 << 10,
    KEY_SIZE = 2 * SP_NAME_SIZE,
    LIST_SIZE = SP_FILE_SIZE
};

typedef struct reader {
    sp_context *context;
    sp_case *request;
    yaml_parser_t parser;
    yaml_event_t event; /* the event that is being read; next() clears it */
    int section_line[16];
} reader;

static int line_of(const reader *r)
{
    return (int)r->event.start_mark.line + 1;
}

static sp_status refuse(reader *r, int line, const char *key, const char *received,
                        const char *valid)
{
    return sp_case_fail(r->context, r->request->source, line, key, received, valid, NULL);
}

static const char *scalar(const reader *r)
{
    return (const char *)r->event.data.scalar.value;
}

/* Anchors, aliases and tags have no use in a case, and they can hide what a file says. */
static sp_status refuse_reference(reader *r)
{
    const yaml_event_t *e = &r->event;
    const yaml_char_t *anchor = NULL, *tag = NULL;
    switch (e->type) {
    case YAML_ALIAS_EVENT:
        return refuse(r, line_of(r), "", (const char *)e->data.alias.anchor,
                      "values written out, no aliases (*)");
    case YAML_SCALAR_EVENT:
        anchor = e->data.scalar.anchor;
        tag = e->data.scalar.tag;
        if (strlen(scalar(r)) != e->data.scalar.length)
            return refuse(r, line_of(r), "", scalar(r), "text without NUL characters");
        break;
    case YAML_SEQUENCE_START_EVENT:
        anchor = e->data.sequence_start.anchor;
        tag = e->data.sequence_start.tag;
        break;
    case YAML_MAPPING_START_EVENT:
        anchor = e->data.mapping_start.anchor;
        tag = e->data.mapping_start.tag;
        break;
    default:
        break;
    }
    if (anchor)
        return refuse(r, line_of(r), "", (const char *)anchor, "values without anchors (&)");
    if (tag) return refuse(r, line_of(r), "", (const char *)tag, "values without tags (!)");
    return SP_OK;
}

static sp_status next(reader *r)
{
    yaml_event_delete(&r->event);
    if (yaml_parser_parse(&r->parser, &r->event)) return refuse_reference(r);
    memset(&r->event, 0, sizeof r->event);
    if (r->parser.error == YAML_MEMORY_ERROR)
        return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->request->source);
    const char *problem = r->parser.problem ? r->parser.problem : "unreadable text";
    return refuse(r, (int)r->parser.problem_mark.line + 1, "", problem,
                  "YAML, sections with `name: value` lines indented by spaces");
}

static void section_names(char *text, size_t size)
{
    text[0] = '\0';
    for (int i = 0; i < sp_case_section_count(); i++)
        sp_case_add_name(text, size, sp_case_section_at(i, NULL));
}

/* Describe what stands where a mapping or a key was expected, for the failure line. */
static const char *event_text(const reader *r)
{
    switch (r->event.type) {
    case YAML_SCALAR_EVENT:
        return scalar(r);
    case YAML_SEQUENCE_START_EVENT:
        return "a list";
    case YAML_MAPPING_START_EVENT:
        return "a mapping";
    default:
        return "the end of the text";
    }
}

/* The value of a key as text: a scalar as it is, a list joined with commas. */
static sp_status read_list(reader *r, const char *key, char list[LIST_SIZE])
{
    size_t used = 0;
    int line = line_of(r);
    sp_status status;
    list[0] = 0;
    while ((status = next(r)) == SP_OK && r->event.type != YAML_SEQUENCE_END_EVENT) {
        if (r->event.type != YAML_SCALAR_EVENT || strchr(scalar(r), ',') || !scalar(r)[0])
            return refuse(r, line_of(r), key, event_text(r), "a list of plain values");
        used +=
            (size_t)snprintf(list + used, LIST_SIZE - used, "%s%s", used ? ", " : "", scalar(r));
        if (used >= LIST_SIZE)
            return refuse(
                r, line, key, list,
                "a list of at most 6 plain values, or a protocol of at most 1023 characters");
    }
    return status;
}

static sp_status refuse_again(reader *r, int line, const char *key, int first)
{
    char valid[SP_EXCERPT_SIZE];
    snprintf(valid, sizeof valid, "once only, it stands on line %d already", first);
    return refuse(r, line, key, "the same key again", valid);
}

/* Return the line on which a key was given before; 0 = not yet. A file may give `offset` or
 * `cells`, or the rows that they stand for, but not both. */
static int given_before(const reader *r, const char *key)
{
    int row = sp_case_row_find(key);
    return row >= 0 ? r->request->line[row] : sp_case_triple_line(r->request, key);
}

/* Recognise a number with a decimal comma in braces: YAML reads {density: 0,3} as 0 and a key 3.
 * The failure line then shows what was written. */
static sp_status refuse_number(reader *r, const char *key, int line, sp_status status)
{
    char whole[SP_NAME_SIZE], guess[SP_NAME_SIZE] = "", failed[SP_MESSAGE_SIZE];
    const int row = sp_case_row_find(key);
    snprintf(failed, sizeof failed, "%s", r->context->message);
    snprintf(whole, sizeof whole, "%.20s", scalar(r));
    if (row < 0 || status != SP_BAD_CASE) return status;
    if (next(r) == SP_OK && r->event.type == YAML_SCALAR_EVENT &&
        isdigit((unsigned char)scalar(r)[0])) {
        const size_t used = strlen(whole);
        snprintf(whole + used, sizeof whole - used, ",%.20s", scalar(r));
        sp_case_near_miss(row, whole, guess);
    }
    if (guess[0]) return sp_case_set_at(r->context, r->request, key, line, whole);
    return sp_fail(r->context, status, "%s", failed);
}

static sp_status read_group(reader *r, const char *group);

static sp_status read_value(reader *r, const char *key, int line)
{
    char list[LIST_SIZE];
    sp_status status = next(r);
    if (status != SP_OK) return status;
    if (r->event.type == YAML_MAPPING_START_EVENT && sp_case_is_group(key))
        return read_group(r, key);
    if (r->event.type == YAML_SCALAR_EVENT) {
        status = sp_case_set_at(r->context, r->request, key, line, scalar(r));
        return status == SP_OK ? SP_OK : refuse_number(r, key, line, status);
    }
    if (r->event.type != YAML_SEQUENCE_START_EVENT)
        return refuse(r, line, key, event_text(r), "one value or a list");
    status = read_list(r, key, list);
    if (status != SP_OK) return status;
    return sp_case_set_at(r->context, r->request, key, line, list);
}

/* Read the `name: value` lines of a section, or of a group of keys in it, up to its end. */
static sp_status read_group(reader *r, const char *section)
{
    char key[KEY_SIZE], name[SP_NAME_SIZE];
    sp_status status;
    while ((status = next(r)) == SP_OK && r->event.type != YAML_MAPPING_END_EVENT) {
        int line = line_of(r);
        if (r->event.type != YAML_SCALAR_EVENT)
            return refuse(r, line, section, event_text(r), "a plain name as key");
        snprintf(name, sizeof name, "%s", scalar(r)); /* a longer one is unknown anyway */
        snprintf(key, sizeof key, "%s.%s", section, name);
        if (isdigit((unsigned char)name[0]))
            return refuse(r, line, section, name,
                          "a name of the section; a comma ends a value in braces, so write numbers "
                          "with a point (28.5 mm)");
        int first = given_before(r, key);
        if (first) return refuse_again(r, line, key, first);
        if ((status = read_value(r, key, line)) != SP_OK) return status;
    }
    return status;
}

static sp_status read_section(reader *r, const char *section)
{
    const sp_status status = next(r);
    if (status != SP_OK) return status;
    if (r->event.type != YAML_MAPPING_START_EVENT)
        return refuse(r, line_of(r), section, event_text(r),
                      "`name: value` lines indented below it");
    return read_group(r, section);
}

static sp_status find_section(reader *r, int *section)
{
    sp_nearest nearest = {0};
    char names[SP_VALID_SIZE], moved[SP_NAME_SIZE];
    section_names(names, sizeof names);
    for (*section = 0; *section < sp_case_section_count(); ++*section) {
        const char *name = sp_case_section_at(*section, NULL);
        if (!strcmp(name, scalar(r))) return SP_OK;
        sp_nearest_offer(&nearest, scalar(r), name);
        snprintf(moved, sizeof moved, "%s.%.32s", name, scalar(r));
        if (sp_case_row_find(moved) >= 0 && !nearest.name[0])
            sp_nearest_offer(&nearest, moved, moved);
    }
    return sp_case_fail(r->context, r->request->source, line_of(r), "", scalar(r), names,
                        nearest.name);
}

static sp_status read_sections(reader *r)
{
    sp_status status;
    int section, count = 0;
    while ((status = next(r)) == SP_OK && r->event.type != YAML_MAPPING_END_EVENT) {
        int line = line_of(r);
        if (r->event.type != YAML_SCALAR_EVENT)
            return refuse(r, line, "", event_text(r), "the name of a section");
        if ((status = find_section(r, &section)) != SP_OK) return status;
        const char *name = sp_case_section_at(section, NULL);
        if (r->section_line[section]) return refuse_again(r, line, name, r->section_line[section]);
        r->section_line[section] = line;
        if ((status = read_section(r, name)) != SP_OK) return status;
        count++;
    }
    if (status == SP_OK && !count) return refuse(r, 1, "", "{}", "at least one section");
    return status;
}

static sp_status refuse_empty(reader *r)
{
    char valid[SP_VALID_SIZE] = "a case with at least one of the sections ";
    section_names(valid + strlen(valid), sizeof valid - strlen(valid));
    return refuse(r, 1, "", "an empty file", valid);
}

static sp_status read_stream(reader *r)
{
    char valid[SP_VALID_SIZE] = "the sections ";
    sp_status status = next(r); /* start of the stream */
    if (status == SP_OK) status = next(r);
    if (status != SP_OK) return status;
    if (r->event.type == YAML_STREAM_END_EVENT) return refuse_empty(r);
    if ((status = next(r)) != SP_OK) return status;
    if (r->event.type != YAML_MAPPING_START_EVENT) {
        section_names(valid + strlen(valid), sizeof valid - strlen(valid));
        return refuse(r, line_of(r), "", event_text(r), valid);
    }
    if ((status = read_sections(r)) != SP_OK) return status;
    if ((status = next(r)) != SP_OK) return status; /* end of the document */
    if ((status = next(r)) != SP_OK) return status;
    if (r->event.type != YAML_STREAM_END_EVENT)
        return refuse(r, line_of(r), "", "a second document", "one case per file");
    return SP_OK;
}

/* Return the length of the UTF-8 character at text (Unicode 15, table 3-7); 0 = it is none. */
static size_t character_length(const unsigned char *text, size_t size)
{
    unsigned char c = text[0], low = 0x80, high = 0xBF;
    size_t length = c < 0x80                ? 1
                    : c >= 0xC2 && c < 0xE0 ? 2
                    : c >= 0xE0 && c < 0xF0 ? 3
                    : c >= 0xF0 && c < 0xF5 ? 4
                                            : 0;
    if (c == 0xE0) low = 0xA0;
    if (c == 0xED) high = 0x9F;
    if (c == 0xF0) low = 0x90;
    if (c == 0xF4) high = 0x8F;
    if (!length || length > size) return 0;
    for (size_t i = 1; i < length; i++, low = 0x80, high = 0xBF)
        if (text[i] < low || text[i] > high) return 0;
    return length;
}

/* Find a line end of YAML that editors and terminals do not show as one (YAML 1.1, chapter 4): text
 * behind it in a comment would be read unseen. NULL: there is none. */
static const char *hidden_line_end(const unsigned char *byte, size_t left)
{
    if (byte[0] == '\r' && (left < 2 || byte[1] != '\n')) return "a carriage return alone";
    if (left >= 2 && byte[0] == 0xC2 && byte[1] == 0x85)
        return "a line end of another kind, U+0085";
    if (left >= 3 && byte[0] == 0xE2 && byte[1] == 0x80 && byte[2] == 0xA8)
        return "a line end of another kind, U+2028";
    if (left >= 3 && byte[0] == 0xE2 && byte[1] == 0x80 && byte[2] == 0xA9)
        return "a line end of another kind, U+2029";
    return NULL;
}

/* Refuse binary text, other encodings, hidden line ends and tabs in the indentation in plain words,
 * before libyaml sees them. */
sp_status sp_case_check_text(sp_context *context, const char *name, const char *text, size_t size)
{
    const unsigned char *byte = (const unsigned char *)text;
    int line = 1, indent = 1;
    for (size_t i = 0, length; i < size; i += length) {
        unsigned char c = byte[i];
        length = character_length(byte + i, size - i);
        if (!length)
            return sp_case_fail(context, name, line, "", "bytes that are not UTF-8",
                                "a text file in UTF-8", NULL);
        if ((c < 0x20 && c != '\n' && c != '\r' && c != '\t') || c == 0x7F)
            return sp_case_fail(context, name, line, "", "a binary file", "a text file in UTF-8",
                                NULL);
        const char *end = hidden_line_end(byte + i, size - i);
        if (end)
            return sp_case_fail(context, name, line, "", end, "lines that end with a line feed",
                                NULL);
        if (c == '\t' && indent)
            return sp_case_fail(context, name, line, "", "a tab in the indentation", "spaces",
                                NULL);
        line += c == '\n';
        indent = c == '\n' || (indent && c == ' ');
    }
    return SP_OK;
}

sp_status sp_case_parse(sp_context *context, const char *name, const char *text, size_t size,
                        sp_case *request)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    sp_case read;
    reader r = {.context = context, .request = &read};
    sp_case_default(request);
    read = *request;
    if (strlen(name) >= sizeof read.source)
        return sp_case_fail(context, name, 0, "", name, "a file name of at most 1023 bytes", NULL);
    strcpy(read.source, name);
    sp_status status = sp_case_check_text(context, name, text, size);
    if (status != SP_OK) return status;
    if (!yaml_parser_initialize(&r.parser))
        return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", name);
    yaml_parser_set_encoding(&r.parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&r.parser, (const unsigned char *)text, size);
    status = read_stream(&r);
    if (status == SP_OK) status = sp_case_check(context, &read);
    if (status == SP_OK) *request = read;
    yaml_event_delete(&r.event);
    yaml_parser_delete(&r.parser);
    return status;
}

/* Read the whole stream into one block, owned by the caller. */
static sp_status read_text(sp_context *context, const char *file, FILE *stream, char **text,
                           size_t *size)
{
    size_t capacity = 0, got;
    do {
        char *more =
            capacity >= FILE_LIMIT ? NULL : sp_resize(*text, capacity + READ_BLOCK + capacity, 1);
        if (!more && capacity >= FILE_LIMIT)
            return sp_fail(context, SP_BAD_CASE,
                           "%s: received more than %d MiB; valid: a case file", file,
                           FILE_LIMIT >> 20);
        if (!more) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
        *text = more;
        capacity += READ_BLOCK + capacity;
        got = fread(*text + *size, 1, capacity - *size, stream);
        *size += got;
    } while (*size == capacity);
    if (ferror(stream))
        return sp_fail(context, SP_NO_READ, "%s: cannot be read: %s; valid: a readable case file",
                       file, strerror(errno));
    return SP_OK;
}

sp_status sp_case_read_file(sp_context *context, const char *file, char **text, size_t *size)
{
    struct stat about;
    *text = NULL;
    *size = 0;
    FILE *stream = fopen(file, "rb");
    if (!stream)
        return sp_fail(context, SP_NO_READ, "%s: cannot be read: %s; valid: a readable case file",
                       file, strerror(errno));
    sp_status status = SP_OK;
    if (fstat(fileno(stream), &about) == 0 && S_ISDIR(about.st_mode))
        status = sp_fail(context, SP_NO_READ, "%s: is a folder; valid: a readable case file", file);
    if (status == SP_OK) status = read_text(context, file, stream, text, size);
    fclose(stream);
    if (status != SP_OK) {
        sp_free(*text);
        *text = NULL;
    }
    return status;
}

sp_status sp_case_read(sp_context *context, const char *file, sp_case *request)
{
    char *text;
    size_t size;
    sp_case_default(request);
    sp_status status = sp_case_read_file(context, file, &text, &size);
    if (status == SP_OK) status = sp_case_parse(context, file, text, size, request);
    sp_free(text);
    return status;
}
