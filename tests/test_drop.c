/* These tests check a mass that falls on a coupon against closed forms of one mass on a spring.
 * Marks of values: D derived, T textbook (the energy and the swing of one mass on a spring). */
#include "check.h"

#include "coupon.h"
#include "cushion/cushion_parts.h"
#include "measure/curve.h"
#include "measure/measure_list.h"
#include "measure/stages.h"
#include "run/result.h"
#include "whole_press.h"

#define FOOT                                                                                       \
    "coupon.width=14 mm", "coupon.height=12 mm", "coupon.depth=5 mm", "bead.walls=1",              \
        "press.find_critical=no", "infill.pattern=hexagonal", "infill.density=20 %"
#define LINEAR FOOT, "material.law=linear"
/* Strains stay below 1e-4, where a coupon is a spring. */
#define STRAIN 1e-4

static sp_context context;
static sp_result result;

static const double gravity = 9806.65; /* [mm/s2] */

static void run(const char *const *settings)
{
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; settings[i]; i++) {
        char key[64];
        const char *equals = strchr(settings[i], '=');
        snprintf(key, sizeof key, "%.*s", (int)(equals - settings[i]), settings[i]);
        coupon_set(&request, key, equals + 1);
    }
    context = (sp_context){0};
    if (press_whole(&context, &request, &result) != SP_OK) fail_msg("%s", context.message);
}

static double stiffness(void)
{
    run((const char *[]){LINEAR, "press.steps=1", "press.strain=0.01 %", NULL});
    const double k = result.path.step[0].stiffness;
    sp_result_clear(&result);
    return k;
}

static const sp_stage *drop_stage(int number)
{
    for (int i = 0; i < result.path.stage_count; i++)
        if (result.path.stage[i].segment.kind == SP_SEGMENT_DROP && number-- == 0)
            return &result.path.stage[i];
    fail_msg("there is no such drop");
    return NULL;
}

static double rebound_share(void)
{
    const sp_stage *drop = drop_stage(0);
    return sqrt(sp_stage_impact(&result.path, drop).rebound / drop->segment.height);
}

/* Check what holds for every drop: the speed follows from the energy of the fall less the work, the
 * work is stored or released, and the mass leaves when the coupon carries nothing. */
static void check_drops(double balance)
{
    const sp_path *path = &result.path;
    for (int k = 0; k < path->stage_count; k++) {
        const sp_stage *stage = &path->stage[k];
        if (stage->segment.kind != SP_SEGMENT_DROP) continue;
        const sp_step *first = sp_path_state(path, stage->first);
        const double mass = 1e-3 * stage->segment.mass, weight = mass * gravity,
                     fall = weight * stage->segment.height;
        double largest = 0;
        check_true(stage->reached);
        for (int i = stage->first + 1; i <= stage->last; i++) {
            const sp_step *a = sp_path_state(path, i - 1), *b = sp_path_state(path, i);
            largest = fmax(largest, b->force);
            check_true(b->time > a->time && b->dissipated >= a->dissipated * (1 - 1e-12));
            check_close(0.5 * mass * b->mass_speed * b->mass_speed,
                        fall + weight * (b->shortening - first->shortening) -
                            (b->work - first->work),
                        1e-8 * fall);
            check_close(b->work - first->work,
                        b->stored - first->stored + b->released - first->released, balance * fall);
        }
        check_close(sp_path_state(path, stage->last)->force, 0, 2e-4 * largest);
    }
}

/* T: for a spring F/W = 1 + sqrt(1 + 2 k h/W), contact for 2 (pi - atan(w v0/g))/w, and as fast up
 * as down. For 20 N/mm, 2 kg and 300 mm it is 25.7554; the coupon has the same k h/W. */
static void spring_gives_all_back(void **unused)
{
    (void)unused;
    const double k = stiffness(), share = 20 * 300 / (2 * 9.80665);
    for (int steps = 70; steps <= 560; steps *= 2) {
        /* k h/W = share, and the deepest strain STRAIN */
        const double weight = k * 12 * STRAIN / 25.7554, height = share * weight / k,
                     omega = sqrt(k * gravity / weight), v0 = sqrt(2 * gravity * height);
        char drop[120], count[32];
        snprintf(drop, sizeof drop, "press.protocol=drop %.12g g from %.12g mm",
                 1e3 * weight / 9.80665, height);
        snprintf(count, sizeof count, "press.steps=%d", steps);
        run((const char *[]){LINEAR, count, drop, NULL});
        check_drops(1e-3);
        check_relative(sp_measure_impact_peak(&result.path, NULL, NULL).value, 25.7554, 4e-4);
        check_relative(sp_measure_impact_duration(&result.path, NULL, NULL).value,
                       2 * (M_PI - atan(omega * v0 / gravity)) / omega, 1e-3);
        check_relative(sp_measure_impact_time(&result.path, NULL, NULL).value,
                       (M_PI - atan(omega * v0 / gravity)) / omega, 1e-2);
        check_close(sp_measure_impact_loss(&result.path, NULL, NULL).value, 0, 2e-3);
        check_close(sp_measure_impact_bottoming(&result.path, NULL, NULL).value, 0, 0);
        sp_result_clear(&result);
    }
}

/* D: a Kelvin-Voigt body without gravity, with the share z of critical damping, has the largest
 * force m w v0 exp(-(z/q) atan2(q (1 - 4 z^2), z (3 - 4 z^2))) and restitution exp(-(z/q) (pi -
 * atan2(2 z q, 1 - 2 z^2))), the mass leaving at no force. One branch much quicker than the fall is
 * a dashpot, with a spring behind it that is `branch` times the stiffness. */
