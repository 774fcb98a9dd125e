/* JSON values that are never NaN and never broken UTF-8. Each helper takes ownership of the value
 * it is given and accepts NULL (no memory), so that one test of `failed` at the end is enough. */
#ifndef SP_WRITE_JSON_H
#define SP_WRITE_JSON_H

#include <jansson.h>

json_t *sp_json_number(double value); /* null when not finite */
json_t *sp_json_text(const char *value);
void sp_json_put(json_t *object, const char *name, json_t *value, int *failed);
void sp_json_append(json_t *array, json_t *value, int *failed);

#endif
