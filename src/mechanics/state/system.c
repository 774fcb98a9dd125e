/* This file assembles the potential and its derivatives. Elements are evaluated into flat buffers
 * (in parallel when there are many), then added in a fixed order, so that figures do not depend on
 * the number of threads. */
#include <math.h>
#include <string.h>

#include <omp.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "base/machine.h"
#include "state/system.h"

/* With fewer elements than this, in the plane and in space, threads cost more than they bring. */
static const int parallel_elements[2] = {6000, 1500};
/* This many elements are evaluated before they are added: few on one thread, so that they stay in
 * the cache, and many on several threads (19 MB in space). Then threads seldom wait for each other,
 * which takes milliseconds where other programs use the cores, too. */
static const int batch_alone = SP_BEAM_SEVERAL, batch_parallel = 16384;

/* Return on how many threads the elements are evaluated: as many as can be had, one where there are
 * few elements. */
static int count_threads(const sp_model *model)
{
    if (model->element_count <= parallel_elements[model->dimension - 2]) return 1;
    return sp_thread_room(omp_get_max_threads());
}

/* Return how many doubles of history all fibres have. */
static size_t history_size(const sp_model *model)
{
    size_t size = 0;
    for (int e = 0; e < model->element_count; e++) size += sp_beam_history(model, e);
    return size;
}

static sp_status create_history(sp_context *context, sp_system *system, size_t size)
{
    const sp_model *model = system->model;
    if (size == 0) return SP_OK;
    system->history_first = sp_alloc((size_t)model->element_count + 1, sizeof(size_t));
    system->history = sp_alloc(size, sizeof(double));
    if (!system->history_first || !system->history)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the history of %d elements",
                       model->element_count);
    for (int e = 0; e < model->element_count; e++)
        system->history_first[e + 1] = system->history_first[e] + sp_beam_history(model, e);
    sp_system_arm(system, 0);
    return SP_OK;
}

sp_status sp_system_create(sp_context *context, const sp_model *model, int count_pivots,
                           sp_system *system)
{
    memset(system, 0, sizeof *system);
    system->model = model;
    const size_t nodes = (size_t)model->node_count, unknowns = (size_t)model->unknown_count;
    const size_t elements = (size_t)model->element_count, side = 2 * (size_t)model->unknowns;
    const size_t values = (size_t)model->values * nodes;
    /* The memory for a network in space was judged before it was built; that of drawn and planar
     * ones is judged here. */
    const size_t history = history_size(model);
    const double bytes =
        sp_model_bytes(model->dimension, (double)elements) + (double)(history * sizeof(double));
    sp_status status = sp_memory_expect(context, bytes, "a press of this many struts");
    if (status != SP_OK) return status;
    system->x = sp_alloc(values, sizeof(double));
    system->gradient = sp_alloc((size_t)model->unknowns * nodes, sizeof(double));
    system->change = sp_alloc((size_t)model->unknowns * nodes, sizeof(double));
    system->trial = sp_alloc(values, sizeof(double));
    system->base = sp_alloc(values, sizeof(double));
    system->accepted = sp_alloc(values, sizeof(double));
    system->push_coupling = sp_alloc(unknowns, sizeof(double));
    system->coupling = sp_alloc(unknowns, sizeof(double));
    system->free_gradient = sp_alloc(unknowns, sizeof(double));
    system->direction = sp_alloc(unknowns, sizeof(double));
    system->softest = sp_alloc(unknowns, sizeof(double));
    system->points =
        sp_alloc((size_t)model->dimension * (size_t)model->point_count, sizeof(double));
    system->threads = count_threads(model);
    system->batch = system->threads == 1                    ? batch_alone
                    : model->element_count < batch_parallel ? model->element_count
                                                            : batch_parallel;
    system->element_gradient = sp_alloc(side * (size_t)system->batch, sizeof(double));
    system->element_hessian = sp_alloc(side * side * (size_t)system->batch, sizeof(double));
    system->element_energy = sp_alloc(elements, sizeof(double));
    system->element_state = sp_alloc(elements, sizeof *system->element_state);
    system->element_block = sp_alloc(3 * elements, sizeof(int));
    if (!system->x || !system->gradient || !system->change || !system->trial || !system->base ||
        !system->accepted || !system->push_coupling || !system->coupling ||
        !system->element_state || !system->free_gradient || !system->direction ||
        !system->softest || !system->points || !system->element_gradient ||
        !system->element_hessian || !system->element_energy || !system->element_block)
        status = sp_fail(context, SP_NO_MEMORY, "no memory for the state of %d nodes",
                         model->node_count);
    if (status == SP_OK) status = create_history(context, system, history);
    if (status == SP_OK) status = sp_contact_create(context, model, &system->contact);
    system->contact.threads = system->threads;
    if (status == SP_OK) status = sp_blocks_create(context, model, &system->blocks);
    if (status == SP_OK)
        status = sp_sparse_create(context, count_pivots, model->dimension == 3, &system->sparse);
    if (status == SP_OK && model->network->strut_panel) sp_sparse_weigh_orders(system->sparse);
    if (status == SP_OK && model->unknown_count == 0)
        status = sp_fail(context, SP_BAD_NETWORK,
                         "the platens hold every joint of this network; nothing can move");
    if (status == SP_OK)
        memcpy(system->x, model->reference, values * sizeof(double));
    else
        sp_system_free(system);
    return status;
}

