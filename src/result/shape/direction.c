/* Draw the sketch of printing and pressing; see direction.h. It is a cabinet view: width to the
 * right, height up, depth to the back. */
#include "shape/direction.h"

#include <math.h>

#include <strutpress/context.h>

#include "write/text.h"

#define BACK_RIGHT 0.42 /* drawn length to the right and up of a length along the depth */
#define BACK_UP 0.30
#define ROOM_WIDTH 112.0 /* of the coupon in the sketch */
#define ROOM_HEIGHT 74.0
#define LEFT 44.0 /* of the coupon: room for the words of the press */
#define TOP 30.0
#define THINNEST 0.08 /* drawn size / largest: a sheet is still seen */
#define PLATEN 7.0
#define OVER 6.0 /* how far the platens reach beyond the coupon */
#define LAYERS 7
#define CELL 13.0  /* of the hinted pattern */
#define ASIDE 14.0 /* of the arrow along the layers from the platen */
#define LETTER 12.0
#define TEXT 14.0
#define COUPON "#dceaf3"
#define SIDE "#b8d4e6"
#define PLATEN_FRONT "#c9ced6"
#define PLATEN_TOP "#e4e6e9"

/* A box in the sketch: (x, y) is its front lower left corner. */
typedef struct block {
    double x, y, width, height, right, up; /* (right, up) is where its depth leads */
} block;

static void quad(sp_svg *svg, const double p[8], const char *fill)
{
    sp_print(svg->stream,
             "<polygon points=\"%.1f,%.1f %.1f,%.1f %.1f,%.1f %.1f,%.1f\" fill=\"%s\" "
             "stroke=\"" SP_INK "\" stroke-width=\"0.8\" stroke-linejoin=\"round\"/>\n",
             p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], fill);
}

static void draw_block(sp_svg *svg, const block *b, const char *front, const char *top)
{
    const double x = b->x, y = b->y, w = b->width, h = b->height, r = b->right, u = b->up;
    quad(svg, (double[]){x, y, x + w, y, x + w, y - h, x, y - h}, front);
    quad(svg, (double[]){x, y - h, x + w, y - h, x + w + r, y - h - u, x + r, y - h - u}, top);
    quad(svg, (double[]){x + w, y, x + w, y - h, x + w + r, y - h - u, x + w + r, y - u}, top);
}

/* Draw lines between the printed layers, on the top and on the side. */
static void draw_layers(sp_svg *svg, const block *b)
{
    for (int i = 1; i < LAYERS; i++) {
        const double r = b->right * i / LAYERS, u = b->up * i / LAYERS;
        const double right = b->x + b->width + r, top = b->y - b->height - u;
        sp_svg_line(svg, b->x + r, top, right, top, 0.7, SP_BLUE, NULL);
        sp_svg_line(svg, right, top, right, b->y - u, 0.7, SP_BLUE, NULL);
    }
}

/* Draw lines between layers that lie on each other, on the front and on the side. */
static void draw_flat_layers(sp_svg *svg, const block *b)
{
    for (int i = 1; i < LAYERS; i++) {
        const double y = b->y - b->height * i / LAYERS, right = b->x + b->width;
        sp_svg_line(svg, b->x, y, right, y, 0.7, SP_BLUE, NULL);
        sp_svg_line(svg, right, y, right + b->right, y - b->up, 0.7, SP_BLUE, NULL);
    }
}

static int cells_of(const double side[2])
{
    return (int)fmax(1, round(hypot(side[0], side[1]) / CELL));
}

/* Suggest the pattern by a cross in every cell of a face; two sides span the face. */
static void draw_pattern(sp_svg *svg, double x, double y, const double along[2],
                         const double across[2])
{
    const int columns = cells_of(along), rows = cells_of(across);
    const double a[2] = {along[0] / columns, along[1] / columns};
    const double b[2] = {across[0] / rows, across[1] / rows};
    for (int i = 0; i < columns * rows; i++) {
        const int column = i % columns, row = i / columns;
        const double left = x + column * a[0] + row * b[0], low = y + column * a[1] + row * b[1];
        sp_svg_line(svg, left, low, left + a[0] + b[0], low + a[1] + b[1], 0.6, SP_BLUE, NULL);
        sp_svg_line(svg, left + a[0], low + a[1], left + b[0], low + b[1], 0.6, SP_BLUE, NULL);
    }
}

static void draw_faces(sp_svg *svg, const block *b, sp_built built)
{
    const double along[2] = {b->width, 0}, up[2] = {0, -b->height}, back[2] = {b->right, -b->up};
    if (built == SP_BUILT_SOLID) return;
    if (sp_built_is_flat(built)) {
        draw_flat_layers(svg, b);
        draw_pattern(svg, b->x, b->y - b->height, along, back);
        return;
    }
    draw_pattern(svg, b->x, b->y, along, up);
    if (built == SP_BUILT_EXTRUDED || built == SP_BUILT_LAYERS) {
        draw_layers(svg, b);
        return;
    }
    draw_pattern(svg, b->x, b->y - b->height, along, back);
    draw_pattern(svg, b->x + b->width, b->y, back, up);
}

