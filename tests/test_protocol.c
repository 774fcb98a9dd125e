/* These tests check protocols: words to segments, whole presses in time against the closed forms of
 * their material and against a press without time, and creep buckling of a column. Marks of values:
 * D derived, T textbook (the standard linear solid in a table that quotes Findley,
 * Lai & Onaran 1989: Journal of the Mechanical Behavior of Biomedical Materials 4 (2011) 2055). */
#include "check.h"

#include "bench_model.h"
#include "coupon.h"
#include "caution/caution.h"
#include "law/in_time.h"
#include "measure/measure_list.h"
#include "measure/stages.h"
#include "run/result.h"
#include "whole_press.h"

#define FOOT                                                                                       \
    "coupon.width=14 mm", "coupon.height=12 mm", "coupon.depth=5 mm", "bead.walls=1",              \
        "press.find_critical=no"
/* E_inf = E_1, tau = 10 s. */
#define SOLID                                                                                      \
    "material.law=linear", "material.relaxation.reference=rest", "material.relaxation.shares=[1]", \
        "material.relaxation.times=[10 s]"
#define TIMED                                                                                      \
    "material.relaxation.exponent=0.07", "material.softening.ratio=2",                             \
        "material.softening.energy=0.05 MPa", "material.softening.share=0.1"

static sp_context context;
static sp_result result;

static void ask(sp_case *request, const char *const *settings)
{
    sp_case_default(request);
    for (int i = 0; settings[i]; i++) {
        char key[64];
        const char *equals = strchr(settings[i], '=');
        snprintf(key, sizeof key, "%.*s", (int)(equals - settings[i]), settings[i]);
        coupon_set(request, key, equals + 1);
    }
}

static void run(const char *const *settings)
{
    sp_case request;
    ask(&request, settings);
    context = (sp_context){0};
    if (press_whole(&context, &request, &result) != SP_OK) fail_msg("%s", context.message);
}

static const sp_step *state(int number)
{
    return sp_path_state(&result.path, number);
}

static int states(void)
{
    return result.path.step_count + result.path.back_count;
}

/* Check what holds for every press in time: time goes on, dissipated energy never comes back, each
 * state is an equilibrium, and the work is stored, dissipated or released; rests carry nothing, and
 * the platen stands still in holds. */
static void check_path(double balance)
{
    const sp_path *path = &result.path;
    double largest = 0, most = 0;
    for (int i = 0; i < states(); i++) {
        largest = fmax(largest, state(i)->force);
        most = fmax(most, state(i)->work);
    }
    for (int i = 1; i < states(); i++) {
        const sp_step *a = state(i - 1), *b = state(i);
        check_true(b->time > a->time);
        check_true(b->softened >= a->softened && b->relaxed >= a->relaxed &&
                   b->flowed >= a->flowed && b->released >= a->released);
        check_true(b->residual < 1e-5 * largest && b->imbalance < 1e-4 * largest);
        check_close(b->work, b->stored + b->released, balance * most);
        check_close(b->dissipated, b->softened + b->relaxed + b->flowed, 1e-9 * most + 1e-12);
        check_true(b->dissipated <= b->stored * (1 + 1e-9));
    }
    int next = 0;
    for (int k = 0; k < path->stage_count; k++) {
        const sp_stage *stage = &path->stage[k];
        const sp_step *first = state(stage->first), *last = state(stage->last);
        if (stage->first != next || stage->last <= stage->first || !stage->reached)
            fail_msg("%s: states %d to %d after %d, reached %d", stage->segment.text, stage->first,
                     stage->last, next, stage->reached);
        next = stage->last;
        if (stage->segment.duration > 0)
            check_relative(last->time - first->time, stage->segment.duration, 1e-9);
        for (int i = stage->first + 1; i <= stage->last; i++) {
            const sp_step *step = state(i);
            if (stage->segment.kind == SP_SEGMENT_HOLD)
                check_close(step->shortening, first->shortening, 0);
            if (stage->segment.kind == SP_SEGMENT_REST) check_close(step->force, 0, 1e-6 * largest);
            if (stage->segment.kind == SP_SEGMENT_LOAD)
                check_close(step->force, first->force, 1e-6 * largest);
        }
    }
    assert_int_equal(next, states() - 1);
}

/* --- a network of a standard linear solid at small strain --- */

