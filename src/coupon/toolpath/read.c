/* Motion words of ISO 6983 (1982) to beads, in one pass and bounded memory. Read in public lists:
 * G0 rapid, G1 linear, G2 and G3 arcs, G20 and G21 inch and mm, G90 and G91 absolute and
 * incremental; G92 preset, in an example of one. M82 and M83, absolute and incremental metering,
 * are common practice of printers. */
#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/decimal.h"
#include "base/poll.h"
#include "toolpath/path_parts.h"

static const size_t bytes_max = (size_t)1 << 30;
static const double coordinate_max = 1e5; /* mm */
static const double metered_max = 1e9;    /* mm of filament */
static const double sagitta = 0.005;      /* mm: chords of arcs are so near to them */
static const double flat = 1e-4;          /* mm: heights that differ by less are one layer */
static const double area_max = 400;       /* mm2 of a bead */
enum { LINE_SIZE = 512, CHORDS_MAX = 720, BUFFER_SIZE = 1 << 16 };

typedef struct words {
    int has[26];
    double value[26];
    int motion; /* 0 .. 3, -1: none */
    int skip;   /* 1: the line has words that are not read, so its other words do not count */
    int preset; /* 1: the line has G92 */
} words;

typedef struct tool {
    sp_context *context;
    path_reader *r;
    double at[3], e;          /* place [mm], metered [mm of filament] */
    double shift[3], e_shift; /* shift by G92: place in the words = place - shift */
    double unit;
    int relative, e_relative, motion;
    double debt; /* filament that is pulled back [mm] */
    int chain;
    double end[2]; /* end of the last bead */
    int has_end;
    path_layer layer;
    double below; /* top of the layer before */
    int layers;
} tool;

double sp_toolpath_length(const path_bead *bead)
{
    return hypot(bead->b[0] - bead->a[0], bead->b[1] - bead->a[1]);
}

double sp_toolpath_width(double area, double height)
{
    /* E210: area = (width - h) h + pi h^2 / 4; a bead whose area is less than that of a circle of
     * the layer's height is round. */
    const double circle = M_PI * height * height / 4;
    return area > circle ? area / height + height * (1 - M_PI / 4) : sqrt(4 * area / M_PI);
}

void sp_toolpath_free(path_beads *beads)
{
    sp_free(beads->bead);
    *beads = (path_beads){0};
}

sp_status sp_toolpath_add(sp_context *context, const char *file, path_beads *beads,
                          const path_bead *bead)
{
    if (beads->count == beads->capacity) {
        if (beads->count >= PATH_BEADS_MAX)
            return sp_fail(context, SP_NO_READ,
                           "%s: received more than %d pieces of lines in one layer; valid: fewer",
                           file, PATH_BEADS_MAX);
        const int more = beads->capacity ? 2 * beads->capacity : 256;
        path_bead *grown = sp_resize(beads->bead, (size_t)more, sizeof *grown);
        if (!grown) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
        beads->bead = grown;
        beads->capacity = more;
    }
    beads->bead[beads->count++] = *bead;
    return SP_OK;
}

/* ---- lines ----------------------------------------------- */

static sp_status refuse(const tool *t, const char *received, const char *valid)
{
    char shown[4 * 96 + 1], cut[96];
    snprintf(cut, sizeof cut, "%.80s", received);
    sp_printable(cut, shown, sizeof shown);
    return sp_fail(t->context, SP_NO_READ, "%s:%ld: received '%s'; valid: %s", t->r->file,
                   t->r->lines, shown, valid);
}

/* Remove comments, whatever they say: behind a semicolon, in brackets, behind a star (a checksum).
 */
static void strip_comments(char *line)
{
    char *to = line;
    int depth = 0;
    for (const char *c = line; *c && *c != ';'; c++) {
        if (*c == '(')
            depth++;
        else if (*c == ')' && depth)
            depth--;
        else if (!depth && *c == '*')
            break;
        else if (!depth)
            *to++ = *c;
    }
    while (to > line && isspace((unsigned char)to[-1])) to--;
    *to = 0;
}

