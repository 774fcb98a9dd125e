/* These tests check spatial networks: cells in a coupon, plates and frames, flaws, joint zones and
 * figures. */
#include "connected.h"
#include "coupon.h"

#include <strutpress/inspect.h>
#include <strutpress/network.h>

#include "base/alloc.h"
#include "spatial/plan.h"
#include "temporary_file.h"

static int cautions;
static void count_caution(void *user, const char *line)
{
    (void)user, (void)line;
    cautions++;
}

/* Make a case from settings "key=value", ended by NULL. */
static void settle(sp_case *request, const char *const *settings)
{
    sp_context context = {0};
    sp_case_default(request);
    for (int i = 0; settings[i]; i++) {
        char key[64];
        const char *equal = strchr(settings[i], '=');
        snprintf(key, sizeof key, "%.*s", (int)(equal - settings[i]), settings[i]);
        if (sp_case_set(&context, request, key, equal + 1) != SP_OK)
            fail_msg("%s", context.message);
    }
}

static sp_network build(const sp_case *request, int with_flaws)
{
    sp_context context = {.warn = count_caution};
    sp_case copy = *request;
    sp_network network = {0};
    if (coupon_settle(&context, &copy) != SP_OK ||
        sp_network_build(&context, &copy, with_flaws, &network) != SP_OK)
        fail_msg("%s: %s", request->pattern, context.message);
    return network;
}

#define BUILD(flaws, ...)                                                                          \
    (settle(&asked, (const char *const[]){"coupon.width=20", "coupon.height=20",                   \
                                          "coupon.depth=20", __VA_ARGS__, NULL}),                  \
     build(&asked, flaws))
static sp_case asked;

static const double *joint_at(const sp_network *network, int strut, int end)
{
    return network->joint_position + 3 * network->strut_joint[2 * strut + end];
}

static double dot(const double *a, const double *b)
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Return the distance of two segments by alternating projection from several starts: slow, and
 * independent of the library. */
static double segment_distance(const double *a, const double *b, const double *c, const double *d)
{
    double best = INFINITY;
    for (int start = 0; start <= 4; start++) {
        double s = start / 4.0, t = 0, x[3] = {0};
        for (int i = 0; i < 60; i++) {
            double u[3], v[3], w[3];
            for (int k = 0; k < 3; k++)
                u[k] = b[k] - a[k], v[k] = d[k] - c[k], w[k] = a[k] + s * u[k] - c[k];
            t = fmin(1, fmax(0, dot(w, v) / dot(v, v)));
            for (int k = 0; k < 3; k++) w[k] = c[k] + t * v[k] - a[k];
            s = fmin(1, fmax(0, dot(w, u) / dot(u, u)));
            for (int k = 0; k < 3; k++) x[k] = a[k] + s * u[k] - c[k] - t * v[k];
        }
        best = fmin(best, sqrt(dot(x, x)));
    }
    return best;
}

/* Check that struts do not cross. In a perfect network they are apart by a good part of the 0.3
 * within which they are joined away from their ends; with moved joints they may be nearer. */
static void check_no_crossing(const sp_network *network, double clear)
{
    for (int s = 0; s < network->strut_count; s++)
        for (int t = 0; t < s; t++) {
            const int *p = network->strut_joint + 2 * s, *q = network->strut_joint + 2 * t;
            if (p[0] == q[0] || p[0] == q[1] || p[1] == q[0] || p[1] == q[1]) continue;
            const double *a = joint_at(network, s, 0), *b = joint_at(network, s, 1);
            const double *c = joint_at(network, t, 0), *d = joint_at(network, t, 1);
            int apart = 0;
            for (int k = 0; k < 3; k++)
                apart |= fmax(a[k], b[k]) < fmin(c[k], d[k]) - 0.1 ||
                         fmax(c[k], d[k]) < fmin(a[k], b[k]) - 0.1;
            if (apart) continue;
            double gap = segment_distance(a, b, c, d);
            if (!(gap > clear * fmin(network->strut_thickness[s], network->strut_thickness[t])))
                fail_msg("%s: struts from %.4g %.4g %.4g to %.4g %.4g %.4g and from %.4g %.4g %.4g "
                         "to %.4g %.4g %.4g are %.4g apart",
                         asked.pattern, a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2], d[0],
                         d[1], d[2], gap);
        }
}

