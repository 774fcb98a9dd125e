/* STL as its only description (StereoLithography Interface Specification, 3D Systems, 1989; from
 * memory). Binary: 80 bytes that may say anything, the number of triangles, then for each a normal
 * and three corners as 32-bit floats and two bytes that are not used, all with the lowest byte
 * first. Text: `solid NAME`, then for each triangle `facet normal i j k`, `outer loop`, three times
 * `vertex x y z`, `endloop`, `endfacet`, in the end `endsolid NAME`. Normals are not read: the
 * order of the corners says the same. */
#include "drawing/triangles.h"

#include <ctype.h>
#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/alloc.h"
#include "base/decimal.h"
#include "base/poll.h"
#include "drawing/read_parts.h"

enum { HEAD_SIZE = 84, RECORD_SIZE = 50 };
static const double bytes_max = 1e9;

/* What every triangle of a file goes through, whatever its format. */
typedef struct sink {
    sp_context *context;
    const char *name;
    sp_take_triangle *take;
    void *user;
    sp_triangle_source *source;
    sp_poll poll;
} sink;

typedef struct stl {
    sp_context *context;
    const char *name;
    FILE *stream;
    unsigned char head[HEAD_SIZE];
    size_t head_size, head_at; /* bytes of the head, and those of them that text has taken */
    long line;                 /* of text; 0: the file is binary */
    int back;                  /* a byte of text that is to be read again; EOF: none */
    double bytes;
    char word[SP_WORD_SIZE]; /* of text */
    sink *sink;
} stl;

static const char *ending_of(const char *file)
{
    const char *dot = strrchr(file, '.');
    return dot ? dot : "";
}

int sp_triangles_are_in(const char *file)
{
    return !strcasecmp(ending_of(file), ".stl") || !strcasecmp(ending_of(file), ".3mf");
}

static sp_status refuse(const stl *s, const char *received, const char *valid)
{
    if (s->line)
        return sp_fail(s->context, SP_BAD_NETWORK, "%.300s:%ld: received '%s'; valid: %s", s->name,
                       s->line, received, valid);
    return sp_fail(s->context, SP_BAD_NETWORK, "%.300s: received %s in triangle %ld; valid: %s",
                   s->name, received, s->sink->source->triangles + 1, valid);
}

static sp_status hand_on(void *user, const double corner[9])
{
    sink *to = user;
    if (to->source->triangles >= SP_TRIANGLES_MAX)
        return sp_fail(to->context, SP_BAD_NETWORK,
                       "%.300s: received more than %d triangles; valid: at most that many",
                       to->name, SP_TRIANGLES_MAX);
    to->source->triangles++;
    const sp_status status = to->take(to->user, corner);
    return status == SP_OK ? sp_poll_after(&to->poll, 100) : status;
}

/* ---- binary ---------------------------------------------------------------------------------- */

static uint32_t word_at(const unsigned char *p)
{
    return p[0] | (uint32_t)p[1] << 8 | (uint32_t)p[2] << 16 | (uint32_t)p[3] << 24;
}

static sp_status read_binary(stl *s)
{
    const uint32_t said = word_at(s->head + HEAD_SIZE - 4);
    unsigned char record[RECORD_SIZE];
    char valid[80];
    sp_status status = SP_OK;
    size_t got = 0;
    s->sink->source->format = "binary STL";
    snprintf(valid, sizeof valid, "%lu triangles of 50 bytes, as the head says",
             (unsigned long)said);
    while (status == SP_OK && (got = fread(record, 1, sizeof record, s->stream)) == RECORD_SIZE) {
        double corner[9];
        if (s->sink->source->triangles == (long)said) return refuse(s, "more bytes", valid);
        for (int i = 0; i < 9; i++) {
            const uint32_t word = word_at(record + 12 + 4 * i);
            float value;
            memcpy(&value, &word, sizeof value);
            corner[i] = (double)value;
            if (!sp_is_coordinate(corner[i]))
                return refuse(s, "a corner that is no number or farther out", SP_COORDINATE_VALID);
        }
        status = hand_on(s->sink, corner);
    }
    if (status != SP_OK) return status;
    if (got || s->sink->source->triangles < (long)said)
        return refuse(s, "the end of the file", valid);
    return SP_OK;
}

/* ---- text ------------------------------------------------------------------------------------ */

static int next_byte(stl *s)
{
    int c = s->back;
    s->back = EOF;
    if (c == EOF) {
        c = s->head_at < s->head_size ? s->head[s->head_at++] : getc_unlocked(s->stream);
        s->bytes++;
    }
    s->line += c == '\n';
    return c;
}

static void put_back(stl *s, int c)
{
    s->line -= c == '\n';
    s->back = c;
}

/* Read the next word; "" at the end of the file. */
static sp_status next_word(stl *s)
{
    size_t length = 0;
    int c;
    do c = next_byte(s);
    while (c != EOF && isspace(c) && s->bytes < bytes_max);
    for (; c != EOF && !isspace(c) && length + 1 < sizeof s->word; c = next_byte(s)) {
        s->word[length++] = (char)c;
        if (c < 32 || c == 127) return refuse(s, "a byte that stands in no text", "words of STL");
    }
    s->word[length] = 0;
    if (s->bytes >= bytes_max) return refuse(s, "more than 1 GB", "a smaller file");
    if (c != EOF && !isspace(c)) return refuse(s, s->word, "words of STL, which are short");
    put_back(s, c);
    return SP_OK;
}