/* D: every network of one material follows it. Press at once, hold 30 s: F(t)/F(0) = 1/2 +
 * exp(-t/tau)/2; let go at once, the strain that is left is (E_1/E_0)(1 - exp(-th/tau))
 * exp(-t/tau_c), 0.475106, 0.288167, 0.023654 after 0, 10, 60 s. */
static void network_follows_its_material(void **unused)
{
    static const char *const pattern[] = {"infill.pattern=square", "infill.pattern=hexagonal",
                                          "infill.pattern=simple-cubic"};
    (void)unused;
    for (int i = 0; i < 3; i++) {
        const char *const size = i == 2 ? "infill.cells=[2, 2, 2]" : "infill.density=20 %";
        run((const char *[]){
            FOOT, SOLID, pattern[i], size, "press.steps=4",
            "press.protocol=press to 0.001 % at 1 1/s, hold for 30 s, release at 1 "
            "1/s, rest for 60 s",
            NULL});
        check_path(1e-3);
        const sp_path *path = &result.path;
        const sp_stage *hold = sp_stage_first(path, SP_SEGMENT_HOLD),
                       *rest = sp_stage_first(path, SP_SEGMENT_REST);
        const double peak = state(hold->first)->force, deep = state(hold->first)->shortening;
        for (int k = hold->first; k <= hold->last; k++)
            check_relative(state(k)->force / peak,
                           0.5 + 0.5 * exp(-(state(k)->time - state(hold->first)->time) / 10),
                           2e-5);
        check_close(state(rest->first)->shortening / deep, 0.475106, 2e-5);
        check_close(sp_stage_shortening(path, rest, 10).value / deep, 0.288167, 2e-3);
        check_close(sp_stage_shortening(path, rest, 60).value / deep, 0.023654, 2e-3);
        check_close(sp_measure_set_1_min(path, NULL, NULL).value, 0.023654, 2e-3);
        sp_result_clear(&result);
    }
}

/* T: creep under a constant force: u(t)/u(0) = 2 - exp(-t/tau_c). */
static void network_creeps_with_its_material(void **unused)
{
    (void)unused;
    run((const char *[]){FOOT, SOLID, "infill.pattern=square", "press.steps=4",
                         "press.protocol=press to 0.001 % at 1 1/s, hold force for 100 s", NULL});
    check_path(1e-3);
    const sp_stage *load = sp_stage_first(&result.path, SP_SEGMENT_LOAD);
    const double begin = state(load->first)->shortening;
    static const double time[] = {1, 10, 100};
    for (int i = 0; i < 3; i++)
        check_relative(sp_stage_shortening(&result.path, load, time[i]).value / begin,
                       2 - exp(-time[i] / 20), 4e-3);
    sp_result_clear(&result);
}

/* --- presses that end far below their strain limit --- */

/* D: the work of a press to a small force is stored or dissipated, too. Steps that are planned by
 * the strain limit are longer than its whole way, and missed two and three thousandths. */
static void small_forces_balance(void **unused)
{
    static const char *const flow[] = {"material.flow.time=4 s", "material.flow.time=1e5 s"};
    (void)unused;
    for (int i = 0; i < 2; i++) {
        run((const char *[]){
            FOOT, "infill.pattern=square", "infill.density=30 %", "press.steps=200",
            "press.load_limit=none", "material.relaxation.exponent=0.09", "material.flow.share=0.3",
            "material.flow.stress=0.05 MPa", flow[i],
            "press.protocol=press to 2 N at 14 mm/min, hold force for 1 min, release at 14 mm/min",
            NULL});
        check_path(1e-3);
        sp_result_clear(&result);
    }
}

/* --- whole presses --- */

static void press_and_recover(void **unused)
{
    (void)unused;
    static const char *const pattern[] = {"infill.pattern=square", "infill.pattern=hexagonal"};
    for (int i = 0; i < 2; i++) {
        run((const char *[]){FOOT, TIMED, pattern[i], "infill.density=20 %", "press.steps=120",
                             "press.protocol=press and recover", NULL});
        check_path(2e-3);
        const sp_path *path = &result.path;
        double before = 1;
        const double set[] = {sp_measure_set_1_s(path, NULL, NULL).value,
                              sp_measure_set_1_min(path, NULL, NULL).value,
                              sp_measure_set_30_min(path, NULL, NULL).value,
                              sp_measure_set_24_h(path, NULL, NULL).value};
        for (int k = 0; k < 4; k++) {
            check_true(set[k] > 0 && set[k] < before);
            before = set[k];
        }
        check_true(sp_measure_cycle_loss(path, NULL, NULL).value > 0.2);
        check_true(path->unloaded == 1 && path->shapes.back_frames == 3);
        check_relative(sp_measure_recovered_height(path, NULL, NULL).value, 12, 1e-4);
        sp_result_clear(&result);
    }
}

