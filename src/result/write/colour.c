/* Ten colours of the viridis map (Smith & van der Walt 2015, released under CC0; read in public
 * code), with straight lines between them. Its lightness rises evenly, so it also reads in grey and
 * for colour-blind readers. */
#include "write/colour.h"

#include <math.h>
#include <stdio.h>

static const unsigned char anchor[][3] = {
    {0x44, 0x01, 0x54}, {0x48, 0x28, 0x78}, {0x3e, 0x4a, 0x89}, {0x31, 0x68, 0x8e},
    {0x26, 0x82, 0x8e}, {0x1f, 0x9e, 0x89}, {0x35, 0xb7, 0x79}, {0x6d, 0xcd, 0x59},
    {0xb4, 0xde, 0x2c}, {0xfd, 0xe7, 0x25},
};
enum { LAST = sizeof anchor / sizeof anchor[0] - 1 };

int sp_colour_level(double value, double top)
{
    double share = value / top;
    if (!(share > 0.0)) return 0;
    return (int)fmin(SP_COLOUR_LEVELS - 1, floor(share * SP_COLOUR_LEVELS));
}

const char *sp_colour_text(int level, char text[8])
{
    double place = (double)LAST * level / (SP_COLOUR_LEVELS - 1);
    int i = place < LAST ? (int)place : LAST - 1;
    unsigned rgb[3];
    for (int k = 0; k < 3; k++)
        rgb[k] = (unsigned)lround(anchor[i][k] + (place - i) * (anchor[i + 1][k] - anchor[i][k])) &
                 0xffu;
    snprintf(text, 8, "#%02x%02x%02x", rgb[0], rgb[1], rgb[2]);
    return text;
}
