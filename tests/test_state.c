/* The whole potential against finite differences: every element, joint arm, contact and platen row at once, on real
 * networks squashed until struts overlap. */
#include "coupon.h"

#include "base/rng.h"
#include "state/equilibrium.h"

typedef struct fixture {
    coupon coupon;
    sp_system system;
} fixture;

static void set_up(fixture *f, const char *pattern, const char *density, int sliding)
{
    char one[64], two[64];
    snprintf(one, sizeof one, "infill.pattern=%s", pattern);
    snprintf(two, sizeof two, "infill.density=%s", density);
    const char *const settings[] = {one, two,
                                    sliding ? "platens.hold=sliding" : "platens.hold=bonded", NULL};
    coupon_set_up(&f->coupon, 1, settings);
    assert_int_equal(sp_system_create(&f->coupon.context, &f->coupon.model, 0, &f->system), SP_OK);
}

static void tear_down(fixture *f)
{
    sp_system_free(&f->system);
    coupon_tear_down(&f->coupon);
}

static double *node_vector(const fixture *f)
{
    return calloc(3 * (size_t)f->coupon.model.node_count, sizeof(double));
}

/* Press to `strain` in steps of 1 %, then shake every node a little. */
static double *squashed(fixture *f, double strain, double shake)
{
    double *x = node_vector(f);
    sp_rng rng;
    sp_rng_seed(&rng, 5, 0);
    memcpy(x, f->coupon.model.reference, 3 * (size_t)f->coupon.model.node_count * sizeof *x);
    for (double u = 0, step = 0.01 * f->coupon.model.height;
         u < strain * f->coupon.model.height - 1e-9; u += step) {
        sp_attempt attempt;
        const double gap = f->coupon.model.height - u;
        for (int i = 1; i < 3 * f->coupon.model.node_count; i += 3) x[i] *= (gap - step) / gap;
        assert_int_equal(
            sp_equilibrium_descend(&f->coupon.context, &f->system, x, u + step, 1000, &attempt),
            SP_OK);
        assert_int_equal(attempt.end, SP_FOUND);
        memcpy(x, f->system.x, 3 * (size_t)f->coupon.model.node_count * sizeof *x);
    }
    for (int i = 0; i < 3 * f->coupon.model.node_count; i++) {
        x[i] += shake * sp_rng_normal(&rng) * (i % 3 == 2 ? 1 : 0.2);
    }
    return x;
}

