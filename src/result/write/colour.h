/* A perceptually uniform colour map. */
#ifndef SP_WRITE_COLOUR_H
#define SP_WRITE_COLOUR_H

#define SP_COLOUR_LEVELS 48

/* Return the level 0 .. SP_COLOUR_LEVELS - 1 of value / top; values below 0 and beyond 1 get the
 * ends. */
int sp_colour_level(double value, double top);
/* Return "#rrggbb" of a level. */
const char *sp_colour_text(int level, char text[8]);

#endif
