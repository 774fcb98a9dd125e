/* These tests check sections: the quadrature rule, closed forms of bending and stretching, and
 * tangents. */
#include "check.h"

#include "every_law.h"
#include "section/section.h"
#include "section/spatial.h"
#include "temporary_file.h"

static void keep_quiet(void *user, const char *line)
{
    (void)user, (void)line;
}

/* Make a law by its name with constants that are stable around 1; the modulus is 3, so that the
 * neo-Hookean G is 1. */
static void make_law(sp_law *law, const char *name, int strain_state)
{
    sp_context context = {.warn = keep_quiet};
    sp_case request = {.modulus = 3, .poisson_ratio = 0.3, .gent_limit = 50, .c10 = 0.5};
    request.c01 = 0.1, request.c20 = -0.01, request.c30 = 0.001;
    request.ogden_modulus = (sp_list){2, {0.63, -0.01}};
    request.ogden_exponent = (sp_list){2, {1.3, -2}};
    request.strain_state = strain_state;
    snprintf(request.law, sizeof request.law, "%s", name);
    const int yields = strcmp(name, "yielding") == 0;
    write_temporary_file(request.table_file, sizeof request.table_file,
                         yields ? every_law_table(name) : "-0.6 -9\n-0.2 -0.8\n0.3 0.7\n1.1 1.8\n");
    if (sp_law_prepare(&context, &request, law) != SP_OK) fail_msg("%s", context.message);
    remove(request.table_file);
}

static sp_resultants eval(const sp_section *section, double eps, double kappa)
{
    sp_resultants out;
    sp_section_eval(section, &(sp_section_strain){.eps = eps, .kappa = kappa}, NULL, &out);
    return out;
}

/* Return eps with N = 0 at a curvature. */
static double free_strain(const sp_section *section, double kappa)
{
    double eps = 0;
    for (int i = 0; i < 50; i++) {
        const sp_resultants r = eval(section, eps, kappa);
        eps -= r.force / r.c_ee;
    }
    return eps;
}

/* Gauss-Legendre with n points is exact to degree 2 n - 1 (Abramowitz & Stegun 25.4.29). */
static void quadrature_is_exact_for_polynomials(void **state)
{
    (void)state;
    sp_law law;
    make_law(&law, "linear", SP_UNIAXIAL);
    for (int n = 2; n <= SP_SECTION_POINTS_MAX; n++) {
        sp_section section;
        sp_section_rectangle(&section, &law, 2, 1, n); /* eta in -1 .. 1 */
        assert_int_equal(section.points, n);
        for (int degree = 0; degree < 2 * n; degree++) {
            double sum = 0;
            for (int i = 0; i < n; i++) sum += section.weight[i] * pow(section.eta[i], degree);
            check_close(sum, degree % 2 ? 0 : 2.0 / (degree + 1), 1e-14);
        }
        double next = 0;
        for (int i = 0; i < n; i++) next += section.weight[i] * pow(section.eta[i], 2 * n);
        check_true(fabs(next - 2.0 / (2 * n + 1)) > 1e-12); /* no more points than asked for */
    }
    sp_law_free(&law);
}

/* Point counts outside the range are brought inside, not stored past the arrays. */
static void point_count_is_held(void **state)
{
    (void)state;
    sp_law law;
    make_law(&law, "linear", SP_UNIAXIAL);
    sp_section section;
    sp_section_rectangle(&section, &law, 1, 1, 0);
    assert_int_equal(section.points, 2);
    sp_section_rectangle(&section, &law, 1, 1, 99);
    assert_int_equal(section.points, SP_SECTION_POINTS_MAX);
}

/* Linear law: N = E' b t eps, M = E' b t^3/12 kappa (Euler-Bernoulli, any handbook); E' = E/(1 -
 * nu^2) in plane strain (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells: cylindrical
 * bending). */
