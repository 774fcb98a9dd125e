/* See spatial_frame.h. */
#include "spatial_frame.h"

#include "check.h"

#include "base/alloc.h"
#include "base/so3.h"

/* This is LAPACK, in OpenBLAS: it solves a x = b by columns, and the answer replaces b. */
void dgesv_(const int *n, const int *columns, double *a, const int *a_rows, int *pivot, double *b,
            const int *b_rows, int *info);

static const double turn_most = 0.5;                        /* rad, per iteration */
static const double small_enough = 1e-10, round_off = 1e-6; /* of a correction */
static const int most_iterations = 15, most_cuts = 8;

static void expect(const frame *f, sp_status status)
{
    if (status != SP_OK) fail_msg("status %d: %s", (int)status, f->context.message);
}

void frame_begin(frame *f, double size)
{
    sp_case request;
    *f = (frame){.size = size};
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "linear");
    request.modulus = 1;
    request.poisson_ratio = 0;
    request.strain_state = SP_UNIAXIAL;
    expect(f, sp_law_prepare(&f->context, &request, &f->law));
}

void frame_end(frame *f)
{
    void *owned[] = {f->reference, f->x,          f->start,    f->load,   f->held, f->unknown,
                     f->element,   f->section_of, f->gradient, f->matrix, f->step};
    for (size_t i = 0; i < sizeof owned / sizeof *owned; i++) sp_free(owned[i]);
    if (f->sparse) sp_sparse_free(f->sparse);
    sp_law_free(&f->law);
    memset(f, 0, sizeof *f);
}

static void *grown(void *array, int count, size_t each)
{
    void *larger = sp_resize(array, (size_t)count + 1, each);
    assert_non_null(larger);
    memset((char *)larger + (size_t)count * each, 0, each);
    return larger;
}

/* Make a rectangle of modulus 1 with the wanted radii of gyration, weighted to the wanted area. */
int frame_section(frame *f, frame_stiffness s)
{
    sp_spatial_section *section = &f->section[f->section_count];
    const double size2 = sqrt(12 * s.bending[1] / s.axial),
                 size3 = sqrt(12 * s.bending[0] / s.axial);
    assert_true(f->section_count < 4);
    sp_spatial_rectangle(section, &f->law, size2, size3, 2);
    for (int i = 0; i < section->points; i++) section->weight[i] *= s.axial / (size2 * size3);
    section->axial_stiffness = s.axial;
    section->torsion_stiffness = s.torsion;
    for (int i = 0; i < 2; i++) {
        section->shear_stiffness[i] = s.shear[i];
        section->bending_stiffness[i] = s.bending[i];
    }
    return f->section_count++;
}

int frame_take_section(frame *f, const sp_spatial_section *section)
{
    assert_true(f->section_count < 4);
    f->section[f->section_count] = *section;
    return f->section_count++;
}

int frame_node(frame *f, double x, double y, double z)
{
    const int n = f->node_count++;
    f->reference = grown(f->reference, n, 7 * sizeof(double));
    f->load = grown(f->load, n, 6 * sizeof(double));
    f->held = grown(f->held, n, 6);
    const double value[7] = {x, y, z, 1};
    memcpy(f->reference + 7 * n, value, sizeof value);
    return n;
}

static void add_element(frame *f, int from, int to, int section, const double up[3])
{
    const int e = f->element_count++;
    f->element = grown(f->element, e, sizeof *f->element);
    f->section_of = grown(f->section_of, e, sizeof(int));
    f->element[e] =
        sp_spatial_piece(&f->section[section], f->reference + 7 * from, f->reference + 7 * to, up);
    f->element[e].node[0] = from;
    f->element[e].node[1] = to;
    f->section_of[e] = section;
}

int frame_bar(frame *f, int from, int to, int section, int elements, const double up[3])
{
    const int first = f->node_count;
    for (int k = 1; k <= elements; k++) {
        double p[3];
        for (int i = 0; i < 3; i++)
            p[i] = f->reference[7 * from + i] +
                   (f->reference[7 * to + i] - f->reference[7 * from + i]) * k / elements;
        const int node = k == elements ? to : frame_node(f, p[0], p[1], p[2]);
        add_element(f,
                    k == 1       ? from
                    : node == to ? f->node_count - 1
                                 : node - 1,
                    node, section, up);
    }
    return first;
}

void frame_rigid_ends(frame *f, int first, int elements, const double zone[2])
{
    sp_spatial_element *bar = f->element + first;
    const double *a = f->reference + 7 * bar[0].node[0],
                 *b = f->reference + 7 * bar[elements - 1].node[1];
    const double along[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]}, l = sqrt(sp_dot(along, along));
    const double step = (l - zone[0] - zone[1]) / elements;
    for (int k = 0; k < elements; k++) {
        bar[k].length = step;
        sp_spatial_set_shear(&bar[k], &f->section[f->section_of[first + k]]);
        for (int d = 0; d < 3; d++) {
            if (k == 0) bar[k].arm[0][d] = zone[0] * along[d] / l;
            if (k == elements - 1) bar[k].arm[1][d] = -zone[1] * along[d] / l;
            if (k > 0)
                f->reference[7 * bar[k].node[0] + d] = a[d] + (zone[0] + k * step) * along[d] / l;
        }
    }
}

