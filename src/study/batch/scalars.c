/* Go through the events of libyaml; see scalars.h. */
#include "batch/scalars.h"

#include <yaml.h>

int sp_plan_each_scalar(const char *text, size_t size, int (*look)(void *user, const char *scalar),
                        void *user)
{
    yaml_parser_t parser;
    yaml_event_t event;
    int goes_on = 1, done = 0;
    if (!yaml_parser_initialize(&parser)) return 0;
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
    while (goes_on && !done && yaml_parser_parse(&parser, &event)) {
        if (event.type == YAML_SCALAR_EVENT)
            goes_on = look(user, (const char *)event.data.scalar.value);
        done = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }
    if (parser.error == YAML_MEMORY_ERROR) goes_on = 0;
    yaml_parser_delete(&parser);
    return goes_on;
}
