/* See bench_model.h. */
#include "bench_model.h"

#include "check.h"

#include "base/alloc.h"

static const double turn_most = 0.5; /* rad, per iteration */
/* A state is found when a correction is this small, or, on fine meshes of stiff struts, when
 * round-off no longer lets it shrink. */
static const double small_enough = 1e-9, round_off = 1e-6;
static const int most_iterations = 200, most_on_arc = 12;

static void expect(const bench *b, sp_status status)
{
    if (status != SP_OK) fail_msg("status %d: %s", (int)status, b->context.message);
}

static size_t values(const bench *b)
{
    return 3 * (size_t)b->model.node_count;
}

void bench_begin(bench *b, double height, int contact)
{
    sp_case request;
    *b = (bench){.size = height, .no_contact = !contact};
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "linear");
    request.modulus = 1;
    request.poisson_ratio = 0;
    request.strain_state = SP_UNIAXIAL;
    expect(b, sp_law_prepare(&b->context, &request, &b->law));
    b->network.dimension = 2;
    b->network.size[0] = b->network.size[1] = height;
    b->network.size[2] = 1;
}

void bench_end(bench *b)
{
    free(b->load);
    free(b->direction);
    free(b->start);
    free(b->solved);
    free(b->along);
    if (b->ready) sp_system_free(&b->system);
    sp_model_free(&b->model);
    sp_network_free(&b->network);
    sp_law_free(&b->law);
    memset(b, 0, sizeof *b);
}

static void *grown(void *array, int count, size_t each, size_t size)
{
    void *larger = sp_resize(array, ((size_t)count + 1) * each, size);
    assert_non_null(larger);
    memset((char *)larger + (size_t)count * each * size, 0, each * size);
    return larger;
}

int bench_joint(bench *b, double x, double y)
{
    sp_network *n = &b->network;
    n->joint_position = grown(n->joint_position, n->joint_count, 3, sizeof(double));
    n->joint_face = grown(n->joint_face, n->joint_count, 1, 1);
    n->joint_position[3 * n->joint_count] = x;
    n->joint_position[3 * n->joint_count + 1] = y;
    return n->joint_count++;
}

int bench_strut(bench *b, int from, int to, double thickness)
{
    sp_network *n = &b->network;
    n->strut_joint = grown(n->strut_joint, n->strut_count, 2, sizeof(int));
    n->strut_thickness = grown(n->strut_thickness, n->strut_count, 1, sizeof(double));
    n->strut_role = grown(n->strut_role, n->strut_count, 1, 1);
    n->strut_zone = grown(n->strut_zone, n->strut_count, 2, sizeof(double));
    n->strut_bow = grown(n->strut_bow, n->strut_count, 1, sizeof(double));
    n->strut_joint[2 * n->strut_count] = from;
    n->strut_joint[2 * n->strut_count + 1] = to;
    n->strut_thickness[n->strut_count] = thickness;
    return n->strut_count++;
}

int bench_arc(bench *b, double x, double y, double radius, double from, double to, int count,
              double thickness)
{
    const int closed = fabs(fabs(to - from) - 2 * M_PI) < 1e-12;
    int first = -1, before = -1;
    for (int i = 0; i <= count - closed; i++) {
        const double angle = from + (to - from) * i / count;
        const int joint = bench_joint(b, x + radius * cos(angle), y + radius * sin(angle));
        if (i == 0)
            first = joint;
        else
            bench_strut(b, before, joint, thickness);
        before = joint;
    }
    if (closed) bench_strut(b, before, first, thickness);
    return first;
}

void bench_mesh(bench *b, int elements_per_strut)
{
    const sp_model_options options = {.platens = SP_PLATENS_SLIDING,
                                      .elements_per_strut = elements_per_strut,
                                      .section_points = b->points > 0 ? b->points : 2};
    expect(b, sp_model_build(&b->context, &b->network, &b->law, &options, &b->model));
    b->load = calloc(values(b), sizeof(double));
    b->direction = calloc(values(b), sizeof(double));
    b->start = calloc(values(b), sizeof(double));
    b->solved = calloc(values(b), sizeof(double));
    b->along = calloc(values(b), sizeof(double));
    assert_true(b->load && b->direction && b->start && b->solved && b->along);
}

