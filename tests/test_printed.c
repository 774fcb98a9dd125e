/* These tests check the printed shape of a coupon: widths that differ from the drawing, and ends of
 * struts that are thicker.
 *
 * Sources: S. Timoshenko, Strength of Materials, part 1 (1955), bars and beams of variable section:
 * flexibilities of a cone and of a wedge are integrals of 1/EI, 1/EA in closed form, worked out
 * below. */
#include "coupon.h"

#include "base/alloc.h"
#include "network/parts.h"
#include "planar/rules.h"
#include "spatial/rules.h"
#include "state/system.h"

/* Make one strut from the lower platen up, `extra` thicker at its lower end. */
typedef struct post {
    double position[6], thickness[1], height[1], up[3], zone[2], bow[1], extra[2], taper[1];
    unsigned char face[2], role[1];
    int joint[2];
    sp_network network;
} post;

static void make_post(post *p, int dimension, double length, double thickness, double extra,
                      double taper)
{
    *p = (post){.position = {5, 0, dimension == 3 ? 5 : 0, 5, length, dimension == 3 ? 5 : 0},
                .thickness = {thickness},
                .up = {1, 0, 0},
                .extra = {extra, 0},
                .taper = {taper},
                .face = {SP_FACE_LOWER, 0},
                .joint = {0, 1}};
    p->network = (sp_network){.dimension = dimension,
                              .size = {10, 2 * length, dimension == 3 ? 10 : 1},
                              .joint_count = 2,
                              .joint_position = p->position,
                              .joint_face = p->face,
                              .strut_count = 1,
                              .strut_joint = p->joint,
                              .strut_thickness = p->thickness,
                              .strut_height = dimension == 3 ? p->height : NULL,
                              .strut_up = dimension == 3 ? p->up : NULL,
                              .strut_role = p->role,
                              .strut_end_extra = p->extra,
                              .strut_taper = p->taper,
                              .strut_zone = p->zone,
                              .strut_bow = p->bow};
}

static sp_law linear_law(int strain_state)
{
    sp_context context = {0};
    sp_case request;
    sp_law law;
    sp_case_default(&request);
    coupon_set(&request, "material.law", "linear");
    coupon_set(&request, "material.modulus", "100 MPa");
    coupon_set(&request, "material.poisson_ratio", "0.3");
    request.strain_state = strain_state;
    if (sp_law_prepare(&context, &request, &law) != SP_OK) fail_msg("%s", context.message);
    return law;
}

/* Find the moves of the free end under a unit force or moment along each of its unknowns, with the
 * other end held: the diagonal of the flexibility and, in `mixed`, the turn under the force across
 * (in space: about axis 3 under that along x). */
static void flexibility(post *p, const sp_law *law, int elements, double *diagonal, double *mixed)
{
    sp_context context = {0};
    sp_model model;
    sp_system system;
    const sp_model_options options = {
        .platens = SP_PLATENS_BONDED, .elements_per_strut = elements, .section_points = 6};
    if (sp_model_build(&context, &p->network, law, &options, &model) != SP_OK ||
        sp_system_create(&context, &model, 0, &system) != SP_OK ||
        sp_system_evaluate(&context, &system, model.reference, 0) != SP_OK)
        fail_msg("%s", context.message);
    int negative;
    assert_int_equal(sp_system_factor(&context, &system, 0, &negative), SP_OK);
    const size_t unknowns = (size_t)model.unknown_count;
    double *load = sp_alloc(unknowns, sizeof *load), *moved = sp_alloc(unknowns, sizeof *moved);
    for (int k = 0; k < model.unknowns; k++) {
        const int at = model.unknown[model.unknowns + k];
        memset(load, 0, unknowns * sizeof *load);
        load[at] = 1;
        assert_int_equal(sp_sparse_solve(&context, system.sparse, load, moved), SP_OK);
        diagonal[k] = moved[at];
        if (k == 0) *mixed = moved[model.unknown[2 * model.unknowns - 1]];
    }
    sp_free(load);
    sp_free(moved);
    sp_system_free(&system);
    sp_model_free(&model);
}

/* A cone of length l goes from the diameter b at the held end to a at the free one, c = b/a.
 * Across: int x^2 dx/EI = l^3/(3 E I_a c^3); turn: int dx/EI = l (1 + c + c^2)/(3 E I_a c^3);
 * along: 4 l/(pi E a b); twist as the turn with G J; shear as along with k G. */