static void linear_section_matches_beam_theory(void **state)
{
    (void)state;
    const double t = 0.42, b = 20, nu = 0.3;
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        sp_law law;
        make_law(&law, "linear", strain_state);
        sp_section section;
        sp_section_rectangle(&section, &law, t, b, 3);
        const double modulus = strain_state == SP_UNIAXIAL ? 3 : 3 / (1 - nu * nu);
        const sp_resultants r = eval(&section, -0.02, 0.3);
        check_relative(r.force, -0.02 * modulus * b * t, 1e-13);
        check_relative(r.moment, 0.3 * modulus * b * t * t * t / 12, 1e-13);
        check_relative(r.c_ee, section.axial_stiffness, 1e-13);
        check_relative(r.c_kk, section.bending_stiffness, 1e-13);
        check_close(r.c_ek, 0, 1e-13);
        check_relative(section.axial_stiffness, modulus * b * t, 1e-14);
        check_relative(section.bending_stiffness, modulus * b * t * t * t / 12, 1e-14);
        check_relative(section.shear_stiffness, 5.0 / 6 * 3 / 2.6 * b * t, 1e-14);
        const sp_section_strain z = {.eps = -0.02, .kappa = 0.3};
        check_relative(sp_section_fibre_strain(&section, &z), 0.02 + 0.21 * 0.3, 1e-14);
    }
}

/* The shear factor stays within 3 % of Cowper 1966, 10 (1 + nu)/(12 + 11 nu) for a narrow
 * rectangle, up to nu = 0.5, and equals it at nu = 0. */
static void shear_factor_is_near_cowper(void **state)
{
    (void)state;
    sp_law law;
    make_law(&law, "neo-hookean", SP_UNIAXIAL);
    sp_section section;
    sp_section_rectangle(&section, &law, 1, 1, 5);
    const double factor = section.shear_stiffness / law.shear_modulus, nu = law.poisson_ratio;
    check_relative(factor, 10 * (1 + nu) / (12 + 11 * nu), 0.03);
    check_relative(factor, 10.0 / 12, 1e-14);
}

/* These are exact integrals of l - l^-2 and l - l^-3 over the unit square, G = 1. */
static void force_and_moment_match_exact_integrals(void **state)
{
    (void)state;
    static const struct {
        double eps, kappa, uniaxial[2], plane[2];
    } row[] = {
        {0, 0.5, {-0.066666667, 0.131697505}, {-0.137777778, 0.183888889}},
        {0, 1.0, {-0.333333333, 0.318054378}, {-0.777777778, 0.527777778}},
        {-0.2, 0.5, {-0.931601732, 0.225720778}, {-1.598755646, 0.416472236}},
        {0.3, 0.8, {0.646405229, 0.135025722}, {0.744658038, 0.152103892}},
    };
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        sp_law law;
        make_law(&law, "neo-hookean", strain_state);
        sp_section section;
        sp_section_rectangle(&section, &law, 1, 1, SP_SECTION_POINTS_MAX);
        for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
            const sp_resultants r = eval(&section, row[i].eps, row[i].kappa);
            const double *want = strain_state == SP_UNIAXIAL ? row[i].uniaxial : row[i].plane;
            check_close(r.force, want[0], 1e-9); /* the table has nine decimals */
            check_close(r.moment, want[1], 1e-9);
        }
    }
}

/* In exact pure bending (N = 0) of a neo-Hookean rectangle, uniaxial, lam0 (lam0^2 - c^2) = 1, c =
 * kappa/2. */
static void pure_bending_matches_exact_integrals(void **state)
{
    (void)state;
    static const double row[][3] = {
        {0.05, 1.0002083333303, 0.012501041511657}, {0.1, 1.0008333331406, 0.02500832837302},
        {0.2, 1.0033333210288, 0.050066507938371},  {0.4, 1.0133325537424, 0.10052825491086},
        {0.6, 1.0299912696881, 0.15176146408296},   {0.8, 1.0532854528372, 0.20410458649042},
        {1.0, 1.0831563736989, 0.25784059793636},   {1.5, 1.1856997292061, 0.39946885604926},
        {2.0, 1.3247179572447, 0.55200624472483},
    };
    sp_law law;
    make_law(&law, "neo-hookean", SP_UNIAXIAL);
    sp_section section;
    sp_section_rectangle(&section, &law, 1, 1, SP_SECTION_POINTS_MAX);
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double kappa = row[i][0];
        /* At 2 a face is at a third of its length. */
        const double tolerance = kappa <= 1 ? 1e-10 : 1e-5;
        const double eps = free_strain(&section, kappa);
        check_relative(1 + eps, row[i][1], tolerance);
        check_relative(eval(&section, eps, kappa).moment, row[i][2], tolerance);
    }
}