static sp_status read_words(const tool *t, const char *line, words *w)
{
    static const char valid[] = "words of ISO 6983, a letter and a number each (G1 X1.5 Y2 E0.1)";
    *w = (words){.motion = -1};
    const char *at = line;
    int first = 1;
    while (*at == ' ' || *at == '\t') at++;
    if (*at == '%' || *at == '/') return SP_OK;
    while (*at) {
        char *end;
        double value;
        const int letter = toupper((unsigned char)*at) - 'A';
        if (letter < 0 || letter > 25) return refuse(t, line, valid);
        const char *number = at + 1;
        while (*number == ' ') number++;
        if (!sp_decimal(number, &end, &value) || !isfinite(value)) {
            /* Lines that are not read, such as G28 X and M106 S, may have words without a number.
             */
            if (w->skip) return SP_OK;
            return refuse(t, line, valid);
        }
        if (letter == 'G' - 'A') {
            const int code = value >= 0 && value < 1000 && value == floor(value) ? (int)value : -1;
            switch (code) {
            case 0:
            case 1:
            case 2:
            case 3:
                w->motion = code;
                break;
            case 20:
            case 21:
            case 90:
            case 91:
                w->has['G' - 'A'] = 1;
                break;
            case 92:
                w->preset = 1;
                break;
            default:
                w->skip = 1;
            }
        } else if (letter == 'M' - 'A' || letter == 'T' - 'A') {
            /* a text may follow, and nothing behind it is read */
            if (letter == 'M' - 'A' && (value == 82 || value == 83))
                w->has[letter] = 1, w->value[letter] = value;
            else {
                w->skip = 1;
                if (first) return SP_OK;
            }
        }
        if (letter != 'G' - 'A' && letter != 'M' - 'A')
            w->has[letter] = 1, w->value[letter] = value;
        first &= letter == 'N' - 'A';
        at = end + strspn(end, " \t");
    }
    return SP_OK;
}

/* Units and modes stand in the words of G and M themselves: read them in order. */
static void take_modes(tool *t, const char *line)
{
    for (const char *c = line; *c; c++) {
        char *end;
        double value;
        const int letter = toupper((unsigned char)*c);
        if ((letter != 'G' && letter != 'M') || !sp_decimal(c + 1, &end, &value)) continue;
        if (letter == 'G' && value == 20) t->unit = 25.4;
        if (letter == 'G' && value == 21) t->unit = 1;
        if (letter == 'G' && value == 90) t->relative = 0;
        if (letter == 'G' && value == 91) t->relative = 1;
        if (letter == 'M' && value == 82) t->e_relative = 0;
        if (letter == 'M' && value == 83) t->e_relative = 1;
    }
}

/* ---- layers ----------------------------------------------- */

static sp_status end_layer(tool *t)
{
    if (!t->layer.beads.count) return SP_OK;
    t->below = t->layer.z;
    t->layers++;
    const sp_status status = t->r->take(t->context, t->r->user, &t->layer);
    sp_toolpath_free(&t->layer.beads);
    t->layer.volume = 0;
    return status;
}

static sp_status begin_layer(tool *t, double z)
{
    char text[64];
    if (t->layer.beads.count && fabs(z - t->layer.z) <= flat) return SP_OK;
    sp_status status = end_layer(t);
    if (status != SP_OK) return status;
    if (t->layers >= PATH_LAYERS_MAX) return refuse(t, "more layers", "at most 20000 layers");
    snprintf(text, sizeof text, "a line at %.4g mm after one at %.4g mm", z, t->below);
    if (!(z > t->below + flat))
        return refuse(t, text, "layers from below upwards, one object at a time, above 0");
    t->layer.z = z;
    t->layer.height = z - t->below;
    return SP_OK;
}

/* ---- moves ----------------------------------------------- */

static sp_status add_bead(tool *t, const double from[2], const double to[2], double area)
{
    path_bead bead = {.area = area, .chain = t->chain};
    const double *c = t->r->turn;
    const double ends[2][2] = {{from[0], from[1]}, {to[0], to[1]}};
    for (int k = 0; k < 2; k++) {
        double *p = k ? bead.b : bead.a;
        p[0] = c[0] * ends[k][0] - c[1] * ends[k][1];
        p[1] = c[1] * ends[k][0] + c[0] * ends[k][1];
    }
    t->layer.volume += area * sp_toolpath_length(&bead);
    return sp_toolpath_add(t->context, t->r->file, &t->layer.beads, &bead);
}

/* Find the centre of an arc from I and J, or from R; 0: there is none. */
static int arc_middle(const tool *t, const words *w, const double to[2], double middle[2])
{
    const double dx = to[0] - t->at[0], dy = to[1] - t->at[1], d = hypot(dx, dy);
    if (w->has['R' - 'A']) {
        const double r = w->value['R' - 'A'] * t->unit, half = 0.5 * d;
        if (!(d > 0) || !(fabs(r) >= half * (1 - 1e-6))) return 0;
        double off = sqrt(fmax(0, r * r - half * half));
        if ((w->motion == 2) == (r > 0)) off = -off;
        middle[0] = t->at[0] + 0.5 * dx - off * dy / d;
        middle[1] = t->at[1] + 0.5 * dy + off * dx / d;
        return 1;
    }
    if (!w->has['I' - 'A'] && !w->has['J' - 'A']) return 0;
    middle[0] = t->at[0] + (w->has['I' - 'A'] ? w->value['I' - 'A'] * t->unit : 0);
    middle[1] = t->at[1] + (w->has['J' - 'A'] ? w->value['J' - 'A'] * t->unit : 0);
    return hypot(middle[0] - t->at[0], middle[1] - t->at[1]) > 0;
}

