/* libFuzzer on the 3MF reader, in memory: what starts as an archive is read as one, anything else is the model of a good
 * archive. Every refusal is one line; what is accepted is finite and within its bounds. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawing/drawing.h"
#include "drawing/names_3mf.h"
#include "drawing/package.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void require(int condition)
{
    if (!condition) abort();
}

static char *pack(const char *model, size_t model_size, size_t *size)
{
    static const char types[] = "<Types xmlns=\"" SP_OPC_TYPES "\"/>";
    static const char relations[] =
        "<Relationships xmlns=\"" SP_OPC_RELATIONS "\"><Relationship Target=\"/" SP_3MF_MODEL_PART
        "\" Id=\"a\" Type=\"" SP_3MF_MODEL_RELATION "\"/></Relationships>";
    const sp_part parts[] = {{"[Content_Types].xml", types, sizeof types - 1},
                             {"_rels/.rels", relations, sizeof relations - 1},
                             {SP_3MF_MODEL_PART, model, model_size}};
    sp_context context = {0};
    char *bytes = NULL;
    FILE *stream = open_memstream(&bytes, size);
    require(stream && sp_package_write(&context, parts, 3, stream) == SP_OK);
    require(fclose(stream) == 0);
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
    require((status == SP_OK) == (context.message[0] == 0));
    require(!strchr(context.message, '\n'));
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