/* Check what holds for every spatial network. */
static void check_network(const sp_network *network, int with_flaws)
{
    int count = network->joint_count, lower = 0, upper = 0;
    int *degree = calloc((size_t)count, sizeof *degree);
    check_true(degree != NULL);
    assert_int_equal(network->dimension, 3);
    for (int s = 0; s < network->strut_count; s++) {
        const double *a = joint_at(network, s, 0), *b = joint_at(network, s, 1);
        const double *up = network->strut_up + 3 * s;
        double d[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]}, length = sqrt(dot(d, d));
        check_true(length > (with_flaws ? 0.1 : 0.3 - 1e-9) * network->strut_thickness[s]);
        check_close(dot(up, up), 1, 1e-12);
        check_close(dot(up, d) / length, 0, 1e-12);
        check_true(sp_network_free_length(network, s) > 0.09 * length);
        check_true(network->strut_thickness[s] > 0 && network->strut_height[s] == 0);
        if (!with_flaws) check_close(network->strut_bow[s], 0, 0);
        for (int k = 0; k < 2; k++) degree[network->strut_joint[2 * s + k]]++;
    }
    for (int n = 0; n < count; n++) {
        const double *at = network->joint_position + 3 * n;
        for (int k = 0; k < 3; k++) check_true(at[k] >= 0 && at[k] <= network->size[k]);
        int face =
            (at[1] == 0 ? SP_FACE_LOWER : 0) | (at[1] == network->size[1] ? SP_FACE_UPPER : 0);
        assert_int_equal(network->joint_face[n], face);
        lower += face == SP_FACE_LOWER, upper += face == SP_FACE_UPPER;
        check_true(degree[n] > 1 || (degree[n] == 1 && face)); /* no free end */
    }
    check_true(lower > 0 && upper > 0);
    check_connected(network);
    check_true(network->solid_fraction > 0 && network->solid_fraction < 1);
    check_no_crossing(network, with_flaws ? 0.02 : 0.1);
    free(degree);
}

/* The rules hold for every row, perfect and with flaws, whole and cut, with and without plates and
 * frames. */
static void test_rules_hold_for_every_pattern(void **state)
{
    (void)state;
    int count;
    const sp_cell_row *rows = sp_cell_rows(&count);
    static const char *const ways[][5] = {
        {"infill.density=10%", "infill.cells=3,3,3", "flaws.missing=0%", "flaws.seed=3", NULL},
        {"infill.density=8%", "infill.cells=2,2,2", "infill.face_plates=grillage",
         "infill.side_frames=yes", NULL},
        {"infill.density=8%", "infill.cell_size=6.1", "infill.direction=1,2,3", "infill.turn=20",
         NULL},
        {"infill.density=8%", "infill.cells=2,2,2", "infill.direction=1,1,1",
         "infill.side_frames=yes", NULL},
        {"infill.density=10%", "infill.cells=3,3,3", "flaws.missing=5%", "flaws.joint_offset=20%",
         NULL},
    };
    for (int i = 0; i < count; i++)
        for (size_t w = 0; w < sizeof ways / sizeof *ways; w++)
            for (int flaws = 0; flaws < 2; flaws++) {
                char pattern[64];
                /* one way for each */
                if (coupon_quick() && (((size_t)i + w) % 5 || flaws != i % 2)) continue;
                snprintf(pattern, sizeof pattern, "infill.pattern=%s", rows[i].name);
                sp_network network =
                    BUILD(flaws, pattern, ways[w][0], ways[w][1], ways[w][2], ways[w][3]);
                check_network(&network, flaws);
                sp_network_free(&network);
            }
}