/* Divide an arc into *count chords of the signed angle `angle` in all. */
static sp_status arc_sweep(const tool *t, const words *w, const double to[2],
                           const double middle[2], double *radius, double *angle, int *count)
{
    const double a0 = atan2(t->at[1] - middle[1], t->at[0] - middle[0]);
    const double a1 = atan2(to[1] - middle[1], to[0] - middle[0]);
    const double other = hypot(to[0] - middle[0], to[1] - middle[1]);
    *radius = hypot(t->at[0] - middle[0], t->at[1] - middle[1]);
    if (!(*radius <= coordinate_max) || fabs(other - *radius) > 0.05 + 0.01 * *radius)
        return refuse(t, "an arc whose ends lie at different distances from its middle",
                      "G2 and G3 with I and J, or R, that fit their end");
    *angle = a1 - a0;
    if (w->motion == 2 && *angle >= -1e-9) *angle -= 2 * M_PI;
    if (w->motion == 3 && *angle <= 1e-9) *angle += 2 * M_PI;
    const double step = *radius > sagitta ? 2 * acos(1 - sagitta / *radius) : M_PI;
    *count = (int)fmin(CHORDS_MAX, ceil(fabs(*angle) / step));
    return SP_OK;
}

static sp_status print_arc(tool *t, const words *w, const double to[2], double volume)
{
    double middle[2], radius = 1, angle = 1, from[2] = {t->at[0], t->at[1]};
    int count = 0;
    if (!arc_middle(t, w, to, middle))
        return refuse(t, "an arc without a middle", "G2 and G3 with I and J, or with R");
    sp_status status = arc_sweep(t, w, to, middle, &radius, &angle, &count);
    if (status != SP_OK) return status;
    const double begin = atan2(t->at[1] - middle[1], t->at[0] - middle[0]);
    const double area = volume / (radius * fabs(angle));
    if (status == SP_OK && !(area <= area_max))
        return refuse(t, "a bead of more than 400 mm2", "less");
    for (int k = 1; k <= count && status == SP_OK; k++) {
        double next[2] = {to[0], to[1]};
        if (k < count)
            for (int i = 0; i < 2; i++)
                next[i] = middle[i] + radius * (i ? sin(begin + angle * k / count)
                                                  : cos(begin + angle * k / count));
        if (hypot(next[0] - from[0], next[1] - from[1]) > 0) status = add_bead(t, from, next, area);
        memcpy(from, next, sizeof from);
    }
    return status;
}

/* Read a move that meters filament along a line. */
static sp_status print_line(tool *t, const words *w, const double to[3], double volume)
{
    const double length = hypot(to[0] - t->at[0], to[1] - t->at[1]);
    if (fabs(to[2] - t->at[2]) > flat)
        return refuse(t, "a line that rises while it is printed",
                      "flat layers: Z changes between lines");
    sp_status status = begin_layer(t, to[2]);
    if (status != SP_OK) return status;
    if (!t->has_end || hypot(t->end[0] - t->at[0], t->end[1] - t->at[1]) > 1e-3) t->chain++;
    if (w->motion < 2) {
        const double area = volume / length;
        if (!(area <= area_max)) return refuse(t, "a bead of more than 400 mm2", "less");
        status = add_bead(t, t->at, to, area);
    } else
        status = print_arc(t, w, to, volume);
    t->has_end = 1;
    memcpy(t->end, to, sizeof t->end);
    t->r->moves++;
    return status;
}

static sp_status check_range(const tool *t, const double to[3], double e)
{
    for (int k = 0; k < 3; k++)
        if (!(fabs(to[k]) <= coordinate_max))
            return refuse(t, "a place beyond 100 m", "X, Y and Z of at most 1e5 mm");
    if (!(fabs(e) <= metered_max))
        return refuse(t, "filament beyond 1e9 mm", "E of at most 1e9 mm");
    return SP_OK;
}