static void damper_takes_its_share(void **unused)
{
    static const double table[][3] = {{0.05, 0.931345, 0.858758},
                                      {0.10, 0.880144, 0.744079},
                                      {0.20, 0.820919, 0.571740},
                                      {0.30, 0.813403, 0.450975}};
    (void)unused;
    const double k = stiffness();
    for (int i = 0; i < 4; i++) {
        /* A small mass falls from high, so that gravity adds only 1/2000. */
        const double z = table[i][0], depth = 12 * STRAIN, weight = k * depth / 2000,
                     omega = sqrt(k * gravity / weight), v0 = omega * depth,
                     height = v0 * v0 / (2 * gravity), branch = 100;
        char drop[120], shares[64], times[64];
        snprintf(drop, sizeof drop, "press.protocol=drop %.12g g from %.12g mm",
                 1e3 * weight / 9.80665, height);
        snprintf(shares, sizeof shares, "material.relaxation.shares=[%g]", branch);
        snprintf(times, sizeof times, "material.relaxation.times=[%.12g s]",
                 2 * z / omega / branch);
        run((const char *[]){LINEAR, "material.relaxation.reference=rest", shares, times, drop,
                             NULL});
        check_drops(1e-3);
        check_relative(sp_stage_impact(&result.path, drop_stage(0)).peak / (k * depth), table[i][1],
                       3e-3 + 2 * z / branch);
        check_relative(rebound_share(), table[i][2], 3e-3 + 2 * z / branch);
        sp_result_clear(&result);
    }
}

/* A coupon goes through buckling, contact with itself and softening, in five drops a minute
 * apart. */
static void coupon_falls_flat_and_rebounds(void **unused)
{
    (void)unused;
    run((const char *[]){FOOT, "material.relaxation.exponent=0.07", "material.softening.ratio=2",
                         "material.softening.energy=0.05 MPa", "material.softening.share=0.1",
                         "press.protocol=repeat 3, drop 0.2 kg from 200 mm, rest for 1 min, end",
                         NULL});
    check_drops(2e-3);
    const sp_path *path = &result.path;
    assert_int_equal(path->stop, SP_STOP_BOUNCED);
    assert_int_equal(path->unloaded, 1);
    const double depth = sp_measure_impact_depth(path, NULL, NULL).value;
    check_true(depth > 0.5 && depth < 0.95);
    check_true(sp_measure_impact_bottoming(path, NULL, NULL).value > 0.1);
    check_true(sp_measure_impact_loss(path, NULL, NULL).value > 0.1);
    check_relative(path->step[path->step_count - 1].shortening / 12, depth, 1e-4);
    /* The first drop has softened the coupon, so the later ones go deeper and hit harder. */
    check_true(sp_measure_impact_peak_later(path, NULL, NULL).value >
               sp_measure_impact_peak(path, NULL, NULL).value);
    check_true(sp_stage_impact(path, drop_stage(1)).deepest >
               sp_stage_impact(path, drop_stage(0)).deepest);
    sp_result_clear(&result);
}

/* A mass that bounces too little to leave stays; it is lifted, and the protocol goes on. */
static void damped_mass_stays(void **unused)
{
    (void)unused;
    run((const char *[]){LINEAR, "material.relaxation.reference=rest",
                         "material.relaxation.shares=[20]", "material.relaxation.times=[0.3 ms]",
                         "press.protocol=drop 50 g from 0.01 mm, rest for 10 s", NULL});
    const sp_path *path = &result.path;
    assert_int_equal(path->stage_count, 2);
    check_true(path->stage[0].reached && path->stage[1].reached);
    check_close(sp_measure_impact_rebound(path, NULL, NULL).value, 0, 1e-9);
    sp_result_clear(&result);
}

/* D: a coupon of 20 N/mm under masses that fall 300 mm: F/W = 1 + sqrt(1 + 2 k h/W), from its slow
 * curve (E182). */
static void energy_gives_the_peak_of_a_spring(void **unused)
{
    static const double table[][2] = {{20, 25.515}, {60, 15.177}, {200, 8.810}};
    enum { STATES = 4001 };
    static cushion_state state[STATES];
    sp_cushion c = {.count = STATES, .state = state, .area = 900, .height = 30};
    (void)unused;
    for (int i = 0; i < STATES; i++) {
        const double x = 120.0 * i / (STATES - 1);
        state[i] = (cushion_state){x, 10 * x * x, 20 * x};
    }
    for (int i = 0; i < 3; i++) {
        const double mass = table[i][0] / 9.80665;
        check_relative(sp_cushion_peak_of(&c, 300, mass), table[i][1], 1e-4);
        for (int k = 1; k < STATES; k++) { /* the parametric curve is the same one */
            double at;
            const double peak = sp_cushion_peak(&c, k, 300, &at);
            if (fabs(at / mass - 1) < 1e-3) check_relative(peak, table[i][1], 1e-3);
        }
    }
    check_true(isnan(sp_cushion_peak_of(&c, 300, 1e6)));
    check_relative(sp_cushion_peak(&c, sp_cushion_best(&c, 300), 300, &(double){0}),
                   120 * 20 / (10 * 120 * 120 / 420.0), 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(energy_gives_the_peak_of_a_spring),
        cmocka_unit_test(spring_gives_all_back),
        cmocka_unit_test(damper_takes_its_share),
        cmocka_unit_test(coupon_falls_flat_and_rebounds),
        cmocka_unit_test(damped_mass_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
