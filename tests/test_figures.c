/* These tests find figures in another way, over every row: measures are recomputed from curve.csv,
 * the solid fraction is found on a raster, and changes that must not make a coupon softer are made.
 * Two computations are compared with each other, never with stored results. In space the solid
 * fraction is checked by points in test_spatial_network.
 *
 * `make test` takes every few rows; `make relations` takes all of them. */
#include "relation.h"

#include <strutpress/strutpress.h>

#include "every_law.h"
#include "whole_press.h"

/* --- measures from curve.csv --- */

enum { ROWS_MAX = 4000 };

/* These are the columns of curve.csv; rows from `turn` on are the way back. */
typedef struct table {
    int rows, turn;
    double height, area;
    double u[ROWS_MAX], force[ROWS_MAX], stiffness[ROWS_MAX], work[ROWS_MAX];
    double released[ROWS_MAX], dissipated[ROWS_MAX], fibre[ROWS_MAX];
} table;

static table csv;

static void write_curve(const sp_result *result, FILE *stream)
{
    sp_context context = {0};
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    for (int i = 0; i < count; i++)
        if (!strcmp(row[i].file, "curve.csv"))
            assert_int_equal(row[i].write(&context, result, stream), SP_OK);
}

/* Return the number of a column of the first line. */
static int column(const char *text, const char *name)
{
    const size_t length = strlen(name);
    for (int i = 0;; i++, text++) {
        if (!strncmp(text, name, length) && strchr(",\n", text[length])) return i;
        text += strcspn(text, ",\n");
        if (*text != ',') fail_msg("curve.csv has no column %s", name);
    }
}

static double field(const char *line, int number)
{
    for (; number > 0; number--) line = strchr(line, ',') + 1;
    return strtod(line, NULL);
}

static void read_curve(const sp_result *result)
{
    static const struct {
        const char *name;
        double *values;
    } wanted[] = {
        {"shortening_mm", csv.u},
        {"force_N", csv.force},
        {"stiffness_N_per_mm", csv.stiffness},
        {"work_mJ", csv.work},
        {"released_mJ", csv.released},
        {"dissipated_mJ", csv.dissipated},
        {"fibre_strain", csv.fibre},
    };
    char *text = NULL;
    size_t size;
    FILE *stream = open_memstream(&text, &size);
    write_curve(result, stream);
    fclose(stream);
    assert_true(size > 0);
    csv.rows = csv.turn = 0;
    csv.height = result->request.height;
    csv.area = result->request.width * result->request.depth;
    for (const char *line = strchr(text, '\n') + 1; *line; line = strchr(line, '\n') + 1) {
        assert_true(csv.rows < ROWS_MAX);
        for (size_t k = 0; k < sizeof wanted / sizeof wanted[0]; k++)
            wanted[k].values[csv.rows] = field(line, column(text, wanted[k].name));
        csv.rows++;
    }
    free(text);
    csv.turn = 1;
    while (csv.turn < csv.rows && csv.u[csv.turn] >= csv.u[csv.turn - 1]) csv.turn++;
}

/* Return the force at a strain on the straight lines between rows, the last of those at one
 * shortening; NaN beyond the end. */
static double force_at(double strain)
{
    const double u = strain * csv.height;
    if (u > csv.u[csv.turn - 1] * (1 + 1e-8)) return NAN;
    for (int i = csv.turn - 2; i >= 0; i--)
        if (csv.u[i] <= u)
            return csv.force[i] +
                   (csv.force[i + 1] - csv.force[i]) * (u - csv.u[i]) / (csv.u[i + 1] - csv.u[i]);
    return NAN;
}

/* Return the force at a strain by Hermite's basis functions, from forces and tangents of the states
 * around it. */
