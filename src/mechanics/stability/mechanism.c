/* A mechanism is a piece of a network that moves without straining anything.
 *
 * Struts that meet are joined stiffly, so that a motion which strains nothing moves every connected
 * piece as a rigid body, and the null space of the unloaded tangent K is that of the holds on these
 * motions. So it is looked for in these motions, and not in the pivots of K. Each piece has 7
 * unknowns, which do not depend on the mesh, the slenderness of the struts or the units, so that
 * nothing but round-off lies between 0 and the smallest pivot of a piece that is held.
 *
 *   q    middle of the piece moves (3), turns times its size (3), and travel of the upper platen
 *   a.q  what a hold takes away, one row per held unknown; a joint that the platen takes along
 *        moves as the platen does
 *   G    sum of a a^T, its diagonal scaled to 1
 *
 * The travel counts among the unknowns because a piece that follows the platen as a rigid body
 * presses on nothing: a single strut that leans between sliding platens turns under any force,
 * though K, at a given travel, is positive definite. The smallest pivot of G is the square of how
 * far apart the holds are, as a share of the size of the piece. */
#include "stability/mechanism.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "network/groups.h"

enum { MOVES = 7, TRAVEL = 6 };

/* Pivots below this count as zero: holds closer to each other than 1e-4 of the size of a piece hold
 * it in one place. Round-off, and the digits of a drawing, leave 1e-13 at most; two feet of a
 * coupon are half a bead apart at least, 1e-6 in the largest that can be pressed. The smallest
 * pivot of all patterns from 5 to 60 % is 4e-3. */
static const double smallest_pivot = 1e-8;
/* A piece turns, or tips, when its turn moves its ends by more than this share of what its middle
 * moves. */
static const double turn_share = 1e-3;

typedef struct piece {
    double low[3], high[3]; /* box around its nodes */
    double sum[MOVES][MOVES];
    int elements;
    int lower, upper; /* joints on the platens */
} piece;

/* Find the move of a place by each of the unknowns except the travel: row d of d(place)/dq. */
static void set_row(const piece *p, const double *at, int d, double size, double row[MOVES])
{
    double r[3];
    for (int i = 0; i < 3; i++) r[i] = (at[i] - 0.5 * (p->low[i] + p->high[i])) / size;
    const int next = (d + 1) % 3, last = (d + 2) % 3;
    memset(row, 0, MOVES * sizeof *row);
    row[d] = 1;
    row[3 + next] = r[last]; /* turn x r */
    row[3 + last] = -r[next];
}

static double size_of(const piece *p)
{
    double square = 0;
    for (int i = 0; i < 3; i++) square += (p->high[i] - p->low[i]) * (p->high[i] - p->low[i]);
    return square > 0 ? sqrt(square) : 1;
}

static void add_row(piece *p, const double row[MOVES])
{
    for (int i = 0; i < MOVES; i++)
        for (int j = 0; j < MOVES; j++) p->sum[i][j] += row[i] * row[j];
}

static void place_of(const sp_model *model, int node, double at[3])
{
    const double *x = model->reference + model->values * node;
    at[0] = x[0], at[1] = x[1], at[2] = model->dimension == 3 ? x[2] : 0;
}

/* Return 1 when friction holds an unknown of a node: faces do not slide before friction is
 * overcome, so they hold a joint sideways from the first push on. */
static int held_by_friction(const sp_model *model, int node, int unknown)
{
    const sp_network *network = model->network;
    return model->friction_platens > 0 && node < network->joint_count &&
           network->joint_face[node] && (unknown == 0 || (unknown == 2 && model->dimension == 3));
}

static void add_holds(const sp_model *model, int node, piece *p)
{
    const double size = size_of(p);
    double at[3], row[MOVES];
    place_of(model, node, at);
    for (int k = 0; k < model->unknowns; k++) {
        const int how = model->hold[model->unknowns * node + k];
        if (how == SP_FREE && !held_by_friction(model, node, k)) continue;
        const int moves = k < model->dimension;
        if (moves) {
            set_row(p, at, k, size, row);
        } else {
            memset(row, 0, sizeof row);
            row[model->dimension == 2 ? 5 : k] = 1;
        }
        if (how == SP_MOVED) row[TRAVEL] = 1; /* the platen moves down */
        add_row(p, row);
    }
}

