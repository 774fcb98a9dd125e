/* A protocol says what a test machine does with a coupon, segment by segment, in time.
 *
 * Units: mm, N, s; strains are nominal. Ownership: texts live as long as the program, a protocol is
 * a plain value. Errors: see the function that reads one. Threads: from several at once. */
#ifndef STRUTPRESS_PROTOCOL_H
#define STRUTPRESS_PROTOCOL_H

#include <strutpress/case.h>
#include <strutpress/context.h>

SP_PUBLIC_BEGIN

#define SP_SEGMENT_MAX 96
#define SP_SEGMENT_TEXT 96

#define SP_SEGMENT_ROWS(X)                                                                         \
    X(SP_SEGMENT_PRESS, "press", "press to 50 % [at 10 mm/min]: to a strain, mm or N")             \
    X(SP_SEGMENT_HOLD, "hold", "hold for 60 s: the platen stands still")                           \
    X(SP_SEGMENT_LOAD, "hold force", "hold force for 60 s: the force stays, the platen creeps")    \
    X(SP_SEGMENT_RELEASE, "release",                                                               \
      "release [to 20 %] [at 10 mm/min]: until the coupon carries "                                \
      "nothing, or to a strain, mm or N")                                                          \
    X(SP_SEGMENT_REST, "rest", "rest for 30 min: the platen is away")                              \
    X(SP_SEGMENT_ZERO, "zero",                                                                     \
      "zero at 1 N: pressed to that force; strains and shortenings of what follows count anew "    \
      "from there")                                                                                \
    X(SP_SEGMENT_DROP, "drop",                                                                     \
      "drop 2 kg from 300 mm: a guided mass falls, and is caught when it has bounced off")

typedef enum {
#define SP_SEGMENT_ENUM(code, word, doc) code,
    SP_SEGMENT_ROWS(SP_SEGMENT_ENUM)
#undef SP_SEGMENT_ENUM
        SP_SEGMENT_KINDS
} sp_segment_kind;

const char *sp_segment_word(sp_segment_kind kind);
const char *sp_segment_doc(sp_segment_kind kind); /* how it is written, and what it does */

typedef struct sp_segment {
    sp_segment_kind kind;
    int cycle; /* which press it belongs to, from 1 on */
    /* press, release: where to, one of them, or NaN (a release without any: until the coupon
     * carries nothing) */
    double to_strain, to_force, to_travel; /* nominal, [N], [mm] */
    double speed, strain_rate;             /* press, release, one of them [mm/s], [1/s] */
    double duration;                       /* hold, rest [s] */
    double mass, height;                   /* drop, else 0 [kg], of the free fall [mm] */
    char text[SP_SEGMENT_TEXT];            /* as written */
} sp_segment;

typedef struct sp_protocol {
    int count;
    int read_cycle; /* cycle of the figures `cycle_*`; 0: the last */
    sp_segment segment[SP_SEGMENT_MAX];
} sp_protocol;

/* What a case asks for: press.protocol, in words or by the name of a ready-made one, or its short
 * form press.strain and press.unload. Repeats are written out. Errors: SP_BAD_CASE, one line with
 * the segment that is wrong. */
sp_status sp_protocol_of_case(sp_context *context, const sp_case *request, sp_protocol *protocol);

/* 1 when a press of the case takes time: it has a protocol, or a law that asks for time. */
int sp_protocol_takes_time(const sp_case *request);

#define SP_GRAVITY 9.80665 /* [N/kg] */

/* These protocols are ready-made. */
typedef struct sp_ready_protocol {
    const char *name; /* "compression set" */
    const char *text; /* segments, divided by commas */
    const char *doc;  /* what it is for, the standard it follows, and what of it was read */
} sp_ready_protocol;
const sp_ready_protocol *sp_ready_protocols(int *count);

SP_PUBLIC_END

#endif