static double smooth_force_at(double strain)
{
    const double u = strain * csv.height;
    for (int i = csv.turn - 2; i >= 0; i--) {
        if (csv.u[i] > u) continue;
        const double h = csv.u[i + 1] - csv.u[i], s = (u - csv.u[i]) / h, r = 1 - s;
        if (!(csv.stiffness[i] > 0 && csv.stiffness[i + 1] > 0)) return force_at(strain);
        return (1 + 2 * s) * r * r * csv.force[i] + s * s * (3 - 2 * s) * csv.force[i + 1] +
               s * r * r * h * csv.stiffness[i] - s * s * r * h * csv.stiffness[i + 1];
    }
    return NAN;
}

/* Return the area under the curve from strain `from` to `to`, by the trapezoidal rule over 20000
 * equal pieces [mJ]. */
static double area_under(double from, double to)
{
    const int pieces = 20000;
    double sum = 0;
    for (int i = 0; i < pieces; i++) sum += force_at(from + (to - from) * (i + 0.5) / pieces);
    return sum * (to - from) * csv.height / pieces;
}

/* Return the efficiency of ISO 13314: the energy over the product of the largest force so far and
 * the shortening. */
static double efficiency_to(double strain)
{
    double largest = force_at(strain);
    for (int i = 0; i < csv.turn && csv.u[i] <= strain * csv.height; i++)
        largest = fmax(largest, csv.force[i]);
    return area_under(0, strain) / (largest * strain * csv.height);
}

static double mean_stress(double from, double to)
{
    return area_under(from, to) / (to - from) / csv.height / csv.area;
}

/* Return the row of the first maximum behind which the force falls by 1 %; -1 without one. */
static int first_maximum(void)
{
    int top = 0;
    for (int i = 1; i < csv.turn; i++) {
        if (csv.force[i] > csv.force[top]) top = i;
        if (csv.force[i] < 0.99 * csv.force[top]) return top;
    }
    return -1;
}

static double largest_fibre_strain(void)
{
    double largest = 0;
    for (int i = 0; i < csv.turn; i++) largest = fmax(largest, csv.fibre[i]);
    return largest;
}

/* NaN stands for a figure that is not reached. */
static void check_measure(const sp_result *result, const char *name, double want, double tolerance)
{
    int count, i = 0;
    const sp_measure_row *row = sp_measure_rows(&count);
    while (strcmp(row[i].name, name)) assert_true(++i < count);
    const sp_measure got = result->measure[i];
    char words[SP_MODELLED_SIZE];
    if (sp_measure_modelled(name, &result->request, words) == SP_NOT_MODELLED) want = NAN;
    if (got.reached != !isnan(want))
        fail_msg("%s of %s: %s", name, result->request.pattern,
                 got.reached ? "reached, but not by curve.csv" : "not reached");
    if (!got.reached) return;
    check_report(name, got.value, want);
    if (!(fabs(got.value - want) <= tolerance * fabs(want) + 1e-12))
        fail_msg("%s of %s is %.9g, by curve.csv %.9g", name, result->request.pattern, got.value,
                 want);
}

static void check_way_back(const sp_result *result, double tolerance)
{
    const int end = csv.rows - 1, turn = csv.turn - 1;
    const int back = result->request.unload;
    const double set = csv.u[end] - csv.force[end] / csv.stiffness[end];
    check_measure(result, "energy_returned", back ? csv.work[turn] - csv.work[end] : NAN,
                  tolerance);
    check_measure(result, "energy_kept", back ? csv.work[end] / csv.work[turn] : NAN, tolerance);
    check_measure(result, "set_strain", back ? fmax(0, set) / csv.height : NAN, 1e-3);
    check_measure(result, "instant_set", back ? fmax(0, set) / csv.u[turn] : NAN, 1e-3);
}