/* These are combined loads of the same section: (lam0, kappa h), N, M. */
static void combined_loads_match_exact_integrals(void **state)
{
    (void)state;
    static const double row[][4] = {
        {0.8, 0.2, -0.78730158730159, 0.083012308850364},
        {0.8, 0.5, -0.93160173160173, 0.22572077752923},
        {0.9, 0.5, -0.43779264214047, 0.16751398864906},
        {1.2, 0.5, 0.47404718693285, 0.092526014747694},
    };
    sp_law law;
    make_law(&law, "neo-hookean", SP_UNIAXIAL);
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        /* With thickness 0.5 and depth 3, N scales with b h and M with b h^2 at the same kappa
         * h. */
        sp_section section;
        sp_section_rectangle(&section, &law, 0.5, 3, 10);
        const sp_resultants r = eval(&section, row[i][0] - 1, row[i][1] / 0.5);
        check_relative(r.force, row[i][2] * 1.5, 1e-8);
        check_relative(r.moment, row[i][3] * 0.75, 1e-8);
    }
}

/* The number of points matters little: at faces of -45 % strain (lam0 0.8, kappa h 0.5) the error
 * of M falls by about 10 per point. */
static void quadrature_converges(void **state)
{
    (void)state;
    sp_law law;
    make_law(&law, "neo-hookean", SP_UNIAXIAL);
    double before = 1;
    for (int n = 2; n <= 10; n++) {
        sp_section section;
        sp_section_rectangle(&section, &law, 1, 1, n);
        const double error = fabs(eval(&section, -0.2, 0.5).moment / 0.22572077752923 - 1);
        check_true(error < 0.25 * before);
        if (n == 5) check_true(error < 1e-4);
        if (n == 10) check_true(error < 1e-9);
        before = error;
    }
}

/* This checks the form of the model against Rivlin 1949, the exact flexure of an incompressible
 * neo-Hookean block in plane strain, M/(G h^2) = (1/2) [sqrt(1 + k^2)/k - asinh(k)/k^2]. The fibre
 * beam gives k/3 exactly, so it is within 1 % up to face strains of 9 % and 7 % off at 25 %. */
static void rivlin_flexure_bounds_the_fibre_hypothesis(void **state)
{
    (void)state;
    static const double row[][3] = {{0.1, 0.033233865600067, 1.002992963},
                                    {0.2, 0.065883377430875, 1.011889027},
                                    {0.5, 0.15561033863069, 1.071051372},
                                    {1.0, 0.26641998767678, 1.251157378}};
    sp_law law;
    make_law(&law, "neo-hookean", SP_PLANE_STRAIN);
    sp_section section;
    sp_section_rectangle(&section, &law, 1, 1, SP_SECTION_POINTS_MAX);
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double k = row[i][0];
        const double exact = 0.5 * (sqrt(1 + k * k) / k - asinh(k) / (k * k));
        check_relative(exact, row[i][1], 1e-9);
        const double moment = eval(&section, free_strain(&section, k), k).moment;
        check_relative(moment, k / 3, 1e-9);
        check_relative(moment / exact, row[i][2], 1e-8);
    }
}

/* Tangents match five-point differences of the energy and of the resultants, for every law in both
 * strain states. The differences are narrow, because a fibre may lie beside a place where pieces of
 * a table meet: the third derivative of its stress jumps there. */
