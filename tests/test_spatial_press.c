/* These tests check blocks of cells in space, from the case to the curve, against exact paths,
 * published stiffness and stability functions.
 *
 * (C) marks figures computed for this project from the closed form, see the table of README. */
#include "coupon.h"

#include "run/result.h"

#include "press/press.h"

static const double modulus = 1000; /* MPa */

/* Make `across` cells of `edge` mm in each direction, with round struts without joint zones and
 * flaws under a linear law. */
static void set_up(coupon *c, const char *pattern, int across, double edge, double diameter,
                   const char *hold, const char *poisson_ratio)
{
    char text[9][64];
    const char *settings[16];
    int n = 0;
    snprintf(text[0], 64, "infill.pattern=%s", pattern);
    snprintf(text[1], 64, "infill.cells=[%d, %d, %d]", across, across, across);
    snprintf(text[2], 64, "infill.strut_diameter=%.17g mm", diameter);
    snprintf(text[3], 64, "coupon.width=%.17g mm", across * edge);
    snprintf(text[4], 64, "coupon.height=%.17g mm", across * edge);
    snprintf(text[5], 64, "coupon.depth=%.17g mm", across * edge);
    snprintf(text[6], 64, "platens.hold=%s", hold);
    snprintf(text[7], 64, "material.poisson_ratio=%s", poisson_ratio);
    snprintf(text[8], 64, "material.modulus=%g MPa", modulus);
    for (; n < 9; n++) settings[n] = text[n];
    settings[n++] = "material.law=linear";
    settings[n++] = "material.strain_state=uniaxial";
    settings[n++] = "model.joint_zone=0";
    settings[n] = NULL;
    coupon_set_up(c, 0, settings);
}

/* Find dF/du of the first tangent (E13), and the same from the force of a small press. */
static double first_stiffness(const char *pattern, double edge, double diameter, const char *hold)
{
    coupon c;
    sp_path path;
    set_up(&c, pattern, 3, edge, diameter, hold, "0.35");
    coupon_press(&c, &(sp_press_options){.strain = 1e-4, .load_limit = INFINITY, .steps = 1},
                 &path);
    const double stiffness = path.step[0].stiffness;
    check_relative(path.step[1].force / path.step[1].shortening, stiffness, 1e-2);
    sp_path_free(&path);
    coupon_tear_down(&c);
    return stiffness;
}

/* The blocks have 3 x 3 x 3 cells, nu 0.35 and Cowper's shear factor; stiffness is in N/mm per 1000
 * MPa (C). */
static void test_blocks(void **unused)
{
    (void)unused;
    static const struct {
        const char *pattern;
        double edge, diameter, bonded, sliding;
    } row[] = {{"body-centred-cubic", 20, 1.2, 27.69, 1.84},
               {"body-centred-cubic", 20, 1.8, 70.22, 9.17},
               {"body-centred-cubic", 10, 0.9, 35.11, 4.59},
               {"kelvin", 10, 0.8, 34.33, 28.45}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        check_relative(first_stiffness(row[i].pattern, row[i].edge, row[i].diameter, "bonded"),
                       row[i].bonded, 0.01);
        check_relative(first_stiffness(row[i].pattern, row[i].edge, row[i].diameter, "sliding"),
                       row[i].sliding, 0.01);
    }
}

static void halve(sp_model *model, int strut)
{
    sp_spatial_section *section = &model->spatial_section[strut];
    for (int i = 0; i < section->points; i++) section->weight[i] *= 0.5;
    section->torsion_stiffness *= 0.5;
    for (int e = model->strut_element[strut]; e < model->strut_element[strut + 1]; e++)
        for (int i = 0; i < 2; i++) model->spatial[e].shear[i] *= 0.5;
}

/* Make one cell stand for an endless lattice: its faces are mirrors, which hold the turns of their
 * joints, let the side faces come out evenly and share the struts that lie in them with the cell
 * beyond. */