void sp_system_free(sp_system *system)
{
    sp_contact_free(&system->contact);
    sp_blocks_free(&system->blocks);
    sp_sparse_free(system->sparse);
    sp_free(system->x);
    sp_free(system->gradient);
    sp_free(system->change);
    sp_free(system->trial);
    sp_free(system->base);
    sp_free(system->accepted);
    sp_free(system->push_coupling);
    sp_free(system->coupling);
    sp_free(system->element_state);
    sp_free(system->free_gradient);
    sp_free(system->direction);
    sp_free(system->softest);
    sp_free(system->points);
    sp_free(system->element_gradient);
    sp_free(system->element_hessian);
    sp_free(system->element_energy);
    sp_free(system->element_block);
    sp_free(system->history_first);
    sp_free(system->history);
    memset(system, 0, sizeof *system);
}

/* These are the node pairs of the pattern while it is made. */
typedef struct node_pairs {
    int count, capacity;
    uint64_t *pair;
} node_pairs;

static sp_status add_pair(sp_context *context, node_pairs *pairs, int a, int b)
{
    uint64_t *grown = sp_grow(pairs->pair, pairs->count, &pairs->capacity, 1024, sizeof *grown);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d node pairs", pairs->count + 1);
    pairs->pair = grown;
    pairs->pair[pairs->count++] = sp_blocks_pair(a, b);
    return SP_OK;
}

static sp_status add_segments(sp_context *context, const sp_model *model, int from, int to,
                              node_pairs *pairs)
{
    int node[4];
    sp_status status = SP_OK;
    sp_contact_nodes(model, from, to, node);
    for (int a = 1; a < 4; a++)
        for (int b = 0; b < a && status == SP_OK; b++)
            if (node[a] != node[b]) status = add_pair(context, pairs, node[a], node[b]);
    return status;
}

static sp_status collect_pairs(sp_context *context, sp_system *system, node_pairs *pairs)
{
    const sp_model *model = system->model;
    sp_contact *contact = &system->contact;
    sp_status status = SP_OK;
    for (int e = 0; e < model->element_count && status == SP_OK; e++) {
        const int *node = sp_model_nodes(model, e);
        status = add_pair(context, pairs, node[0], node[1]);
    }
    for (int i = 0; i < contact->candidate_count && status == SP_OK; i++) {
        sp_candidate *c = &contact->candidate[i];
        if (sp_contact_is_near(contact, c))
            status = add_segments(context, model, c->from, c->to, pairs);
    }
    for (int i = 0; i < contact->friction.count && status == SP_OK; i++) {
        const sp_load *load = &contact->friction.grip[i].load;
        if (load->on >= 0) status = add_segments(context, model, load->from, load->on, pairs);
    }
    return status;
}

