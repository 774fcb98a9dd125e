/* Turn a case into the text and the hashes by which it is known. */
#include <strutpress/store.h>

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>
#include <sys/stat.h>

#include <strutpress/inspect.h>

#include "case/case_parts.h"
#include "base/hash.h"
#include "drawing/drawing.h"

_Static_assert(SP_KEY_SIZE == SP_HASH_TEXT_SIZE, "a key is a hash in text");

typedef struct text_end {
    char *text;
    size_t size, used;
} text_end;

static void put(text_end *end, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void put(text_end *end, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(end->text + end->used, end->size - end->used, format, arguments);
    va_end(arguments);
    if (length > 0) end->used += (size_t)length;
    if (end->used >= end->size) end->used = end->size - 1;
}

/* Seventeen digits give back the same double; minus zero presses like zero. */
static void put_number(text_end *end, double value)
{
    if (isnan(value))
        put(end, " -");
    else if (isinf(value))
        put(end, " none");
    else
        put(end, " %.17g", value == 0 ? 0.0 : value);
}

static sp_status fail_to_read(sp_context *context, const char *key, const char *file,
                              const char *cause)
{
    return sp_fail(context, SP_NO_READ, "%s: %.300s: cannot be read: %s; valid: a readable file",
                   key, file, cause);
}

/* Find size and hash of a file, read piece by piece: it may be of any size. */
static sp_status hash_file(sp_context *context, const char *key, const char *file, size_t *size,
                           char text[SP_HASH_TEXT_SIZE])
{
    unsigned char block[1 << 16];
    struct stat about;
    sp_hash hash = sp_hash_begin();
    *size = 0;
    /* Only regular files are read: a pipe would be empty at the second reading, and a device may
     * have no end. */
    if (stat(file, &about) == 0 && !S_ISREG(about.st_mode))
        return fail_to_read(context, key, file, "it is a folder, a pipe or a device");
    FILE *stream = fopen(file, "rb");
    if (!stream) return fail_to_read(context, key, file, strerror(errno));
    for (size_t got; (got = fread(block, 1, sizeof block, stream)) > 0; *size += got)
        sp_hash_add(&hash, block, got);
    sp_status status = ferror(stream) ? fail_to_read(context, key, file, strerror(errno)) : SP_OK;
    fclose(stream);
    sp_hash_text(&hash, text);
    return status;
}

/* A file is known by its name without folders, its size and the hash of its content: the same file
 * elsewhere gives the same coupon, a changed file does not. */
static sp_status put_file(sp_context *context, text_end *end, const char *key, const char *file)
{
    char hash_text[SP_HASH_TEXT_SIZE];
    size_t size;
    const char *slash = strrchr(file, '/');
    if (!file[0]) {
        put(end, " -");
        return SP_OK;
    }
    sp_status status = hash_file(context, key, file, &size, hash_text);
    if (status == SP_OK) put(end, " %s %zu bytes %s", slash ? slash + 1 : file, size, hash_text);
    return status;
}

/* Add every file of material.table or material.table_compression. */
static sp_status put_tables(sp_context *context, text_end *end, const char *files, const char *key)
{
    char name[SP_FILE_SIZE];
    sp_status status = SP_OK;
    if (!sp_case_table_name(files, 0, name)) put(end, " -");
    for (int i = 0; status == SP_OK && sp_case_table_name(files, i, name) > 0; i++)
        status = put_file(context, end, key, name);
    return status;
}

/* A drawing is known by the bytes that are pressed, whatever became of its file since. */
static int put_drawing(text_end *end, const sp_resolved *resolved)
{
    const sp_drawing *drawing = resolved->drawing;
    if (!drawing || !drawing->file_hash[0]) return 0;
    const int printed = !strcmp(resolved->request.pattern, SP_PRINTED_NAME);
    const char *file = printed ? resolved->request.toolpath_file : resolved->request.network_file,
               *slash = strrchr(file, '/');
    put(end, " %s %zu bytes %s", slash ? slash + 1 : file, drawing->file_size, drawing->file_hash);
    return 1;
}

static sp_status put_row(sp_context *context, text_end *end, const sp_resolved *resolved,
                         const sp_case *request, int index)
{
    const sp_case_row *row = sp_case_row_at(index);
    const void *field = (const char *)request + row->offset;
    sp_status status = SP_OK;
    char word[SP_NAME_SIZE] = "";
    put(end, "%s", row->key);
    switch (row->kind) {
    case SP_KIND_NUMBER:
        put_number(end, *(const double *)field);
        break;
    case SP_KIND_INTEGER:
        put(end, " %d", *(const int *)field);
        break;
    case SP_KIND_CHOICE:
        sp_case_row_word(index, *(const int *)field, word);
        put(end, " %s", word);
        break;
    case SP_KIND_LIST: {
        const sp_list *list = field;
        if (!list->count) put(end, " -");
        for (int i = 0; i < list->count; i++) {
            if (i) put(end, ",");
            put_number(end, list->value[i]);
        }
        break;
    }
    case SP_KIND_NAME:
    case SP_KIND_TEXT:
        put(end, " %s", *(const char *)field ? (const char *)field : "-");
        break;
    case SP_KIND_FILE:
        if (field == request->table_file || field == request->table_compression)
            status = put_tables(context, end, field, row->key);
        else if (field != (strcmp(request->pattern, SP_PRINTED_NAME) ? request->network_file
                                                                     : request->toolpath_file) ||
                 !put_drawing(end, resolved))
            status = put_file(context, end, row->key, field);
        break;
    }
    put(end, "\n");
    return status;
}

/* A pattern may be given by its name or its alias, and its usual angle may be written out. Both are
 * brought to one spelling, so that one coupon has one key. */
static void settle_names(sp_case *request)
{
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        const char *shown = row.alias[0] ? row.alias : row.name;
        if (strcmp(request->pattern, row.name) && strcmp(request->pattern, row.alias)) continue;
        snprintf(request->pattern, sizeof request->pattern, "%s", shown);
        if (fabs(request->angle - row.angle) <= 0) request->angle = NAN;
        return;
    }
}

