/* This target runs the 3MF reader in memory: input that starts like an archive is read as one, any
 * other becomes the model of a good archive. Every refusal is one line; accepted figures are finite
 * and within their bounds. */
#include <math.h>
#include <zlib.h>

#include "drawing/drawing.h"
#include "drawing/names_3mf.h"
#include "fuzz.h"

static void put_number(char **at, unsigned long value, int bytes)
{
    for (; bytes > 0; bytes--, value >>= 8) *(*at)++ = (char)(value & 0xff);
}

static void put_bytes(char **at, const void *bytes, size_t size)
{
    memcpy(*at, bytes, size);
    *at += size;
}

typedef struct part {
    const char *name, *bytes;
    size_t size, offset;
} part;

/* Write the fields that the two headers of a part share (.ZIP file format specification 6.3,
 * sections 4.3.7 and 4.3.12): stored, without a time. */
static void put_about(char **at, const part *p)
{
    put_number(at, 20, 2);
    put_number(at, 0, 4);
    put_number(at, 0x210000, 4);
    put_number(at, crc32(0, (const Bytef *)p->bytes, (uInt)p->size), 4);
    put_number(at, p->size, 4), put_number(at, p->size, 4);
    put_number(at, strlen(p->name), 2), put_number(at, 0, 2);
}

/* Make an archive with this model, without deflating it, which would take longer than reading
 * it. */
static char *pack(const char *model, size_t model_size, size_t *size)
{
    static const char types[] = "<Types xmlns=\"" SP_OPC_TYPES "\"/>";
    static const char relations[] =
        "<Relationships xmlns=\"" SP_OPC_RELATIONS "\"><Relationship Target=\"/" SP_3MF_MODEL_PART
        "\" Id=\"a\" Type=\"" SP_3MF_MODEL_RELATION "\"/></Relationships>";
    part parts[] = {{"[Content_Types].xml", types, sizeof types - 1, 0},
                    {"_rels/.rels", relations, sizeof relations - 1, 0},
                    {SP_3MF_MODEL_PART, model, model_size, 0}};
    enum { COUNT = sizeof parts / sizeof *parts };
    char *bytes = malloc(model_size + 2048), *at = bytes;
    require(bytes != NULL);
    for (part *p = parts; p < parts + COUNT; p++) {
        p->offset = (size_t)(at - bytes);
        put_bytes(&at, "PK\3\4", 4);
        put_about(&at, p);
        put_bytes(&at, p->name, strlen(p->name));
        put_bytes(&at, p->bytes, p->size);
    }
    const size_t directory = (size_t)(at - bytes);
    for (const part *p = parts; p < parts + COUNT; p++) {
        put_bytes(&at, "PK\1\2\24", 6);
        put_about(&at, p);
        put_number(&at, 0, 2), put_number(&at, 0, 4), put_number(&at, 0, 4);
        put_number(&at, p->offset, 4);
        put_bytes(&at, p->name, strlen(p->name));
    }
    const size_t length = (size_t)(at - bytes) - directory;
    put_bytes(&at, "PK\5\6\0\0\0", 8);
    put_number(&at, COUNT, 2), put_number(&at, COUNT, 2);
    put_number(&at, length, 4), put_number(&at, directory, 4), put_number(&at, 0, 2);
    *size = (size_t)(at - bytes);
    return bytes;
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_drawing drawing;
    const char *bytes = (const char *)data;
    char *made = NULL;
    if (size < 2 || memcmp(data, "PK", 2) != 0) bytes = made = pack(bytes, size, &size);
    sp_status status = sp_drawing_parse(&context, "a.3mf", bytes, size, &drawing);
    free(made);
    require(status == SP_OK || status == SP_BAD_NETWORK);
    require_line(context.message, status != SP_OK);
    require(status != SP_OK || drawing.line_count > 0);
    for (int i = 0; i < 3 * drawing.point_count; i++) require(fabs(drawing.point[i]) <= 1e6);
    for (int i = 0; i < drawing.line_count; i++) {
        require(drawing.line_diameter[i] > 0 && drawing.line_diameter[i] <= 100);
        for (int k = 0; k < 2; k++)
            require(drawing.line_point[2 * i + k] >= 0 &&
                    drawing.line_point[2 * i + k] < drawing.point_count);
    }
    sp_drawing_free(&drawing);
    return 0;
}
