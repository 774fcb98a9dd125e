/* How a coupon is printed and pressed, for the page; the sketch is that of the SVG pictures. */
#include "report/report_parts.h"

#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "shape/direction.h"
#include "write/json.h"

enum { SKETCH_SIZE = 64 * 1024 };

static json_t *sketch(report *r, const sp_network *network, int *failed)
{
    char *text = sp_alloc(SKETCH_SIZE, 1);
    FILE *stream = text ? fmemopen(text, SKETCH_SIZE, "w") : NULL;
    json_t *made = NULL;
    if (stream) {
        sp_svg svg = sp_svg_begin(stream, SP_DIRECTION_WIDTH, SP_DIRECTION_HEIGHT,
                                  "How the coupon is printed and pressed");
        sp_draw_direction_sketch(&svg, 0, 0, network);
        sp_svg_end(&svg);
        const int cut = fclose(stream) != 0;
        if (cut)
            sp_fail(r->context, SP_INTERNAL, "the sketch of a coupon is longer than %d bytes",
                    SKETCH_SIZE);
        else
            made = sp_report_base64((const unsigned char *)text, strlen(text));
    }
    sp_free(text);
    if (!made) *failed = 1;
    return made;
}

json_t *sp_report_direction(report *r, const sp_network *network, int *failed)
{
    char words[SP_MESSAGE_SIZE];
    json_t *all = json_object();
    sp_network_printed_text(network, words, sizeof words);
    sp_json_put(all, "printed", sp_json_text(words), failed);
    sp_network_pressed_text(network, words, sizeof words);
    sp_json_put(all, "pressed", sp_json_text(words), failed);
    sp_json_put(all, "sketch", sketch(r, network, failed), failed);
    return all;
}