/* In n^3 whole cells joints and struts are as many as counted by hand, including what the faces
 * share, and the density is that of the endless lattice. Kelvin cells have 24 joints and 36 struts
 * about each body, the 4 of a square shared by two. */
static void test_whole_cells(void **state)
{
    (void)state;
    enum { N = 3, F = 3 * N * N * (N + 1) }; /* faces of N^3 cubes */
    static const struct {
        const char *pattern;
        int joints, struts;
    } rows[] = {
        {"infill.pattern=simple-cubic", (N + 1) * (N + 1) * (N + 1), 3 * N * (N + 1) * (N + 1)},
        {"infill.pattern=body-centred-cubic", (N + 1) * (N + 1) * (N + 1) + N * N * N,
         8 * N * N * N},
        {"infill.pattern=face-centred-cubic", (N + 1) * (N + 1) * (N + 1) + F, 4 * F},
        {"infill.pattern=octet-truss", (N + 1) * (N + 1) * (N + 1) + F, 4 * F + 12 * N * N * N},
        {"infill.pattern=kelvin", 4 * F, 4 * F + 12 * N * N * N},
        {"infill.pattern=rhombic-dodecahedral", (N + 1) * (N + 1) * (N + 1) + F + 8 * N * N * N,
         32 * N * N * N},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        sp_network network = BUILD(0, rows[i].pattern, "infill.cells=3,3,3", "infill.density=10%");
        /* Two struts in a row on an edge of the box become one when nothing else meets there. */
        assert_int_equal(network.dropped_pieces + network.dropped_stubs, 0);
        assert_int_equal(network.joint_count, rows[i].joints);
        assert_int_equal(network.strut_count, rows[i].struts);
        check_relative(network.nominal_density, 0.1, 1e-9);
        check_relative(network.cell_size, 20.0 / 3, 1e-12);
        sp_network_free(&network);
    }
}

/* The mirror image of a network in the middle plane of each axis is the network. */
static void test_symmetry(void **state)
{
    (void)state;
    static const char *const patterns[] = {"infill.pattern=simple-cubic",
                                           "infill.pattern=body-centred-cubic",
                                           "infill.pattern=face-centred-cubic",
                                           "infill.pattern=octet-truss",
                                           "infill.pattern=kelvin",
                                           "infill.pattern=rhombic-dodecahedral",
                                           "infill.pattern=re-entrant-cubic"};
    for (size_t i = 0; i < sizeof patterns / sizeof *patterns; i++) {
        sp_network network = BUILD(0, patterns[i], "infill.cells=2,2,2", "infill.density=8%",
                                   "infill.face_plates=grillage", "infill.side_frames=yes");
        for (int k = 0; k < 3; k++)
            for (int n = 0; n < network.joint_count; n++) {
                double image[3], best = INFINITY;
                memcpy(image, network.joint_position + 3 * n, sizeof image);
                image[k] = network.size[k] - image[k];
                for (int m = 0; m < network.joint_count; m++) {
                    const double *at = network.joint_position + 3 * m;
                    best = fmin(best, fabs(at[0] - image[0]) + fabs(at[1] - image[1]) +
                                          fabs(at[2] - image[2]));
                }
                check_close(best, 0, 1e-12);
            }
        sp_network_free(&network);
    }
}

/* In cubes pressed along [111], [110] and [100] struts have the known angles with the pressing
 * direction. */
static void test_direction(void **state)
{
    (void)state;
    static const struct {
        const char *direction;
        double cosine[3];
    } rows[] = {
        {"infill.direction=1,1,1", {0.57735026918962573, 0.57735026918962573, 0.57735026918962573}},
        {"infill.direction=1,1,0", {0.70710678118654757, 0.70710678118654757, 0}},
        {"infill.direction=1,0,0", {1, 0, 0}},
        {"infill.direction=0,-1,0", {1, 0, 0}}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        sp_network network = BUILD(0, "infill.pattern=simple-cubic", rows[i].direction,
                                   "infill.cell_size=4", "infill.density=5%", "infill.turn=15");
        for (int s = 0; s < network.strut_count; s++) {
            const double *a = joint_at(&network, s, 0), *b = joint_at(&network, s, 1);
            double length = sp_network_strut_length(&network, s), off = INFINITY;
            if (a[1] * b[1] == 0 || a[1] == 20 || b[1] == 20)
                continue; /* may be drawn to the face */
            for (int k = 0; k < 3; k++)
                off = fmin(off, fabs(fabs(b[1] - a[1]) / length - rows[i].cosine[k]));
            check_close(off, 0, 1e-9);
        }
        sp_network_free(&network);
    }
}

