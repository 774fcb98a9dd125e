/* What the files of a target and of its answer share. */
#ifndef SP_SEEK_SEEK_PARTS_H
#define SP_SEEK_SEEK_PARTS_H

#include <strutpress/batch.h>
#include <strutpress/measure.h>
#include <strutpress/seek.h>

#include "rig/measured.h"
#include "seek/case_file.h"
#include "seek/variable.h"

enum {
    SEEK_CONDITION_MAX = 16,
    SEEK_FIGURE_MAX = SEEK_CONDITION_MAX + 1,
    SEEK_SEED_MAX = 32,
    SEEK_VARIANT_MAX = 1024,
    SEEK_LABEL_SIZE = 120
};

/* ---- target ----------------------------------------------- */

typedef struct seek_condition {
    int figure;
    double low, high; /* -infinity and infinity: no bound */
} seek_condition;

typedef enum { SEEK_MEDIAN, SEEK_WORST } seek_judge;

/* A place on a curve. */
typedef struct seek_place {
    double value; /* [mm], or a strain of the coupon */
    int of_strain;
} seek_place;

/* A measured curve that is to be met. */
enum { SEEK_WEIGHT_MAX = 16, SEEK_MATCH_FIGURES = 2 };
typedef struct seek_match {
    sp_measured curve; /* count 0: none is given */
    seek_place from, to;
    int weight_count;
    seek_place weight_place[SEEK_WEIGHT_MAX];
    double weight[SEEK_WEIGHT_MAX];
} seek_match;

struct sp_target {
    char source[SP_FILE_SIZE];
    sp_plan *plan; /* candidates, seeds changing fastest */
    int candidate_count, seed_count;
    /* `first` is the variable that is bracketed, -1 when all are whole numbers. */
    int variable_count, first;
    seek_variable variable[SEEK_VARIABLE_MAX];
    int condition_count;
    seek_condition condition[SEEK_CONDITION_MAX];
    int figure_count, save; /* save: the figure to keep small */
    sp_figure figure[SEEK_FIGURE_MAX];
    seek_judge judge;
    int tries; /* points a search over several variables may try */
    seek_match match;
};

/* The part `match:` of a target, with its two conditions. Errors as for sp_plan_parse, and those of
 * sp_measured_read. */
sp_status sp_seek_match_read(plan_reader *r, const yaml_node_t *node);
/* Find a figure of a target with a match by its name; 0: it is none. */
int sp_seek_match_find(const sp_target *target, const char *text, sp_figure *figure);
int sp_seek_match_is(const sp_figure *figure);
/* Return the misfit, or the mean force over that of the target, of the curve of a coupon (E208,
 * E209). */
sp_measure sp_seek_match_take(const sp_target *target, const sp_figure *figure,
                              const sp_curve *curve);
/* Find the range that counts, of a coupon of this height [mm]. */
void sp_seek_match_range(const sp_target *target, double height, double *from, double *to);

/* Make candidate `index` with flaw seed number `seed`; name the candidate in words. */
void sp_seek_candidate_case(const sp_target *target, int index, int seed, sp_case *request);
void sp_seek_candidate_label(const sp_target *target, int index, char label[SEEK_LABEL_SIZE]);
int sp_seek_candidate_is_solid(const sp_target *target,
                               int index); /* 1: it is the block without holes */

/* ---- answer ----------------------------------------------- */

/* One point of a search: a coupon pressed with the first flaw seed, or with all of them. */
typedef struct seek_record {
    double x[SEEK_VARIABLE_MAX];
    int seeds;                                    /* flaw seeds that are known: the first ones */
    double value[SEEK_SEED_MAX][SEEK_FIGURE_MAX]; /* NaN: not reached */
    int reached[SEEK_FIGURE_MAX];                 /* seeds that reach the figure */
    double median[SEEK_FIGURE_MAX], low[SEEK_FIGURE_MAX], high[SEEK_FIGURE_MAX];
    /* How well each bound holds, negative when it does not, NaN when it is not known:
     * [condition][at least, at most]. */
    double margin[SEEK_CONDITION_MAX][2];
    double least;        /* of the margins; NaN when one of them is */
    int pressed, stored; /* coupons pressed now, and taken from the store */
    int failed;          /* coupons without a result */
    /* Strain at which the load limit ended the first press that misses a figure; NaN: none. */
    double load_end;
} seek_record;

typedef enum { VARIANT_ACTIVE, VARIANT_DONE, VARIANT_DROPPED, VARIANT_EMPTY } variant_state;

