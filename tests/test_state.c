/* The whole potential against finite differences: every element, joint arm, contact and platen row at once, on real
 * networks squashed until struts overlap. */
#include "check.h"

#include <strutpress/network.h>

#include "base/rng.h"
#include "law/law.h"
#include "state/system.h"

typedef struct fixture {
    sp_context context;
    sp_case request;
    sp_network network;
    sp_law law;
    sp_model model;
    sp_system system;
} fixture;

static void set_up(fixture *f, const char *pattern, const char *density, int platens)
{
    memset(f, 0, sizeof *f);
    sp_case_default(&f->request);
    assert_int_equal(sp_case_set(&f->context, &f->request, "infill.pattern", pattern), SP_OK);
    assert_int_equal(sp_case_set(&f->context, &f->request, "infill.density", density), SP_OK);
    assert_int_equal(sp_network_build(&f->context, &f->request, 1, &f->network), SP_OK);
    assert_int_equal(sp_law_prepare(&f->context, &f->request, &f->law), SP_OK);
    sp_model_options options = {platens, 0, 5};
    assert_int_equal(sp_model_build(&f->context, &f->network, &f->law, &options, &f->model), SP_OK);
    assert_int_equal(sp_system_create(&f->context, &f->model, &f->system), SP_OK);
}

static void tear_down(fixture *f)
{
    sp_system_free(&f->system);
    sp_model_free(&f->model);
    sp_law_free(&f->law);
    sp_network_free(&f->network);
}

static double *node_vector(const fixture *f)
{
    return calloc(3 * (size_t)f->model.node_count, sizeof(double));
}

/* Squash by `strain` with an affine map and shake every node a little. */
static double *squashed(const fixture *f, double strain, double shake)
{
    double *x = node_vector(f);
    sp_rng rng;
    sp_rng_seed(&rng, 5, 0);
    for (int i = 0; i < 3 * f->model.node_count; i++) {
        x[i] = f->model.reference[i] * (i % 3 == 1 ? 1 - strain : 1);
        x[i] += shake * sp_rng_normal(&rng) * (i % 3 == 2 ? 1 : 0.2);
    }
    return x;
}

/* y = K v over the free unknowns, from the blocks. */
static void multiply(const fixture *f, const double *v, double *y)
{
    const sp_blocks *b = &f->system.blocks;
    memset(y, 0, 3 * (size_t)f->model.node_count * sizeof *y);
    for (int i = 0; i < b->node_count; i++)
        for (int k = b->start[i]; k < b->start[i + 1]; k++)
            for (int r = 0; r < 3; r++)
                for (int c = 0; c < 3; c++) {
                    const int j = b->column[k];
                    y[3 * i + r] += b->value[9 * k + 3 * r + c] * v[3 * j + c];
                    if (i != j) y[3 * j + c] += b->value[9 * k + 3 * r + c] * v[3 * i + r];
                }
}

static double largest(const double *v, int n)
{
    double most = 0;
    for (int i = 0; i < n; i++) most = fmax(most, fabs(v[i]));
    return most;
}