/* Every further cycle to the same strain carries less and loses less, most of it between the first
 * and the second. */
static void cycles_soften(void **unused)
{
    sp_cycle cycle[8];
    (void)unused;
    run((const char *[]){FOOT, TIMED, "infill.pattern=hexagonal", "infill.density=20 %",
                         "press.steps=100",
                         "press.protocol=repeat 3, press to 40 % at 100 mm/min, release at 100 "
                         "mm/min, end",
                         NULL});
    check_path(2e-3);
    assert_int_equal(sp_cycles(&result.path, cycle, 8), 3);
    for (int i = 0; i < 3; i++) {
        assert_int_equal(cycle[i].number, i + 1);
        check_relative(cycle[i].end_strain, 0.4, 1e-9);
        check_true(cycle[i].released && cycle[i].returned > 0 && cycle[i].returned < cycle[i].work);
        if (i) check_true(cycle[i].end_force < cycle[i - 1].end_force);
        if (i) check_true(cycle[i].work < cycle[i - 1].work);
    }
    check_true(cycle[0].work - cycle[1].work > 3 * (cycle[1].work - cycle[2].work));
    check_relative(sp_measure_cycle_softening(&result.path, NULL, NULL).value,
                   cycle[2].end_force / cycle[0].end_force, 1e-12);
    const sp_measure force = sp_cycle_force(&result.path, 2, 0.25);
    check_true(force.reached && force.value > 0 && force.value < cycle[1].peak);
    sp_result_clear(&result);
}

/* After "zero again" the second press to 20 % goes to 20 % of the height that is left, and figures
 * read the cycle that is named. */
static void strains_count_anew(void **unused)
{
    (void)unused;
    run((const char *[]){FOOT, TIMED, "infill.pattern=hexagonal", "infill.density=20 %",
                         "press.steps=60",
                         "press.protocol=press to 20 % at 100 mm/min, release at 100 mm/min, zero "
                         "at 1 N, press to 20 % at 100 mm/min, release at 100 mm/min, press to 10 "
                         "% at 100 mm/min, read cycle 2",
                         NULL});
    check_path(2e-3);
    const sp_path *path = &result.path;
    const sp_stage *zero = sp_stage_first(path, SP_SEGMENT_ZERO);
    const double left = state(zero->last)->shortening;
    check_relative(state(zero->last)->force, 1, 0.1);
    check_true(left > 0.01);
    check_relative(state(path->stage[3].last)->shortening, left + 0.2 * (12 - left), 1e-9);
    check_relative(state(path->stage[5].last)->shortening, left + 0.1 * (12 - left), 1e-9);
    check_relative(sp_cycle_force(path, 2, 0.2).value, state(path->stage[3].last)->force, 1e-9);
    double peak = 0;
    for (int i = path->stage[3].first; i <= path->stage[3].last; i++)
        peak = fmax(peak, state(i)->force);
    check_relative(sp_measure_cycle_peak(path, NULL, NULL).value, peak, 1e-12);
    sp_result_clear(&result);
}

/* Grips that hold next to nothing would go to and fro while a coupon rests, so steps that lead
 * uphill are halved. Coupon 1 of seed 7 of make soak, with one drop. */
static void a_rest_on_friction_platens_ends(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=49.89 mm",
        "coupon.height=15.93 mm",
        "coupon.depth=5.956 mm",
        "infill.pattern=hexagonal",
        "infill.density=8.21 %",
        "infill.angle=50.6 deg",
        "bead.width=0.411 mm",
        "bead.walls=3",
        "material.law=linear",
        "material.modulus=30.08 MPa",
        "material.poisson_ratio=0.387",
        "material.relaxation.exponent=0.103",
        "platens.hold=friction",
        "platens.friction=0.974",
        "press.protocol=drop 9.595 g from 70.99 mm, rest for 1 min",
        "press.find_critical=no",
        "press.steps=138",
        "flaws.seed=442353",
        "flaws.bow=0.778 %",
        "flaws.thickness_scatter=7.98 %",
        "flaws.joint_offset=5.26 %",
        "flaws.missing=1.66 %",
        NULL};
    run(settings);
    const sp_stage *last = &result.path.stage[result.path.stage_count - 1];
    const sp_stage *drop = last - 1;
    check_true(last->segment.kind == SP_SEGMENT_REST && last->reached);
    /* Branches that relax within the drop go on relaxing in steps of its length. */
    check_true(state(last->first + 1)->time - state(last->first)->time <=
               0.05 * (state(drop->last)->time - state(drop->first)->time) * (1 + 1e-9));
    check_close(state(last->last)->force, 0, 1e-5);
    sp_result_clear(&result);
}

