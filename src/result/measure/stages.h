/* Read a press in time: its holds, rests and cycles. Times count from the beginning of the stage.
 */
#ifndef SP_MEASURE_STAGES_H
#define SP_MEASURE_STAGES_H

#include <strutpress/measure.h>

/* Find the first, or the last, stage of a kind; NULL: there is none. */
const sp_stage *sp_stage_first(const sp_path *path, sp_segment_kind kind);
const sp_stage *sp_stage_last(const sp_path *path, sp_segment_kind kind);

/* Return the force, or the shortening, `seconds` after a stage began: between two states it is
 * straight over the time. It is not reached when the stage was shorter. */
sp_measure sp_stage_force(const sp_path *path, const sp_stage *stage, double seconds);
sp_measure sp_stage_shortening(const sp_path *path, const sp_stage *stage, double seconds);

/* Return the seconds until the shortening has fallen to this; not reached when it never does. */
sp_measure sp_stage_time_to(const sp_path *path, const sp_stage *stage, double shortening);

/* Return the number of the deepest state of a stage, where a mass that falls turns. */
int sp_stage_deepest(const sp_path *path, const sp_stage *stage);

/* A drop: its largest force [N], that over the weight of the mass, and when it acts [s]; the
 * deepest shortening [mm]; the height to which the mass bounces, 0 when it stays [mm]. */
typedef struct sp_impact {
    double peak, peak_share, peak_time, deepest, rebound;
} sp_impact;
/* Return the share of its depth that lies beyond the largest energy absorbed per largest force so
 * far, where densification begins; 0: none. */
double sp_stage_bottoming(const sp_path *path, const sp_stage *stage);
sp_impact sp_stage_impact(const sp_path *path, const sp_stage *stage);

typedef struct sp_cycle {
    int number;
    double peak;       /* largest force [N] */
    double end_force;  /* at the end of its presses [N] */
    double end_strain; /* nominal strain there */
    double work;       /* work of the platens while it is pressed [mJ] */
    double returned;   /* what the platens get back on the release; 0 without one [mJ] */
    int released;      /* 1: it has a release */
    double left;       /* shortening at its last state [mm] */
} sp_cycle;

/* List the cycles of a press in time, at most `most`, where each drop is a cycle; returns how many
 * there are. A cycle that did not reach the end of its presses does not count. */
int sp_cycles(const sp_path *path, sp_cycle *cycle, int most);

/* Return the force at a nominal strain in the presses of a cycle, of the original height or of that
 * of the last `zero` before it. */
sp_measure sp_cycle_force(const sp_path *path, int number, double strain);

#endif