/* Cells of 4 mm do not fit 18 mm: struts beyond the far sides are cut off, and the platens hold
 * those that stand on them. */
static void test_cut_cells(void **state)
{
    (void)state;
    sp_network network =
        BUILD(0, "infill.pattern=simple-cubic", "infill.cell_size=4", "coupon.width=18",
              "coupon.height=18", "coupon.depth=18", "infill.strut_diameter=0.5mm");
    double farthest = 0;
    for (int n = 0; n < network.joint_count; n++)
        farthest = fmax(farthest, network.joint_position[3 * n]);
    check_close(farthest, 16, 1e-9);
    /* There are 5 x 5 columns over 5 levels, with half cells up to the upper platen. */
    assert_int_equal(network.joint_count, 5 * 5 * 5 + 25);
    assert_int_equal(network.strut_count, 5 * 5 * 4 * 3 - 0 + 25);
    sp_network_free(&network);
}

/* Cubes of 2 cells already have the 12 edges of 2 struts each. Body-centred blocks get 24 frame
 * struts, and 3 + 3 rows of 2 struts on either face through its 9 joints; frame and plates share
 * their 8 outer struts on each face. */
static void test_plates_and_frames(void **state)
{
    (void)state;
    static const struct {
        const char *pattern, *plates, *frames;
        int walls;
    } rows[] = {
        {"infill.pattern=simple-cubic", "infill.face_plates=grillage", "infill.side_frames=yes", 0},
        {"infill.pattern=body-centred-cubic", "infill.face_plates=none", "infill.side_frames=yes",
         24},
        {"infill.pattern=body-centred-cubic", "infill.face_plates=grillage",
         "infill.side_frames=no", 24},
        {"infill.pattern=body-centred-cubic", "infill.face_plates=grillage",
         "infill.side_frames=yes", 24 + 24 - 16},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        int walls = 0;
        sp_network network = BUILD(0, rows[i].pattern, rows[i].plates, rows[i].frames,
                                   "infill.cells=2,2,2", "infill.density=5%");
        for (int s = 0; s < network.strut_count; s++)
            walls += network.strut_role[s] == SP_ROLE_WALL;
        assert_int_equal(walls, rows[i].walls);
        check_relative(network.nominal_density, 0.05, 1e-9);
        sp_network_free(&network);
    }
}

/* Zones at right angles are (t + t cos 90)/2 / sin 90 = t/2. In body-centred blocks eight struts
 * meet at cos = 1/3: (t/2)(1 + 1/3)/ sqrt(8/9) = t/sqrt(2), E39 in the plane of the two struts; 0.6
 * of it does not bend where corners are sharp (E145). */
static void test_zones(void **state)
{
    (void)state;
    static const char *const patterns[] = {"infill.pattern=simple-cubic",
                                           "infill.pattern=body-centred-cubic"};
    const double want[] = {0.5, 0.70710678118654757};
    for (int i = 0; i < 2; i++) {
        sp_network network = BUILD(0, patterns[i], "infill.cells=4,4,4", "infill.density=3%");
        int inner = 0;
        for (int s = 0; s < network.strut_count; s++)
            for (int k = 0; k < 2; k++) {
                const double *at = joint_at(&network, s, k);
                if (at[0] == 0 || at[2] == 0 || at[1] == 0 || at[0] == 20 || at[1] == 20 ||
                    at[2] == 20)
                    continue;
                check_relative(network.strut_zone[2 * s + k],
                               0.6 * want[i] * network.strut_thickness[s], 1e-9);
                inner++;
            }
        check_true(inner > 100);
        sp_network_free(&network);
    }
}

