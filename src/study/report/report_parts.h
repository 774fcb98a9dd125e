/* What the files of a report share. */
#ifndef SP_REPORT_REPORT_PARTS_H
#define SP_REPORT_REPORT_PARTS_H

#include <jansson.h>
#include <stdio.h>

#include <strutpress/report.h>

#include "compare/compare_parts.h"
#include "run/result.h"

enum {
    CURVE_MAX = PLOT_LINE_MAX, /* curves of a page; more cannot be told apart */
    ROW_MAX = 2000,            /* of the table on the page */
    USUAL_STATES = 4,
    BAND_POINTS = 71, /* strains of the band of several flaw seeds */
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
    double done;  /* share of its press that is done */
} shown;

/* One row of the page: what the store says of the coupon that stands for its group. */
typedef struct row {
    int group;
    const coupon *typical; /* NULL: no curve */
    char key[SP_KEY_SIZE], program[SP_PROGRAM_SIZE], reason[SP_MESSAGE_SIZE];
    char *text; /* its resolved case */
    int seed, outcome;
    notes notes; /* cautions of a press and of a look at its network */
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

/* rows.c: make the rows of the comparison with what the store says of them. SP_NO_READ,
 * SP_NO_MEMORY. */
sp_status sp_report_read_rows(report *r);
/* Read a case from its resolved text. 0: it names files, which a store does not hold, or values
 * that this version refuses. */
int sp_report_case_of(const char *text, const char *key, sp_case *request);

/* choose.c: choose the groups whose states are drawn, best first, into chosen[0 .. *count).
 * SP_BAD_USAGE. */
sp_status sp_report_choose(const report *r, int limit, int *chosen, int *count);

/* Return the place of a group among the rows; -1: the table is too long for it. */
int sp_report_row_of(const report *r, int which);

/* press.c: press shown[0 .. count) and look at their networks. SP_INTERRUPTED, SP_NO_MEMORY, and
 * with `strict` the status with which a case is refused. */
sp_status sp_report_press(report *r, int strict);
/* Compare what was pressed with the stored curve: a note says when they differ. */
sp_status sp_report_check_curve(report *r, shown *one);

/* data.c, states.c: make the data of the page; NULL and SP_NO_MEMORY or SP_NO_READ in the context.
 */
json_t *sp_report_data(report *r, sp_status *status);
json_t *sp_report_base64(const unsigned char *byte, size_t count); /* NULL: no memory */
json_t *sp_report_state_data(report *r, const shown *one, int *failed);

/* direction.c: say how a coupon is printed and pressed: two sentences and a sketch. */
json_t *sp_report_direction(report *r, const sp_network *network, int *failed);

/* beside.c: draw the coupons at options->beside_strain or beside_force. SP_BAD_USAGE (none is
 * drawn), SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_report_beside(report *r, FILE *stream);

/* page.c: write the page around its data, and the picture beside it where the options ask for one.
 * SP_NO_WRITE, SP_NO_MEMORY, those of sp_report_beside. */
sp_status sp_report_write(report *r, const json_t *data, const char *file, size_t *size);

/* parts.c: return the text of a part of the page by its name in page.html; NULL when there is none.
 */
const char *sp_report_part(const char *name, size_t length);

#endif
