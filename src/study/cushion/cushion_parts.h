/* The inside of a cushion curve. */
#ifndef SP_CUSHION_CUSHION_PARTS_H
#define SP_CUSHION_CUSHION_PARTS_H

#include <strutpress/cushion.h>

/* One state of the slow press: what it absorbed and the largest force up to there. */
typedef struct cushion_state {
    double shortening, work, force; /* [mm], [mJ], [N] */
} cushion_state;

/* One drop on a fresh coupon. */
typedef struct cushion_drop {
    int height; /* number of it */
    double mass;
    int told; /* 0: the fall did not come to its deepest state */
    double peak, depth, bottoming,
        rebound; /* over the weight; strain; -; [mm], NaN: it did not bounce off */
} cushion_drop;

struct sp_cushion {
    sp_cushion_asked asked;
    double area, height; /* of the coupon [mm2], [mm] */
    int count;
    cushion_state *state; /* owned */
    int drop_count;
    cushion_drop drop[SP_CUSHION_HEIGHTS * SP_CUSHION_MASSES];
    double speed;   /* of the slow press, 1/s; 0: it takes no time */
    int knows_rate; /* 1: the law relaxes */
};

/* Largest force over weight of the mass that the press stops at state i when it falls from `fall`,
 * and the mass [kg] (E182). */
double sp_cushion_peak(const sp_cushion *cushion, int i, double fall, double *mass);
/* State of the least of them; 0: none. */
int sp_cushion_best(const sp_cushion *cushion, double fall);
/* The peak for a given mass; NaN when the press did not absorb so much. */
double sp_cushion_peak_of(const sp_cushion *cushion, double fall, double mass);

#endif