/* Pass over the name of a solid, which may hold anything. */
static sp_status skip_name(stl *s)
{
    int c;
    do c = next_byte(s);
    while (c != EOF && c != '\n' && s->bytes < bytes_max);
    return s->bytes >= bytes_max ? refuse(s, "a name of 1 GB", "a smaller file") : SP_OK;
}

static const char *or_the_end(const char *word)
{
    return word[0] ? word : "the end of the file";
}

static sp_status need_word(stl *s, const char *wanted)
{
    sp_status status = next_word(s);
    if (status == SP_OK && strcasecmp(s->word, wanted) != 0)
        status = refuse(s, or_the_end(s->word), wanted);
    return status;
}

static sp_status need_coordinate(stl *s, double *value)
{
    char *stop;
    sp_status status = next_word(s);
    if (status == SP_OK &&
        (!sp_decimal(s->word, &stop, value) || *stop || !sp_is_coordinate(*value)))
        status = refuse(s, or_the_end(s->word), SP_COORDINATE_VALID);
    return status;
}

/* Read what follows the word `facet`. */
static sp_status read_facet(stl *s)
{
    double corner[9];
    sp_status status = need_word(s, "normal");
    for (int k = 0; k < 3 && status == SP_OK; k++) status = next_word(s);
    if (status == SP_OK) status = need_word(s, "outer");
    if (status == SP_OK) status = need_word(s, "loop");
    for (int i = 0; i < 9 && status == SP_OK; i++) {
        if (i % 3 == 0) status = need_word(s, "vertex");
        if (status == SP_OK) status = need_coordinate(s, &corner[i]);
    }
    if (status == SP_OK) status = need_word(s, "endloop");
    if (status == SP_OK) status = need_word(s, "endfacet");
    return status == SP_OK ? hand_on(s->sink, corner) : status;
}

static sp_status read_text(stl *s)
{
    sp_status status = SP_OK;
    int is_open = 0;
    s->line = 1;
    s->sink->source->format = "STL in text";
    while (status == SP_OK && (status = next_word(s)) == SP_OK && s->word[0]) {
        const int begins = !strcasecmp(s->word, "solid"), ends = !strcasecmp(s->word, "endsolid");
        if (is_open ? ends : begins) {
            is_open = begins;
            status = skip_name(s);
        } else if (is_open && !strcasecmp(s->word, "facet"))
            status = read_facet(s);
        else
            status = refuse(s, s->word, is_open ? "facet or endsolid" : "solid");
    }
    if (status == SP_OK && is_open) return refuse(s, "the end of the file", "endsolid before it");
    return status;
}

/* ---- the file -------------------------------------------------------------------------------- */

/* A binary file may begin with `solid`, too; then its size is that of its triangles, or its head
 * holds bytes of no text. */
static int is_text(const stl *s, long size)
{
    if (s->head_size < 6 || strncasecmp((const char *)s->head, "solid", 5) != 0) return 0;
    if (s->head_size < HEAD_SIZE) return 1;
    if (size == HEAD_SIZE + RECORD_SIZE * (long)word_at(s->head + HEAD_SIZE - 4)) return 0;
    for (size_t i = 0; i < s->head_size; i++)
        if (s->head[i] < 32 && !isspace(s->head[i])) return 0;
    return 1;
}

static sp_status read_stl(sp_context *context, const char *file, sink *to)
{
    struct stat about;
    FILE *stream = fopen(file, "rb");
    if (!stream)
        return sp_fail(context, SP_NO_READ, "%.300s: cannot be opened: %s", file, strerror(errno));
    stl s = {.context = context, .name = file, .stream = stream, .back = EOF, .sink = to};
    sp_status status = SP_OK;
    const int known = fstat(fileno(stream), &about) == 0;
    if (known && S_ISDIR(about.st_mode))
        status =
            sp_fail(context, SP_NO_READ, "%.300s: is a folder; valid: a file of triangles", file);
    if (status == SP_OK) {
        s.head_size = fread(s.head, 1, HEAD_SIZE, stream);
        if (is_text(&s, known && S_ISREG(about.st_mode) ? (long)about.st_size : -1))
            status = read_text(&s);
        else if (s.head_size == HEAD_SIZE)
            status = read_binary(&s);
        else
            status = sp_fail(context, SP_BAD_NETWORK,
                             "%.300s: received %zu bytes; valid: STL, text from 'solid' on, or "
                             "binary from 84 bytes on",
                             file, s.head_size);
    }
    if (status == SP_OK && ferror(stream))
        status = sp_fail(context, SP_NO_READ, "%.300s: cannot be read: %s", file, strerror(errno));
    fclose(stream);
    return status;
}

static sp_status read_package(sp_context *context, const char *file, sink *to)
{
    char *bytes;
    size_t size;
    sp_status status = sp_read_bytes(context, file, &bytes, &size);
    if (status != SP_OK) return status;
    to->source->format = "3MF";
    to->source->has_unit = 1;
    status = sp_read_3mf_triangles(context, file, bytes, size, hand_on, to);
    sp_free(bytes);
    return status;
}

sp_status sp_triangles_read(sp_context *context, const char *file, sp_take_triangle *take,
                            void *user, sp_triangle_source *source)
{
    *source = (sp_triangle_source){.format = ""};
    const int is_package = !strcasecmp(ending_of(file), ".3mf");
    sink to = {.context = context,
               .name = file,
               .take = take,
               .user = user,
               .source = source,
               .poll = {.context = context, .doing = "reading triangles"}};
    const sp_status status = (is_package ? read_package : read_stl)(context, file, &to);
    if (status != SP_OK || source->triangles) return status;
    return sp_fail(context, SP_BAD_NETWORK, "%.300s: received no triangle; valid: at least four",
                   file);
}
