/* How far a press has come, and how long the rest of it takes.
 *
 * A run has up to three stages: the search for the critical step, the press, the way back. What is
 * left is told by what the run itself has shown, or by a guide: a coarse press of the same coupon
 * that runs ahead, or another seed of its flaws. Folds, jumps and contacts come to the guide where
 * they come to the press, so it knows where along the way the work lies; the speed is measured. */
#ifndef SP_PROGRESS_H
#define SP_PROGRESS_H

#include <pthread.h>

typedef enum { SP_PACE_SEARCH, SP_PACE_PRESS, SP_PACE_BACK, SP_PACE_STAGES } sp_pace_stage;

enum { SP_PACE_PARTS = 128 }; /* of the way of a stage */

/* When a run came how far. All zero before its first state. */
typedef struct sp_pace {
    sp_pace_stage stage; /* the present one */
    double way;          /* of its way, 0 .. 1: shortening or load, back: what was gone back */
    double seconds;      /* since the run began, at the last state */
    /* seconds at which the parts of a stage were reached, and how many were; 0: it never began */
    int reached[SP_PACE_STAGES];
    double at[SP_PACE_STAGES][SP_PACE_PARTS + 1];
    double begin[SP_PACE_STAGES], end[SP_PACE_STAGES]; /* first and last state of a stage [s] */
    double budget; /* share of the factorizations after which a search is cut short; 0: no end */
    int done;      /* 1: the run came to its end */
    double clock;  /* when it began (sp_clock_seconds), set by the first press of it; 0: not yet */
} sp_pace;

/* What is known of a run before it: what follows the press, and how long it may take. */
typedef struct sp_pace_plan {
    int unload;       /* 1: a way back follows */
    double forecast;  /* of press and way back, without the search [s]; 0: not known */
    double low, high; /* shares of it between which nine of ten lie */
} sp_pace_plan;

/* Seconds left: nine of ten runs have between low and high, half of them more than `middle`. */
typedef struct sp_left {
    double low, middle, high;
} sp_left;

/* Another run of the same coupon, which a thread of its own may be adding to. */
typedef struct sp_guide {
    pthread_mutex_t lock;
    sp_pace pace;
} sp_guide;

void sp_pace_note(sp_pace *pace, sp_pace_stage stage, double way, double seconds);

/* `guide`: a copy of that of a guide, with how many times as long; NULL: there is none. */
sp_left sp_pace_left(const sp_pace *own, const sp_pace *guide, double times,
                     const sp_pace_plan *plan);

/* Tell a guide how far its run has come; `done` 1: to its end, and what it knows stays. */
void sp_guide_put(sp_guide *guide, const sp_pace *pace, int done);
sp_pace sp_guide_get(sp_guide *guide);

#endif