/* The union of three crossing cylinders (Steinmetz solids: two share d^3 2/3, three (2 - sqrt 2)
 * d^3) has per cube of side a the volume 3 pi d^2 a/4 - sqrt(2) d^3. */
static void test_solid_fraction_of_cubes(void **state)
{
    (void)state;
    static const char *const density[] = {"infill.density=2%", "infill.density=10%",
                                          "infill.density=30%"};
    for (int i = 0; i < 3; i++) {
        sp_network network =
            BUILD(0, "infill.pattern=simple-cubic", "infill.cells=3,3,3", density[i]);
        double d = network.strut_thickness[0] * 3 / 20;
        check_relative(network.solid_fraction, 3 * M_PI * d * d / 4 - sqrt(2) * d * d * d, 1e-3);
        sp_network_free(&network);
    }
}

/* Return the i-th of evenly spread numbers in a base (Halton 1960). */
static double halton(int i, int base)
{
    double share = 1, value = 0;
    for (; i > 0; i /= base) share /= base, value += share * (i % base);
    return value;
}

/* The solid fraction of every pattern is compared with counted points: 40 000 of them leave a
 * scatter of about 0.5 % of the solid at 20 %. */
static void test_solid_fraction_by_points(void **state)
{
    (void)state;
    int count, points = 40000;
    const sp_cell_row *rows = sp_cell_rows(&count);
    for (int i = 0; i < count; i++) {
        char pattern[64];
        if (coupon_quick() && i % 8) continue;
        snprintf(pattern, sizeof pattern, "infill.pattern=%s", rows[i].name);
        sp_network network = BUILD(1, pattern, "infill.cells=2,2,2", "infill.density=20%");
        int solid = 0;
        for (int n = 1; n <= points; n++) {
            double p[3] = {20 * halton(n, 2), 20 * halton(n, 3), 20 * halton(n, 5)};
            int in = 0;
            for (int s = 0; !in && s < network.strut_count; s++) {
                const double *a = joint_at(&network, s, 0), *b = joint_at(&network, s, 1);
                double d[3], w[3];
                for (int k = 0; k < 3; k++) d[k] = b[k] - a[k], w[k] = p[k] - a[k];
                double t = fmin(1, fmax(0, dot(w, d) / dot(d, d)));
                for (int k = 0; k < 3; k++) w[k] -= t * d[k];
                in = sqrt(dot(w, w)) < 0.5 * network.strut_thickness[s];
            }
            solid += in;
        }
        check_relative(network.solid_fraction, (double)solid / points, 0.015);
        sp_network_free(&network);
    }
}

/* Two rectangular struts that cross at right angles overlap in one corner block. */
static void test_solid_fraction_of_rectangles(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_graph graph = sp_spatial_graph((const double[3]){10, 10, 10});
    sp_network network;
    const sp_strut like = {.thickness = 2, .height = 1, .up = {0, 0, 1}, .role = SP_ROLE_WALL};
    const double ends[4][3] = {{5, 0, 5}, {5, 10, 5}, {0, 0, 5}, {10, 0, 5}};
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; i < 2; i++)
        assert_int_equal(
            sp_graph_add_clipped(&context, &graph, ends[2 * i], ends[2 * i + 1], &like), SP_OK);
    request.width = request.height = request.depth = 10;
    assert_int_equal(sp_graph_clean(&context, &request, "infill.network", &graph), SP_OK);
    assert_int_equal(sp_graph_finish(&context, &request, 0, &graph, &network), SP_OK);
    assert_int_equal(network.joint_count, 4);
    assert_int_equal(network.strut_count, 3);
    /* The solid is the upright 10 x 2 x 1, foot 10 x 2 x 1/2 in the box, corner 1 x 2 x 1/2 counted
     * once */
    check_relative(network.solid_fraction, (20 + 10 - 1) / 1000.0, 3e-3);
    for (int s = 0; s < 3; s++) check_relative(network.strut_height[s], 1, 0);
    sp_network_free(&network);
    sp_graph_free(&graph);
}

