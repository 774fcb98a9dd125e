/* A few SVG primitives; see svg.h. */
#include "write/svg.h"

#include <math.h>
#include <string.h>

#include "write/text.h"

static const double line_pitch = 1.4; /* line distance / letter size */
/* Average advance / letter size of wide sans-serif fonts. */
static const double letter_width = 0.55;
enum { TEXT_SIZE_MAX = 1024 };

static void put_escaped(FILE *stream, const char *text)
{
    char clean[TEXT_SIZE_MAX];
    sp_printable(text, clean, sizeof clean);
    for (const char *c = clean; *c; c++) {
        switch (*c) {
        case '&':
            fputs("&amp;", stream);
            break;
        case '<':
            fputs("&lt;", stream);
            break;
        case '>':
            fputs("&gt;", stream);
            break;
        case '"':
            fputs("&quot;", stream);
            break;
        default:
            fputc(*c, stream);
        }
    }
}

sp_svg sp_svg_begin(FILE *stream, double width, double height, const char *title)
{
    sp_print(stream,
             "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
             "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.6g %.6g\" width=\"%.6g\" "
             "height=\"%.6g\" font-family=\"sans-serif\">\n<title>",
             width, height, width, height);
    put_escaped(stream, title);
    sp_print(stream,
             "</title>\n<defs><pattern id=\"hatch\" width=\"7\" height=\"7\" "
             "patternUnits=\"userSpaceOnUse\"><path d=\"M-1,8 L8,-1 M-1,1 L1,-1 M6,8 L8,6\" "
             "stroke=\"" SP_GREY "\" stroke-width=\"1\" fill=\"none\"/></pattern></defs>\n"
             "<rect width=\"%.6g\" height=\"%.6g\" fill=\"#ffffff\"/>\n",
             width, height);
    return (sp_svg){stream, width, height};
}

void sp_svg_end(sp_svg *svg)
{
    fputs("</svg>\n", svg->stream);
}

static void text_element(sp_svg *svg, double x, double y, double size, const char *attributes,
                         const char *colour, const char *text)
{
    sp_print(svg->stream, "<text x=\"%.2f\" y=\"%.2f\" font-size=\"%.6g\" fill=\"%s\"%s>",
             sp_finite(x), sp_finite(y), size, colour, attributes);
    put_escaped(svg->stream, text);
    fputs("</text>\n", svg->stream);
}

void sp_svg_text(sp_svg *svg, double x, double y, double size, sp_svg_anchor anchor,
                 const char *colour, const char *text)
{
    static const char *attribute[] = {"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
    text_element(svg, x, y, size, attribute[anchor], colour, text);
}

void sp_svg_text_bold(sp_svg *svg, double x, double y, double size, const char *colour,
                      const char *text)
{
    text_element(svg, x, y, size, " font-weight=\"bold\"", colour, text);
}

void sp_svg_text_rimmed(sp_svg *svg, double x, double y, double size, const char *colour,
                        const char *text)
{
    static const char rim[] = " font-weight=\"bold\" text-anchor=\"middle\" stroke=\"#ffffff\" "
                              "stroke-width=\"4\" stroke-linejoin=\"round\"";
    const double middle = y + 0.35 * size;
    text_element(svg, x, middle, size, rim, "#ffffff", text);
    text_element(svg, x, middle, size, " font-weight=\"bold\" text-anchor=\"middle\"", colour,
                 text);
}

void sp_svg_text_upright(sp_svg *svg, double x, double y, double size, const char *colour,
                         const char *text)
{
    char attributes[128];
    sp_format(attributes, sizeof attributes,
              " text-anchor=\"middle\" transform=\"rotate(-90 %.2f %.2f)\"", x, y);
    text_element(svg, x, y, size, attributes, colour, text);
}

double sp_svg_text_width(double size, const char *text)
{
    return letter_width * size * sp_text_columns(text);
}

/* Count the bytes of `text` that fit in one line. It breaks at a space where there is one, but not
 * between a number and its unit or an equals sign. */
static size_t line_length(const char *text, int columns)
{
    size_t length = 0, space = 0;
    int used = 0;
    for (; text[length]; length++) {
        if (((unsigned char)text[length] & 0xc0) != 0x80 && ++used > columns)
            return space ? space : length;
        if (text[length] == ' ' && text[length + 1] != '%' && text[length + 1] != '=')
            space = length;
    }
    return length;
}

static int columns_of(double size, double width)
{
    int columns = (int)(width / (letter_width * size));
    return columns > 1 ? columns : 1;
}

double sp_svg_paragraph(sp_svg *svg, double x, double y, double size, double width,
                        const char *colour, const char *text)
{
    char clean[TEXT_SIZE_MAX], line[TEXT_SIZE_MAX];
    sp_printable(text, clean, sizeof clean);
    for (const char *rest = clean; *rest; y += line_pitch * size) {
        size_t length = line_length(rest, columns_of(size, width));
        memcpy(line, rest, length);
        line[length] = '\0';
        text_element(svg, x, y, size, "", colour, line);
        rest += length;
        while (*rest == ' ') rest++;
    }
    return y;
}

double sp_svg_paragraph_height(double size, double width, const char *text)
{
    char clean[TEXT_SIZE_MAX];
    int lines = 0;
    sp_printable(text, clean, sizeof clean);
    for (const char *rest = clean; *rest; lines++) {
        rest += line_length(rest, columns_of(size, width));
        while (*rest == ' ') rest++;
    }
    return line_pitch * size * lines;
}

void sp_svg_line(sp_svg *svg, double xa, double ya, double xb, double yb, double width,
                 const char *colour, const char *dashes)
{
    sp_print(svg->stream,
             "<line x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\" stroke=\"%s\" "
             "stroke-width=\"%.6g\"",
             sp_finite(xa), sp_finite(ya), sp_finite(xb), sp_finite(yb), colour, width);
    if (dashes) sp_print(svg->stream, " stroke-dasharray=\"%s\"", dashes);
    fputs("/>\n", svg->stream);
}

void sp_svg_box(sp_svg *svg, double x, double y, double width, double height, const char *fill,
                const char *edge)
{
    sp_print(svg->stream,
             "<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\" fill=\"%s\" "
             "stroke=\"%s\"/>\n",
             sp_finite(x), sp_finite(y), fmax(0.0, sp_finite(width)), fmax(0.0, sp_finite(height)),
             fill ? fill : "none", edge ? edge : "none");
}

void sp_svg_platen(sp_svg *svg, double x, double y, double width, double height, int lower)
{
    double face = lower ? y : y + height;
    sp_svg_box(svg, x, y, width, height, "#eef0f3", NULL);
    sp_svg_box(svg, x, y, width, height, "url(#hatch)", NULL);
    sp_svg_line(svg, x, face, x + width, face, 1.4, SP_INK, NULL);
}

void sp_svg_raw(sp_svg *svg, const char *xml)
{
    fputs(xml, svg->stream);
}

double sp_svg_tick(double range, int parts)
{
    if (!(range > 0.0) || !isfinite(range)) return 1.0;
    double rough = range / parts, power = pow(10.0, floor(log10(rough)));
    double share = rough / power;
    return power * (share <= 1.0 ? 1.0 : share <= 2.0 ? 2.0 : share <= 5.0 ? 5.0 : 10.0);
}
