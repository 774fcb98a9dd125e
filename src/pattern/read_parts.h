/* Shared by the two line readers: words with their line numbers, points, refusals. */
#ifndef SP_PATTERN_READ_PARTS_H
#define SP_PATTERN_READ_PARTS_H

#include "pattern/read_lines.h"

enum { SP_WORD_SIZE = 64 };

typedef struct sp_reader {
    sp_context *context;
    const char *name;        /* of the file, for messages */
    const char *at, *end;    /* what is left of the text */
    int line;                /* of `word` */
    int newline;             /* a line break stood before `word` */
    char word[SP_WORD_SIZE]; /* the last word, cut when longer; "" at the end */
    int point_count, point_capacity;
    double *point; /* 2 per point [mm] */
    double level;  /* z of the first point */
} sp_reader;

/* Next word separated by white space; 0 at the end of the text. */
int sp_reader_word(sp_reader *reader);
/* Rest of the present line after `word`, dropped. */
void sp_reader_skip_line(sp_reader *reader);
/* "name:line: received 'word'; valid: VALID" */
sp_status sp_reader_fail(const sp_reader *reader, const char *valid);
/* The present word as a number: finite and at most 1e6 in size; as an integer from low to high. */
sp_status sp_reader_number(sp_reader *reader, double *value);
sp_status sp_reader_integer(sp_reader *reader, const char *text, long low, long high, long *value);
/* Add a point; all points of a drawing have one z. */
sp_status sp_reader_add_point(sp_reader *reader, double x, double y, double z);
/* Add the line from one point to another. */
sp_status sp_reader_add_line(sp_reader *reader, long from, long to, sp_pieces *pieces);

sp_status sp_read_vtk(sp_reader *reader, sp_pieces *pieces);
sp_status sp_read_obj(sp_reader *reader, sp_pieces *pieces);

#endif