/* A hold or a rest of more than ten times the slowest branch is reported as an extrapolation. */
static void holds_beyond_the_branches_are_told(void **unused)
{
    static const char *const hold[] = {"hold for 100 s", "hold for 101 s"};
    char line[SP_CAUTION_MAX][SP_CAUTION_SIZE], protocol[96];
    (void)unused;
    for (int i = 0; i < 2; i++) {
        int told = 0;
        snprintf(protocol, sizeof protocol, "press.protocol=press to 0.001 %% at 1 1/s, %s",
                 hold[i]);
        run((const char *[]){FOOT, SOLID, "infill.pattern=square", "press.steps=4", protocol,
                             NULL});
        for (int k = sp_cautions(&result, line) - 1; k >= 0; k--)
            told += strstr(line[k], "slowest branch of the law (10 s)") != NULL;
        assert_int_equal(told, i);
        sp_result_clear(&result);
    }
}

/* The press strains a straight strut at 0.01 /s; where the data of the material begin above that or
 * end below it, a caution says by how much. */
static void rates_beyond_the_data_are_told(void **unused)
{
    static const struct {
        const char *reach, *told;
    } at[] = {{"material.reach_rates=[1e-4, 1e3]", NULL},
              {"material.reach_rates=[100, 1000]", "from 1e+02 to 1e+03 /s"},
              {"material.reach_rates=[1e-7, 1e-5]", "from 1e-07 to 1e-05 /s"}};
    char line[SP_CAUTION_MAX][SP_CAUTION_SIZE];
    (void)unused;
    for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
        int told = 0;
        run((const char *[]){FOOT, SOLID, "infill.pattern=square", "press.steps=4",
                             "press.protocol=press to 0.001 % at 0.01 1/s, hold for 1 s",
                             at[i].reach, NULL});
        for (int k = sp_cautions(&result, line) - 1; k >= 0; k--)
            if (strstr(line[k], "material.reach_rates")) {
                told++;
                assert_non_null(at[i].told);
                assert_non_null(strstr(line[k], at[i].told));
            }
        assert_int_equal(told, at[i].told != NULL);
        sp_result_clear(&result);
    }
    sp_case request;
    sp_case_default(&request);
    assert_int_equal(sp_case_set(&context, &request, "material.reach_rates", "[2, 1]"), SP_OK);
    assert_int_equal(sp_case_check(&context, &request), SP_BAD_CASE);
    assert_non_null(strstr(context.message, "the lowest and the highest"));
}

/* A press without time and the same press as a protocol of a law without time have the same states,
 * bit for bit. */
static void protocol_without_time_is_the_press(void **unused)
{
    (void)unused;
    static const char *const common[] = {FOOT, "infill.pattern=square", "press.steps=60"};
    sp_case request;
    sp_result plain;
    const char *settings[12] = {0};
    for (int i = 0; i < 7; i++) settings[i] = common[i];
    settings[7] = "press.strain=40 %";
    ask(&request, settings);
    assert_int_equal(press_whole(&context, &request, &plain), SP_OK);
    settings[7] = "press.protocol=press to 40 % at 7 mm/min, release";
    run(settings);
    assert_int_equal(result.path.step_count, plain.path.step_count);
    for (int i = 0; i < plain.path.step_count; i++) {
        const sp_step *a = &plain.path.step[i], *b = &result.path.step[i];
        check_true(a->force == b->force && a->stored == b->stored && a->work == b->work);
        check_close(b->time, a->shortening / 7 * 60, 1e-9);
        check_true(a->time == 0);
    }
    assert_int_equal(plain.path.stage_count, 0);
    assert_int_equal(result.path.unloaded, 1);
    sp_result_clear(&plain);
    sp_result_clear(&result);
}

