/* What the files of a cushion curve share. */
#ifndef SP_CUSHION_CUSHION_PARTS_H
#define SP_CUSHION_CUSHION_PARTS_H

#include <strutpress/cushion.h>

/* One state of the slow press: what the coupon absorbed up to there, and the largest force. */
typedef struct cushion_state {
    double shortening, work, force; /* [mm], [mJ], [N] */
} cushion_state;

/* One drop on a fresh coupon. */
typedef struct cushion_drop {
    int height; /* number of it */
    double mass;
    int told; /* 1: the figures below are known; 0: the fall did not reach its deepest state */
    /* Peak over the weight; largest strain; share beyond densification [-]; rebound [mm], NaN:
           it did not bounce off. */
    double peak, depth, bottoming, rebound;
} cushion_drop;

struct sp_cushion {
    sp_cushion_asked asked;
    double area, height; /* of the coupon [mm2], [mm] */
    int count;
    cushion_state *state; /* owned */
    int drop_count;
    cushion_drop drop[SP_CUSHION_HEIGHTS * SP_CUSHION_MASSES];
    double speed;   /* of the slow press [1/s]; 0: it takes no time */
    int knows_rate; /* 1: the law relaxes, so that the rate matters */
};

/* Return the largest force over the weight of the mass that the press stops at state i when it
 * falls from `fall`, and the mass [kg] (E182). */
double sp_cushion_peak(const sp_cushion *cushion, int i, double fall, double *mass);
/* Return the state with the least of these ratios; 0: none. */
int sp_cushion_best(const sp_cushion *cushion, double fall);
/* Return the peak for a given mass; NaN when the press did not absorb as much. */
double sp_cushion_peak_of(const sp_cushion *cushion, double fall, double mass);

#endif