/* Hold a planar piece in its plane. */
static void hold_planar(piece *p)
{
    p->sum[2][2] += 1, p->sum[3][3] += 1, p->sum[4][4] += 1;
}

/* Scale the diagonal to 1; `scale` turns the unknowns back. A row of zeros stays a row of zeros. */
static void scale_diagonal(piece *p, double scale[MOVES])
{
    for (int i = 0; i < MOVES; i++) scale[i] = p->sum[i][i] > 0 ? 1 / sqrt(p->sum[i][i]) : 1;
    for (int i = 0; i < MOVES; i++)
        for (int j = 0; j < MOVES; j++) p->sum[i][j] *= scale[i] * scale[j];
}

/* Eliminate with the largest pivot first; `order` is that of the unknowns. Returns how many pivots
 * there are. *least: the last one. */
static int eliminate(double g[MOVES][MOVES], int order[MOVES], double *least)
{
    for (int i = 0; i < MOVES; i++) order[i] = i;
    for (int k = 0; k < MOVES; k++) {
        int best = k;
        for (int i = k + 1; i < MOVES; i++)
            if (g[order[i]][order[i]] > g[order[best]][order[best]]) best = i;
        const int at = order[best];
        order[best] = order[k], order[k] = at;
        *least = g[at][at];
        if (*least < smallest_pivot) return k;
        for (int i = k + 1; i < MOVES; i++) {
            const double share = g[order[i]][at] / g[at][at];
            for (int j = k + 1; j < MOVES; j++) g[order[i]][order[j]] -= share * g[at][order[j]];
        }
    }
    return MOVES;
}

/* Find the motion of the eliminated unknowns that follows from the first of the others. */
static void solve_free(double g[MOVES][MOVES], const int order[MOVES], int rank, double q[MOVES])
{
    memset(q, 0, MOVES * sizeof *q);
    q[order[rank]] = 1;
    for (int k = rank - 1; k >= 0; k--) {
        double sum = 0;
        for (int j = k + 1; j <= rank; j++) sum += g[order[k]][order[j]] * q[order[j]];
        q[order[k]] = -sum / g[order[k]][order[k]];
    }
}

static void put_motion(const sp_model *model, const int *of, const piece *p, double q[MOVES],
                       sp_mechanism *found)
{
    double furthest = 0, row[MOVES], at[3];
    for (int j = 0; j < model->network->joint_count; j++) {
        double square = 0;
        if (of[j] != found->piece) continue;
        place_of(model, j, at);
        for (int d = 0; d < 3; d++) {
            double move = 0;
            set_row(p, at, d, size_of(p), row);
            for (int i = 0; i < TRAVEL; i++) move += row[i] * q[i];
            square += move * move;
        }
        if (square > furthest * (1 + 1e-9)) furthest = square, found->joint = j;
    }
    const double scale = furthest > 0 ? 1 / sqrt(furthest) : 1;
    for (int i = 0; i < 3; i++) found->move[i] = scale * q[i], found->turn[i] = scale * q[3 + i];
}

/* Find the pieces of all nodes, by the elements between them. */
static int number_nodes(const sp_model *model, int *of)
{
    for (int n = 0; n < model->node_count; n++) of[n] = n;
    for (int e = 0; e < model->element_count; e++)
        sp_unite(of, sp_model_nodes(model, e)[0], sp_model_nodes(model, e)[1]);
    return sp_number_groups(of, model->node_count);
}

static void measure_pieces(const sp_model *model, const int *of, piece *pieces)
{
    double at[3];
    for (int n = 0; n < model->node_count; n++) {
        piece *p = &pieces[of[n]];
        place_of(model, n, at);
        for (int d = 0; d < 3; d++)
            p->low[d] = fmin(p->low[d], at[d]), p->high[d] = fmax(p->high[d], at[d]);
    }
    for (int j = 0; j < model->network->joint_count; j++) {
        pieces[of[j]].lower += (model->network->joint_face[j] & SP_FACE_LOWER) != 0;
        pieces[of[j]].upper += (model->network->joint_face[j] & SP_FACE_UPPER) != 0;
    }
    for (int e = 0; e < model->element_count; e++)
        pieces[of[sp_model_nodes(model, e)[0]]].elements++;
    for (int n = 0; n < model->node_count; n++) add_holds(model, n, &pieces[of[n]]);
}