/* The short form takes time under a law in time: press.speed, and the way back. */
static void short_form_takes_time(void **unused)
{
    double force[2];
    (void)unused;
    for (int fast = 0; fast < 2; fast++) {
        run((const char *[]){FOOT, TIMED, "infill.pattern=square", "press.steps=60",
                             "press.strain=20 %", "press.unload=yes",
                             fast ? "press.speed=1000 mm/min" : "press.speed=1 mm/min", NULL});
        check_path(2e-3);
        assert_int_equal(result.path.stage_count, 2);
        force[fast] = result.path.step[result.path.step_count - 1].force;
        check_true(sp_measure_set_strain(&result.path, &result.network, &result.request).value > 0);
        sp_result_clear(&result);
    }
    /* A press a thousand times faster is at most 1000^n stiffer, and nearly that. */
    check_true(force[1] / force[0] > 1.2 && force[1] / force[0] < pow(1000, 0.07));
}

/* --- creep buckling --- */

/* D (the kind of problem of Bazant & Cedolin 2010, chapter 9): a column with a sine flaw a0 under a
 * constant load, E_inf = E_1, tau = 10 s. a(0+) = a0/(1 - P/P_0); then a_inf + (a(0+) - a_inf)
 * exp(-t/T), a_inf = a0/(1 - P/P_inf), T = tau (P_0 - P)/(P_inf - P); at P_inf it grows evenly. */
static void column_creeps_and_buckles(void **unused)
{
    static const double load[] = {0.5, 0.9, 1.0, 1.2};
    static const double want[][3] = {{1.33333, 1.52231, 1.75475},
                                     {1.81818, 2.52918, 3.77118},
                                     {2, 3, 5},
                                     {2.5, 4.63019, 10.8775}};
    enum { SIDES = 48 };
    const double a0 = 1e-5;
    (void)unused;
    for (int k = 0; k < 4; k++) {
        bench b;
        sp_case request;
        bench_begin(&b, 1, 0);
        sp_case_default(&request);
        request.relaxation_reference = INFINITY;
        request.relaxation_shares = (sp_list){1, {1}};
        request.relaxation_times = (sp_list){1, {10}};
        assert_int_equal(sp_law_time_prepare(&b.context, &request, &b.law), SP_OK);
        for (int i = 0; i <= SIDES; i++)
            bench_joint(&b, a0 * sin(M_PI * i / SIDES), (double)i / SIDES);
        for (int i = 0; i < SIDES; i++) bench_strut(&b, i, i + 1, 0.01);
        bench_mesh(&b, 1);
        bench_stiffness(&b, -1, 1e6, 1, 1e8);
        bench_hold(&b, 0, BENCH_X, SP_HELD);
        bench_hold(&b, 0, BENCH_Y, SP_HELD);
        bench_hold(&b, SIDES, BENCH_X, SP_HELD);
        bench_load(&b, SIDES, BENCH_Y, -1);
        bench_ready(&b);
        double time = 0;
        for (int i = 0; i <= 300; i++) {
            const double dt = i ? 0.1 : 0;
            sp_system_arm(&b.system, dt);
            bench_follow(&b, load[k] * M_PI * M_PI, 0);
            sp_system_accept(&b.system, 0);
            time += dt;
            const int row = i == 0 ? 0 : i == 100 ? 1 : i == 300 ? 2 : -1;
            const double a = a0 + bench_moved(&b, SIDES / 2, BENCH_X);
            if (row >= 0) check_relative(a / a0, want[k][row], 8e-3);
        }
        check_close(time, 30, 1e-9);
        bench_end(&b);
    }
}

/* --- words --- */

static void parse(const char *text, sp_protocol *protocol)
{
    sp_case request;
    sp_case_default(&request);
    coupon_set(&request, "press.protocol", text);
    context = (sp_context){0};
    if (sp_protocol_of_case(&context, &request, protocol) != SP_OK) fail_msg("%s", context.message);
}