int bench_node(const bench *b, int strut, int place)
{
    const int first = b->model.strut_element[strut];
    return place == 0 ? b->model.element[first].node[0]
                      : b->model.element[first + place - 1].node[1];
}

void bench_stiffness(bench *b, int strut, double axial, double bending, double shear)
{
    sp_model *model = &b->model;
    for (int s = 0; s < b->network.strut_count; s++) {
        if (strut >= 0 && s != strut) continue;
        const double thickness = sqrt(12 * bending / axial);
        sp_section *section = &model->section[s];
        sp_section_rectangle(section, &b->law, thickness, axial / (b->law.modulus * thickness), 2);
        section->shear_stiffness = shear;
        for (int e = model->strut_element[s]; e < model->strut_element[s + 1]; e++) {
            const double l = model->element[e].length;
            model->element[e].shear = 1 / (1 / shear + l * l / (12 * bending)); /* E5 */
        }
    }
}

void bench_hold(bench *b, int node, int direction, int how)
{
    b->model.hold[3 * node + direction] = (unsigned char)how;
}

void bench_hold_at(bench *b, int node, int direction, double value)
{
    bench_hold(b, node, direction, SP_HELD);
    b->model.reference[3 * node + direction] = value;
}

void bench_load(bench *b, int node, int direction, double value)
{
    b->load[3 * node + direction] = value;
}

void bench_ready(bench *b)
{
    sp_model *model = &b->model;
    model->unknown_count = 0;
    for (size_t i = 0; i < values(b); i++)
        model->unknown[i] = model->hold[i] == SP_FREE ? model->unknown_count++ : -1;
    /* A strut without thickness reaches nothing. */
    if (b->no_contact)
        for (int s = 0; s < b->network.strut_count; s++) b->network.strut_thickness[s] = 0;
    expect(b, sp_system_create(&b->context, model, 1, &b->system));
    b->ready = 1;
    expect(b, sp_system_evaluate(&b->context, &b->system, model->reference, 0));
}

double bench_moved(const bench *b, int node, int direction)
{
    return b->system.x[3 * node + direction] - b->model.reference[3 * node + direction];
}

double bench_reaction(const bench *b, int node, int direction)
{
    const int i = 3 * node + direction;
    return b->system.gradient[i] - b->factor * b->load[i];
}

/* --- Newton --- */

static double potential(const bench *b)
{
    double work = 0;
    for (size_t i = 0; i < values(b); i++)
        work += b->load[i] * (b->system.x[i] - b->model.reference[i]);
    return b->system.energy - b->factor * work;
}

static void evaluate(bench *b, const double *x, double travel)
{
    expect(b, sp_system_evaluate(&b->context, &b->system, x, travel));
}

static int factor_tangent(bench *b, double shift)
{
    int negative;
    expect(b, sp_system_factor(&b->context, &b->system, shift, &negative));
    return negative;
}

/* Set out = K^-1 in over the free unknowns, 0 elsewhere. */
static void solve(bench *b, const double *in, double *out)
{
    const int *unknown = b->model.unknown;
    double *right = b->system.direction;
    for (size_t i = 0; i < values(b); i++)
        if (unknown[i] >= 0) right[unknown[i]] = in[i];
    expect(b, sp_sparse_solve(&b->context, b->system.sparse, right, right));
    for (size_t i = 0; i < values(b); i++) out[i] = unknown[i] >= 0 ? right[unknown[i]] : 0;
}

/* Set solved = - K^-1 (gradient - factor load); returns gradient . solved. */
static double newton(bench *b)
{
    double slope = 0, *out = b->solved;
    for (size_t i = 0; i < values(b); i++) out[i] = b->factor * b->load[i] - b->system.gradient[i];
    for (size_t i = 0; i < values(b); i++) b->along[i] = b->model.unknown[i] >= 0 ? -out[i] : 0;
    solve(b, out, out);
    for (size_t i = 0; i < values(b); i++) slope += b->along[i] * out[i];
    return slope;
}

