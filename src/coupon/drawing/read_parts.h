/* What the readers of drawings share: words of a text with their line numbers, refusals, and the
 * formats. */
#ifndef SP_DRAWING_READ_PARTS_H
#define SP_DRAWING_READ_PARTS_H

#include "drawing/drawing.h"
#include "drawing/triangles.h"

enum { SP_WORD_SIZE = 64 };

typedef struct sp_reader {
    sp_context *context;
    const char *name;        /* of the file, for messages */
    const char *at, *end;    /* the rest of the text */
    int line;                /* of `word` */
    int newline;             /* a line break stood before `word` */
    char word[SP_WORD_SIZE]; /* the last word, cut when longer; "" at the end */
    sp_drawing *drawing;
    int cell_count, cell_capacity;
    int *cell_end; /* VTK: lines up to and with each cell */
} sp_reader;

/* Read the next word, separated by white space; 0 at the end of the text. */
int sp_reader_word(sp_reader *reader);
/* Skip the rest of the present line after `word`. */
void sp_reader_skip_line(sp_reader *reader);
/* Fail with "name:line: received 'word'; valid: VALID". */
sp_status sp_reader_fail(const sp_reader *reader, const char *valid);
/* Read the present word as a coordinate, finite and at most 1e6 in size; as a diameter; as an
 * integer from low to high. */
sp_status sp_reader_number(sp_reader *reader, double *value);
sp_status sp_reader_diameter(sp_reader *reader, double *value);
sp_status sp_reader_integer(sp_reader *reader, const char *text, long low, long high, long *value);
/* Add the line from one point to another, without a diameter. */
sp_status sp_reader_add_line(sp_reader *reader, long from, long to);

/* Return 1 when a diameter, or a coordinate, may have this value [mm]; NaN is never valid. */
int sp_is_diameter(double value);
int sp_is_coordinate(double value);
#define SP_DIAMETER_VALID "a diameter, 0.01 .. 100 mm"
#define SP_COORDINATE_VALID "a coordinate in mm, -1e6 .. 1e6"

sp_status sp_read_vtk(sp_reader *reader);
sp_status sp_read_obj(sp_reader *reader);
/* Read an archive in memory: its bytes are of any kind, not text. */
sp_status sp_read_3mf(sp_context *context, const char *name, const char *bytes, size_t size,
                      sp_drawing *drawing);
/* The triangles of what the build names instead, in mm. */
sp_status sp_read_3mf_triangles(sp_context *context, const char *name, const char *bytes,
                                size_t size, sp_take_triangle *take, void *user);

/* The bytes of a file of at most 64 MB, with a 0 behind them; freed by sp_free. Errors: SP_NO_READ,
 * SP_BAD_NETWORK, SP_NO_MEMORY; *bytes is then NULL. */
sp_status sp_read_bytes(sp_context *context, const char *file, char **bytes, size_t *size);

#endif
