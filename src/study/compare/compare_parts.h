/* What the files of a comparison share. */
#ifndef SP_COMPARE_COMPARE_PARTS_H
#define SP_COMPARE_COMPARE_PARTS_H

#include <strutpress/compare.h>
#include <strutpress/measure.h>

#include "compare/fit.h"
#include "compare/lines.h"

enum { CAUTION_MAX = 12 }; /* kinds of caution that are listed */
enum { COLUMN_MAX = 64, LABEL_SIZE = 200, LINE_MAX = SP_PARAMETER_MAX };

/* These columns are always read, beside the chosen ones. */
enum {
    COLUMN_SOLID,
    COLUMN_MASS,
    COLUMN_STIFFNESS,
    COLUMN_PLATEAU,
    COLUMN_RANK,
    COLUMN_END,
    COLUMN_FIXED
};

/* Replicates of one coupon. */
typedef struct group {
    char *text;           /* resolved case of the first replicate */
    char *line[LINE_MAX]; /* its lines */
    int line_count;
    int first, count; /* coupons: first .. first + count - 1 */
    int failed, ended;
    int cautions;          /* the most that one of its coupons has */
    char name[LABEL_SIZE]; /* as the caller gave it, "" without a name */
    int series;
    char label[LABEL_SIZE];
    sp_spread figure[COLUMN_MAX]; /* over the replicates */
} group;

/* Groups that differ in nothing but the density. */
typedef struct series {
    char label[LABEL_SIZE];
    int first, count;            /* its groups: member[first .. first + count - 1] */
    line_fit stiffness, plateau; /* log10 of the measure over log10 of the solid fraction */
    int ranked;                  /* 1: it reaches the mass of the ranking */
    double rank_value;           /* value at that mass */
    double mass_low, mass_high;  /* 0: no masses */
} series;

typedef struct coupon {
    long long id;
    int group, outcome, flaw_seed;
    double value[COLUMN_MAX]; /* NaN: not reached */
} coupon;

/* Cautions that differ only in their numbers. */
typedef struct caution_kind {
    char *text; /* the first of them */
    int count;
} caution_kind;

struct sp_compare {
    sp_store *store;
    int column_count;
    sp_figure column[COLUMN_MAX];
    int coupon_count, coupon_capacity;
    coupon *coupon; /* ordered by group */
    int group_count, group_capacity;
    group *group;
    int varied_count;
    int varied[LINE_MAX]; /* lines of the groups that differ; the flaw seed is never one */
    int *order;           /* group_count: groups in the order of the table */
    int *member;          /* group_count: groups by series, each in the order of the table */
    int series_count;
    series *series;
    int *ranking; /* series_count: best first, those not ranked last */
    char first_reason[SP_MESSAGE_SIZE];
    double mass;                        /* of the ranking [g]; 0: none */
    int caution_count, cautions_untold; /* number of kinds; number of cautions of further kinds */
    caution_kind caution[CAUTION_MAX];
    int cautioned;          /* coupons with at least one */
    const sp_curve *tested; /* of the options, as the next two */
    int tested_count;
    const char *tested_name;
};

/* Read a case from its resolved text, without its files. */
void sp_compare_case_of_text(const char *text, sp_case *request);
const char *sp_compare_column_name(const sp_compare *compare, int column);
const char *sp_compare_column_unit(const sp_compare *compare, int column);

/* Make groups, figures, labels and series of the coupons that were read. SP_NO_MEMORY. */
sp_status sp_compare_arrange(sp_context *context, sp_compare *compare);
/* Find the exponents and the ranking of the series; with mass 0 the mass is chosen. SP_NO_MEMORY.
 */
sp_status sp_compare_rank(sp_context *context, sp_compare *compare, double mass);
/* Return the stress of a stored curve at a strain, straight between its states [MPa]; NaN beyond
 * its end. */
double sp_compare_stress_at(const sp_curve_point *point, int count, double strain);

/* Find the replicate whose plateau is nearest the median: a curve that was pressed, not a mean of
 * curves; NULL: there is no curve. */
const coupon *sp_compare_typical(const sp_compare *compare, const group *g);
/* Return a few plateau stresses [MPa], as an end of the axis: so plateaus are readable under curves
 * that end far above them. */
double sp_compare_stress_end(const sp_compare *compare);

/* Take the cautions of the newest coupon, joined by "; ", and give their number in *count.
 * SP_NO_MEMORY. */
sp_status sp_compare_take_cautions(sp_context *context, sp_compare *compare, const char *text,
                                   int *count);
void sp_compare_free_cautions(sp_compare *compare);

/* modelled.c: say in words what the case of a group leaves out of a column, or which load limit
 * kept it from being reached ("" nothing). As lines below the table, list once each what is left
 * out, and the coupons that the load limit ended. */
sp_modelled sp_compare_modelled(const sp_compare *compare, const group *g, int column,
                                char words[SP_MODELLED_SIZE]);
void sp_compare_put_modelled(const sp_compare *compare, FILE *stream);

/* tested.c: find the root mean square of what each coupon of a group is off the mean of the tested
 * curves, over their mean stress [-], and the strain up to which it is taken (count 0: there is
 * nothing to compare). Errors: SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_compare_tested_misfit(sp_context *context, const sp_compare *compare, const group *g,
                                   sp_spread *misfit, double *end);
/* Take one state of a tested curve: shortening [mm] and force [N]. */
void sp_compare_tested_state(const sp_curve *curve, int state, double *shortening, double *force);
/* Say how far each coupon is off the tested curves, as lines below the table; nothing
 * without such curves. Errors: SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_compare_put_tested(sp_context *context, const sp_compare *compare, FILE *stream);
/* Add one tested curve as stress over strain [%]. SP_NO_MEMORY. */
sp_status sp_compare_tested_line(sp_context *context, const sp_compare *compare, int index,
                                 plot_lines *all);

#endif