static void check_every_measure(const sp_result *result)
{
    const double exact = 1e-5, sampled = 1e-4; /* CSV has 9 digits; area_under falls into jumps */
    const int top = first_maximum(), turn = csv.turn - 1;
    static const double strain[] = {0.10, 0.25, 0.40, 0.50, 0.65};
    for (int i = 0; i < 5; i++) {
        char name[16];
        snprintf(name, sizeof name, "force_%.0f", 100 * strain[i]);
        check_measure(result, name, force_at(strain[i]), exact);
    }
    check_measure(result, "force_ratio_65_25", force_at(0.65) / force_at(0.25), exact);
    check_measure(result, "initial_stiffness", csv.stiffness[0], exact); /* none has a toe */
    check_measure(result, "chord_modulus",
                  (smooth_force_at(0.0025) - smooth_force_at(0.0005)) / (0.002 * csv.area), exact);
    check_measure(result, "efficiency_iso_13314", efficiency_to(0.5), sampled);
    check_measure(result, "first_maximum", top < 0 ? NAN : csv.force[top] / csv.area, exact);
    check_measure(result, "first_maximum_strain", top < 0 ? NAN : csv.u[top] / csv.height, exact);
    check_measure(result, "plateau_stress", mean_stress(0.2, 0.4), sampled);
    check_measure(result, "plateau_stress_20_30", mean_stress(0.2, 0.3), sampled);
    check_measure(result, "energy_per_volume_50", area_under(0, 0.5) / csv.area / csv.height,
                  sampled);
    check_measure(result, "final_strain", csv.u[turn] / csv.height, exact);
    check_measure(result, "final_force", csv.force[turn], exact);
    check_measure(result, "fibre_strain_max", largest_fibre_strain(), exact);
    check_measure(result, "energy_dissipated", csv.dissipated[csv.rows - 1], exact);
    check_way_back(result, exact);
}

static void measures_are_those_of_the_curve(void **state)
{
    (void)state;
    static const char *const hold[] = {"bonded", "sliding", "friction"};
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 1, 5)) continue;
        sp_context context = {0};
        sp_result result;
        sp_case request = relation_coupon(i, 1);
        relation_put_hold(&request, hold[i % 3]);
        request.strain = i % 2 ? 0.55 : 0.35, request.steps = 120, request.unload = i % 3 != 1;
        if (press_whole(&context, &request, &result) != SP_OK)
            fail_msg("%s: %s", request.pattern, context.message);
        read_curve(&result);
        check_every_measure(&result);
        sp_result_clear(&result);
    }
}

/* --- mass --- */

static double distance(const double *p, const double *a, const double *b)
{
    const double dx = b[0] - a[0], dy = b[1] - a[1];
    const double t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy);
    const double s = fmin(1, fmax(0, t));
    return hypot(p[0] - a[0] - s * dx, p[1] - a[1] - s * dy);
}

static int is_solid(const sp_network *network, double wall, const double *p)
{
    for (int k = 0; k < 2; k++)
        if (p[k] < wall || p[k] > network->size[k] - wall) return 1;
    for (int s = 0; s < network->strut_count; s++) {
        const double *a = network->joint_position + 3 * network->strut_joint[2 * s];
        const double *b = network->joint_position + 3 * network->strut_joint[2 * s + 1];
        if (network->strut_role[s] == SP_ROLE_INFILL &&
            distance(p, a, b) < 0.5 * network->strut_thickness[s])
            return 1;
    }
    return 0;
}

/* Return the share of the points of a raster, bead / 12 apart, that lie in a wall or within half a
 * bead of a strut. */
static double raster(const sp_network *network, double wall, double bead)
{
    const int nx = (int)(12 * network->size[0] / bead), ny = (int)(12 * network->size[1] / bead);
    int solid = 0;
    for (int i = 0; i < nx * ny; i++) {
        const double p[2] = {network->size[0] * (i % nx + 0.5) / nx,
                             network->size[1] * (double)(i / nx + 0.5) / ny};
        solid += is_solid(network, wall, p);
    }
    return (double)solid / nx / ny;
}