static sp_status analyse(sp_context *context, sp_system *system)
{
    const sp_model *model = system->model;
    sp_blocks *blocks = &system->blocks;
    sp_status status = sp_blocks_matrix(context, model, blocks);
    if (status == SP_OK)
        status = sp_sparse_analyse(context, system->sparse, model->unknown_count,
                                   blocks->matrix_start, blocks->matrix_row, blocks->matrix_source);
    sp_blocks_drop_matrix(blocks);
    return status;
}

/* Make a new pattern from elements and all pairs near touching, so that it outlives many
 * iterations. */
static sp_status renew_pattern(sp_context *context, sp_system *system)
{
    const sp_model *model = system->model;
    sp_blocks *blocks = &system->blocks;
    node_pairs pairs = {0};
    sp_status status = collect_pairs(context, system, &pairs);
    if (status == SP_OK)
        status = sp_blocks_pattern(context, model, blocks, (size_t)pairs.count, pairs.pair);
    sp_free(pairs.pair);
    if (status == SP_OK && !system->no_factor) status = analyse(context, system);
    if (status != SP_OK) return status;
    for (int e = 0; e < model->element_count; e++) {
        const int a = sp_model_nodes(model, e)[0], b = sp_model_nodes(model, e)[1];
        system->element_block[3 * e] = sp_blocks_find(blocks, a, a);
        system->element_block[3 * e + 1] = sp_blocks_find(blocks, a, b);
        system->element_block[3 * e + 2] = sp_blocks_find(blocks, b, b);
    }
    system->pattern_ready = 1;
    sp_contact_find_blocks(&system->contact, blocks);
    return SP_OK;
}

/* These are the nodes from `from` on, before `to`, whose rows of the gradient and of the blocks one
 * thread adds to. */
typedef struct node_range {
    int from, to;
} node_range;

static int is_in(node_range range, int node)
{
    return node >= range.from && node < range.to;
}

/* Add what one element has for the rows of a range. It is inlined with a constant number of
 * unknowns. `i` is the place of element e in the batch. */
static inline void add_element(sp_system *system, int e, int i, int n, node_range range)
{
    const int *node = sp_model_nodes(system->model, e), *block = system->element_block + 3 * e;
    const double *g = system->element_gradient + 2 * n * i;
    const double *h = system->element_hessian + 4 * n * n * i;
    for (int k = 0; k < 2; k++) {
        if (!is_in(range, node[k])) continue;
        double *restrict own = system->blocks.value + n * n * block[2 * k];
        for (int r = 0; r < n; r++) system->gradient[n * node[k] + r] += g[n * k + r];
        for (int r = 0; r < n; r++)
            for (int c = 0; c < n; c++) own[n * r + c] += h[2 * n * (r + n * k) + c + n * k];
    }
    const int row = node[0] > node[1] ? 0 : n,
              column = n - row; /* the lower block has the larger node in its rows */
    if (!is_in(range, node[row > 0])) return;
    double *restrict low = system->blocks.value + n * n * block[1];
    for (int r = 0; r < n; r++)
        for (int c = 0; c < n; c++) low[n * r + c] += h[2 * n * (r + row) + c + column];
}

/* Add the elements from `first` on, before `last`, for the rows of a range. */
static void add_batch(sp_system *system, int first, int last, node_range range)
{
    for (int e = first; e < last; e++)
        if (system->model->dimension == 2)
            add_element(system, e, e - first, 3, range);
        else
            add_element(system, e, e - first, SP_SPATIAL_UNKNOWNS, range);
}

/* Do the same on several threads, each of which has its own rows: every sum is made in the order of
 * the elements. */