static sp_status move(tool *t, const words *w)
{
    static const char axis[3] = {'X', 'Y', 'Z'};
    double to[3] = {t->at[0], t->at[1], t->at[2]}, e = t->e;
    for (int k = 0; k < 3; k++)
        if (w->has[axis[k] - 'A']) {
            const double value = w->value[axis[k] - 'A'] * t->unit;
            to[k] = t->relative ? t->at[k] + value : value + t->shift[k];
        }
    if (w->has['E' - 'A']) {
        const double value = w->value['E' - 'A'] * t->unit;
        e = t->e_relative ? t->e + value : value + t->e_shift;
    }
    sp_status status = check_range(t, to, e);
    if (status != SP_OK) return status;
    double given = e - t->e;
    if (given < 0) {
        t->debt -= given;
        given = 0;
    } else {
        const double paid = fmin(t->debt, given);
        t->debt -= paid;
        given -= paid;
    }
    const double volume = given * t->r->filament;
    const int goes = hypot(to[0] - t->at[0], to[1] - t->at[1]) > 1e-6 ||
                     (w->motion >= 2 && (w->has['I' - 'A'] || w->has['J' - 'A']));
    if (given > 1e-9 && goes)
        status = print_line(t, w, to, volume);
    else {
        t->r->without += volume;
        if (goes) t->has_end = 0;
    }
    memcpy(t->at, to, sizeof t->at);
    t->e = e;
    return status;
}

static void preset(tool *t, const words *w)
{
    static const char axis[3] = {'X', 'Y', 'Z'};
    int any = w->has['E' - 'A'];
    for (int k = 0; k < 3; k++) any |= w->has[axis[k] - 'A'];
    for (int k = 0; k < 3; k++)
        if (w->has[axis[k] - 'A'] || !any)
            t->shift[k] = t->at[k] - (any ? w->value[axis[k] - 'A'] * t->unit : 0);
    if (w->has['E' - 'A'] || !any) t->e_shift = t->e - (any ? w->value['E' - 'A'] * t->unit : 0);
}

static sp_status take_line(tool *t, char *line)
{
    words w;
    strip_comments(line);
    if (!line[0]) return SP_OK;
    sp_status status = read_words(t, line, &w);
    if (status != SP_OK || w.skip) return status;
    if (w.has['G' - 'A'] || w.has['M' - 'A']) take_modes(t, line);
    if (w.preset) {
        preset(t, &w);
        return SP_OK;
    }
    if (w.motion >= 0) t->motion = w.motion;
    if (!w.has['X' - 'A'] && !w.has['Y' - 'A'] && !w.has['Z' - 'A'] && !w.has['E' - 'A'] &&
        !w.has['I' - 'A'] && !w.has['J' - 'A'])
        return SP_OK;
    w.motion = t->motion;
    return move(t, &w);
}

/* ---- the stream ----------------------------------------------- */

/* Read the next line into `line`; comments may have any length, words may not. Returns 0 at the
 * end, -1 when the line is refused. */
static int next_line(tool *t, FILE *stream, char line[LINE_SIZE], sp_status *status)
{
    size_t length = 0;
    int c, any = 0, comment = 0;
    *status = SP_OK;
    while ((c = getc_unlocked(stream)) != EOF) {
        const char byte = (char)c;
        any = 1;
        sp_hash_add(&t->r->hash, &byte, 1);
        if (++t->r->size > bytes_max) {
            *status = refuse(t, "more than 1 GB", "a smaller file");
            return -1;
        }
        if (c == '\n') break;
        if (c == '\r') continue;
        if (c < 32 && c != '\t') {
            t->r->lines++;
            *status = refuse(t, "a byte that stands in no text", "a text file of motion words");
            return -1;
        }
        comment |= c == ';';
        if (comment) continue;
        if (length + 1 < LINE_SIZE)
            line[length++] = byte;
        else {
            line[LINE_SIZE - 1] = 0;
            t->r->lines++;
            *status = refuse(t, line, "lines of at most 511 characters before a comment");
            return -1;
        }
    }
    line[length] = 0;
    if (any) t->r->lines++;
    return any;
}

sp_status sp_toolpath_read(sp_context *context, FILE *stream, path_reader *reader)
{
    tool t = {.context = context, .r = reader, .unit = 1, .motion = 1};
    sp_poll poll = {.context = context, .doing = "reading the tool path"};
    char line[LINE_SIZE];
    sp_status status = SP_OK;
    reader->hash = sp_hash_begin();
    while (status == SP_OK && next_line(&t, stream, line, &status) > 0) {
        status = take_line(&t, line);
        if (status == SP_OK) status = sp_poll_after(&poll, 100);
    }
    if (status == SP_OK && ferror(stream))
        status = sp_fail(context, SP_NO_READ, "%s: %s", reader->file, strerror(errno));
    if (status == SP_OK) status = end_layer(&t);
    sp_toolpath_free(&t.layer.beads);
    return status;
}
