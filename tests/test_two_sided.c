/* These tests check laws of two measured curves, one of tension and one of compression: closed
 * forms of straight lines, how they go on beyond their rows, sections in bending, histories, and
 * refusals. */
#include "check.h"

#include "coupon.h"

#include "base/alloc.h"
#include "base/rng.h"
#include "section/section.h"
#include "temporary_file.h"

static char warnings[4096];

static void keep_warning(void *user, const char *line)
{
    (void)user;
    const size_t used = strlen(warnings);
    snprintf(warnings + used, sizeof warnings - used, "%s\n", line);
}

/* Prepare a law of two tables; `second` NULL: of material.table alone. */
static sp_status prepare(sp_context *context, const char *name, int strain_state, const char *first,
                         const char *second, sp_law *law)
{
    sp_case request = {.modulus = 1, .poisson_ratio = 0.5, .strain_state = strain_state};
    snprintf(request.law, sizeof request.law, "%s", name);
    write_temporary_file(request.table_file, sizeof request.table_file, first);
    if (second)
        write_temporary_file(request.table_compression, sizeof request.table_compression, second);
    warnings[0] = 0;
    const sp_status status = sp_law_prepare(context, &request, law);
    remove(request.table_file);
    if (second) remove(request.table_compression);
    return status;
}

static sp_law make(const char *name, int strain_state, const char *first, const char *second)
{
    sp_context context = {.warn = keep_warning};
    sp_law law;
    if (prepare(&context, name, strain_state, first, second, &law) != SP_OK)
        fail_msg("%s", context.message);
    return law;
}

typedef struct fibre {
    double w, p, a;
} fibre;

enum { HISTORY_MAX = 8 };

static fibre after(const sp_law *law, double l, const double *history)
{
    fibre f;
    sp_law_eval(law, 1, &l, history, &f.w, &f.p, &f.a);
    return f;
}

static fibre at(const sp_law *law, double l)
{
    fibre f;
    law->row->eval(law, 1, &l, &f.w, &f.p, &f.a);
    return f;
}

/* ---- rows ---- */

static const double tension_modulus = 100, compression_modulus = 250; /* [MPa] */

/* Write two straight lines in nominal stress over nominal strain that meet at 0 0. */
static void straight_rows(char *text, double modulus, double sign)
{
    static const double strain[] = {1e-6, 2e-6, 0.01, 0.05, 0.1, 0.2, 0.4};
    for (int i = 0; i < 7; i++)
        text += sprintf(text, "%.17g %.17g\n", sign * strain[i], sign * modulus * strain[i]);
}

static sp_law straight_law(int strain_state)
{
    char tension[512], compression[512];
    straight_rows(tension, tension_modulus, 1);
    straight_rows(compression, compression_modulus, 1);
    return make("tabulated", strain_state, tension, compression);
}

/* A bar follows either line; positive and negative signs of a compression test, and rows of both
 * sides in one file, give the same law. */
static void a_bar_follows_both_lines(void **state)
{
    (void)state;
    char tension[512], negative[512], both[1024];
    straight_rows(tension, tension_modulus, 1);
    straight_rows(negative, compression_modulus, -1);
    snprintf(both, sizeof both, "%s%s", tension, negative);
    sp_law law[3] = {straight_law(SP_UNIAXIAL), make("tabulated", SP_UNIAXIAL, tension, negative),
                     make("tabulated", SP_UNIAXIAL, both, NULL)};
    for (int i = 0; i < 3; i++) {
        /* In one file, the side that ends earlier is continued from the other one, from 0.4 on. */
        for (double e = 1e-3; e < (i < 2 ? 0.4 : 0.2); e *= 1.3) {
            check_relative(at(&law[i], 1 + e).p, tension_modulus * e, 1e-12);
            check_relative(at(&law[i], 1 - e).p, -compression_modulus * e, 1e-12);
            check_relative(at(&law[i], 1 + e).w, 0.5 * tension_modulus * e * e, 1e-5);
            check_relative(at(&law[i], 1 - e).w, 0.5 * compression_modulus * e * e, 1e-5);
            check_relative(at(&law[i], 1 - e).a, compression_modulus, 1e-12);
        }
        if (i < 2) check_close(law[i].rows_most, 1.4, 1e-12);
        check_close(law[i].rows_least, 0.6, 1e-12);
        sp_law_free(&law[i]);
    }
}