/* Return the largest entry, with displacements divided by the size. */
static double largest(const bench *b, const double *v)
{
    double most = 0;
    for (size_t i = 0; i < values(b); i++) {
        const double a = fabs(v[i]) / (i % 3 == 2 ? 1 : b->size);
        if (!(a <= most)) most = a;
    }
    return most;
}

void bench_follow(bench *b, double factor, double travel)
{
    b->factor = factor;
    evaluate(b, b->system.x, travel);
    double before = INFINITY;
    for (int i = 0; i < most_iterations; i++) {
        factor_tangent(b, 0);
        newton(b);
        const double move = largest(b, b->solved), f = move > turn_most ? turn_most / move : 1;
        for (size_t k = 0; k < values(b); k++) b->system.x[k] += f * b->solved[k];
        evaluate(b, b->system.x, travel);
        if (move <= small_enough || (move <= round_off && move > 0.5 * before)) return;
        before = move;
    }
    fail_msg("no equilibrium at load factor %g, travel %g", factor, travel);
}

void bench_follow_in(bench *b, double factor, double travel, int steps)
{
    const double f0 = b->factor, u0 = b->system.shortening;
    for (int i = 1; i <= steps; i++)
        bench_follow(b, f0 + (factor - f0) * i / steps, u0 + (travel - u0) * i / steps);
}

static double safe_fraction(bench *b)
{
    const double move = largest(b, b->solved);
    const double turn = move > turn_most ? turn_most / move : 1;
    if (b->no_contact) return turn;
    for (size_t i = 0; i < values(b); i++) b->start[i] = b->system.x[i] + b->solved[i];
    sp_model_points(&b->model, b->start, b->system.points);
    return sp_contact_safe_fraction(&b->system.contact, b->system.points, turn);
}

void bench_descend(bench *b, double factor, double travel)
{
    double shift = 0, last = INFINITY;
    b->factor = factor;
    evaluate(b, b->system.x, travel);
    check_true(isfinite(b->system.energy));
    for (int i = 0; i < most_iterations; i++) {
        for (shift = shift > 1e-7 ? 0.1 * shift : 0; factor_tangent(b, shift) != 0;)
            shift = fmax(1e-7, 10 * shift);
        const double slope = newton(b), move = largest(b, b->solved), before = potential(b);
        double f = safe_fraction(b);
        memcpy(b->start, b->system.x, values(b) * sizeof(double));
        for (;; f *= 0.5) {
            for (size_t k = 0; k < values(b); k++) b->along[k] = b->start[k] + f * b->solved[k];
            evaluate(b, b->along, travel);
            /* Near the minimum the energy has no digits left to compare. */
            if (move <= 1e-6 || potential(b) <= before + 1e-4 * f * slope) break;
            if (f < 1e-10) break;
        }
        if (f < 1e-10) break;
        if (shift == 0 && (move <= small_enough || (move <= round_off && move > 0.5 * last)))
            return;
        last = move;
    }
    fail_msg("no minimum at load factor %g, travel %g", factor, travel);
}

void bench_descend_in(bench *b, double factor, double travel, int steps)
{
    const double f0 = b->factor, u0 = b->system.shortening;
    for (int i = 1; i <= steps; i++)
        bench_descend(b, f0 + (factor - f0) * i / steps, u0 + (travel - u0) * i / steps);
}

int bench_negative(bench *b)
{
    return factor_tangent(b, 0);
}

double bench_critical(bench *b, double low, double high)
{
    const size_t bytes = values(b) * sizeof(double);
    /* Every trial starts here, because past the bifurcation Newton may leave the path. */
    double *stable = malloc(bytes);
    assert_non_null(stable);
    bench_follow(b, low, b->system.shortening);
    check_true(bench_negative(b) == 0);
    memcpy(stable, b->system.x, bytes);
    while (high - low > 1e-7 * high) {
        const double middle = 0.5 * (low + high);
        memcpy(b->system.x, stable, bytes);
        bench_follow(b, middle, b->system.shortening);
        if (bench_negative(b) == 0) {
            low = middle;
            memcpy(stable, b->system.x, bytes);
        } else {
            high = middle;
        }
    }
    free(stable);
    return 0.5 * (low + high);
}

/* --- arc length --- */