static void make_mirrors(sp_model *model)
{
    model->unknown_count = 0;
    for (int j = 0; j < model->network->joint_count; j++) {
        const double *p = model->network->joint_position + 3 * j;
        unsigned char *hold = model->hold + 6 * j;
        int mirrors = model->network->joint_face[j] != 0;
        for (int d = 0; d < 3; d += 2) {
            hold[d] = p[d] < 1e-9 ? SP_HELD : SP_FREE;
            mirrors += p[d] < 1e-9 || p[d] > model->network->size[d] - 1e-9;
        }
        for (int d = 3; d < 6 && mirrors; d++) hold[d] = SP_HELD;
    }
    for (int s = 0; s < model->network->strut_count; s++) {
        const int *joint = model->network->strut_joint + 2 * s;
        const double *p = model->network->joint_position + 3 * joint[0],
                     *q = model->network->joint_position + 3 * joint[1];
        for (int d = 0; d < 3; d++)
            if (fabs(p[d] - q[d]) < 1e-9 && (p[d] < 1e-9 || p[d] > model->network->size[d] - 1e-9))
                halve(model, s);
    }
    for (int i = 0; i < 6 * model->node_count; i++)
        model->unknown[i] = model->hold[i] == SP_FREE ? model->unknown_count++ : -1;
}

/* Return the force of one such cell at a strain / (EI / l^2), where l is the length of a strut. */
static double cell_force(const char *pattern, double strut_length, double strain)
{
    const double edge = 10, diameter = 0.02 * edge * strut_length, length = edge * strut_length;
    coupon c;
    sp_path path;
    set_up(&c, pattern, 1, edge, diameter, "sliding", "0.3");
    make_mirrors(&c.model);
    coupon_press(&c, &(sp_press_options){.strain = strain, .load_limit = INFINITY, .steps = 20},
                 &path);
    const double bending = modulus * M_PI * pow(diameter, 4) / 64;
    const double force = path.step[path.step_count - 1].force * length * length / bending;
    coupon_check_steps(&path, 1e-4);
    sp_path_free(&path);
    coupon_tear_down(&c);
    return force;
}

/* Every inclined strut is an elastica between guided ends, four of them side by side carry P l^2/EI
 * each (C: elliptic integrals; Mattiasson 1981 for the 45 degrees of the Kelvin cell, Zhu, Knott &
 * Mills 1997 for the cell). */
static void test_exact_paths(void **unused)
{
    (void)unused;
    static const double body_centred[][2] = {
        {1, 0.104676984975}, {3, 0.361617694977}, {5, 0.653552292511}};
    static const double kelvin[][2] = {{1, 0.06554646705}, {3, 0.2409059198}, {5, 0.4688731732}};
    for (int i = 0; i < 3; i++) {
        check_relative(cell_force("body-centred-cubic", sqrt(3) / 2, body_centred[i][1]),
                       4 * body_centred[i][0], 5e-3);
        check_relative(cell_force("kelvin", sqrt(0.125), kelvin[i][1]), 4 * kelvin[i][0], 5e-3);
    }
}

/* --- critical step of a simple cubic block by stability functions (Timoshenko & Gere 1961, chapter
 * 2) --- */

enum { STOREYS = 3, LAYER = 16, JOINTS = LAYER * (STOREYS - 1), SIZE = 6 * JOINTS };

/* Find the stiffness by deflection and turn of both ends of a strut under the compression P, u^2 =
 * P l^2/EI; EI = l = 1. */
static void strut_functions(double u, double k[4][4])
{
    double a = 12, b = 6, c = 4, d = 2;
    if (u > 1e-6) {
        const double s = sin(u), t = cos(u), phi = 2 - 2 * t - u * s;
        a = u * u * u * s / phi;
        b = u * u * (1 - t) / phi;
        c = u * (s - u * t) / phi;
        d = u * (u - s) / phi;
    }
    const double full[4][4] = {{a, b, -a, b}, {b, c, -b, d}, {-a, -b, a, -b}, {b, d, -b, c}};
    memcpy(k, full, sizeof full);
}

/* Add a strut along axis `along` between two joints (negative: held). Axial stiffness over bending,
 * and torsion. */