/* A candidate with its whole numbers fixed. */
typedef struct seek_variant {
    int candidate;
    variant_state state;         /* EMPTY: nothing can be built, see reason */
    double x[SEEK_VARIABLE_MAX]; /* held while the first variable is searched */
    double low, high;            /* of the first variable, where a network can be built */
    /* Why nothing can be built below or above, where that is less than the range; "". */
    char low_reason[SP_MESSAGE_SIZE], high_reason[SP_MESSAGE_SIZE];
    int count, capacity;
    seek_record *record;
    int best;    /* record: reaches the target with the least of `save`, or comes nearest; -1 */
    int reached; /* that record reaches it */
    /* A required figure that rises and falls along the first variable and is missed there, so that
     * the search may have passed over a place where it holds; -1 when there is none. It is known at
     * the end. */
    int uneven;
    char reason[SP_MESSAGE_SIZE]; /* of the first coupon without a result */
} seek_variant;

struct sp_answer {
    const sp_target *target;
    sp_store *store;
    int threads;
    int variant_count;
    seek_variant *variant;
    int *best;  /* candidate_count: its best variant */
    int *order; /* candidate_count: best first */
    int reached_count;
    int pressed, stored; /* coupons */
    /* These show the progress: */
    sp_context *context;
    int round;
    double share_from, share_to;
};

typedef struct seek_wanted {
    int variant;
    int seeds; /* the first ones; a record that is complete may have more */
    double x[SEEK_VARIABLE_MAX];
} seek_wanted;

/* Make the case of a record. */
void sp_seek_record_case(const sp_answer *answer, const seek_variant *variant, const double *x,
                         int seed, sp_case *request);
/* Find the record at x, NULL when there is none. */
const seek_record *sp_seek_record_at(const sp_answer *answer, const seek_variant *variant,
                                     const double *x);
/* Press all points, or take them from the store, and add or complete their records. */
sp_status sp_seek_press(sp_answer *answer, const seek_wanted *wanted, int count);
/* Add the records that the store holds already with the held values of each variant. */
sp_status sp_seek_take_stored(sp_answer *answer);
/* Return whether the point is in the store, at least with its first seed; then it becomes a record.
 */
sp_status sp_seek_take_point(sp_answer *answer, seek_variant *variant, const double *x, int *taken);
/* Find figures over the seeds, and margins; it is called when the values of a record are filled. */
void sp_seek_judge_record(const sp_target *target, seek_record *record);

/* Read the stored curve of one flaw seed of a record; *point is freed with sp_store_free_curve. */
sp_status sp_seek_record_points(sp_context *context, const sp_answer *answer,
                                const seek_variant *variant, const seek_record *record, int seed,
                                int *count, sp_curve_point **point);

/* Make all variants of all candidates, and room for the answer. */
sp_status sp_seek_make_variants(sp_answer *answer);
/* Find the part of the range in which a network can be built, so that no press is spent on cells
 * that do not fit. */
sp_status sp_seek_trim_range(sp_answer *answer, seek_variant *variant);
/* Say what the search will take, its ranges being known; do nothing when nobody listens. Errors:
 * SP_INTERRUPTED, SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_seek_say_forecast(sp_answer *answer);
/* Bracket the first variable of all active variants, a round of presses at a time. */
sp_status sp_seek_rounds(sp_answer *answer);
/* Return the best record of a variant so far. */
void sp_seek_settle(const sp_answer *answer, seek_variant *variant);
/* Search all variables of one variant from its best record on. */
sp_status sp_seek_several(sp_answer *answer, int variant);
/* List the variables that are not whole numbers. */
int sp_seek_free_count(const sp_target *target);
/* Find the best variant of each candidate, and the order of the candidates. */
void sp_seek_arrange(sp_answer *answer);

/* Find the bound that decides, its condition and side; one that is not known comes before all
 * others. */
void sp_seek_worst_margin(const sp_target *target, const seek_record *record, int *condition,
                          int *side);
/* Write the values of the variables: "12.4 %, walls 2". */
void sp_seek_point_text(const sp_target *target, const double *x, char *text, size_t size);
/* Say in words why a best record does not reach the target. */
void sp_seek_miss_text(const sp_answer *answer, const seek_variant *variant, char *text,
                       size_t size);
/* Say in words what the reader must know about the ranges of a candidate: whole numbers that cannot
 * be built, ends that moved and why, and variables of its best record that lie at an end. Returns
 * the number of lines. */
enum { SEEK_REMARK_MAX = 3 + SEEK_VARIABLE_MAX, SEEK_REMARK_SIZE = SP_MESSAGE_SIZE + 160 };
int sp_seek_remarks(const sp_answer *answer, const seek_variant *variant,
                    char remark[SEEK_REMARK_MAX][SEEK_REMARK_SIZE]);
/* Return the number of the flaw seed whose first required figure is nearest to its median. */
int sp_seek_typical_seed(const sp_target *target, const seek_record *record);

/* Write a name such as "answer-1-square.yaml". */
void sp_seek_file_name(const sp_answer *answer, int place, const char *ending, char *name,
                       size_t size);

#endif