/* In plane strain a solid whose modulus differs by the sign of its stress has 4 E/3 of either side
 * (E249; both principal stresses of a wall have one sign, Ambartsumyan's criterion, read in the
 * abstract of the review of Sun, Zhu, Qin, Yang & He 2010). */
static void plane_strain_keeps_the_sides_apart(void **state)
{
    (void)state;
    sp_law law = straight_law(SP_PLANE_STRAIN);
    const double e = 1e-3;
    check_relative(at(&law, 1 + e).p, 4.0 / 3 * tension_modulus * e, 3 * e);
    check_relative(at(&law, 1 - e).p, -4.0 / 3 * compression_modulus * e, 3 * e);
    check_close(at(&law, 1).p, 0, 0);
    sp_law_free(&law);
}

/* Rows of a neo-Hookean solid in both files give that solid in plane strain again, G (l -
 * 1/l^3). */
static void rows_of_a_law_give_that_law(void **state)
{
    (void)state;
    char tension[1 << 14], compression[1 << 14], *t = tension, *c = compression;
    const double shear = 1.7;
    for (int i = 1; i <= 200; i++) {
        const double l = 1 + 0.01 * i, s = 1 / (1 + 0.02 * i);
        t += sprintf(t, "%.17g %.17g\n", l - 1, shear * (l - 1 / (l * l)));
        c += sprintf(c, "%.17g %.17g\n", 1 - s, shear * (1 / (s * s) - s));
    }
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        sp_law law = make("tabulated", strain_state, tension, compression);
        const int power = strain_state == SP_UNIAXIAL ? 2 : 3;
        for (double l = 0.4; l < 2.4; l += 0.037)
            check_relative(at(&law, l).p, shear * (l - pow(l, -power)), 2e-4);
        sp_law_free(&law);
    }
}

/* Beyond the rows, true stress over log strain is the straight line of the last tangent (E250), on
 * both sides; value, slope and energy go through the last rows. */
static void the_last_tangent_goes_on(void **state)
{
    (void)state;
    sp_law law = straight_law(SP_UNIAXIAL);
    check_true(
        strstr(warnings, "no rows in compression beyond strain -0.4: the true stress goes on"));
    check_true(strstr(warnings, "no rows in tension beyond strain 0.4: the true stress goes on"));
    for (int side = 0; side < 2; side++) {
        const double sign = side ? -1 : 1, from = 1 + 0.4 * sign;
        const double modulus = side ? compression_modulus : tension_modulus;
        const double stress = modulus * 0.4 * sign * from;
        const double slope = fmax(0, modulus * from * from + stress);
        const double energy = 0.5 * modulus * 0.16;
        for (double e = 0; e < 0.6; e += 0.05) {
            const double l = from * exp(sign * e), now = stress + slope * sign * e;
            check_relative(at(&law, l).p * l, now, 1e-12);
            check_relative(at(&law, l).w, energy + stress * sign * e + 0.5 * slope * e * e, 1e-5);
        }
        check_relative(at(&law, from * (1 + 1e-9)).a, at(&law, from * (1 - 1e-9)).a, 1e-6);
    }
    sp_law_free(&law);
}

static void rises_beyond(const sp_law *law)
{
    for (double l = 0.2; l < 4; l *= 1.0173) {
        static const double offset[4] = {-2, -1, 1, 2}, factor[4] = {1, -8, 8, -1};
        const double h = 1e-5 * l;
        double w = 0, p = 0;
        /* At the places of the rows, and of the table of plane strain, the second derivative may
         * have a corner. */
        const double jump = fabs(at(law, l - 3 * h).a - 2 * at(law, l).a + at(law, l + 3 * h).a);
        if (jump > 1e-4 * law->modulus) continue;
        for (int k = 0; k < 4; k++) {
            const fibre f = at(law, l + offset[k] * h);
            w += factor[k] * f.w / (12 * h), p += factor[k] * f.p / (12 * h);
        }
        check_close(at(law, l).p, w, 1e-7 * law->modulus);
        check_close(at(law, l).a, p, 1e-4 * law->modulus);
    }
}

static void stress_and_tangent_match_differences(void **state)
{
    (void)state;
    static const char *const first = "0.02 2\n0.1 7\n0.3 12\n0.8 20\n",
                             *const second = "0.02 3\n0.1 11\n0.3 25\n0.6 80\n";
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        sp_law law = make("tabulated", strain_state, first, second);
        rises_beyond(&law);
        sp_law_free(&law);
    }
}

