/* JSON values; see json.h. */
#include "write/json.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "write/text.h"

json_t *sp_json_number(double value)
{
    return isfinite(value) ? json_real(value == 0.0 ? 0.0 : value) : json_null();
}

json_t *sp_json_text(const char *value)
{
    const size_t size = 4 * strlen(value) + 1;
    char *clean = sp_alloc(size, 1);
    if (!clean) return NULL;
    sp_printable(value, clean, size);
    json_t *made = json_string(clean);
    sp_free(clean);
    return made;
}

void sp_json_put(json_t *object, const char *name, json_t *value, int *failed)
{
    if (!object) json_decref(value);
    if (!object || !value || json_object_set_new(object, name, value) != 0) *failed = 1;
}

void sp_json_append(json_t *array, json_t *value, int *failed)
{
    if (!array) json_decref(value);
    if (!array || !value || json_array_append_new(array, value) != 0) *failed = 1;
}