static void test_cone(void **state)
{
    (void)state;
    const double l = 12, a = 1, c = 1.5, pi = acos(-1), nu = 0.3;
    const sp_law law = linear_law(SP_UNIAXIAL);
    const double modulus = law.modulus, shear = law.shear_modulus;
    const double inertia = pi * pow(a, 4) / 64, factor = 6 * (1 + nu) / (7 + 6 * nu);
    const double turn = l * (1 + c + c * c) / (3 * modulus * inertia * pow(c, 3));
    const double along = 4 * l / (pi * modulus * a * a * c);
    const double across =
        pow(l, 3) / (3 * modulus * inertia * pow(c, 3)) + along * modulus / (factor * shear);
    const double twist = turn * modulus / (2 * shear);
    post p;
    make_post(&p, 3, l, a, (c - 1) * a, l);
    double last = 0;
    for (int elements = 8; elements <= 32; elements *= 2) {
        double d[6], mixed;
        flexibility(&p, &law, elements, d, &mixed);
        const double error = fabs(d[0] / across - 1);
        if (elements > 8) check_relative(last / error, 4, 0.3); /* of second order */
        last = error;
        if (elements < 32) continue;
        check_relative(d[0], across, 5e-4);
        check_relative(d[2], across, 5e-4);
        check_relative(d[1], along, 2e-4);
        check_relative(d[3], turn, 2e-4);
        check_relative(d[5], turn, 2e-4);
        check_relative(d[4], twist, 2e-4);
        /* int x dx/EI from the free end */
        check_relative(fabs(mixed), l * l * (2 + c) / (6 * modulus * inertia * pow(c, 3)), 2e-3);
    }
}

/* A wedge of depth 1 has I = t^3/12. Turn: int dx/EI = 12 l (1 + c)/(2 E a^3 c^2); along: l ln c/(E
 * a (c - 1)). */
static void test_wedge(void **state)
{
    (void)state;
    const double l = 12, a = 1, c = 1.5;
    const sp_law law = linear_law(SP_UNIAXIAL);
    post p;
    double d[3], mixed;
    make_post(&p, 2, l, a, (c - 1) * a, l);
    flexibility(&p, &law, 32, d, &mixed);
    const double e = law.modulus, s = (c - 1) / l;
    const double along = l * log(c) / (e * a * (c - 1));
    const double bend = (log(c) - 2 * (1 - 1 / c) + 0.5 * (1 - 1 / (c * c))) / pow(s, 3);
    check_relative(d[2], 6 * l * (1 + c) / (e * pow(a, 3) * c * c), 2e-4);
    check_relative(d[1], along, 2e-4);
    check_relative(d[0], 12 * bend / (e * pow(a, 3)) + along * e * 6 / 5 / law.shear_modulus, 5e-4);
}

/* The default mesh of a strut, with both tapers over two diameters and a factor of 1.4, is within 1
 * % of the closed form. */
static void test_default_mesh(void **state)
{
    (void)state;
    const double l = 15, a = 1.2, k = 1.4, reach = 2 * a, pi = acos(-1);
    const sp_law law = linear_law(SP_UNIAXIAL);
    post p;
    double d[6], mixed;
    make_post(&p, 3, l, a, (k - 1) * a, reach);
    p.extra[1] = (k - 1) * a;
    flexibility(&p, &law, 0, d, &mixed);
    const double inertia = pi * pow(a, 4) / 64, e = law.modulus;
    const double cone = reach * (1 + k + k * k) / (3 * pow(k, 3));
    check_relative(d[3], (l - 2 * reach + 2 * cone) / (e * inertia), 0.01);
    check_relative(d[1], 4 / (pi * e * a * a) * (l - 2 * reach + 2 * reach / k), 0.01);
}

/* A cone and a cylinder with half balls at both ends have the volume of the figures, which count
 * the whole balls (0.1 % stand out of the cone); the grid of rays is wide for one strut, so the
 * mean over many places is taken. */
static void test_volume(void **state)
{
    (void)state;
    sp_context context = {0};
    post p;
    const double l = 12, a = 1, k = 1.6, reach = 3, pi = acos(-1);
    make_post(&p, 3, l, a, (k - 1) * a, reach);
    for (int j = 0; j < 2; j++) p.position[3 * j + 1] += 4;
    const double cone = pi / 12 * reach * a * a * (1 + k + k * k);
    const double balls = pi / 12 * (pow(k * a, 3) + pow(a, 3));
    double sum = 0;
    enum { PLACES = 200 };
    for (int i = 0; i < PLACES; i++) {
        for (int j = 0; j < 2; j++) {
            p.position[3 * j] = 4 + fmod(i * 0.618034, 1);
            p.position[3 * j + 2] = 4 + fmod(i * 0.754878, 1);
        }
        if (sp_spatial_fill_solid(&context, NULL, NULL, &p.network) != SP_OK)
            fail_msg("%s", context.message);
        sum += p.network.solid_fraction / PLACES;
    }
    check_relative(sum * 10 * 10 * 2 * l, cone + pi / 4 * a * a * (l - reach) + balls, 2e-3);
}

