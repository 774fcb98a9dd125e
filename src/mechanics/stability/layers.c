#include "stability/layers.h"

#include <math.h>
#include <string.h>

/* A strut that rises by less than this share of the height of the coupon is level. */
static const double level_share = 1e-3;
/* Nodes this near to a border, as a share of the height of a layer, belong to both layers. */
static const double border = 1e-6;

void sp_layers_find(const sp_model *model, sp_layers *layers)
{
    const sp_network *network = model->network;
    double sum = 0;
    int count = 0;
    for (int s = 0; s < network->strut_count; s++) {
        const int *joint = network->strut_joint + 2 * s;
        const double rise = fabs(network->joint_position[3 * joint[1] + 1] -
                                 network->joint_position[3 * joint[0] + 1]);
        if (network->strut_role[s] != SP_ROLE_INFILL || rise < level_share * model->height)
            continue;
        sum += rise;
        count++;
    }
    const double rows = count > 0 ? round(model->height * count / sum) : 1;
    layers->count = (int)fmin(SP_LAYERS_MAX, fmax(1, rows));
    layers->height = model->height / layers->count;
}

/* Find the present heights of the borders: means over the nodes near each, where nearer nodes weigh
 * more. */
static void find_borders(const sp_system *system, const sp_layers *layers, double *border_height)
{
    const sp_model *model = system->model;
    double weight[SP_LAYERS_MAX + 1] = {0};
    memset(border_height, 0, (SP_LAYERS_MAX + 1) * sizeof *border_height);
    for (int n = 0; n < model->node_count; n++) {
        const double at = model->reference[model->values * n + 1] / layers->height;
        const int i = (int)fmin(layers->count, fmax(0, round(at)));
        const double w = fmax(0, 0.5 - fabs(at - i));
        border_height[i] += w * system->accepted[model->values * n + 1];
        weight[i] += w;
    }
    const double gap = model->height - system->accepted_shortening;
    border_height[0] = 0;
    border_height[layers->count] = gap;
    for (int i = 1; i < layers->count; i++)
        border_height[i] = weight[i] > 0 ? border_height[i] / weight[i]
                                         : border_height[i - 1] + gap / layers->count;
    for (int i = 1; i < layers->count;
         i++) /* a fold that is crowded may reverse the order of the means */
        border_height[i] = fmin(gap, fmax(border_height[i], border_height[i - 1]));
}

void sp_layers_squash(const sp_system *system, const sp_layers *layers, int layer, double share,
                      double *move)
{
    const sp_model *model = system->model;
    double at[SP_LAYERS_MAX + 1];
    memset(move, 0, (size_t)model->unknowns * (size_t)model->node_count * sizeof *move);
    find_borders(system, layers, at);
    const double below = at[layer], thick = at[layer + 1] - below;
    const double others = at[layers->count] - thick;
    if (!(thick > 0 && others > 0)) return;
    for (int n = 0; n < model->node_count; n++) {
        const int i = model->unknowns * n + 1;
        if (model->hold[i] != SP_FREE) continue;
        const double y = system->accepted[model->values * n + 1];
        const double inside = fmin(thick, fmax(0, y - below));
        move[i] = share * (thick / others * (y - inside) - inside);
    }
}

void sp_layers_mask(const sp_model *model, const sp_layers *layers, int layer, const double *whole,
                    double *move)
{
    for (int n = 0; n < model->node_count; n++) {
        const double at = model->reference[model->values * n + 1] / layers->height;
        const int inside = at > layer - border && at < layer + 1 + border;
        for (int d = 0; d < model->unknowns; d++) {
            const int i = model->unknowns * n + d;
            move[i] = inside ? whole[i] : 0;
        }
    }
}