static void add_batch_shared(sp_system *system, int first, int last)
{
    const long nodes = system->model->node_count;
    const int parts = system->threads;
#pragma omp parallel for schedule(static, 1) num_threads(parts)
    for (int i = 0; i < parts; i++)
        add_batch(system, first, last,
                  (node_range){(int)(nodes * i / parts), (int)(nodes * (i + 1) / parts)});
}

/* Evaluate element e and those after it, before `last`; `first` is the first of the batch. */
static void evaluate_several(sp_system *system, int e, int first, int last)
{
    const double *history[SP_BEAM_SEVERAL];
    const int side = 2 * system->model->unknowns, i = e - first;
    const int count = last - e < SP_BEAM_SEVERAL ? last - e : SP_BEAM_SEVERAL;
    for (int k = 0; k < count; k++) history[k] = sp_system_history(system, e + k);
    sp_beam_eval_several(system->model, e, count, system->x, history,
                         system->element_gradient + side * i,
                         system->element_hessian + side * side * i, system->element_energy + e,
                         system->element_state + e);
}

/* Elements are evaluated a batch at a time and then added in their order: so figures do not depend
 * on the number of threads. */
static double add_elements(sp_system *system)
{
    const sp_model *model = system->model;
    const int count = model->element_count, batch = system->batch;
    for (int first = 0; first < count; first += batch) {
        const int last = first + batch < count ? first + batch : count;
        if (batch > batch_alone) {
#pragma omp parallel for schedule(dynamic, 8) num_threads(system->threads)
            for (int e = first; e < last; e += SP_BEAM_SEVERAL)
                evaluate_several(system, e, first, last);
        } else { /* an `if` clause would open a team of one thread, which calls the kernel */
            for (int e = first; e < last; e += SP_BEAM_SEVERAL)
                evaluate_several(system, e, first, last);
        }
        for (int e = first; e < last; e++)
            if (!(system->element_energy[e] < INFINITY)) return INFINITY;
        if (batch > batch_alone)
            add_batch_shared(system, first, last);
        else
            add_batch(system, first, last, (node_range){0, model->node_count});
    }
    double energy = 0;
    for (int e = 0; e < count; e++) energy += system->element_energy[e];
    return energy;
}

/* What acts on the spin of a node that follows acts on those that it follows, too: of `count` rows
 * of six that are `apart` from each other, their entries `step` apart. */
static void add_followed(double *row, int count, int apart, int step, int held, const double by[3])
{
    for (int k = 0; k < count; k++, row += apart)
        for (int i = 0; i < 3; i++) row[(3 + i) * step] += by[i] * row[(3 + held) * step];
}

/* Add what the forces of a node do at second order of its spins: one that rolls by `a` about its
 * level line and then turns by `b` about y has spun by a b/2 about what is level across the line.
 * `value` is the block of the node with itself. The spin of a skin is linear in the others however
 * large they are. E233 */
static void add_order_of_turns(const sp_model *model, int node, const double *x, int held,
                               const double *gradient, double *value)
{
    double line[3];
    if (held == 1) return;
    sp_model_level_line(x + model->values * node + 3, held, line);
    const int side = SP_SPATIAL_UNKNOWNS, free = 5 - held;
    const double mixed = 0.5 * (gradient[3] * line[2] - gradient[5] * line[0]) / line[2 - held];
    value[side * free + 4] += mixed;
    value[side * 4 + free] += mixed;
}

/* Turn gradient and blocks into those by the spins that nodes on skins have free, from those by all
 * spins. The spin about y is linear in the others however large they are, so that nothing of second
 * order is added. E233 */
