/* Tell whether a file is a case, a plan or a target by the names at its top. */
#include <string.h>
#include <yaml.h>

#include <strutpress/batch.h>

#include "base/alloc.h"
#include "case/case_parts.h"

enum { LEAST_DEPTH = 1, EVENTS_MAX = 100000 };

/* Names that no file of another kind has at its top. */
static const struct {
    const char *name;
    sp_file_kind kind;
} names[] = {{"require", SP_FILE_TARGET},
             {"vary", SP_FILE_TARGET},
             {"candidates", SP_FILE_TARGET},
             {"axes", SP_FILE_PLAN},
             {"where", SP_FILE_PLAN}};

/* Narrow the kind by one name at the top; a name that says nothing leaves it as it was. */
static sp_file_kind kind_by_name(const yaml_event_t *event, sp_file_kind before)
{
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (!strcmp((const char *)event->data.scalar.value, names[i].name)) return names[i].kind;
    return before;
}

/* Go through the events: this takes no more memory than one of them, and goes no deeper than
 * libyaml itself. */
static sp_file_kind look_through(yaml_parser_t *parser)
{
    sp_file_kind kind = SP_FILE_CASE;
    int depth = 0, is_name = 1, done = 0;
    for (int count = 0; !done && kind == SP_FILE_CASE && count < EVENTS_MAX; count++) {
        yaml_event_t event;
        if (!yaml_parser_parse(parser, &event)) return SP_FILE_CASE;
        const int opens =
            event.type == YAML_MAPPING_START_EVENT || event.type == YAML_SEQUENCE_START_EVENT;
        const int closes =
            event.type == YAML_MAPPING_END_EVENT || event.type == YAML_SEQUENCE_END_EVENT;
        depth -= closes;
        if (depth == LEAST_DEPTH && event.type == YAML_SCALAR_EVENT && is_name)
            kind = kind_by_name(&event, kind);
        /* names and values take turns at the top; a list or a mapping is a value when it ends */
        if (depth == LEAST_DEPTH &&
            (event.type == YAML_SCALAR_EVENT || closes || event.type == YAML_ALIAS_EVENT))
            is_name = !is_name;
        depth += opens;
        done = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    return kind;
}

sp_file_kind sp_file_kind_of(const char *file)
{
    sp_context quiet = {0};
    char *text;
    size_t size;
    yaml_parser_t parser;
    sp_file_kind kind = SP_FILE_CASE;
    if (sp_case_read_file(&quiet, file, &text, &size) != SP_OK) return kind;
    if (sp_case_check_text(&quiet, file, text, size) == SP_OK && yaml_parser_initialize(&parser)) {
        yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
        yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
        kind = look_through(&parser);
        yaml_parser_delete(&parser);
    }
    sp_free(text);
    return kind;
}