/* ---- bending ---- */

static sp_resultants bent(const sp_section *section, double kappa)
{
    double eps = 0;
    sp_resultants r;
    for (int i = 0; i < 60; i++) {
        sp_section_eval(section, &(sp_section_strain){.eps = eps, .kappa = kappa}, NULL, &r);
        eps -= r.force / r.c_ee;
    }
    return r;
}

/* A beam whose moduli differ in tension and compression bends as with
 *   E_r = 4 E_t E_c/(sqrt E_t + sqrt E_c)^2
 * (Timoshenko, Strength of Materials II, bending of a rectangle; the double modulus of von Karman
 * 1910), which follows from E_t h_t^2 = E_c h_c^2 of the parts on either side; in plane strain 4/3
 * of it. The difference is the error of the quadrature at the corner in the stress. */
static void a_rectangle_bends_with_the_reduced_modulus(void **state)
{
    (void)state;
    const double t = 1.2, b = 2, roots = sqrt(tension_modulus) + sqrt(compression_modulus);
    const double reduced = 4 * tension_modulus * compression_modulus / (roots * roots);
    for (int strain_state = 0; strain_state < 2; strain_state++)
        for (int turned = -1; turned <= 1; turned += 2) {
            sp_law law = straight_law(strain_state);
            sp_section section;
            sp_section_rectangle(&section, &law, t, b, 16);
            const double kappa = turned * 2e-3 / t,
                         share = strain_state == SP_UNIAXIAL ? 1 : 4.0 / 3;
            const double want = share * reduced * b * t * t * t / 12 * kappa;
            check_relative(bent(&section, kappa).moment, want, 4e-3);
            sp_law_free(&law);
        }
    for (int rings = 3; rings <= 4; rings++) {
        /* A square in space bends about either axis as the rectangle does. */
        sp_law law = straight_law(SP_UNIAXIAL);
        sp_section section;
        sp_section_rectangle(&section, &law, 1, 1, 2 * rings);
        check_relative(bent(&section, 1e-3).moment, reduced / 12 * 1e-3, 0.03);
        sp_law_free(&law);
    }
}

/* ---- yielding ---- */

/* Write rows that are straight to the yield strain, and then rise in true stress per log strain. */
static void yield_rows(char *text, double modulus, double yield, double rate, int compression)
{
    for (double e = yield / modulus; e < 1; e *= 1.1) {
        const double y = yield + rate * (e - yield / modulus);
        const double l = exp(compression ? -e : e);
        text += sprintf(text, "%.17g %.17g\n", fabs(l - 1), y / l);
    }
}

static sp_law yielding_law(int strain_state, double rate_tension, double rate_compression)
{
    char tension[8192], compression[8192];
    yield_rows(tension, 2000, 20, rate_tension, 0);
    yield_rows(compression, 2500, 35, rate_compression, 1);
    return make("yielding", strain_state, tension, compression);
}

/* The mirror image of the tension curve as compression curve is the law of the tension curve alone,
 * whatever the history. */
static void a_mirrored_curve_changes_nothing(void **state)
{
    (void)state;
    char tension[8192], compression[8192];
    yield_rows(tension, 2000, 20, 60, 0);
    yield_rows(compression, 2000, 20, 60, 1);
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        sp_law one = make("yielding", strain_state, tension, NULL);
        sp_law two = make("yielding", strain_state, tension, compression);
        double first[HISTORY_MAX] = {0}, second[HISTORY_MAX] = {0}, weight = 1;
        sp_rng rng;
        sp_rng_seed(&rng, 21, 0);
        check_true(one.history_count == 4 && two.history_count == 7);
        check_close(two.rows_least, one.rows_least, 1e-9);
        for (int i = 0; i < 300; i++) {
            const double l = exp(0.1 * sp_rng_normal(&rng));
            const fibre f = after(&one, l, first), g = after(&two, l, second);
            check_close(g.w, f.w, 1e-8 * (1 + f.w));
            check_close(g.p, f.p, 1e-7);
            check_close(g.a, f.a, 1e-5 * one.modulus);
            if (i % 2) continue;
            const double lost = sp_law_keep(&one, 1, &l, &weight, first);
            check_close(sp_law_keep(&two, 1, &l, &weight, second), lost, 1e-8 * (1 + lost));
        }
        sp_law_free(&one);
        sp_law_free(&two);
    }
}