int frame_arc(frame *f, double x, double y, double radius, double from, double to, int section,
              int elements)
{
    static const double up[3] = {0, 0, 1};
    const int first = f->node_count, closed = fabs(fabs(to - from) - 2 * M_PI) < 1e-12;
    for (int k = 0; k <= elements - closed; k++) {
        const double angle = from + (to - from) * k / elements;
        frame_node(f, x + radius * cos(angle), y + radius * sin(angle), 0);
    }
    for (int k = 0; k < elements; k++)
        add_element(f, first + k, closed && k == elements - 1 ? first : first + k + 1, section, up);
    return first;
}

void frame_hold(frame *f, int node, int direction)
{
    f->held[6 * node + direction] = 1;
}

void frame_hold_all(frame *f, int node)
{
    for (int d = 0; d < 6; d++) frame_hold(f, node, d);
}

void frame_load(frame *f, int node, int direction, double value)
{
    f->load[6 * node + direction] = value;
}

void frame_ready(frame *f)
{
    const size_t nodes = (size_t)f->node_count;
    f->unknown = sp_alloc(6 * nodes, sizeof(int));
    f->x = sp_alloc(7 * nodes, sizeof(double));
    f->start = sp_alloc(7 * nodes, sizeof(double));
    f->gradient = sp_alloc(6 * nodes, sizeof(double));
    f->step = sp_alloc(6 * nodes, sizeof(double));
    assert_true(f->unknown && f->x && f->start && f->gradient && f->step);
    for (size_t i = 0; i < 6 * nodes; i++) f->unknown[i] = f->held[i] ? -1 : f->unknown_count++;
    f->matrix = sp_alloc((size_t)f->unknown_count * (size_t)f->unknown_count, sizeof(double));
    assert_non_null(f->matrix);
    memcpy(f->x, f->reference, 7 * nodes * sizeof(double));
}

void frame_turn(frame *f, int node, const double w[3])
{
    sp_so3_turn(w, f->x + 7 * node + 3);
}

double frame_moved(const frame *f, int node, int direction)
{
    return f->x[7 * node + direction] - f->reference[7 * node + direction];
}

double frame_force(const frame *f, int node, int direction)
{
    return f->gradient[6 * node + direction];
}

/* --- assembly --- */

static double *entry(frame *f, int row, int column)
{
    return f->matrix + (size_t)row * (size_t)f->unknown_count + column;
}

static void evaluate(frame *f)
{
    const size_t n = (size_t)f->unknown_count;
    f->energy = 0;
    memset(f->gradient, 0, 6 * (size_t)f->node_count * sizeof(double));
    memset(f->matrix, 0, n * n * sizeof(double));
    for (int e = 0; e < f->element_count; e++) {
        const int *node = f->element[e].node;
        double g[12], h[144];
        sp_beam_state state;
        f->energy += sp_spatial_eval(&f->element[e], &f->section[f->section_of[e]],
                                     f->x + 7 * node[0], f->x + 7 * node[1], NULL, g, h, &state);
        check_true(isfinite(f->energy));
        for (int i = 0; i < 12; i++) {
            const int a = 6 * node[i / 6] + i % 6;
            f->gradient[a] += g[i];
            for (int k = 0; k < 12; k++) {
                const int b = 6 * node[k / 6] + k % 6;
                if (f->unknown[a] >= 0 && f->unknown[b] >= 0)
                    *entry(f, f->unknown[a], f->unknown[b]) += h[12 * i + k];
            }
        }
    }
}

/* Go from the Hessian along geodesics to the change of the gradient with the spins: D = H - (m)/2,
 * with m the moment on the node (E47). It is not symmetric while moments act. */
static void make_derivative(frame *f)
{
    for (int n = 0; n < f->node_count; n++)
        for (int i = 0; i < 3; i++) {
            const int one = f->unknown[6 * n + 3 + (i + 1) % 3],
                      two = f->unknown[6 * n + 3 + (i + 2) % 3];
            if (one < 0 || two < 0) continue;
            *entry(f, two, one) -= 0.5 * f->gradient[6 * n + 3 + i];
            *entry(f, one, two) += 0.5 * f->gradient[6 * n + 3 + i];
        }
}

void space_solve(int n, double *k, double *x)
{
    const int one = 1;
    int info, *pivot = sp_alloc((size_t)n, sizeof(int));
    assert_non_null(pivot);
    for (int i = 0; i < n; i++) /* LAPACK reads by columns */
        for (int j = 0; j < i; j++) {
            const double kept = k[i * n + j];
            k[i * n + j] = k[j * n + i];
            k[j * n + i] = kept;
        }
    dgesv_(&n, &one, k, &n, pivot, x, &n, &info);
    sp_free(pivot);
    assert_int_equal(info, 0);
}

