/* Measure the length of tags, see tag_length.h. Comments, CDATA and processing instructions have
 * end marks of their own and are no tags; a > within quotes ends no tag. */
#include "drawing/tag_length.h"

enum { TEXT, OPENED, TAG, MARKED, COMMENT, CDATA, INSTRUCTION };

static int ends(const sp_tag_length *at, char before, char c)
{
    return c == '>' && at->last[1] == before && (before == '?' || at->last[0] == before);
}

static void step(sp_tag_length *at, char c)
{
    switch (at->place) {
    case TEXT:
        if (c == '<') at->place = OPENED;
        break;
    case OPENED:
        at->place = c == '!' ? MARKED : c == '?' ? INSTRUCTION : TAG;
        at->length = 0;
        at->quote = 0;
        break;
    case TAG:
        at->length++;
        if (at->quote)
            at->quote = c == at->quote ? 0 : at->quote;
        else if (c == '"' || c == '\'')
            at->quote = c;
        else if (c == '>')
            at->place = TEXT;
        break;
    case MARKED: /* <!-- or <![CDATA[; a document type is refused elsewhere */
        at->place = c == '[' ? CDATA : c == '-' ? COMMENT : TAG;
        break;
    case COMMENT:
        if (ends(at, '-', c)) at->place = TEXT;
        break;
    case CDATA:
        if (ends(at, ']', c)) at->place = TEXT;
        break;
    case INSTRUCTION:
        if (ends(at, '?', c)) at->place = TEXT;
        break;
    }
    at->last[0] = at->last[1];
    at->last[1] = c;
}

int sp_tag_length_read(sp_tag_length *at, const char *chunk, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        step(at, chunk[i]);
        if (at->length > SP_TAG_MAX) return 0;
    }
    return 1;
}
