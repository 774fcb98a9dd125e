/* How long the tags of an XML text are, known before a parser sees them: the time that a parser
 * needs for a tag grows with the square of its attributes. */
#ifndef SP_DRAWING_TAG_LENGTH_H
#define SP_DRAWING_TAG_LENGTH_H

#include <stddef.h>

enum {
    SP_TAG_MAX = 16384
}; /* bytes of a tag; one with every attribute of a 3MF file has some hundred */

/* Where in the text the last part ended. Start with {0}. */
typedef struct sp_tag_length {
    int place;
    size_t length;
    char quote, last[2]; /* the two bytes before */
} sp_tag_length;

/* Read the next part; 0 when a tag is longer than SP_TAG_MAX. */
int sp_tag_length_read(sp_tag_length *at, const char *chunk, size_t size);

#endif