static int same_array(const double *a, const double *b, int count)
{
    return memcmp(a, b, (size_t)count * sizeof *a) == 0;
}

/* The same seed gives the same network; one kind of flaw leaves the others as they were. */
static void test_flaws(void **state)
{
    (void)state;
#define FLAWED(...)                                                                                \
    BUILD(1, "infill.pattern=body-centred-cubic", "infill.cells=3,3,3", "infill.density=10%",      \
          __VA_ARGS__)
    sp_network first = FLAWED("flaws.seed=4"), again = FLAWED("flaws.seed=4");
    sp_network other = FLAWED("flaws.seed=5"),
               still = FLAWED("flaws.seed=4", "flaws.joint_offset=0");
    sp_network straight = FLAWED("flaws.seed=4", "flaws.bow=0");
    sp_network few = FLAWED("flaws.seed=4", "flaws.missing=10%");
    int struts = first.strut_count, joints = first.joint_count;
    check_true(same_array(first.joint_position, again.joint_position, 3 * joints));
    check_true(same_array(first.strut_up, again.strut_up, 3 * struts));
    check_true(same_array(first.strut_bow, again.strut_bow, struts));
    check_true(!same_array(first.joint_position, other.joint_position, 3 * joints));
    check_true(same_array(first.strut_thickness, still.strut_thickness, struts));
    check_true(same_array(first.joint_position, straight.joint_position, 3 * joints));
    assert_int_equal(few.strut_count, 216 - 22 - few.dropped_pieces - few.dropped_stubs);
    double mean = 0, square = 0, turn[3] = {0};
    for (int s = 0; s < struts; s++) {
        double scatter = first.strut_thickness[s] / still.strut_thickness[s];
        check_close(scatter, 1, 0);
        mean += first.strut_bow[s] / sp_network_strut_length(&first, s) / struts;
        square += pow(first.strut_bow[s] / sp_network_strut_length(&first, s), 2) / struts;
        for (int k = 0; k < 3; k++) turn[k] += first.strut_up[3 * s + k] / struts;
    }
    check_close(mean, 0, 4 * 0.005 / sqrt(struts));
    check_relative(sqrt(square), 0.005, 0.2);
    for (int k = 0; k < 3; k++) check_close(turn[k], 0, 0.2);
    /* Joints move by 5 % of the diameter in each direction; those on platens and sides stay on
     * them. */
    double moved = 0;
    int free_joints = 0;
    for (int n = 0; n < joints; n++)
        for (int k = 0; k < 3; k++) {
            double at = still.joint_position[3 * n + k], d = first.joint_position[3 * n + k] - at;
            if (at == 0 || at == 20)
                check_close(d, 0, 0);
            else
                moved += d * d, free_joints++;
        }
    check_relative(sqrt(moved / free_joints), 0.05 * 0.9037607807, 0.2);
    sp_network *all[] = {&first, &again, &other, &still, &straight, &few};
    for (int i = 0; i < 6; i++) sp_network_free(all[i]);
}

