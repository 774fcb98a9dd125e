/* These are layers of a coupon, from the lower platen to the upper one, and moves that fold one of
 * them. */
#ifndef SP_LAYERS_H
#define SP_LAYERS_H

#include "state/system.h"

enum { SP_LAYERS_MAX = 12 };

typedef struct sp_layers {
    int count;
    double height; /* of each, unloaded [mm] */
} sp_layers;

/* Divide the coupon into as many layers as struts stand above each other by their mean rise (E253),
 * at most SP_LAYERS_MAX, which then have several rows of struts each; into 1 where all struts are
 * level. */
void sp_layers_find(const sp_model *model, sp_layers *layers);

/* Make the move that takes `share` of the present height out of one layer of the accepted state and
 * gives it to the others, with the platens at rest (E254); `move` holds `unknowns` per node. No
 * strut passes through another: heights keep their order. */
void sp_layers_squash(const sp_system *system, const sp_layers *layers, int layer, double share,
                      double *move);

/* Restrict a move to the nodes that lie in one layer of the unloaded coupon. */
void sp_layers_mask(const sp_model *model, const sp_layers *layers, int layer, const double *whole,
                    double *move);

#endif
