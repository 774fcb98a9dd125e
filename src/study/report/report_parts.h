/* The inside of a report. */
#ifndef SP_REPORT_REPORT_PARTS_H
#define SP_REPORT_REPORT_PARTS_H

#include <jansson.h>
#include <stdio.h>

#include <strutpress/report.h>

#include "compare/compare_parts.h"
#include "run/result.h"

enum {
    CURVE_MAX = PLOT_LINE_MAX, /* curves of a page; more cannot be told apart */
    ROW_MAX = 2000,            /* rows of its table */
    USUAL_STATES = 4,
    BAND_POINTS = 71, /* of the band of several flaw seeds */
    NOTES_SIZE = 2048,
};

/* Cautions of one coupon, one per line. */
typedef struct notes {
    char text[NOTES_SIZE];
    size_t used;
} notes;

/* A coupon whose states are drawn. */
typedef struct shown {
    sp_case request;
    sp_status outcome;
    sp_result result; /* empty when there is no curve */
    char reason[SP_MESSAGE_SIZE];
    notes notes;
    char key[SP_KEY_SIZE];
    long long id; /* of its row in the store */
    int group;    /* of the comparison; -1: not drawn */
    int seed;     /* of its case, counted from 0: those of one case stand side by side */
    double done;  /* share of its press */
} shown;

/* One row of the page: what the store says of the coupon that stands for its group. */
typedef struct row {
    int group;
    const coupon *typical; /* NULL: no curve */
    char key[SP_KEY_SIZE], program[SP_PROGRAM_SIZE], reason[SP_MESSAGE_SIZE];
    char *text; /* its resolved case */
    int seed, outcome;
    notes notes; /* what a press and a look at its network caution of */
} row;

typedef struct report {
    sp_context *context;
    const sp_report_options *options;
    sp_store *store;
    sp_compare *compare;
    int row_count; /* in the order of the table */
    row *row;
    int shown_count;
    shown *shown;
    int threads;
    const char *source; /* "store" or "case files" */
} report;

void sp_notes_add(notes *kept, const char *line);
void sp_notes_take(void *user, const char *line); /* for sp_context.warn with user = notes */

/* rows.c: rows of the comparison with what the store says of them. SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_report_read_rows(report *r);
/* A case from its resolved text. 0: it names files, which a store does not hold, or values this
 * version refuses. */
int sp_report_case_of(const char *text, const char *key, sp_case *request);

/* choose.c: groups whose states are drawn, best first, into chosen[0 .. *count). SP_BAD_USAGE. */
sp_status sp_report_choose(const report *r, int limit, int *chosen, int *count);

/* Place of a group among the rows; -1: the table is too long for it. */
int sp_report_row_of(const report *r, int which);

/* press.c: press shown[0 .. count) and look at their networks. SP_INTERRUPTED, SP_NO_MEMORY, and
 * with `strict` what a case is refused for. */
sp_status sp_report_press(report *r, int strict);
/* Hold what was pressed against the stored curve: a note when they differ. */
sp_status sp_report_check_curve(report *r, shown *one);

/* data.c, states.c: the data of the page; NULL and SP_NO_MEMORY or SP_NO_READ in the context. */
json_t *sp_report_data(report *r, sp_status *status);
json_t *sp_report_base64(const unsigned char *byte, size_t count); /* NULL: no memory */
json_t *sp_report_state_data(report *r, const shown *one, int *failed);

/* direction.c: how a coupon is printed and pressed: two sentences and a sketch. */
json_t *sp_report_direction(report *r, const sp_network *network, int *failed);

/* beside.c: the picture of the drawn coupons at options->beside_strain or beside_force.
 * SP_BAD_USAGE (none is drawn), SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_report_beside(report *r, FILE *stream);

/* page.c: the page around its data, and the picture beside it where the options ask for one.
 * SP_NO_WRITE, SP_NO_MEMORY, those of sp_report_beside. */
sp_status sp_report_write(report *r, const json_t *data, const char *file, size_t *size);

/* parts.c: the text of a part of the page by its name in page.html; NULL when there is none. */
const char *sp_report_part(const char *name, size_t length);

#endif
