#include "shape/sheets.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "shape/isometric.h"
#include "shape/state.h"
#include "write/colour.h"
#include "write/text.h"

typedef struct drawn {
    double seen[4][2]; /* right and up [mm] */
    double near;       /* how far its middle is towards the reader [mm] */
    char colour[8];
} drawn;

static int from_back(const void *one, const void *other)
{
    const drawn *a = one, *b = other;
    return (a->near > b->near) - (a->near < b->near);
}

static void add_corner(drawn *at, int corner, const double *place)
{
    double seen[3];
    sp_see(place, seen);
    at->seen[corner][0] = sp_finite(seen[0]), at->seen[corner][1] = sp_finite(seen[1]);
    at->near += 0.25 * sp_finite(seen[2]);
}

static void put(sp_svg *svg, const sp_view *view, drawn *sheet, int count)
{
    qsort(sheet, (size_t)count, sizeof *sheet, from_back);
    sp_svg_raw(svg, "<g stroke=\"" SP_INK "\" stroke-width=\"0.3\" stroke-linejoin=\"round\">\n");
    for (int i = 0; i < count; i++) {
        sp_print(svg->stream, "<polygon fill=\"%s\" points=\"", sheet[i].colour);
        for (int k = 0; k < 4; k++)
            sp_print(svg->stream, "%s%.1f,%.1f", k ? " " : "",
                     view->x + view->scale * sheet[i].seen[k][0],
                     view->y - view->scale * sheet[i].seen[k][1]);
        sp_svg_raw(svg, "\"/>\n");
    }
    sp_svg_raw(svg, "</g>\n");
}

static double strain_of(const sp_sheet *sheet, const double *fibre_strain)
{
    double most = 0;
    for (int i = 0; i < 6; i++) most = fmax(most, fibre_strain[sheet->bar[i]]);
    return most;
}

static int is_quoted(const sp_critical *critical, int panel)
{
    for (int i = 0; i < sp_critical_quoted(critical); i++)
        if (critical->strut[i] == panel) return 1;
    return 0;
}

sp_status sp_draw_sheets(sp_context *context, sp_svg *svg, const sp_view *view,
                         const sp_shapes *shapes, const double *position, const sp_ink *ink,
                         const sp_critical *quoted)
{
    drawn *all = sp_alloc((size_t)shapes->sheet_count, sizeof *all);
    if (!all) return sp_fail(context, SP_NO_MEMORY, "no memory for %d sheets", shapes->sheet_count);
    for (int i = 0; i < shapes->sheet_count; i++) {
        const sp_sheet *sheet = &shapes->sheet[i];
        for (int k = 0; k < 4; k++) add_corner(&all[i], k, position + 3 * (size_t)sheet->corner[k]);
        if (quoted && is_quoted(quoted, sheet->panel))
            memcpy(all[i].colour, SP_BLUE, sizeof all[i].colour);
        else if (ink->fibre_strain)
            sp_colour_text(sp_colour_level(strain_of(sheet, ink->fibre_strain), ink->top),
                           all[i].colour);
        else
            memcpy(all[i].colour, ink->colour, sizeof all[i].colour);
    }
    put(svg, view, all, shapes->sheet_count);
    sp_free(all);
    return SP_OK;
}

/* Find the middle of the upper edge of a wall; returns 0 without such a wall. */
static int upper_edge(const sp_shapes *shapes, const double *position, int panel, double place[3])
{
    double sum[2] = {0}, high = -INFINITY;
    int count = 0;
    for (int i = 0; i < shapes->sheet_count; i++) {
        const sp_sheet *sheet = &shapes->sheet[i];
        for (int k = 0; k < 4 && sheet->panel == panel; k++, count++) {
            const double *corner = position + 3 * (size_t)sheet->corner[k];
            sum[0] += corner[0], sum[1] += corner[2];
            high = fmax(high, corner[1]);
        }
    }
    place[0] = sum[0] / count, place[1] = high, place[2] = sum[1] / count;
    return count > 0;
}

void sp_draw_wall_numbers(sp_svg *svg, const sp_view *view, const sp_shapes *shapes,
                          const double *position, const sp_critical *quoted)
{
    double place[3];
    for (int i = 0; i < sp_critical_quoted(quoted); i++)
        if (upper_edge(shapes, position, quoted->strut[i], place))
            sp_draw_number(svg, view, place, 1, quoted->strut[i], 0);
}

sp_status sp_draw_network_sheets(sp_context *context, sp_svg *svg, const sp_view *view,
                                 const sp_network *network, const char *const role_colour[2])
{
    const int count = sp_network_sheets(network, NULL);
    sp_sheet *sheet = sp_alloc((size_t)count, sizeof *sheet);
    drawn *all = sp_alloc((size_t)count, sizeof *all);
    sp_status status = SP_OK;
    if (!sheet || !all) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d sheets", count);
        goto done;
    }
    sp_network_sheets(network, sheet);
    for (int i = 0; i < count; i++) {
        for (int k = 0; k < 4; k++)
            add_corner(&all[i], k,
                       network->joint_position +
                           3 * (size_t)network->strut_joint[sheet[i].corner[k]]);
        memcpy(all[i].colour, role_colour[sheet[i].role], sizeof all[i].colour);
    }
    put(svg, view, all, count);
done:
    sp_free(sheet);
    sp_free(all);
    return status;
}
