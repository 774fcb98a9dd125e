/* Turn the words of a protocol into segments. The words are those of SP_SEGMENT_ROWS; every number
 * has its unit. */
#include <strutpress/protocol.h>

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "case/case_parts.h"
#include "protocol/ready_list.h"

enum { ITEM_MAX = 64, REPEAT_MAX = 32 };

static const char key[] = "press.protocol";

static const struct {
    const char *word, *doc;
} kinds[] = {
#define SEGMENT(code, word, doc) {word, doc},
    SP_SEGMENT_ROWS(SEGMENT)
#undef SEGMENT
};

static const sp_ready_protocol ready[] = {
#define READY(name, text, doc) {name, text, doc},
    SP_READY_ROWS(READY)
#undef READY
};

const char *sp_segment_word(sp_segment_kind kind)
{
    return kinds[kind].word;
}

const char *sp_segment_doc(sp_segment_kind kind)
{
    return kinds[kind].doc;
}

const sp_ready_protocol *sp_ready_protocols(int *count)
{
    *count = (int)(sizeof ready / sizeof *ready);
    return ready;
}

/* The state of the reader: the words of one segment, and where the segment goes. */
typedef struct reader {
    sp_context *context;
    const sp_case *request;
    sp_protocol *protocol;
    int cycle, began; /* number of the present press; began 1: a segment of it has come */
} reader;

static sp_status refuse(const reader *r, const char *received, const char *valid)
{
    return sp_case_fail(r->context, r->request->source, r->request->line[sp_case_row_find(key)],
                        key, received, valid, NULL);
}

/* Copy a text without the blanks at either end. */
static void trim(const char *from, size_t length, char *to, size_t size)
{
    while (length && isspace((unsigned char)*from)) from++, length--;
    while (length && isspace((unsigned char)from[length - 1])) length--;
    snprintf(to, size, "%.*s", (int)(length < size ? length : size - 1), from);
}

/* Copy the text behind ` word ` up to the next such word; "" when the segment has none. */
static void clause(const char *text, const char *word, char *value, size_t size)
{
    static const char *const words[] = {" to ", " at ", " for ", " from "};
    char spaced[16];
    snprintf(spaced, sizeof spaced, " %s ", word);
    const char *at = strstr(text, spaced);
    value[0] = 0;
    if (!at) return;
    at += strlen(spaced);
    size_t length = strlen(at);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        const char *next = strstr(at, words[i]);
        if (next && (size_t)(next - at) < length) length = (size_t)(next - at);
    }
    trim(at, length, value, size);
}

/* Read a number with a unit of this kind; a number without a unit is refused. */
static int quantity(const char *unit, const char *text, double *value)
{
    const size_t length = strlen(text);
    if (!length || isdigit((unsigned char)text[length - 1]) || text[length - 1] == '.') return 0;
    return sp_case_unit_parse(unit, text, value) && *value >= 0;
}

/* Read where a press or a release ends. */
static int read_goal(const char *text, sp_segment *segment)
{
    return quantity("%", text, &segment->to_strain) || quantity("N", text, &segment->to_force) ||
           quantity("mm", text, &segment->to_travel);
}

static int read_speed(const char *text, sp_segment *segment)
{
    return (quantity("mm/s", text, &segment->speed) && segment->speed > 0) ||
           (quantity("1/s", text, &segment->strain_rate) && segment->strain_rate > 0);
}

static int starts(const char *text, const char *word)
{
    const size_t length = strlen(word);
    return !strncmp(text, word, length) && (text[length] == ' ' || !text[length]);
}

static sp_status read_travel(const reader *r, const char *text, sp_segment *segment)
{
    char to[SP_SEGMENT_TEXT], at[SP_SEGMENT_TEXT];
    const int presses = segment->kind == SP_SEGMENT_PRESS;
    clause(text, "to", to, sizeof to);
    clause(text, "at", at, sizeof at);
    if ((presses || to[0]) && !read_goal(to, segment))
        return refuse(r, text,
                      presses ? "press to a strain (50 %), a shortening (12 mm) or a force "
                                "(200 N), each with its unit"
                              : "release, or release to a strain (20 %), a shortening (5 "
                                "mm) or a force (10 N), each with its unit");
    if (segment->to_strain > 0.95) return refuse(r, text, "a strain of at most 95 %");
    if (at[0] && !read_speed(at, segment))
        return refuse(r, text, "a speed above 0 after `at` (10 mm/min, 0.2 mm/s, 0.01 1/s, 1 %/s)");
    return SP_OK;
}

static sp_status read_duration(const reader *r, const char *text, sp_segment *segment)
{
    char value[SP_SEGMENT_TEXT];
    clause(text, "for", value, sizeof value);
    if (quantity("s", value, &segment->duration) && segment->duration > 0 &&
        segment->duration <= 1e9)
        return SP_OK;
    return refuse(r, text, "a time above 0 after `for` (10 s, 1 min, 22 h, 3 d)");
}