static void mass_is_that_of_a_raster(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int walls = 0; walls <= 2; walls++) {
            if (!relation_is_planar(i) || !relation_takes(i + walls, 0, 3)) continue;
            sp_case request = relation_coupon(i, 1);
            request.wall_beads = walls, request.flaw_seed = 0;
            sp_network network = relation_network(&request);
            check_relative(network.solid_fraction,
                           raster(&network, walls * request.bead_width, request.bead_width), 0.007);
            sp_network_free(&network);
        }
}

/* --- what no body can be --- */

/* Return the volume of a body [mm3]: in the plane that of the union of its beads, in space the sum
 * over its round struts, since those in a face stand out of the coupon by half. */
static double body_of(const sp_network *network)
{
    double volume = 0;
    if (network->dimension == 2)
        return network->solid_fraction * network->size[0] * network->size[1] * network->size[2];
    for (int s = 0; s < network->strut_count; s++)
        volume +=
            0.25 * M_PI * pow(network->strut_thickness[s], 2) * sp_network_strut_length(network, s);
    return volume;
}

/* Check one coupon between sliding platens against the energy of its body when it is shortened
 * evenly and widens freely, which is at least its own: no body is stiffer than if all of it stood
 * as one bar from platen to platen. Return how near it comes. */
static double check_share_of_solid(const sp_case *request)
{
    sp_network network = relation_network(request);
    const double modulus = request->modulus * (network.dimension == 2 ? 4.0 / 3 : 1);
    const double most = modulus * body_of(&network) / pow(network.size[1], 2);
    const double got = relation_press_network(request, &network).stiffness;
    if (!(got <= most))
        fail_msg("%s, %.0f %%, joint zone %g: %g N/mm, its share of solid has %g", request->pattern,
                 100 * request->density, request->joint_zone, got, most);
    sp_network_free(&network);
    return got / most;
}

/* Every planar pattern from 5 to 50 % and every cell from 5 to 35 %, with sharp and with rounded
 * corners. */
static void none_is_stiffer_than_its_share_of_solid(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        double nearest = 0;
        sp_case request = relation_coupon(i, 1);
        if (request.layers) continue;
        for (int percent = 5; percent <= (relation_is_planar(i) ? 50 : 35); percent += 15)
            for (int rounded = 0; rounded <= 1; rounded++) {
                request = relation_coupon(i, 1);
                coupon_set(&request, "material.law", "neo-hookean");
                coupon_set(&request, "material.modulus", "30 MPa");
                relation_put_hold(&request, "sliding");
                request.density = 0.01 * percent, request.joint_zone = rounded ? 1 : 0.5;
                request.flaw_seed = 0, request.strain = 1e-5, request.steps = 1;
                if (relation_is_planar(i)) {
                    request.wall_beads = 0;
                    request.angle = 0; /* the lines of squares and triangles stand along the load */
                    request.width = request.height = 12 * request.bead_width / request.density;
                }
                nearest = fmax(nearest, check_share_of_solid(&request));
            }
        print_message("%s: at most %.2f of its share of solid\n", request.pattern, nearest);
    }
}

/* --- what must not make a coupon softer --- */

/* The tangent of the unloaded coupon without flaws [N/mm]. */
static double first_stiffness(sp_case request)
{
    request.flaw_seed = 0, request.strain = 1e-5, request.steps = 1;
    return relation_press(&request).stiffness;
}

static void check_not_softer(const sp_case *request, const char *what, double stiff, double soft)
{
    if (!(stiff >= soft * (1 - 1e-6)))
        fail_msg("%s, %d walls: %s makes it softer, %g after %g N/mm", request->pattern,
                 request->wall_beads, what, stiff, soft);
}

static void more_walls_are_not_softer(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        double before = 0;
        for (int walls = 0; walls <= 4 && relation_is_planar(i); walls++) {
            sp_case request = relation_coupon(i, 1);
            request.wall_beads = walls;
            const double now = first_stiffness(request);
            check_not_softer(&request, "a wall more", now, before);
            before = now;
        }
    }
}

