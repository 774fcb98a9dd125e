/* Find the outline of a solid block; see block.h. */
#include "shape/block.h"

#include <math.h>

#include "write/text.h"

enum { SIDE = SP_BLOCK_POINTS / 2 };

/* The sides of a bonded block stand at half the width times 1 + q (1 - z^2), z from -1 to 1 over
 * the height, in both directions; q so that the volume is kept: 1 + 4/3 q + 8/15 q^2 = 1/l. */
static double bulge(double stretch)
{
    const double more = fmax(0, 1 / stretch - 1), a = 8.0 / 15, b = 4.0 / 3;
    return (sqrt(b * b + 4 * a * more) - b) / (2 * a);
}

void sp_block_outline(const sp_path *path, double shortening, double point[SP_BLOCK_POINTS][2])
{
    const double height = path->size[1] - sp_finite(shortening), half = 0.5 * path->size[0];
    const double stretch = fmax(height / path->size[1], 1e-3);
    const double q = bulge(stretch), wide = 1 / sqrt(stretch);
    for (int i = 0; i < SIDE; i++) {
        const double z = 2.0 * i / (SIDE - 1) - 1;
        const double out = half * (path->block == SP_BLOCK_BONDED ? 1 + q * (1 - z * z) : wide);
        const double y = 0.5 * (1 + z) * height;
        point[i][0] = half + out, point[i][1] = y;
        point[SP_BLOCK_POINTS - 1 - i][0] = half - out, point[SP_BLOCK_POINTS - 1 - i][1] = y;
    }
}

void sp_block_bound(const sp_path *path, double shortening, sp_bounds *bounds)
{
    double point[SP_BLOCK_POINTS][2];
    sp_block_outline(path, shortening, point);
    for (int i = 0; i < SP_BLOCK_POINTS; i++) sp_bounds_add(bounds, point[i][0], point[i][1], 0);
}

void sp_draw_block(sp_svg *svg, const sp_view *view, const sp_path *path, double shortening)
{
    double point[SP_BLOCK_POINTS][2];
    sp_block_outline(path, shortening, point);
    sp_svg_raw(svg, "<polygon points=\"");
    for (int i = 0; i < SP_BLOCK_POINTS; i++)
        sp_print(svg->stream, i ? " %.2f,%.2f" : "%.2f,%.2f", view->x + view->scale * point[i][0],
                 view->y - view->scale * point[i][1]);
    sp_svg_raw(svg, "\" fill=\"" SP_SKY "\" stroke=\"" SP_INK
                    "\" stroke-width=\"1.5\" stroke-linejoin=\"round\"/>\n");
}