/* Return the largest correction, displacements over the size; it is taken whole, or shortened to
 * turn_most. */
static double take_step(frame *f)
{
    double most = 0;
    for (int i = 0; i < 6 * f->node_count; i++)
        if (f->unknown[i] >= 0)
            most = fmax(most, fabs(f->step[f->unknown[i]]) / (i % 6 < 3 ? f->size : 1));
    const double scale = most > turn_most ? turn_most / most : 1;
    for (int n = 0; n < f->node_count; n++) {
        double step[6] = {0};
        for (int i = 0; i < 6; i++)
            if (f->unknown[6 * n + i] >= 0) step[i] = scale * f->step[f->unknown[6 * n + i]];
        sp_spatial_move(step, f->x + 7 * n);
    }
    return most;
}

/* Find the equilibrium at one load factor by plain Newton; returns 1 when it gets there. */
static int newton(frame *f, double factor)
{
    double before = INFINITY;
    for (int iteration = 0; iteration < most_iterations; iteration++) {
        evaluate(f);
        for (int i = 0; i < 6 * f->node_count; i++)
            if (f->unknown[i] >= 0) f->step[f->unknown[i]] = factor * f->load[i] - f->gradient[i];
        make_derivative(f);
        space_solve(f->unknown_count, f->matrix, f->step);
        const double most = take_step(f);
        if (most < small_enough || (most < round_off && most > 0.5 * before)) {
            evaluate(f);
            return 1;
        }
        before = most;
    }
    return 0;
}

/* Go from one load factor to another. Slender bars are stiff against stretching, so Newton's method
 * does not reach far in one step: a step that fails is cut in two. */
static void go(frame *f, double from, double to, int cuts)
{
    const size_t size = 7 * (size_t)f->node_count * sizeof(double);
    double *before = sp_alloc(1, size);
    assert_non_null(before);
    memcpy(before, f->x, size);
    if (!newton(f, to)) {
        if (cuts == most_cuts) fail_msg("no equilibrium at load factor %g", to);
        memcpy(f->x, before, size);
        go(f, from, 0.5 * (from + to), cuts + 1);
        go(f, 0.5 * (from + to), to, cuts + 1);
    }
    sp_free(before);
}

void frame_follow(frame *f, double factor)
{
    go(f, f->factor, factor, 0);
    f->factor = factor;
}

void frame_follow_in(frame *f, double factor, int steps)
{
    const double from = f->factor;
    for (int i = 1; i <= steps; i++) frame_follow(f, from + (factor - from) * i / steps);
}

/* --- stability --- */

static void analyse(frame *f)
{
    const int n = f->unknown_count, entries = n * (n + 1) / 2;
    int *start = sp_alloc((size_t)n + 1, sizeof(int)),
        *row = sp_alloc((size_t)entries, sizeof(int));
    int *source = sp_alloc((size_t)entries, sizeof(int)), at = 0;
    assert_true(start && row && source);
    for (int k = 0; k < n; k++) {
        start[k] = at;
        for (int i = k; i < n; i++) {
            row[at] = i;
            source[at++] = i * n + k;
        }
    }
    start[n] = at;
    expect(f, sp_sparse_create(&f->context, 1, 0, &f->sparse));
    expect(f, sp_sparse_analyse(&f->context, f->sparse, n, start, row, source));
    sp_free(start);
    sp_free(row);
    sp_free(source);
}

int frame_negative(frame *f)
{
    int negative;
    if (!f->sparse) analyse(f);
    evaluate(f);
    sp_sparse_load(f->sparse, f->matrix);
    expect(f, sp_sparse_factor(&f->context, f->sparse, 0, &negative));
    return negative;
}

double frame_critical(frame *f, double low, double high)
{
    const size_t size = 7 * (size_t)f->node_count * sizeof(double);
    frame_follow(f, low);
    assert_int_equal(frame_negative(f), 0);
    memcpy(f->start, f->x, size);
    const double tolerance = 1e-7 * fabs(high);
    while (fabs(high - low) > tolerance) {
        const double middle = 0.5 * (low + high);
        frame_follow(f, middle);
        if (frame_negative(f) > 0) {
            high = middle;
            memcpy(f->x, f->start, size);
            f->factor = low;
        } else {
            low = middle;
            memcpy(f->start, f->x, size);
        }
    }
    return 0.5 * (low + high);
}

double frame_compliance(frame *f, int node, int direction)
{
    const int loaded = f->unknown[6 * node + direction];
    evaluate(f);
    make_derivative(f);
    memset(f->step, 0, (size_t)f->unknown_count * sizeof(double));
    f->step[loaded] = 1;
    space_solve(f->unknown_count, f->matrix, f->step);
    return f->step[loaded];
}