static void tangents_match_differences(void **state)
{
    (void)state;
    static const double place[][2] = {{0.013, 0.21}, {-0.17, 0.37}, {0.26, -0.52}, {-0.31, -0.4}};
    static const double offset[4] = {-2, -1, 1, 2}, factor[4] = {1, -8, 8, -1};
    const double h = 1e-5;
    int count;
    const sp_law_row *rows = sp_law_rows(&count);
    for (int k = 0; k < 2 * count; k++) {
        sp_law law;
        make_law(&law, rows[k / 2].name, k % 2);
        sp_section section;
        sp_section_rectangle(&section, &law, 0.9, 1.1, 5);
        for (size_t i = 0; i < sizeof place / sizeof *place; i++) {
            const double eps = place[i][0], kappa = place[i][1];
            sp_resultants de = {0}, dk = {0};
            for (int j = 0; j < 4; j++) {
                const sp_resultants e = eval(&section, eps + offset[j] * h, kappa);
                const sp_resultants c = eval(&section, eps, kappa + offset[j] * h);
                const double f = factor[j] / (12 * h);
                de.energy += f * e.energy, de.force += f * e.force, de.moment += f * e.moment;
                dk.energy += f * c.energy, dk.force += f * c.force, dk.moment += f * c.moment;
            }
            const sp_resultants r = eval(&section, eps, kappa);
            check_relative(r.force, de.energy, 1e-6);
            check_relative(r.moment, dk.energy, 1e-6);
            check_relative(r.c_ee, de.force, 1e-6);
            check_relative(r.c_kk, dk.moment, 1e-6);
            check_close(r.c_ek, de.moment, 1e-6 * r.c_kk);
            check_close(r.c_ek, dk.force, 1e-6 * r.c_kk);
        }
        sp_law_free(&law);
    }
}

/* A fibre outside the law makes the energy infinite and leaves every other figure finite. */
static void fibre_outside_the_law_is_infinite_energy(void **state)
{
    (void)state;
    static const char *const names[] = {"neo-hookean", "gent", "ogden"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        sp_law law;
        make_law(&law, names[i], SP_PLANE_STRAIN);
        sp_section section;
        sp_section_rectangle(&section, &law, 1, 1, 5);
        const sp_resultants r = eval(&section, -0.5, 1.5);
        check_true(isinf(r.energy) && r.energy > 0);
        check_true(isfinite(r.force) && isfinite(r.moment));
        check_true(isfinite(r.c_ee) && isfinite(r.c_ek) && isfinite(r.c_kk));
        check_true(isinf(eval(&section, NAN, 0).energy));
        sp_law_free(&law);
    }
}

/* ---- yielding ---- */

/* The true stress stays at 1 MPa from a strain of 0.26 % on, which is the end of the chord that
 * gives the modulus. */
static const double yield_strain = 0.0026;

static void make_perfectly_plastic(sp_law *law, int strain_state)
{
    sp_context context = {.warn = keep_quiet};
    sp_case request = {
        .modulus = 1, .strain_state = strain_state, .law = "yielding", .poisson_ratio = 0.5};
    char text[512], *at = text;
    for (double e = yield_strain; e < 0.5; e *= 4)
        at += sprintf(at, "%.17g %.17g\n", expm1(e), 1 / exp(e));
    write_temporary_file(request.table_file, sizeof request.table_file, text);
    if (sp_law_prepare(&context, &request, law) != SP_OK) fail_msg("%s", context.message);
    remove(request.table_file);
}

/* Elastic, perfectly plastic bending of a rectangle (e.g. Timoshenko, Strength of Materials II;
 * the integral of two straight lines): M = M_y k/k_y up to k_y, then M_y [3/2 - 1/2 (k_y/k)^2];
 * unloaded it keeps k - M/EI, and has dissipated the rest of the work. In plane strain modulus and
 * yield stress are 4/3 and 2/sqrt 3 of those of the free strut. The difference is the error of the
 * quadrature at the corner in the stress. */