static void arrow(sp_svg *svg, double x, double y, double to_x, double to_y, const char *colour)
{
    const double length = hypot(to_x - x, to_y - y), a = (to_x - x) / length,
                 b = (to_y - y) / length;
    sp_svg_line(svg, x, y, to_x - 5 * a, to_y - 5 * b, 2.0, colour, NULL);
    sp_print(svg->stream, "<polygon points=\"%.1f,%.1f %.1f,%.1f %.1f,%.1f\" fill=\"%s\"/>\n", to_x,
             to_y, to_x - 9 * a - 4 * b, to_y - 9 * b + 4 * a, to_x - 9 * a + 4 * b,
             to_y - 9 * b - 4 * a, colour);
}

static block platen_of(const block *b, int upper)
{
    const double share_r = OVER * BACK_RIGHT, share_u = OVER * BACK_UP;
    const double floor = upper ? b->y - b->height : b->y + PLATEN;
    return (block){b->x - OVER - share_r,  floor + share_u,    b->width + 2 * OVER, PLATEN,
                   b->right + 2 * share_r, b->up + 2 * share_u};
}

/* Find width, height and drawn depth that fit the room, in the proportions of the coupon except for
 * very thin sides. */
static block fit(const sp_network *network, double x, double y)
{
    double side[3], largest = 0;
    for (int k = 0; k < 3; k++) largest = fmax(largest, network->size[k]);
    for (int k = 0; k < 3; k++) side[k] = fmax(network->size[k], THINNEST * largest);
    /* The upper bound keeps the face of a long rod visible. */
    side[2] = fmin(side[2], 2 * fmax(side[0], side[1]));
    const double scale = fmin(ROOM_WIDTH / (side[0] + BACK_RIGHT * side[2]),
                              ROOM_HEIGHT / (side[1] + BACK_UP * side[2]));
    block b = {.width = scale * side[0], .height = scale * side[1]};
    b.right = scale * BACK_RIGHT * side[2], b.up = scale * BACK_UP * side[2];
    b.x = x + LEFT + 0.5 * (ROOM_WIDTH - b.width - b.right);
    b.y = y + TOP + 0.5 * (ROOM_HEIGHT + b.height + b.up);
    return b;
}

void sp_draw_direction_sketch(sp_svg *svg, double x, double y, const sp_network *network)
{
    const block b = fit(network, x, y);
    const block lower = platen_of(&b, 0), upper = platen_of(&b, 1);
    const double middle = b.x + 0.5 * (b.width + b.right);
    draw_block(svg, &lower, PLATEN_FRONT, PLATEN_TOP);
    draw_block(svg, &b, COUPON, SIDE);
    draw_faces(svg, &b, network->built);
    draw_block(svg, &upper, PLATEN_FRONT, PLATEN_TOP);
    const double top = upper.y - upper.height - 0.5 * upper.up;
    arrow(svg, middle, top - 26, middle, top, SP_VERMILION);
    sp_svg_text(svg, middle - 8, top - 16, LETTER, SP_SVG_RIGHT, SP_VERMILION, "pressed");
    if (sp_built_is_flat(network->built)) {
        const double side = b.x + b.width + b.right + 2 * ASIDE;
        arrow(svg, side, b.y - b.up, side, b.y - b.up - fmax(b.height, 22), SP_BLUE);
        sp_svg_text(svg, side + 6, b.y - b.up - 6, LETTER, SP_SVG_LEFT, SP_BLUE, "layers");
        return;
    }
    if (network->built != SP_BUILT_EXTRUDED && network->built != SP_BUILT_LAYERS) return;
    const double right = lower.x + lower.width + ASIDE, reach = fmax(lower.right, 16);
    arrow(svg, right, lower.y, right + reach, lower.y - reach * BACK_UP / BACK_RIGHT, SP_BLUE);
    sp_svg_text(svg, right + 2, lower.y + 14, LETTER, SP_SVG_LEFT, SP_BLUE, "layers");
}

void sp_draw_direction(sp_svg *svg, double x, double y, double width, const sp_network *network)
{
    char text[SP_MESSAGE_SIZE], line[SP_MESSAGE_SIZE];
    const double left = x + SP_DIRECTION_WIDTH + 16, room = width - SP_DIRECTION_WIDTH - 16;
    sp_draw_direction_sketch(svg, x, y, network);
    sp_network_printed_text(network, text, sizeof text);
    sp_format(line, sizeof line, "Printed: %s.", text);
    const double next = sp_svg_paragraph(svg, left, y + 38, TEXT, room, SP_INK, line);
    sp_network_pressed_text(network, text, sizeof text);
    sp_format(line, sizeof line, "Pressed: %s.", text);
    sp_svg_paragraph(svg, left, next + 4, TEXT, room, SP_INK, line);
}

void sp_drawn_text(const sp_network *network, char *text, size_t size)
{
    text[0] = '\0';
    if (!network->block) return;
    sp_format(text, size,
              "Drawn is a block of the coupon, %.4g x %.4g mm of its %.4g x %.4g mm, which is "
              "pressed in its place%s. ",
              network->size[0], network->size[2], network->whole[0], network->whole[2],
              network->mirror ? "; the sides of the block are planes of symmetry" : "");
}