static void let_spins_follow(sp_system *system)
{
    const sp_model *model = system->model;
    sp_blocks *blocks = &system->blocks;
    const int side = blocks->side;
    double row[3], column[3];
    if (!model->some_follow) return;
    for (int i = 0; i < model->node_count; i++) {
        double *gradient = system->gradient + side * i;
        const int held = sp_model_follows(model, i, system->x, row);
        for (int k = blocks->start[i]; k < blocks->start[i + 1]; k++) {
            double *value = blocks->value + side * side * k;
            const int other = blocks->column[k],
                      other_held = sp_model_follows(model, other, system->x, column);
            if (held >= 0) add_followed(value, side, 1, side, held, row);
            if (other_held >= 0) add_followed(value, side, side, 1, other_held, column);
            if (held >= 0 && other == i)
                add_order_of_turns(model, i, system->x, held, gradient, value);
        }
        if (held >= 0) add_followed(gradient, 1, side, 1, held, row);
    }
}

/* Find the platen forces, which are the gradient at the unknowns that they hold, and the gradient
 * of the free unknowns. */
static void collect_forces(sp_system *system)
{
    const sp_model *model = system->model;
    system->force = system->push.upper;
    system->lower_force = system->push.lower;
    for (int n = 0; n < model->node_count; n++) {
        const int i = model->unknowns * n + 1;
        if (model->hold[i] == SP_MOVED) system->force -= system->gradient[i];
        if (model->hold[i] == SP_HELD) system->lower_force += system->gradient[i];
    }
    for (int i = 0; i < model->unknowns * model->node_count; i++)
        if (model->unknown[i] >= 0) system->free_gradient[model->unknown[i]] = system->gradient[i];
}

/* Find energy, gradient, blocks and push at the placed positions. */
static void add_potential(sp_system *system)
{
    const sp_model *model = system->model;
    memset(system->gradient, 0,
           (size_t)model->unknowns * (size_t)model->node_count * sizeof(double));
    memset(system->push_coupling, 0, (size_t)model->unknown_count * sizeof(double));
    sp_blocks_zero(&system->blocks);
    system->contact.missing = 0;
    system->energy = add_elements(system);
    if (system->energy < INFINITY)
        system->energy += sp_contact_eval(&system->contact, system->gradient, &system->blocks,
                                          &system->push, system->push_coupling);
    let_spins_follow(system);
}

/* Evaluate at x and travel `shortening`. `fraction` says how far along Newton's step of friction
 * this state is, `nudge` is the push by which grips are judged; 0: neither. */
static sp_status evaluate(sp_context *context, sp_system *system, const double *x,
                          double shortening, double fraction, double nudge)
{
    const sp_model *model = system->model;
    system->contact.friction.fraction = fraction;
    system->contact.friction.nudge = nudge;
    if (x != system->x) memcpy(system->x, x, sp_system_values(system) * sizeof(double));
    sp_model_place_held(model, shortening, system->x);
    system->shortening = shortening;
    sp_contact_place(&system->contact, system->x, model->height - shortening);
    sp_status status = sp_contact_refresh(context, &system->contact);
    if (status == SP_OK && !system->pattern_ready) status = renew_pattern(context, system);
    if (status == SP_OK) add_potential(system);
    if (status == SP_OK && system->contact.missing > 0) {
        status = renew_pattern(context, system);
        if (status == SP_OK) add_potential(system);
    }
    if (status == SP_OK) status = sp_contact_reserve(context, &system->contact);
    if (status != SP_OK) return status;
    if (!(system->energy < INFINITY)) {
        system->energy = INFINITY;
        return SP_OK;
    }
    system->contacts = system->contact.active;
    collect_forces(system);
    return SP_OK;
}

sp_status sp_system_evaluate(sp_context *context, sp_system *system, const double *x,
                             double shortening)
{
    return evaluate(context, system, x, shortening, 0, 0);
}

sp_status sp_system_evaluate_along(sp_context *context, sp_system *system, const double *x,
                                   double shortening, double fraction)
{
    return evaluate(context, system, x, shortening, fraction, 0);
}

sp_status sp_system_evaluate_nudged(sp_context *context, sp_system *system, double nudge)
{
    return evaluate(context, system, system->x, system->shortening, 0, nudge);
}