static double dot(const bench *b, const double *u, const double *v)
{
    double sum = 0;
    for (size_t i = 0; i < values(b); i++)
        sum += u[i] * v[i] / (i % 3 == 2 ? 1 : b->size * b->size);
    return sum / b->model.node_count;
}

/* Return 0 when Newton does not get there. */
static int arc_from(bench *b, const double *from, const double *direction, double step)
{
    double *x = b->system.x;
    for (size_t i = 0; i < values(b); i++) x[i] = from[i] + step * direction[i];
    double before = INFINITY;
    for (int k = 0; k < most_on_arc; k++) {
        evaluate(b, x, b->system.shortening);
        factor_tangent(b, 0);
        newton(b);
        solve(b, b->load, b->along);
        /* Stay on the plane direction . (x - from) = step. */
        double miss = 0, size2 = b->size * b->size;
        for (size_t i = 0; i < values(b); i++)
            miss += direction[i] * (x[i] - from[i] + b->solved[i]) / (i % 3 == 2 ? 1 : size2);
        const double more = (step * dot(b, direction, direction) - miss / b->model.node_count) /
                            dot(b, direction, b->along);
        for (size_t i = 0; i < values(b); i++) b->solved[i] += more * b->along[i];
        for (size_t i = 0; i < values(b); i++) x[i] += b->solved[i];
        b->factor += more;
        const double move = largest(b, b->solved);
        if (move <= small_enough || (move <= round_off && move > 0.5 * before)) {
            evaluate(b, x, b->system.shortening);
            return 1;
        }
        if (!(move < 10)) return 0;
        before = move;
    }
    return 0;
}

/* Find the unit direction of the path at the present state, on from the last one. */
static void path_direction(bench *b)
{
    factor_tangent(b, 0);
    solve(b, b->load, b->along);
    const double sign = dot(b, b->along, b->direction) < 0 ? -1 : 1;
    const double inverse = sign / sqrt(dot(b, b->along, b->along));
    for (size_t i = 0; i < values(b); i++) b->direction[i] = inverse * b->along[i];
}

double bench_arc_step(bench *b, double step)
{
    const double factor = b->factor;
    path_direction(b);
    memcpy(b->start, b->system.x, values(b) * sizeof(double));
    for (double shorter = step; shorter > 1e-6 * step; shorter *= 0.5) {
        b->factor = factor;
        if (arc_from(b, b->start, b->direction, shorter)) return shorter;
    }
    fail_msg("no equilibrium on the arc from load factor %g", factor);
    return 0;
}

double bench_load_rate(bench *b)
{
    factor_tangent(b, 0);
    solve(b, b->load, b->along);
    const double rate = 1 / sqrt(dot(b, b->along, b->along));
    return dot(b, b->along, b->direction) < 0 ? -rate : rate;
}

double bench_next_limit(bench *b, double step, int most_steps)
{
    const size_t bytes = values(b) * sizeof(double);
    double *from = malloc(bytes);
    assert_non_null(from);
    bench_arc_step(b, step); /* away from a limit to start from */
    double before = bench_load_rate(b), after = before, from_factor = b->factor, taken = 0;
    for (int i = 0; i < most_steps && before * after > 0; i++) {
        before = after;
        from_factor = b->factor;
        memcpy(from, b->system.x, bytes);
        taken = bench_arc_step(b, step);
        after = bench_load_rate(b);
    }
    if (before * after > 0) fail_msg("no limit of the load within %d steps", most_steps);
    /* Go by false position (Illinois) on the arc of the last step; the direction is still that of
     * its start. */
    double low = 0, high = taken, at_low = before, at_high = after;
    for (int i = 0; i < 60 && fabs(high - low) > 1e-9 * taken; i++) {
        const double middle = high - at_high * (high - low) / (at_high - at_low);
        b->factor = from_factor;
        if (!arc_from(b, from, b->direction, middle)) fail_msg("lost at load factor %g", b->factor);
        const double value = bench_load_rate(b);
        if (value * at_high < 0) {
            low = high;
            at_low = at_high;
        } else {
            at_low *= 0.5;
        }
        high = middle;
        at_high = value;
        if (fabs(value) < 1e-8 * fabs(before)) break;
    }
    free(from);
    return b->factor;
}