/* Read a drop: "drop 2 kg from 300 mm". */
static sp_status read_drop(const reader *r, const char *text, sp_segment *segment)
{
    char mass[SP_SEGMENT_TEXT], from[SP_SEGMENT_TEXT];
    const char *after = text + strlen(kinds[SP_SEGMENT_DROP].word), *end = strstr(text, " from ");
    trim(after, end ? (size_t)(end - after) : strlen(after), mass, sizeof mass);
    clause(text, "from", from, sizeof from);
    if (!quantity("g", mass, &segment->mass) || !quantity("mm", from, &segment->height) ||
        !(segment->mass >= 1e-3 && segment->mass <= 1e7) ||
        !(segment->height >= 1e-4 && segment->height <= 1e5))
        return refuse(r, text,
                      "drop a mass (2 kg) from a height (300 mm, at most 100 m), each with its "
                      "unit");
    segment->mass *= 1e-3;
    return SP_OK;
}

/* Read "zero at 1 N". */
static sp_status read_zero(const reader *r, const char *text, sp_segment *segment)
{
    char at[SP_SEGMENT_TEXT];
    clause(text, "at", at, sizeof at);
    segment->speed = r->request->press_speed / 60;
    if (quantity("N", at, &segment->to_force) && segment->to_force > 0) return SP_OK;
    return refuse(r, text, "a force above 0 after `at` (zero at 0.5 N)");
}

static int find_kind(const char *text)
{
    if (starts(text, kinds[SP_SEGMENT_LOAD].word)) return SP_SEGMENT_LOAD;
    for (int i = 0; i < (int)(sizeof kinds / sizeof *kinds); i++)
        if (starts(text, kinds[i].word)) return i;
    return -1;
}

static sp_status add(reader *r, const sp_segment *segment)
{
    sp_protocol *p = r->protocol;
    if (p->count == SP_SEGMENT_MAX)
        return refuse(r, segment->text, "a protocol of at most 96 segments, repeats written out");
    p->segment[p->count] = *segment;
    /* A press that follows a hold belongs to the same cycle. A press that follows a release, a rest
     * or a drop begins another cycle, and so does every drop. */
    const sp_segment_kind before = p->count ? p->segment[p->count - 1].kind : SP_SEGMENT_REST;
    if (segment->kind == SP_SEGMENT_DROP ||
        (segment->kind == SP_SEGMENT_PRESS &&
         (before == SP_SEGMENT_RELEASE || before == SP_SEGMENT_REST || before == SP_SEGMENT_DROP ||
          before == SP_SEGMENT_ZERO)))
        r->cycle++;
    p->segment[p->count++].cycle = r->cycle;
    return SP_OK;
}

/* Return 1 when the coupon is under load after the last segment. */
static int carries(const sp_protocol *p)
{
    const sp_segment *last = p->count ? &p->segment[p->count - 1] : NULL;
    if (!last || last->kind == SP_SEGMENT_REST || last->kind == SP_SEGMENT_DROP) return 0;
    return last->kind != SP_SEGMENT_RELEASE || last->to_strain > 0 || last->to_force > 0 ||
           last->to_travel > 0;
}

static sp_status read_segment(reader *r, const char *text)
{
    sp_segment segment = {
        .to_strain = NAN, .to_force = NAN, .to_travel = NAN, .speed = NAN, .strain_rate = NAN};
    const int kind = find_kind(text);
    snprintf(segment.text, sizeof segment.text, "%s", text);
    if (kind < 0)
        return refuse(r, text,
                      "press, hold, hold force, release, rest, zero, drop, repeat N .. end, read "
                      "cycle N, or the name of a "
                      "ready-made protocol, see `list protocols`");
    segment.kind = (sp_segment_kind)kind;
    if (!r->protocol->count && segment.kind != SP_SEGMENT_PRESS && segment.kind != SP_SEGMENT_DROP)
        return refuse(r, text,
                      "a protocol that begins with a press (press to 50 % at 10 mm/min) or a drop "
                      "(drop 2 kg from 300 mm)");
    if (kind == SP_SEGMENT_DROP && carries(r->protocol))
        return refuse(r, text,
                      "a drop on a coupon that carries nothing: release or rest before it");
    const int travels = kind == SP_SEGMENT_PRESS || kind == SP_SEGMENT_RELEASE;
    const sp_status status = travels                   ? read_travel(r, text, &segment)
                             : kind == SP_SEGMENT_DROP ? read_drop(r, text, &segment)
                             : kind == SP_SEGMENT_ZERO ? read_zero(r, text, &segment)
                                                       : read_duration(r, text, &segment);
    if (travels && isnan(segment.speed) && isnan(segment.strain_rate))
        segment.speed = r->request->press_speed / 60;
    return status == SP_OK ? add(r, &segment) : status;
}

/* Split a protocol into items: texts between commas. */
typedef struct items {
    int count;
    char text[ITEM_MAX][SP_SEGMENT_TEXT];
} items;