sp_status sp_system_restore(sp_context *context, sp_system *system)
{
    sp_system_arm(system, 0);
    return sp_system_evaluate(context, system, system->accepted, system->accepted_shortening);
}

static int is_at_accepted(const sp_system *system)
{
    const size_t size = sp_system_values(system) * sizeof(double);
    return system->shortening == system->accepted_shortening &&
           memcmp(system->x, system->accepted, size) == 0;
}

sp_status sp_system_try(sp_context *context, sp_system *system, double travel, double dt)
{
    const sp_status status = is_at_accepted(system) ? SP_OK : sp_system_restore(context, system);
    if (status != SP_OK) return status;
    sp_system_arm(system, dt);
    sp_friction_expect(&system->contact.friction, travel);
    return SP_OK;
}

int sp_system_is_safe(sp_system *system, const double *x)
{
    sp_model_points(system->model, x, system->points);
    return !(sp_contact_safe_fraction(&system->contact, system->points, 1) < 1);
}

void sp_system_push(sp_system *system, double fraction, const double *move)
{
    sp_model_move(system->model, system->accepted, fraction, move, system->accepted);
}

int sp_system_in_time(const sp_system *system)
{
    return sp_model_law(system->model)->time.on;
}

void sp_system_arm(sp_system *system, double dt)
{
    system->step_time = dt;
    if (!sp_system_in_time(system)) return;
    for (int e = 0; e < system->model->element_count; e++)
        sp_beam_arm(system->model, e, dt, system->history + system->history_first[e]);
    sp_layer_memory_arm(&system->contact.layers, dt);
}

sp_law_lost sp_system_lost(const sp_system *system)
{
    sp_law_lost lost = {0};
    if (!sp_system_in_time(system)) return lost;
    for (int e = 0; e < system->model->element_count; e++)
        sp_beam_add_lost(system->model, e, sp_system_history(system, e), &lost);
    sp_layer_memory_add_lost(&system->contact.layers, &lost);
    return lost;
}

/* Return the energy that struts and layers store and have dissipated, less their part of the
 * potential. */
static double time_difference(const sp_system *system)
{
    double sum = 0;
    for (int e = 0; e < system->model->element_count; e++)
        sum += sp_beam_spent(system->model, e, &system->element_state[e],
                             sp_system_history(system, e)) -
               system->element_energy[e];
    return sum + sp_layer_memory_difference(&system->contact.layers);
}

double sp_system_stored(const sp_system *system)
{
    const sp_friction *friction = &system->contact.friction;
    double energy = system->energy;
    if (sp_system_in_time(system)) energy += time_difference(system);
    return energy - friction->energy + friction->work + friction->done;
}

double sp_system_spend_less(sp_system *system, double most)
{
    sp_friction *friction = &system->contact.friction;
    const double less = fmin(most, fmax(0, friction->work));
    friction->work -= less;
    return less;
}

double sp_system_accept(sp_system *system, double travel)
{
    double dissipated = 0;
    memcpy(system->accepted, system->x, sp_system_values(system) * sizeof(double));
    system->accepted_shortening = system->shortening;
    for (int e = 0; system->history && e < system->model->element_count; e++)
        dissipated += sp_beam_keep(system->model, e, &system->element_state[e],
                                   system->history + system->history_first[e]);
    system->step_time = 0;
    sp_contact_keep(&system->contact, system->gradient, travel);
    sp_law_lost layers = {0};
    sp_layer_memory_add_lost(&system->contact.layers, &layers);
    dissipated += layers.softened + layers.relaxed + layers.flowed;
    const sp_friction *friction = &system->contact.friction;
    return dissipated + friction->done - sp_friction_stored(friction);
}

double sp_system_residual(const sp_system *system)
{
    const sp_model *model = system->model;
    double largest = 0;
    for (int i = 0; i < model->unknowns * model->node_count; i++) {
        if (model->unknown[i] < 0) continue;
        const int is_moment = i % model->unknowns >= model->dimension;
        const double force = fabs(system->gradient[i]) / (is_moment ? model->thickest : 1);
        if (!(force <= largest)) largest = force; /* a NaN stays */
    }
    return largest;
}