/* Two straight lines on either side have a closed form: pulled until its plastic strain is a, the
 * fibre yields in compression at the stress that the curve of compression has at the plastic strain
 * a, and has dissipated the areas under both flow stresses. */
static void a_cycle_in_closed_form(void **state)
{
    (void)state;
    const double h_t = 60, h_c = 90, E_t = 2000, E_c = 2500;
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        const double k = strain_state == SP_UNIAXIAL ? 1 : 2 / sqrt(3), weight = 1;
        sp_law law = yielding_law(strain_state, h_t, h_c);
        double history[HISTORY_MAX] = {0};
        /* The flow stress over the plastic strain is 20 + p_t a, 35 + p_c a. */
        const double p_t = h_t / (1 - h_t / E_t), p_c = h_c / (1 - h_c / E_c);
        const double a = 0.05, b = 0.03; /* plastic in tension, then in compression */
        double stress = 20 + p_t * a, e = (a + stress / E_t) / k, l = exp(e);
        check_relative(after(&law, l, history).p * l, k * stress, 1e-7);
        double lost = sp_law_keep(&law, 1, &l, &weight, history);
        const double lost_t = 20 * a + 0.5 * p_t * a * a;
        check_relative(lost, lost_t, 1e-5);
        const double limit = 35 + p_c * a;
        l = exp((a - 0.999 * limit / E_c) / k); /* just elastic */
        check_relative(after(&law, l, history).p * l, -0.999 * k * limit, 1e-7);
        check_relative(after(&law, l, history).w, lost + 0.5 * 0.998001 * limit * limit / E_c,
                       1e-7);
        stress = 35 + p_c * (a + b);
        l = exp((a - b - stress / E_c) / k);
        check_relative(after(&law, l, history).p * l, -k * stress, 1e-7);
        lost = sp_law_keep(&law, 1, &l, &weight, history);
        check_relative(lost, lost_t + 35 * b + 0.5 * p_c * ((a + b) * (a + b) - a * a), 1e-5);
        /* In tension again the fibre is hardened by both. */
        const double again = 20 + p_t * (a + b);
        l = exp((a - b + 0.999 * again / E_t) / k);
        check_relative(after(&law, l, history).p * l, 0.999 * k * again, 1e-7);
        check_relative(after(&law, l, history).a * l * l, k * k * E_t - 0.999 * k * again, 1e-7);
        sp_law_free(&law);
    }
}

/* P = dW/dl and A = dP/dl after random histories; dissipation never falls; a state just accepted
 * stays. Places where the tangent jumps are passed over, and are few. */
static void differences_hold_after_any_history(void **state)
{
    (void)state;
    static const double offset[4] = {-2, -1, 1, 2}, factor[4] = {1, -8, 8, -1};
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        sp_law law = yielding_law(strain_state, 60, 90);
        double history[HISTORY_MAX] = {0}, before = 0;
        const double h = 1e-5, weight = 1;
        int passed = 0;
        sp_rng rng;
        sp_rng_seed(&rng, 22, 0);
        for (int i = 0; i < 400; i++) {
            const double l = exp(0.1 * sp_rng_normal(&rng));
            const fibre f = after(&law, l, history);
            double w = 0, p = 0;
            for (int k = 0; k < 4; k++) {
                const fibre g = after(&law, l + offset[k] * h, history);
                w += factor[k] * g.w / (12 * h), p += factor[k] * g.p / (12 * h);
            }
            const double low = after(&law, l - 2 * h, history).a,
                         high = after(&law, l + 2 * h, history).a;
            if (fabs(high - low) > 0.01 * law.modulus) {
                passed++;
            } else {
                check_close(f.p, w, 1e-8 * law.modulus);
                check_close(f.a, p, 1e-6 * law.modulus);
            }
            if (i % 3) continue;
            const double lost = sp_law_keep(&law, 1, &l, &weight, history);
            const fibre g = after(&law, l, history);
            check_close(g.w, f.w, 1e-10 * (1 + f.w));
            check_close(g.p, f.p, 1e-8);
            check_true(lost >= before && lost <= g.w);
            before = lost;
        }
        check_true(passed < 12 && before > 1);
        sp_law_free(&law);
    }
}