/* Find the first piece that can move, if there is one. */
static void find_first(const sp_model *model, const int *of, int count, piece *pieces,
                       sp_mechanism *found)
{
    found->least = INFINITY;
    for (int k = 0; k < count && !found->moves; k++) {
        double scale[MOVES], q[MOVES], least;
        int order[MOVES];
        if (pieces[k].elements == 0) continue; /* a joint to which nothing is tied */
        if (model->dimension == 2) hold_planar(&pieces[k]);
        scale_diagonal(&pieces[k], scale);
        const int rank = eliminate(pieces[k].sum, order, &least);
        found->least = fmin(found->least, least);
        if (rank == MOVES) continue;
        found->moves = 1, found->piece = k, found->least = least;
        found->lower = pieces[k].lower, found->upper = pieces[k].upper;
        solve_free(pieces[k].sum, order, rank, q);
        for (int i = 0; i < MOVES; i++) q[i] *= scale[i];
        put_motion(model, of, &pieces[k], q, found);
    }
}

sp_status sp_mechanism_find(sp_context *context, const sp_model *model, sp_mechanism *found)
{
    int *of = sp_alloc((size_t)model->node_count, sizeof *of);
    const int count = of ? number_nodes(model, of) : 0;
    piece *pieces = sp_alloc((size_t)count, sizeof *pieces);
    sp_status status = SP_OK;
    *found = (sp_mechanism){.least = INFINITY};
    if (!of || !pieces) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d nodes", model->node_count);
        goto done;
    }
    for (int k = 0; k < count; k++)
        for (int d = 0; d < 3; d++) pieces[k].low[d] = INFINITY, pieces[k].high[d] = -INFINITY;
    measure_pieces(model, of, pieces);
    find_first(model, of, count, pieces, found);
done:
    sp_free(of);
    sp_free(pieces);
    return status;
}

/* Say how a piece moves: a turn about an axis across the direction of pressing tips it over, one
 * about that direction only turns it. */
static void describe(const sp_mechanism *found, int dimension, const char **does,
                     const char **valid)
{
    const double *turn = found->turn, *move = found->move;
    const double across = hypot(turn[0], turn[2]), about = fabs(turn[1]);
    const double shift = hypot(hypot(move[0], move[1]), move[2]);
    if (across <= turn_share * shift && about <= turn_share * shift)
        *does = "slides", *valid = "a joint of its piece that something holds sideways";
    else if (about > across)
        *does = "turns about the pressing axis",
        *valid = "a second foot beside the first, or platens.hold bonded";
    else
        *does = "tips over",
        *valid = dimension == 2
                     ? "two feet of its piece on one platen, or platens.hold bonded or friction"
                     : "feet of its piece that are not all in one line, or platens.hold bonded or "
                       "friction";
}

sp_status sp_mechanism_refuse(sp_context *context, const sp_model *model)
{
    sp_mechanism found;
    char at[64];
    const char *does, *valid;
    const sp_status status = sp_mechanism_find(context, model, &found);
    if (status != SP_OK || !found.moves) return status;
    const double *p = model->network->joint_position + 3 * found.joint;
    const int used = snprintf(at, sizeof at, "%.4g, %.4g", p[0], p[1]);
    if (model->dimension == 3) snprintf(at + used, sizeof at - (size_t)used, ", %.4g", p[2]);
    describe(&found, model->dimension, &does, &valid);
    return sp_fail(context, SP_BAD_NETWORK,
                   "the network is a mechanism: joint %d at (%s) mm %s without resistance (feet of "
                   "its piece: %d on the lower platen, %d on the upper); valid: %s",
                   found.joint, at, does, found.lower, found.upper, valid);
}