/* In the plane the tapers are trapezoids. The lower end stands on the face and runs on through
 * it. */
static void test_area(void **state)
{
    (void)state;
    sp_context context = {0};
    post p;
    const double l = 12, a = 1, k = 1.6, reach = 3;
    make_post(&p, 2, l, a, (k - 1) * a, reach);
    for (int j = 0; j < 2; j++) p.position[3 * j + 1] += 4;
    const sp_graph graph = {.bead = 0.1};
    if (sp_planar_fill_solid(&context, NULL, &graph, &p.network) != SP_OK)
        fail_msg("%s", context.message);
    check_relative(p.network.solid_fraction * 10 * 2 * l, l * a + 0.5 * reach * (k - 1) * a, 1e-3);
}

/* A coupon that is printed as wide as another case draws it has the same struts, zones and solid
 * fraction. */
static void test_offset_is_another_diameter(void **state)
{
    (void)state;
    static const char *const printed[] = {"coupon.width=20 mm",
                                          "coupon.depth=20 mm",
                                          "coupon.height=20 mm",
                                          "infill.pattern=body-centred-cubic",
                                          "infill.cells=[2, 2, 2]",
                                          "infill.strut_diameter=1 mm",
                                          "infill.diameter_offset=0.2 mm",
                                          "joint.thickening=1.3",
                                          NULL};
    static const char *const drawn[] = {
        "coupon.width=20 mm",     "coupon.depth=20 mm",
        "coupon.height=20 mm",    "infill.pattern=body-centred-cubic",
        "infill.cells=[2, 2, 2]", "infill.strut_diameter=1.2 mm",
        "joint.thickening=1.3",   NULL};
    coupon one, other;
    coupon_set_up(&one, 0, printed);
    coupon_set_up(&other, 0, drawn);
    assert_int_equal(one.network.strut_count, other.network.strut_count);
    for (int s = 0; s < one.network.strut_count; s++) {
        check_close(one.network.strut_thickness[s], 1.2, 1e-12);
        check_close(one.network.strut_zone[2 * s], other.network.strut_zone[2 * s], 1e-12);
        check_close(one.network.strut_end_extra[2 * s], other.network.strut_end_extra[2 * s],
                    1e-12);
    }
    check_relative(one.network.solid_fraction, other.network.solid_fraction, 1e-12);
    check_relative(one.network.nominal_density, other.network.nominal_density / 1.44, 1e-12);
    coupon_tear_down(&one);
    coupon_tear_down(&other);
}

/* In whole presses with tapers, in the plane, of layers and in space, every step and shape passes
 * the checks of any press. */
static void test_presses(void **state)
{
    (void)state;
    static const char *const settings[][2] = {{"infill.pattern", "square"},
                                              {"infill.pattern", "hexagonal"},
                                              {"infill.layers", "2"},
                                              {"infill.pattern", "body-centred-cubic"}};
    for (int i = 0; i < 4; i++) {
        sp_case request;
        sp_case_default(&request);
        coupon_set(&request, "coupon.width", "11 mm");
        coupon_set(&request, "coupon.height", "9 mm");
        coupon_set(&request, "coupon.depth", i == 2 ? "2 mm" : "8 mm");
        coupon_set(&request, "infill.density", i == 3 ? "8 %" : "20 %");
        coupon_set(&request, "bead.walls", "1");
        coupon_set(&request, "bead.width_offset", i == 3 ? "0 mm" : "0.05 mm");
        coupon_set(&request, "infill.diameter_offset", i == 3 ? "-0.1 mm" : "0 mm");
        coupon_set(&request, "joint.thickening", "1.5");
        coupon_set(&request, "press.strain", i == 2 ? "20 %" : "50 %");
        coupon_set(&request, "press.find_critical", "no");
        coupon_set(&request, settings[i][0], settings[i][1]);
        if (i == 3) coupon_set(&request, "infill.cells", "[1, 1, 1]");
        coupon_run_to_the_end(&request);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cone),         cmocka_unit_test(test_wedge),
        cmocka_unit_test(test_default_mesh), cmocka_unit_test(test_volume),
        cmocka_unit_test(test_area),         cmocka_unit_test(test_offset_is_another_diameter),
        cmocka_unit_test(test_presses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