/* y = K v over the free unknowns, from the blocks. */
static void multiply(const fixture *f, const double *v, double *y)
{
    const sp_blocks *b = &f->system.blocks;
    memset(y, 0, 3 * (size_t)f->coupon.model.node_count * sizeof *y);
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

/* Energy at x + h v and travel u + du. */
static double energy_at(fixture *f, const double *x, const double *v, double h, double u)
{
    double *y = node_vector(f);
    for (int i = 0; i < 3 * f->coupon.model.node_count; i++) y[i] = x[i] + h * v[i];
    assert_int_equal(sp_system_evaluate(&f->coupon.context, &f->system, y, u), SP_OK);
    free(y);
    return f->system.energy;
}

/* Five-point slope: the energy is large against its changes, so the step must not be small. */
static double five_point(const double e[4], double h)
{
    return (8 * (e[2] - e[1]) - (e[3] - e[0])) / (12 * h);
}

static double gradient_off(fixture *f, const double *x, const double *v, double u,
                           const double *want, double h)
{
    const int n = 3 * f->coupon.model.node_count;
    double *plus = node_vector(f), worst = 0;
    energy_at(f, x, v, h, u);
    memcpy(plus, f->system.gradient, (size_t)n * sizeof *plus);
    energy_at(f, x, v, -h, u);
    for (int i = 0; i < n; i++)
        worst = fmax(worst, fabs((plus[i] - f->system.gradient[i]) / (2 * h) - want[i]));
    free(plus);
    return worst;
}

/* Directional differences of energy and gradient along a random direction, and by platen travel. */
static void check_differences(fixture *f, double strain, double shake, int want_contacts)
{
    const int n = 3 * f->coupon.model.node_count;
    const double u = strain * f->coupon.model.height, h = 2e-7, wide = 1e-5;
    double *x = squashed(f, strain, shake), *v = node_vector(f), *kv = node_vector(f),
           *still = node_vector(f);
    double *by_travel = node_vector(f), e[4];
    const double at[4] = {-2, -1, 1, 2};
    sp_system *s = &f->system;
    sp_rng rng;
    sp_rng_seed(&rng, 6, 0);
    for (int i = 0; i < n; i++) v[i] = f->coupon.model.hold[i] == SP_FREE ? sp_rng_normal(&rng) : 0;
    assert_int_equal(sp_system_evaluate(&f->coupon.context, s, x, u), SP_OK);
    check_true(isfinite(s->energy));
    if (want_contacts) check_true(s->contacts > 20);
    memcpy(x, s->x, (size_t)n * sizeof *x);
    double slope = 0;
    for (int i = 0; i < n; i++) slope += s->gradient[i] * v[i];
    multiply(f, v, kv);
    const double force = s->force, own = sp_system_couple(s);
    for (int i = 0; i < n; i++)
        by_travel[i] =
            f->coupon.model.unknown[i] >= 0 ? s->coupling[f->coupon.model.unknown[i]] : 0;

    for (int i = 0; i < 4; i++) e[i] = energy_at(f, x, v, at[i] * wide, u);
    check_relative(five_point(e, wide), slope, 1e-6);
    check_close(gradient_off(f, x, v, u, kv, h) / largest(kv, n), 0, 1e-6);

    /* platen travel: dE/du is the force, d gradient/du the coupling */
    for (int i = 0; i < 4; i++) e[i] = energy_at(f, x, still, 0, u + at[i] * wide);
    check_relative(five_point(e, wide), force, 1e-6);
    energy_at(f, x, still, 0, u + h);
    const double more = s->force;
    double *plus = node_vector(f), worst = 0;
    memcpy(plus, s->gradient, (size_t)n * sizeof *plus);
    energy_at(f, x, still, 0, u - h);
    check_relative((more - s->force) / (2 * h), own, 1e-6);
    for (int i = 0; i < n; i++)
        if (f->coupon.model.unknown[i] >= 0)
            worst = fmax(worst, fabs((plus[i] - s->gradient[i]) / (2 * h) - by_travel[i]));
    check_close(worst / largest(by_travel, n), 0, 1e-6);
    free(x), free(v), free(kv), free(still), free(by_travel), free(plus);
}

static void test_differences_open(void **unused)
{
    (void)unused;
    fixture f;
    set_up(&f, "square", "20 %", 0);
    check_differences(&f, 0.02, 0.02, 0);
    tear_down(&f);
}

static void test_differences_crushed(void **unused)
{
    (void)unused;
    const char *const pattern[] = {"hexagonal", "square", "kagome", "triangular"};
    for (int i = 0; i < (coupon_quick() ? 1 : 4); i++) {
        fixture f;
        set_up(&f, pattern[i], "28 %", i % 2);
        check_differences(&f, 0.45, 0.001, 1);
        tear_down(&f);
    }
}

static void test_rest_is_free_of_force(void **unused)
{
    (void)unused;
    const char *const pattern[] = {"square", "triangular", "hexagonal", "kagome"};
    for (int i = 0; i < 4; i++) {
        fixture f;
        set_up(&f, pattern[i], "45 %", 0);
        sp_system_evaluate(&f.coupon.context, &f.system, f.coupon.model.reference, 0);
        check_close(f.system.energy, 0, 1e-18);
        check_close(largest(f.system.gradient, 3 * f.coupon.model.node_count), 0, 1e-8);
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