sp_status sp_system_factor(sp_context *context, sp_system *system, double shift, int *negative)
{
    sp_sparse_load(system->sparse, system->blocks.value);
    return sp_sparse_factor(context, system->sparse, shift, negative);
}

double sp_system_couple(sp_system *system)
{
    const sp_model *model = system->model;
    memcpy(system->coupling, system->push_coupling, (size_t)model->unknown_count * sizeof(double));
    return system->push.tangent + sp_blocks_coupling(model, &system->blocks, system->coupling);
}

sp_status sp_system_tangent(sp_context *context, sp_system *system, double *tangent,
                            double *stiffness)
{
    const sp_model *model = system->model;
    *stiffness = sp_system_couple(system);
    sp_status status =
        sp_sparse_solve(context, system->sparse, system->coupling, system->direction);
    if (status != SP_OK) return status;
    for (int i = 0; i < model->unknowns * model->node_count; i++) {
        const int u = model->unknown[i];
        tangent[i] = model->hold[i] == SP_MOVED ? -1 : u >= 0 ? -system->direction[u] : 0;
        if (u >= 0) *stiffness += system->coupling[u] * tangent[i];
    }
    return SP_OK;
}

double sp_system_wall_force(const sp_system *system)
{
    const sp_model *model = system->model;
    const sp_network *network = model->network;
    if (!network->panel) return 0;
    double sum = system->push.upper_on_walls;
    for (int s = 0; s < network->strut_count; s++) {
        const int *joint = network->strut_joint + 2 * s;
        const int held[2] = {network->joint_face[joint[0]] == SP_FACE_UPPER,
                             network->joint_face[joint[1]] == SP_FACE_UPPER};
        if (network->strut_role[s] != SP_ROLE_WALL || !(held[0] || held[1])) continue;
        double gradient[2 * SP_SPATIAL_UNKNOWNS],
            hessian[4 * SP_SPATIAL_UNKNOWNS * SP_SPATIAL_UNKNOWNS];
        sp_beam_state unused;
        const int e = model->strut_element[s];
        sp_beam_eval(model, e, system->x, sp_system_history(system, e), gradient, hessian, &unused);
        for (int k = 0; k < 2; k++) {
            const int joint_first = sp_model_nodes(model, e)[k] == joint[0] ? 0 : 1;
            if (held[joint_first]) sum -= gradient[SP_SPATIAL_UNKNOWNS * k + 1];
        }
    }
    return sum;
}

double sp_system_element_strain(const sp_system *system, int element)
{
    return sp_beam_fibre_strain(system->model, element, &system->element_state[element]);
}

double sp_system_fibre_strain(const sp_system *system)
{
    double largest = 0;
    for (int i = 0; i < system->model->element_count; i++)
        largest = fmax(largest, sp_system_element_strain(system, i));
    return largest;
}

void sp_system_fibre_range(const sp_system *system, double *least, double *most)
{
    for (int i = 0; i < system->model->element_count; i++)
        sp_beam_fibre_range(system->model, i, &system->element_state[i], least, most);
}

double sp_system_strut_force(const sp_system *system, int strut)
{
    const int first = system->model->strut_element[strut],
              last = system->model->strut_element[strut + 1];
    double sum = 0;
    for (int e = first; e < last; e++) sum -= system->element_state[e].axial_force;
    return sum / (last - first);
}

double sp_system_strut_chord(const sp_system *system, int strut)
{
    const sp_model *model = system->model;
    const int *joint = model->network->strut_joint + 2 * strut;
    const double *a = system->x + model->values * joint[0],
                 *b = system->x + model->values * joint[1];
    const double flat = hypot(b[0] - a[0], b[1] - a[1]);
    return model->dimension == 2 ? flat : hypot(flat, b[2] - a[2]);
}