static sp_status split(const reader *r, const char *text, items *list)
{
    list->count = 0;
    if (strchr(text, ';'))
        return refuse(r, text,
                      "segments with commas between them, or a list with one on each line");
    for (const char *at = text; at;) {
        const char *comma = strchr(at, ',');
        const size_t length = comma ? (size_t)(comma - at) : strlen(at);
        if (list->count == ITEM_MAX || length >= SP_SEGMENT_TEXT)
            return refuse(r, text, "at most 64 segments of at most 95 characters");
        trim(at, length, list->text[list->count++], SP_SEGMENT_TEXT);
        at = comma ? comma + 1 : NULL;
    }
    return SP_OK;
}

/* Read "read cycle 3" into *number, which is 0 when there can be no such cycle; return 1 when the
 * item has this form. */
static int reads_cycle(const char *text, int *number)
{
    char end;
    *number = 0;
    if (!starts(text, "read")) return 0;
    if (sscanf(text, "read cycle %3d%c", number, &end) != 1 || *number < 1) *number = 0;
    return 1;
}

/* Return the number of repeats; 0: the item is none. */
static int repeats_of(const char *text)
{
    char *end;
    if (!starts(text, "repeat")) return 0;
    const long count = strtol(text + strlen("repeat"), &end, 10);
    while (*end == ' ') end++;
    if (starts(end, "times")) end += strlen("times");
    return *end == 0 && count > 0 && count <= REPEAT_MAX ? (int)count : -1;
}

static sp_status read_items(reader *r, const items *list)
{
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < list->count; i++) {
        const int repeats = repeats_of(list->text[i]);
        int number;
        if (reads_cycle(list->text[i], &number)) {
            if (number == 0) return refuse(r, list->text[i], "`read cycle N`, once");
            r->protocol->read_cycle = number;
            continue;
        }
        if (repeats == 0) {
            if (!strcmp(list->text[i], "end"))
                return refuse(r, "end", "`end` only after a `repeat`");
            status = read_segment(r, list->text[i]);
            continue;
        }
        int last = i + 1;
        while (last < list->count && strcmp(list->text[last], "end") != 0 &&
               repeats_of(list->text[last]) == 0)
            last++;
        if (repeats < 0 || last == i + 1 || last == list->count || strcmp(list->text[last], "end"))
            return refuse(r, list->text[i],
                          "`repeat N` with N from 1 to 32, then segments, then `end`; no repeat in "
                          "a repeat");
        for (int n = 0; status == SP_OK && n < repeats; n++)
            for (int k = i + 1; status == SP_OK && k < last; k++)
                status = read_segment(r, list->text[k]);
        i = last;
    }
    return status;
}

static const char *ready_text(const char *name)
{
    for (size_t i = 0; i < sizeof ready / sizeof *ready; i++)
        if (!strcmp(ready[i].name, name)) return ready[i].text;
    return name;
}

/* Write press.strain and press.unload as a protocol. */
static void short_form(const sp_case *request, sp_protocol *protocol)
{
    const sp_segment press = {.kind = SP_SEGMENT_PRESS,
                              .cycle = 1,
                              .to_strain = request->strain,
                              .to_force = NAN,
                              .to_travel = NAN,
                              .speed = request->press_speed / 60,
                              .strain_rate = NAN,
                              .text = "press"};
    protocol->segment[protocol->count++] = press;
    if (!request->unload) return;
    protocol->segment[protocol->count] = press;
    protocol->segment[protocol->count].kind = SP_SEGMENT_RELEASE;
    protocol->segment[protocol->count].to_strain = NAN;
    snprintf(protocol->segment[protocol->count++].text, SP_SEGMENT_TEXT, "release");
}

static sp_status refuse_both(const reader *r)
{
    static const char *const keys[] = {"press.strain", "press.unload"};
    for (int i = 0; i < 2; i++)
        if (r->request->origin[sp_case_row_find(keys[i])] == SP_ORIGIN_FILE)
            return sp_case_fail_at(
                r->context, r->request, keys[i], NULL,
                "left out, because press.protocol says how far to press and when "
                "to let go",
                NULL);
    return SP_OK;
}

sp_status sp_protocol_of_case(sp_context *context, const sp_case *request, sp_protocol *protocol)
{
    reader r = {.context = context, .request = request, .protocol = protocol};
    items list;
    protocol->count = protocol->read_cycle = 0;
    if (!request->protocol[0]) {
        short_form(request, protocol);
        return SP_OK;
    }
    sp_status status = refuse_both(&r);
    if (status == SP_OK) status = split(&r, ready_text(request->protocol), &list);
    if (status == SP_OK) status = read_items(&r, &list);
    if (status == SP_OK && !protocol->count)
        return refuse(&r, request->protocol, "segments, see `list protocols`");
    if (status == SP_OK && protocol->read_cycle > r.cycle) {
        char given[40], valid[64];
        snprintf(given, sizeof given, "read cycle %d", protocol->read_cycle);
        snprintf(valid, sizeof valid, "a cycle of the protocol, 1 to %d", r.cycle);
        return refuse(&r, given, valid);
    }
    return status;
}

int sp_protocol_takes_time(const sp_case *request)
{
    return request->protocol[0] || sp_case_asks_for_time(request);
}