/* Work along a way that is accepted in small steps is what is stored and dissipated. */
static void work_is_stored_or_dissipated(void **state)
{
    (void)state;
    static const double turn[] = {1, 1.07, 0.98, 0.9, 1.2, 1.19, 0.7, 1};
    sp_law law = yielding_law(SP_UNIAXIAL, 60, 90);
    double history[HISTORY_MAX] = {0}, work = 0, weight = 1;
    fibre before = after(&law, 1, history);
    for (int i = 1; i < 8; i++)
        for (int k = 1; k <= 4000; k++) {
            const double step = (turn[i] - turn[i - 1]) / 4000, l = turn[i - 1] + k * step;
            const fibre next = after(&law, l, history);
            work += 0.5 * step * (before.p + next.p);
            sp_law_keep(&law, 1, &l, &weight, history);
            before = next;
        }
    check_relative(before.w, work, 1e-5);
    sp_law_free(&law);
}

/* A rectangle that yields at s_t in tension and s_c in compression has its limit moment where the
 * neutral axis divides the depth as s_c : s_t, M = b t^2/2 s_t s_c/(s_t + s_c), by balance of
 * forces. */
static void a_rectangle_has_its_limit_moment(void **state)
{
    (void)state;
    char tension[8192], compression[8192];
    yield_rows(tension, 2000, 5.2, 0, 0); /* 0.26 %, just beyond the chord of the modulus */
    yield_rows(compression, 2500, 8, 0, 1);
    sp_law law = make("yielding", SP_UNIAXIAL, tension, compression);
    const double t = 1.2, b = 2, want = 0.5 * b * t * t * 5.2 * 8 / (5.2 + 8);
    sp_section section;
    sp_section_rectangle(&section, &law, t, b, 16);
    check_relative(bent(&section, 0.06 / t).moment, want, 0.015);
    sp_law_free(&law);
}

/* ---- whole presses ---- */

/* The first stiffness of a coupon whose struts bend (regular hexagons) is that of tension alone
 * times E_r/E_t (see above). Pressed struts are shortened, too, on the stiffer side: that adds 4 %
 * at a density of 4 %, 7 % at 8 % and 16 % at 16 %. */
static void first_stiffness_is_that_of_either_side(void **state)
{
    (void)state;
    double stiffness[3];
    for (int i = 0; i < 3; i++) {
        char first[512], second[512];
        sp_context context = {0};
        sp_case request;
        sp_result result;
        sp_case_default(&request);
        coupon_set(&request, "infill.pattern", "hexagonal");
        coupon_set(&request, "infill.density", "4 %");
        coupon_set(&request, "coupon.width", "60 mm");
        coupon_set(&request, "coupon.height", "60 mm");
        coupon_set(&request, "bead.walls", "0");
        coupon_set(&request, "material.law", "tabulated");
        coupon_set(&request, "press.strain", "0.2 %");
        coupon_set(&request, "press.steps", "8");
        coupon_set(&request, "press.find_critical", "no");
        coupon_set(&request, "flaws.seed", "0");
        straight_rows(first, i == 1 ? compression_modulus : tension_modulus, 1);
        straight_rows(second, i ? compression_modulus : tension_modulus, 1);
        write_temporary_file(request.table_file, sizeof request.table_file, first);
        write_temporary_file(request.table_compression, sizeof request.table_compression, second);
        if (sp_result_press(&context, &request, &result) != SP_OK) fail_msg("%s", context.message);
        stiffness[i] = result.path.step[0].stiffness;
        sp_result_clear(&result);
        remove(request.table_file);
        remove(request.table_compression);
    }
    const double roots = sqrt(tension_modulus) + sqrt(compression_modulus);
    const double reduced = 4 * compression_modulus / (roots * roots); /* over tension_modulus */
    check_relative(stiffness[1] / stiffness[0], compression_modulus / tension_modulus, 0.01);
    check_relative(stiffness[2] / stiffness[0], reduced, 0.04);
}

/* Coupons in the plane and in space, with both laws, are pressed to their end: every state is in
 * equilibrium, and work = stored + released (coupon.h). */