sp_status sp_coupon_key_of(sp_context *context, const sp_resolved *resolved, sp_coupon_key *known)
{
    sp_case settled = resolved->request;
    sp_hash key = sp_hash_begin(), family;
    text_end end = {known->text, sizeof known->text, 0};
    settle_names(&settled);
    /* Leave out what follows from density and cells: coupons of one series differ in the density
     * alone. */
    if (settled.origin[sp_case_row_find("infill.strut_diameter")] == SP_ORIGIN_DERIVED)
        settled.strut_diameter = NAN;
    sp_hash_add(&key, sp_version(), strlen(sp_version()) + 1);
    family = key;
    const int seed = sp_case_row_find("flaws.seed"), seeds = sp_case_row_find("press.seeds");
    for (int i = 0; i < sp_parameter_count(); i++) {
        /* A store holds one press per coupon, so the number of seeds that belong together is no
         * part of it. */
        if (i == seeds) continue;
        const size_t from = end.used;
        sp_status status = put_row(context, &end, resolved, &settled, i);
        if (status != SP_OK) return status;
        sp_hash_add(&key, end.text + from, end.used - from);
        /* Seed 0 is the perfect coupon; it is no replicate of the others. */
        if (i != seed || !settled.flaw_seed) sp_hash_add(&family, end.text + from, end.used - from);
    }
    sp_hash_text(&key, known->key);
    sp_hash_text(&family, known->family);
    known->flaw_seed = settled.flaw_seed;
    if (end.used + 1 >= end.size)
        return sp_fail(context, SP_INTERNAL, "the text of a case is longer than %zu", end.size);
    return SP_OK;
}

sp_status sp_coupon_key_of_case(sp_context *context, const sp_case *request, sp_coupon_key *known)
{
    /* An invalid case is refused when it is pressed, not here. */
    sp_context quiet = {.interrupt = context ? context->interrupt : NULL};
    sp_resolved resolved;
    sp_status status = sp_case_resolve(&quiet, request, &resolved);
    if (status == SP_NO_MEMORY || status == SP_INTERRUPTED)
        sp_fail(context, status, "%s", quiet.message);
    else
        status = sp_coupon_key_of(context, &resolved, known);
    sp_resolved_free(&resolved);
    return status;
}