/* Two of density, cell and diameter give the third: simple cubic cells have 3/a of line per a^2. */
static void test_two_give_the_third(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    int density = -1;
    for (int i = 0; i < sp_parameter_count(); i++)
        if (!strcmp(sp_parameter_at(i).key, "infill.density")) density = i;
    settle(&request, (const char *const[]){"infill.pattern=simple-cubic", "infill.cell_size=5",
                                           "infill.strut_diameter=1mm", NULL});
    for (int twice = 0; twice < 2; twice++) {
        assert_int_equal(coupon_settle(&context, &request), SP_OK);
        check_relative(request.density, 3 * M_PI / 4 / 25, 1e-12);
        assert_int_equal(request.origin[density], SP_ORIGIN_DERIVED);
        assert_int_equal(request.strain_state, SP_UNIAXIAL);
    }
    settle(&request, (const char *const[]){"infill.pattern=simple-cubic", "infill.density=10%",
                                           "infill.strut_diameter=1mm", NULL});
    assert_int_equal(coupon_settle(&context, &request), SP_OK);
    check_relative(request.cell_size, sqrt(3 * M_PI / 4 / 0.1), 1e-12);
    settle(&request, (const char *const[]){"infill.pattern=simple-cubic", "infill.density=10%",
                                           "infill.cell_size=4", NULL});
    assert_int_equal(coupon_settle(&context, &request), SP_OK);
    check_relative(request.strut_diameter, sqrt(0.1 * 16 * 4 / (3 * M_PI)), 1e-12);
}

/* Random cells meet the wanted density with the struts that are left of them. */
static void test_foam_density(void **state)
{
    (void)state;
    static const char *const ways[] = {"infill.cells=4,4,4", "infill.cell_size=5",
                                       "infill.strut_diameter=0.7mm"};
    for (int i = 0; i < (coupon_quick() ? 1 : 3); i++) {
        sp_network network = BUILD(0, "infill.pattern=voronoi-foam", "infill.density=10%", ways[i]);
        check_relative(network.nominal_density, 0.1, 0.01);
        sp_network_free(&network);
    }
    /* With many cells, flat triangles of short struts must not be cut for ever. */
    sp_network network =
        BUILD(0, "infill.pattern=voronoi-foam", "infill.density=10%",
              coupon_quick() ? "infill.cells=5,5,5" : "infill.cells=8,8,8", "infill.regularity=0");
    check_relative(network.nominal_density, 0.1, 0.01);
    sp_network_free(&network);
    network = BUILD(0, "infill.pattern=voronoi-foam", "infill.cells=4,4,4",
                    "infill.strut_diameter=0.7mm");
    sp_context context = {0};
    assert_int_equal(coupon_settle(&context, &asked), SP_OK);
    check_relative(asked.density, network.nominal_density, 0.01);
    sp_network_free(&network);
}

/* The figures are the slenderness 4 l_f/d and the cells across, with cautions for planar keys and
 * for stretched cells. */
static void test_inspection(void **state)
{
    (void)state;
    sp_context context = {.warn = count_caution};
    sp_inspection in;
    cautions = 0;
    sp_network network =
        BUILD(0, "infill.pattern=simple-cubic", "infill.cells=5,5,5", "infill.density=2%");
    assert_int_equal(coupon_settle(&context, &asked), SP_OK);
    assert_int_equal(sp_inspect(&context, &asked, &network, &in), SP_OK);
    assert_int_equal(cautions, 0);
    double d = network.strut_thickness[0];
    check_relative(in.slenderness_median, 4 * (4 - 0.6 * d) / d, 1e-9);
    check_relative(in.cells_across, 5, 1e-12);
    check_relative(in.law_modulus, 30, 1e-6); /* E, not 4 E/3 */
    sp_network_free(&network);
    network = BUILD(0, "infill.pattern=simple-cubic", "infill.cells=5,4,5", "infill.angle=30");
    assert_int_equal(cautions, 2);
    sp_network_free(&network);
}

/* Two pyramids side by side in a drawing are both pressed; a third that stands on one platen only,
 * and a ring that touches none, are left out and counted. */
