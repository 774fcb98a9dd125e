/* This target runs the reader of tool paths: every refusal is one line; an accepted path is a
 * drawing of finite lines with thicknesses. The first byte picks the keys of the case. */
#include <math.h>

#include <strutpress/case.h>

#include "fuzz.h"
#include "toolpath/toolpath.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static fuzz_file path;
    sp_context context = {0};
    sp_case request;
    sp_drawing drawing;
    sp_toolpath_figures f;
    if (size < 1) return 0;
    fuzz_put(&path, ".path", data + 1, size - 1);
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "printed");
    snprintf(request.toolpath_file, sizeof request.toolpath_file, "%s", path.name);
    if (data[0] & 1) request.path_layers = (sp_list){2, {1, 2}};
    if (data[0] & 2) request.path_turn = 30;
    if (data[0] & 4) request.path_box = (sp_list){4, {-1, -1, 30, 30}};
    /* The case takes the size of the path, so that its network is made. */
    sp_status status = sp_toolpath_drawing(&context, &request, &drawing, &f);
    require_line(context.message, status != SP_OK);
    sp_drawing_free(&drawing);
    if (status == SP_BAD_CASE && f.size[0] > 0) {
        context.message[0] = 0;
        request.width = f.size[0], request.height = f.size[1], request.depth = f.size[2];
        status = sp_toolpath_drawing(&context, &request, &drawing, &f);
        require_line(context.message, status != SP_OK);
    }
    require(status == SP_OK || status == SP_NO_READ || status == SP_BAD_CASE ||
            status == SP_BAD_NETWORK);
    require(status != SP_OK || (drawing.repeat == 0) == (drawing.layer_height == NULL));
    for (int k = 0; status == SP_OK && drawing.repeat && k < drawing.layer_count; k++)
        require(drawing.repeat <= 4 && drawing.layer_height[k] > 0);
    for (int i = 0; status == SP_OK && i < drawing.line_count; i++) {
        require(isfinite(drawing.line_diameter[i]) && drawing.line_diameter[i] > 0);
        for (int k = 0; k < 6; k++)
            require(isfinite(drawing.point[3 * drawing.line_point[2 * i + k / 3] + k % 3]));
    }
    if (status == SP_OK) sp_drawing_free(&drawing);
    return 0;
}