static void add_strut(double *matrix, int from, int to, int along, double u, double axial,
                      double torsion)
{
    double k[4][4];
    strut_functions(u, k);
    const int joint[2] = {from, to};
    for (int plane = 0; plane < 2; plane++) {
        const int side = (along + 1 + plane) % 3, axis = 3 + (along + 2 - plane) % 3;
        const double sign = plane ? -1 : 1; /* the turn that lifts the far end */
        for (int i = 0; i < 4; i++)
            for (int j = 0; j < 4; j++) {
                const int a = joint[i / 2], b = joint[j / 2];
                if (a < 0 || b < 0) continue;
                const int row = 6 * a + (i % 2 ? axis : side),
                          column = 6 * b + (j % 2 ? axis : side);
                matrix[SIZE * row + column] += k[i][j] * (i % 2 ? sign : 1) * (j % 2 ? sign : 1);
            }
    }
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++) {
            const int a = joint[i], b = joint[j];
            if (a < 0 || b < 0) continue;
            const double sign = i == j ? 1 : -1;
            matrix[SIZE * (6 * a + along) + 6 * b + along] += sign * axial;
            matrix[SIZE * (6 * a + 3 + along) + 6 * b + 3 + along] += sign * torsion;
        }
}

static int joint_of(int x, int y, int z)
{
    return y <= 0 || y >= STOREYS ? -1 : LAYER * (y - 1) + 4 * z + x;
}

/* Return 1 when the block between bonded platens is stable under P l^2/EI = load in every column.
 */
static int is_stable(double load, double axial, double torsion)
{
    double *k = calloc((size_t)SIZE * SIZE, sizeof *k);
    int stable = 1;
    for (int y = 0; y <= STOREYS; y++)
        for (int i = 0; i < LAYER; i++) {
            const int x = i % 4, z = i / 4;
            if (y < STOREYS)
                add_strut(k, joint_of(x, y, z), joint_of(x, y + 1, z), 1, sqrt(load), axial,
                          torsion);
            if (x < 3) add_strut(k, joint_of(x, y, z), joint_of(x + 1, y, z), 0, 0, axial, torsion);
            if (z < 3) add_strut(k, joint_of(x, y, z), joint_of(x, y, z + 1), 2, 0, axial, torsion);
        }
    for (int j = 0; j < SIZE && stable; j++) { /* Cholesky */
        for (int i = j; i < SIZE; i++) {
            double sum = k[SIZE * i + j];
            for (int m = 0; m < j; m++) sum -= k[SIZE * i + m] * k[SIZE * j + m];
            if (i == j && !(sum > 0)) {
                stable = 0;
                break;
            }
            k[SIZE * i + j] = i == j ? sqrt(sum) : sum / k[SIZE * j + j];
        }
    }
    free(k);
    return stable;
}

static double critical_load(double axial, double torsion)
{
    double low = 0.1, high = 4 * M_PI * M_PI * 0.999;
    check_true(is_stable(low, axial, torsion));
    while (high - low > 1e-3 * high) {
        const double middle = 0.5 * (low + high);
        if (is_stable(middle, axial, torsion))
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

static void test_critical_step_of_columns(void **unused)
{
    (void)unused;
    const double edge = 10, diameter = 0.25, poisson = 0.3;
    const double bending = modulus * M_PI * pow(diameter, 4) / 64;
    const double axial = 16 * pow(edge / diameter, 2), torsion = 1 / (1 + poisson);
    coupon c;
    sp_path path;
    set_up(&c, "simple-cubic", STOREYS, edge, diameter, "bonded", "0.3");
    coupon_press(&c,
                 &(sp_press_options){.strain = 0.01,
                                     .load_limit = INFINITY,
                                     .steps = 40,
                                     .follow_perfect = 1,
                                     .stop_at_critical = 1},
                 &path);
    check_true(path.critical.found && path.critical.kind == SP_CRITICAL_BIFURCATION);
    check_relative(path.critical.force / LAYER * edge * edge / bending,
                   critical_load(axial, torsion), 0.01);
    /* The columns carry the mode, side by side. */
    check_true(path.critical.strut_count == 8 && path.shapes.mode != NULL);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

static void test_critical_step_of_kelvin_block(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    set_up(&c, "kelvin", 2, 10, 0.5, "sliding", "0.3");
    coupon_press(&c,
                 &(sp_press_options){.strain = 0.6,
                                     .load_limit = INFINITY,
                                     .steps = 120,
                                     .follow_perfect = 1,
                                     .stop_at_critical = 1},
                 &path);
    check_true(path.critical.found && path.shapes.mode != NULL);
    coupon_check_steps(&path, 1e-4);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_blocks),
        cmocka_unit_test(test_exact_paths),
        cmocka_unit_test(test_critical_step_of_columns),
        cmocka_unit_test(test_critical_step_of_kelvin_block),
    };
    return cmocka_run_group_tests_name("space press", tests, NULL, NULL);
}