/* Wider beads on the same lines do not make a coupon softer. */
static void wider_beads_are_not_softer(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int walls = 0; walls <= 1; walls++) {
            double before = 0;
            if (!relation_is_planar(i) || !relation_takes(i, 0, 2)) continue;
            for (double wide = 0.8; wide < 1.25; wide *= 1.1) {
                sp_case request = relation_coupon(i, 1);
                request.bead_width *= wide, request.density *= wide, request.wall_beads = walls;
                const double now = first_stiffness(request);
                check_not_softer(&request, "a wider bead", now, before);
                before = now;
            }
        }
}

/* Plane strain is stiffer than uniaxial strain, and a modulus scales: both over every law. */
static void stiffer_laws_are_not_softer(void **state)
{
    (void)state;
    int laws;
    const sp_law_row *law = sp_law_rows(&laws);
    for (int i = 0; i < laws; i++)
        for (int c = 0; c < relation_coupon_count(); c++) {
            char setting[128];
            if (!relation_is_planar(c) || !relation_takes(c + i, 0, 5)) continue;
            sp_case request = relation_coupon(c, 1);
            every_law_constants(law[i].name, &request);
            const char *file = every_law_write(law[i].name, setting, sizeof setting);
            snprintf(request.table_file, sizeof request.table_file, "%s", file);
            request.strain_state = SP_UNIAXIAL;
            const double uniaxial = first_stiffness(request);
            request.strain_state = SP_PLANE_STRAIN;
            check_not_softer(&request, law[i].name, first_stiffness(request), uniaxial);
            remove(file);
        }
}

/* A law with one more term carries more, all else equal: Yeoh and Gent carry more than the
 * neo-Hookean law of the same modulus. */
static void terms_of_a_law_add(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 2, 4)) continue;
        sp_case request = relation_coupon(i, 1);
        const relation_curve plain = relation_press(&request);
        coupon_set(&request, "material.law", "gent");
        request.gent_limit = 3;
        const relation_curve gent = relation_press(&request);
        coupon_set(&request, "material.law", "yeoh");
        request.c10 = request.modulus / 6, request.c20 = request.modulus, request.c30 = 0;
        const relation_curve yeoh = relation_press(&request);
        for (int k = 0; k < RELATION_POINTS; k++) {
            check_true(gent.work[k] >= plain.work[k] * (1 - 1e-4));
            check_true(yeoh.work[k] >= plain.work[k] * (1 - 1e-4));
        }
    }
}

/* Return the force at 0.3 % strain of a coupon without flaws. */
static double early_force(sp_case request, const char *hold, double coefficient)
{
    relation_put_hold(&request, hold);
    request.platen_friction = coefficient;
    request.flaw_seed = 0, request.strain = 0.003, request.steps = 6;
    return relation_press(&request).force[RELATION_POINTS - 1];
}

/* Friction platens lie between sliding and bonded ones, and the force grows with the
 * coefficient. */
static void friction_lies_between_sliding_and_bonded(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_takes(i, 0, 3)) continue;
        const sp_case request = relation_coupon(i, 1);
        double before = early_force(request, "sliding", 0);
        for (double coefficient = 1e-4; coefficient < 2; coefficient *= 10) {
            const double now = early_force(request, "friction", coefficient);
            check_not_softer(&request, "more friction", now, before);
            before = now;
        }
        check_not_softer(&request, "a bonded platen", early_force(request, "bonded", 0), before);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(measures_are_those_of_the_curve),
        cmocka_unit_test(mass_is_that_of_a_raster),
        cmocka_unit_test(none_is_stiffer_than_its_share_of_solid),
        cmocka_unit_test(more_walls_are_not_softer),
        cmocka_unit_test(wider_beads_are_not_softer),
        cmocka_unit_test(stiffer_laws_are_not_softer),
        cmocka_unit_test(terms_of_a_law_add),
        cmocka_unit_test(friction_lies_between_sliding_and_bonded),
    };
    return cmocka_run_group_tests_name("figures", tests, NULL, NULL);
}
