/* These functions take out of a direction the rigid moves that friction lets go. */
#include <string.h>

#include "state/free_moves.h"

/* Return the entry, at unknown `row` of the node at x, of a rigid move: by a unit length along x or
 * z, or by a unit turn about the upright. */
static double move_entry(const sp_model *model, const double *x, int which, int row)
{
    if (which < 2) return row == 2 * which;
    const double from_middle[2] = {x[0] - model->network->size[0] / 2,
                                   x[2] - model->network->size[2] / 2};
    return row == 0 ? from_middle[1] : row == 2 ? -from_middle[0] : row == 4;
}

/* Return the product of such a move and v (unknown_count). */
static double times_move(const sp_system *system, int which, const double *v)
{
    const sp_model *model = system->model;
    double sum = 0;
    for (int n = 0; n < model->node_count; n++)
        for (int k = 0; k < model->unknowns; k++) {
            const int u = model->unknown[model->unknowns * n + k];
            if (u >= 0) sum += v[u] * move_entry(model, system->x + model->values * n, which, k);
        }
    return sum;
}

static void add_move(const sp_system *system, int which, double share, double *v)
{
    const sp_model *model = system->model;
    for (int n = 0; n < model->node_count; n++)
        for (int k = 0; k < model->unknowns; k++) {
            const int u = model->unknown[model->unknowns * n + k];
            if (u >= 0) v[u] += share * move_entry(model, system->x + model->values * n, which, k);
        }
}

void sp_free_moves_find(sp_system *system, sp_free_moves *moves)
{
    const sp_model *model = system->model;
    const sp_contact *contact = &system->contact;
    const double *size = model->network->size;
    const double move[SP_FREE_MOVES][3] = {
        {1, 0, 0}, {0, 1, 0}, {-size[2] / 2, size[0] / 2, 1}}; /* the turn: about the middle */
    double *v = system->softest, *weighed = system->direction;
    *moves = (sp_free_moves){0};
    for (int i = 0; i < (model->dimension == 2 ? 1 : SP_FREE_MOVES); i++)
        if (sp_friction_lets_go(&contact->friction, contact->position, move[i]))
            moves->which[moves->count++] = i;
    for (int i = 0; i < moves->count; i++) {
        memset(v, 0, (size_t)model->unknown_count * sizeof *v);
        add_move(system, moves->which[i], 1, v);
        sp_sparse_weigh(system->sparse, v, weighed);
        for (int k = 0; k < moves->count; k++)
            moves->gram[i][k] = times_move(system, moves->which[k], weighed);
    }
}

void sp_free_moves_take_out(sp_system *system, const sp_free_moves *moves, double *v)
{
    double m[SP_FREE_MOVES][SP_FREE_MOVES + 1];
    const int count = moves->count;
    if (count == 0) return;
    sp_sparse_weigh(system->sparse, v, system->direction);
    for (int i = 0; i < count; i++) {
        memcpy(m[i], moves->gram[i], sizeof moves->gram[i]);
        m[i][SP_FREE_MOVES] = times_move(system, moves->which[i], system->direction);
    }
    for (int i = 0; i < count; i++) /* positive definite: no pivoting */
        for (int r = 0; r < count; r++) {
            const double factor = r == i ? 0 : m[r][i] / m[i][i];
            for (int k = 0; k <= SP_FREE_MOVES; k++) m[r][k] -= factor * m[i][k];
        }
    for (int i = 0; i < count; i++)
        add_move(system, moves->which[i], -m[i][SP_FREE_MOVES] / m[i][i], v);
}