static void rectangle_yields_as_beam_theory_says(void **state)
{
    (void)state;
    for (int strain_state = 0; strain_state < 2; strain_state++) {
        static const double times[] = {0.5, 1, 1.5, 2, 2.5, 3, 6, 12};
        const double t = 1.2, b = 2;
        const int is_free = strain_state == SP_UNIAXIAL;
        const double modulus = 1 / yield_strain * (is_free ? 1 : 4.0 / 3);
        const double yield = is_free ? 1 : 2 / sqrt(3);
        const double bending = modulus * b * t * t * t / 12, moment = yield * b * t * t / 6;
        const double first = moment / bending;
        double history[4 * SP_SECTION_POINTS_MAX] = {0}, work = 0, before = 0, at = 0;
        sp_law law;
        sp_section section;
        sp_resultants r;
        make_perfectly_plastic(&law, strain_state);
        sp_section_rectangle(&section, &law, t, b, 16);
        assert_int_equal(law.row->history->count, 4);
        for (int i = 0; i < 8; i++) {
            const double k = times[i] * first, share = first / k;
            const double want = k <= first ? moment / share : moment * (1.5 - 0.5 * share * share);
            for (int n = 1; n <= 200; n++) { /* the way there: work by the trapezoidal rule */
                const double next = at + (k - at) * n / 200;
                sp_section_eval(&section, &(sp_section_strain){.kappa = next}, history, &r);
                work += 0.5 * (k - at) / 200 * (before + r.moment);
                before = r.moment;
            }
            at = k;
            check_relative(r.moment, want, 0.008);
            check_relative(r.energy, work, 2e-3);
            const double lost =
                sp_section_keep(&section, &(sp_section_strain){.kappa = k}, history);
            const double rest = k - r.moment / bending;
            sp_section_eval(&section, &(sp_section_strain){.kappa = rest}, history, &r);
            check_close(r.moment, 0, 3e-3 * moment); /* strains reach 3 % */
            check_relative(r.c_kk, bending, 5e-3);
            check_close(rest, k - want / bending, 0.01 * first);
            /* Some stress stays between fibres that have yielded and elastic ones. */
            check_true(lost >= 0 && lost <= r.energy && r.energy - lost <= 0.5 * moment * first);
        }
        check_relative(before, 1.5 * moment, 0.005);
        sp_law_free(&law);
    }
}

/* Limit moment of a round bar: d^3/6 times the yield stress, 16/(3 pi) = 1.698 of the moment that
 * yields first (read in public sheets of formulas), about any axis. */
static void round_bar_has_its_limit_moment(void **state)
{
    (void)state;
    sp_law law;
    make_perfectly_plastic(&law, SP_UNIAXIAL);
    const double d = 1.4, first = M_PI * d * d * d / 32, k = 2 * yield_strain / d * 20;
    for (int rings = 3; rings <= 4; rings++)
        for (double angle = 0; angle < 1.6; angle += 0.13) {
            sp_spatial_section section;
            sp_spatial_resultants r;
            sp_spatial_circle(&section, &law, d, rings);
            sp_spatial_section_eval(&section, (double[3]){0, k * cos(angle), k * sin(angle)}, NULL,
                                    &r);
            const double moment = r.force[1] * cos(angle) + r.force[2] * sin(angle);
            check_relative(moment / first, 16 / (3 * M_PI), rings == 3 ? 0.02 : 0.01);
        }
    sp_law_free(&law);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rectangle_yields_as_beam_theory_says),
        cmocka_unit_test(round_bar_has_its_limit_moment),
        cmocka_unit_test(quadrature_is_exact_for_polynomials),
        cmocka_unit_test(point_count_is_held),
        cmocka_unit_test(linear_section_matches_beam_theory),
        cmocka_unit_test(shear_factor_is_near_cowper),
        cmocka_unit_test(force_and_moment_match_exact_integrals),
        cmocka_unit_test(pure_bending_matches_exact_integrals),
        cmocka_unit_test(combined_loads_match_exact_integrals),
        cmocka_unit_test(quadrature_converges),
        cmocka_unit_test(rivlin_flexure_bounds_the_fibre_hypothesis),
        cmocka_unit_test(tangents_match_differences),
        cmocka_unit_test(fibre_outside_the_law_is_infinite_energy),
    };
    return cmocka_run_group_tests_name("section", tests, NULL, NULL);
}