static void words_become_segments(void **unused)
{
    sp_protocol p;
    (void)unused;
    parse(
        "press to 50 % at 12 mm/min, hold for 2 min, hold force for 1 h, release to 10 N at 1 %/s, "
        "rest for 1 d, repeat 2 times, press to 3 mm, release to 5 %, end, press to 0.2 kN",
        &p);
    assert_int_equal(p.count, 10);
    check_close(p.segment[0].to_strain, 0.5, 0);
    check_relative(p.segment[0].speed, 0.2, 1e-15);
    check_close(p.segment[1].duration, 120, 0);
    assert_int_equal(p.segment[2].kind, SP_SEGMENT_LOAD);
    check_close(p.segment[2].duration, 3600, 0);
    check_close(p.segment[3].to_force, 10, 0);
    check_relative(p.segment[3].strain_rate, 0.01, 1e-15);
    check_close(p.segment[4].duration, 86400, 0);
    check_close(p.segment[5].to_travel, 3, 0);
    check_relative(p.segment[5].speed, 10.0 / 60, 1e-15);
    check_close(p.segment[9].to_force, 200, 0);
    static const int cycle[] = {1, 1, 1, 1, 1, 2, 2, 3, 3, 4};
    for (int i = 0; i < 10; i++) assert_int_equal(p.segment[i].cycle, cycle[i]);
    int count;
    const sp_ready_protocol *ready = sp_ready_protocols(&count);
    for (int i = 0; i < count; i++) {
        parse(ready[i].name, &p);
        check_true(p.count > 1 && ready[i].doc[0]);
    }
}

static void bad_words_are_told(void **unused)
{
    static const char *const bad[][2] = {
        {"pres to 50 %", "press, hold, hold force"},
        {"hold for 60 s", "begins with a press"},
        {"press to 50", "each with its unit"},
        {"press to 99 %", "at most 95 %"},
        {"press to 50 % at 0 mm/min", "a speed above 0"},
        {"press to 50 % at 10", "a speed above 0"},
        {"press to 50 % at 10 N", "a speed above 0"},
        {"press", "press to a strain"},
        {"press to 50 %, hold", "a time above 0"},
        {"press to 50 %, hold for 60", "a time above 0"},
        {"press to 50 %, hold for -1 s", "a time above 0"},
        {"press to 50 %, release to nothing", "release, or release to"},
        {"press to 50 %, end", "only after a `repeat`"},
        {"repeat 2, press to 50 %", "then `end`"},
        {"repeat 0, press to 50 %, end", "then `end`"},
        {"repeat 2, repeat 2, press to 50 %, end, end", "no repeat in"},
        {"repeat 32, press to 50 %, hold for 1 s, release, rest for 1 s, end", "at most 96"},
        {"press to 50 %,, release", "press, hold"},
        {"press to 50 %; release", "with commas between them"},
        {"press to 50 %, read cycle 2", "1 to 1"},
        {"press to 50 %, read cycle", "once"},
        {"read cycle 1", "see `list protocols`"},
        {"press to 50 %, release, zero", "a force above 0"},
        {"zero at 1 N", "begins with a press"},
        {"drop 2 from 300 mm", "drop a mass"},
        {"drop 2 kg", "drop a mass"},
        {"drop 0 kg from 300 mm", "drop a mass"},
        {"drop 2 kg from 300", "drop a mass"},
        {"press to 50 %, drop 2 kg from 300 mm", "carries nothing"},
        {"press to 50 %, release to 10 %, drop 2 kg from 300 mm", "carries nothing"},
    };
    (void)unused;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sp_case request;
        sp_protocol protocol;
        sp_case_default(&request);
        coupon_set(&request, "press.protocol", bad[i][0]);
        context = (sp_context){0};
        assert_int_equal(sp_protocol_of_case(&context, &request, &protocol), SP_BAD_CASE);
        if (!strstr(context.message, bad[i][1]) || strchr(context.message, '\n'))
            fail_msg("%s: %s", bad[i][0], context.message);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_become_segments),
        cmocka_unit_test(bad_words_are_told),
        cmocka_unit_test(network_follows_its_material),
        cmocka_unit_test(network_creeps_with_its_material),
        cmocka_unit_test(small_forces_balance),
        cmocka_unit_test(press_and_recover),
        cmocka_unit_test(cycles_soften),
        cmocka_unit_test(strains_count_anew),
        cmocka_unit_test(a_rest_on_friction_platens_ends),
        cmocka_unit_test(holds_beyond_the_branches_are_told),
        cmocka_unit_test(rates_beyond_the_data_are_told),
        cmocka_unit_test(protocol_without_time_is_the_press),
        cmocka_unit_test(short_form_takes_time),
        cmocka_unit_test(column_creeps_and_buckles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