static void coupons_are_pressed_to_the_end(void **state)
{
    (void)state;
    static const char *const pattern[] = {"hexagonal", "body-centred-cubic"};
    char first[8192], second[8192];
    for (int i = 0; i < 4; i++) {
        const int yields = i % 2;
        sp_case request;
        sp_case_default(&request);
        if (yields) {
            yield_rows(first, 2000, 20, 60, 0);
            yield_rows(second, 2500, 35, 90, 1);
        } else {
            straight_rows(first, tension_modulus, 1);
            straight_rows(second, compression_modulus, 1);
        }
        coupon_set(&request, "infill.pattern", pattern[i / 2]);
        if (i >= 2) coupon_set(&request, "infill.cells", "[2, 2, 2]");
        coupon_set(&request, "material.law", yields ? "yielding" : "tabulated");
        coupon_set(&request, "press.strain", "25 %");
        coupon_set(&request, "press.steps", "40");
        coupon_set(&request, "press.find_critical", "no");
        write_temporary_file(request.table_file, sizeof request.table_file, first);
        write_temporary_file(request.table_compression, sizeof request.table_compression, second);
        coupon_run_to_the_end(&request);
        remove(request.table_file);
        remove(request.table_compression);
    }
}

/* ---- bad files ---- */

static void bad_rows_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *law, *first, *second, *part;
    } bad[] = {
        {"tabulated", "0.1 1\n0.2 2\n", "0.1 1\n-0.2 -2\n", "valid in material.table_compression"},
        {"tabulated", "0.1 1\n0.2 2\n", "0.1 1\n", "received 1 rows of a compression test"},
        {"tabulated", "0.1 1\n0.2 2\n", "0.1 1\n1.2 2\n", ":2: received strain 1.2"},
        {"tabulated", "0.1 1\n-0.2 -2\n", "0.1 1\n0.2 2\n", ":2: received strain -0.2, and"},
        {"tabulated", "0 0\n", "0.1 1\n0.2 2\n", "no rows in tension"},
        {"yielding", "0.01 1\n0.05 2\n", "0.1 1\n0.2 4\n", "no row bends below"},
        {"yielding", "0.01 1\n0.05 2\n-0.01 -1\n", NULL, "received 1 rows in compression"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sp_context context = {.warn = keep_warning};
        sp_law law;
        const long before = sp_alloc_count();
        const sp_status status =
            prepare(&context, bad[i].law, SP_UNIAXIAL, bad[i].first, bad[i].second, &law);
        if (status != SP_NO_READ || !strstr(context.message, bad[i].part))
            fail_msg("%d: status %d, %s", (int)i, status, context.message);
        assert_int_equal(sp_alloc_count(), before);
    }
}

/* Every allocation may fail: then the status says so, and nothing is left. */
static void failing_allocations_leave_nothing(void **state)
{
    (void)state;
    char tension[8192], compression[8192];
    yield_rows(tension, 2000, 20, 60, 0);
    yield_rows(compression, 2500, 35, 90, 1);
    const long before = sp_alloc_count();
    int failed = 0;
    for (int k = 0; k < 30; k++) {
        sp_context context = {.warn = keep_warning};
        sp_law law;
        sp_alloc_fail_at(k + 1);
        const sp_status status =
            prepare(&context, "yielding", SP_PLANE_STRAIN, tension, compression, &law);
        sp_alloc_fail_at(0);
        if (status == SP_OK) sp_law_free(&law);
        failed += status == SP_NO_MEMORY;
        check_true(status == SP_OK || status == SP_NO_MEMORY);
        assert_int_equal(sp_alloc_count(), before);
    }
    check_true(failed > 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bar_follows_both_lines),
        cmocka_unit_test(plane_strain_keeps_the_sides_apart),
        cmocka_unit_test(rows_of_a_law_give_that_law),
        cmocka_unit_test(the_last_tangent_goes_on),
        cmocka_unit_test(stress_and_tangent_match_differences),
        cmocka_unit_test(a_rectangle_bends_with_the_reduced_modulus),
        cmocka_unit_test(a_mirrored_curve_changes_nothing),
        cmocka_unit_test(a_cycle_in_closed_form),
        cmocka_unit_test(differences_hold_after_any_history),
        cmocka_unit_test(work_is_stored_or_dissipated),
        cmocka_unit_test(a_rectangle_has_its_limit_moment),
        cmocka_unit_test(first_stiffness_is_that_of_either_side),
        cmocka_unit_test(coupons_are_pressed_to_the_end),
        cmocka_unit_test(bad_rows_are_refused),
        cmocka_unit_test(failing_allocations_leave_nothing),
    };
    return cmocka_run_group_tests_name("two sided", tests, NULL, NULL);
}
