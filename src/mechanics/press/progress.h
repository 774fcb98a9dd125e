/* These functions find how far a press has come, and how long the rest of it takes.
 *
 * A run has up to three stages: the search for the critical step, the press, the way back. The time
 * left is forecast from the run itself, or from a guide: a coarse press of the same coupon that
 * runs ahead, or another seed of its flaws. Folds, jumps and contacts come to the guide where they
 * come to the press, so the guide shows how the work is spread along the way; the speed is
 * measured. */
#ifndef SP_PROGRESS_H
#define SP_PROGRESS_H

#include <pthread.h>

typedef enum { SP_PACE_SEARCH, SP_PACE_PRESS, SP_PACE_BACK, SP_PACE_STAGES } sp_pace_stage;

enum { SP_PACE_PARTS = 128 }; /* parts into which the way of a stage is divided */

/* This says when a run reached which part of its way. All of it is zero before the first state. */
typedef struct sp_pace {
    sp_pace_stage stage; /* the present one */
    double way;     /* share of the present stage that is done, 0 .. 1: in shortening or load */
    double seconds; /* since the run began, at the last state */
    /* These are the seconds at which the parts of a stage were reached, and how many of them were;
     * 0: the stage never began. */
    int reached[SP_PACE_STAGES];
    double at[SP_PACE_STAGES][SP_PACE_PARTS + 1];
    double begin[SP_PACE_STAGES], end[SP_PACE_STAGES]; /* first and last state of a stage [s] */
    double budget; /* share of the factorizations after which a search is cut short; 0: no end */
    int done;      /* 1: the run came to its end */
    double clock;  /* when it began (sp_clock_seconds), set by the first press of it; 0: not yet */
} sp_pace;

/* This is known of a run before it begins: what follows the press, and how long the run may
 * take. */
typedef struct sp_pace_plan {
    int unload;       /* 1: a way back follows */
    double forecast;  /* of press and way back, without the search [s]; 0: not known */
    double low, high; /* nine of ten runs take between these shares of the forecast */
} sp_pace_plan;

/* These are the seconds left: nine of ten runs take between `low` and `high`, half of them more
 * than `middle`. */
typedef struct sp_left {
    double low, middle, high;
} sp_left;

/* This is another run of the same coupon, to which a thread of its own may be adding. */
typedef struct sp_guide {
    pthread_mutex_t lock;
    sp_pace pace;
} sp_guide;

void sp_pace_note(sp_pace *pace, sp_pace_stage stage, double way, double seconds);

/* Find the time left. `guide` is a copy of the pace of a guide, and `times` is how many times as
 * long as the guide the run is expected to take; NULL: there is no guide. */
sp_left sp_pace_left(const sp_pace *own, const sp_pace *guide, double times,
                     const sp_pace_plan *plan);

/* Store in a guide how far its run has come; `done` 1: it has ended, and later calls change
 * nothing. */
void sp_guide_put(sp_guide *guide, const sp_pace *pace, int done);
sp_pace sp_guide_get(sp_guide *guide);

#endif