/* Directional differences of energy and gradient along a random direction, and by platen travel. */
static void check_differences(fixture *f, double strain, double shake, int want_contacts)
{
    const int n = 3 * f->model.node_count;
    const double u = strain * f->model.height, h = 2e-7;
    double *x = squashed(f, strain, shake), *v = node_vector(f), *kv = node_vector(f), *y = node_vector(f);
    double *plus = node_vector(f), *gp = node_vector(f), *gm = node_vector(f);
    sp_system *s = &f->system;
    sp_rng rng;
    sp_rng_seed(&rng, 6, 0);
    for (int i = 0; i < n; i++) v[i] = f->model.hold[i] == SP_FREE ? sp_rng_normal(&rng) : 0;
    assert_int_equal(sp_system_evaluate(&f->context, s, x, u), SP_OK);
    check_true(isfinite(s->energy));
    if (want_contacts) check_true(s->contacts > 20);
    memcpy(x, s->x, (size_t)n * sizeof *x);
    double slope = 0;
    for (int i = 0; i < n; i++) slope += s->gradient[i] * v[i];
    multiply(f, v, kv);
    for (int i = 0; i < n; i++) plus[i] = x[i] + h * v[i];
    sp_system_evaluate(&f->context, s, plus, u);
    double ep = s->energy;
    memcpy(gp, s->gradient, (size_t)n * sizeof *gp);
    for (int i = 0; i < n; i++) plus[i] = x[i] - h * v[i];
    sp_system_evaluate(&f->context, s, plus, u);
    double em = s->energy;
    memcpy(gm, s->gradient, (size_t)n * sizeof *gm);
    check_relative((ep - em) / (2 * h), slope, 1e-6);
    for (int i = 0; i < n; i++) y[i] = (gp[i] - gm[i]) / (2 * h) - kv[i];
    check_close(largest(y, n) / largest(kv, n), 0, 1e-6);

    /* platen travel: dE/du is the force, d gradient/du the coupling */
    sp_system_evaluate(&f->context, s, x, u);
    const double force = s->force, own = s->own_stiffness;
    double *coupling = malloc((size_t)f->model.unknown_count * sizeof *coupling);
    memcpy(coupling, s->coupling, (size_t)f->model.unknown_count * sizeof *coupling);
    sp_system_evaluate(&f->context, s, x, u + h);
    ep = s->energy;
    const double fp = s->force;
    memcpy(gp, s->gradient, (size_t)n * sizeof *gp);
    sp_system_evaluate(&f->context, s, x, u - h);
    check_relative((ep - s->energy) / (2 * h), force, 1e-6);
    check_relative((fp - s->force) / (2 * h), own, 1e-6);
    double worst = 0, most = 0;
    for (int i = 0; i < n; i++)
        if (f->model.unknown[i] >= 0) {
            const double c = coupling[f->model.unknown[i]];
            worst = fmax(worst, fabs((gp[i] - s->gradient[i]) / (2 * h) - c));
            most = fmax(most, fabs(c));
        }
    check_close(worst / most, 0, 1e-6);
    free(coupling);
    free(x), free(v), free(kv), free(y), free(plus), free(gp), free(gm);
}

static void test_differences_open(void **unused)
{
    (void)unused;
    fixture f;
    set_up(&f, "square", "20 %", SP_PLATENS_BONDED);
    check_differences(&f, 0.02, 0.02, 0);
    tear_down(&f);
}

static void test_differences_crushed(void **unused)
{
    (void)unused;
    const char *const pattern[] = {"square", "triangular", "hexagonal", "kagome"};
    for (int i = 0; i < 4; i++) {
        fixture f;
        set_up(&f, pattern[i], "28 %", i % 2 ? SP_PLATENS_SLIDING : SP_PLATENS_BONDED);
        check_differences(&f, 0.55, 0.004, 1);
        tear_down(&f);
    }
}

static void test_rest_is_free_of_force(void **unused)
{
    (void)unused;
    const char *const pattern[] = {"square", "triangular", "hexagonal", "kagome"};
    for (int i = 0; i < 4; i++) {
        fixture f;
        set_up(&f, pattern[i], "45 %", SP_PLATENS_BONDED);
        sp_system_evaluate(&f.context, &f.system, f.model.reference, 0);
        check_close(f.system.energy, 0, 1e-18);
        check_close(largest(f.system.gradient, 3 * f.model.node_count), 0, 1e-8);
        assert_int_equal(f.system.contacts, 0);
        tear_down(&f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_differences_open),
        cmocka_unit_test(test_differences_crushed),
        cmocka_unit_test(test_rest_is_free_of_force),
    };
    return cmocka_run_group_tests_name("state", tests, NULL, NULL);
}