static void test_pieces(void **state)
{
    (void)state;
    sp_case request;
    char left_out[SP_LEFT_OUT_SIZE];
    settle(&request, (const char *const[]){"coupon.width=30", "coupon.height=10", "coupon.depth=8",
                                           "infill.pattern=drawn", NULL});
    write_temporary_file(
        request.network_file, sizeof request.network_file,
        "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\nPOINTS 17 double\n"
        "0 0 0  8 0 0  8 0 8  0 0 8  4 10 4\n"      /* feet and top */
        "12 0 0  20 0 0  20 0 8  12 0 8  16 10 4\n" /* the same, further on */
        "24 0 2  30 0 2  27 0 6  27 6 4\n"          /* too low */
        "9 8 1  10 8 7  11 8 1\n"                   /* in the air */
        "LINES 14 42\n2 0 4\n2 1 4\n2 2 4\n2 3 4\n2 5 9\n2 6 9\n2 7 9\n2 8 9\n"
        "2 10 13\n2 11 13\n2 12 13\n2 14 15\n2 15 16\n2 16 14\n");
    sp_network network = build(&request, 0);
    remove(request.network_file);
    check_network(&network, 0);
    assert_int_equal(network.piece_count, 2);
    assert_int_equal(network.strut_count, 8);
    assert_int_equal(network.dropped_one_platen, 3);
    assert_int_equal(network.dropped_no_platen, 3);
    assert_int_equal(network.dropped_pieces, 6);
    sp_network_left_out(&network, left_out);
    assert_string_equal(left_out, "3 struts of pieces that touch one platen only, 3 struts of "
                                  "pieces that touch no platen");
    sp_network_free(&network);
}

/* Whichever allocation fails, nothing is left and the status says so. */
static void test_out_of_memory(void **state)
{
    (void)state;
    static const char *const patterns[] = {"infill.pattern=kelvin", "infill.pattern=voronoi-foam"};
    for (int i = 0; i < 2; i++) {
        sp_context context = {0};
        sp_case request;
        sp_network network;
        settle(&request,
               (const char *const[]){patterns[i], "infill.cells=1,1,1", "infill.density=5%",
                                     "flaws.missing=3%", "infill.face_plates=grillage", NULL});
        long before = sp_alloc_count(), nth = 0;
        sp_status status;
        do {
            nth += coupon_quick() ? 3 : 1;
            sp_alloc_fail_at(nth);
            status = sp_network_build(&context, &request, 1, &network);
            sp_alloc_fail_at(0);
            sp_network_free(&network);
            assert_int_equal(sp_alloc_count(), before);
            check_true(status == SP_OK || status == SP_NO_MEMORY);
        } while (status != SP_OK && nth < 3000);
        assert_int_equal(status, SP_OK);
        check_true(nth > 30);
    }
}

/* Struts of one row have one thickness; a body-centred block of three cells has six rows. */
static void test_rows_scatter_alike(void **state)
{
    double row[6] = {0};
    int rows = 0;
    (void)state;
    sp_network network = FLAWED("flaws.row_scatter=10%", "flaws.thickness_scatter=0");
    for (int s = 0; s < network.strut_count; s++) {
        const double middle = 0.5 * (joint_at(&network, s, 0)[1] + joint_at(&network, s, 1)[1]);
        double *own = &row[(int)(6 * middle / network.size[1])];
        if (*own > 0)
            check_close(network.strut_thickness[s], *own, 1e-12);
        else
            *own = network.strut_thickness[s], rows++;
    }
    assert_int_equal(rows, 6);
    for (int k = 1; k < 6; k++) check_true(fabs(row[k] - row[k - 1]) > 1e-3);
    sp_network_free(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rules_hold_for_every_pattern),
        cmocka_unit_test(test_whole_cells),
        cmocka_unit_test(test_rows_scatter_alike),
        cmocka_unit_test(test_symmetry),
        cmocka_unit_test(test_direction),
        cmocka_unit_test(test_cut_cells),
        cmocka_unit_test(test_plates_and_frames),
        cmocka_unit_test(test_zones),
        cmocka_unit_test(test_solid_fraction_of_cubes),
        cmocka_unit_test(test_solid_fraction_by_points),
        cmocka_unit_test(test_solid_fraction_of_rectangles),
        cmocka_unit_test(test_flaws),
        cmocka_unit_test(test_two_give_the_third),
        cmocka_unit_test(test_foam_density),
        cmocka_unit_test(test_inspection),
        cmocka_unit_test(test_pieces),
        cmocka_unit_test(test_out_of_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
