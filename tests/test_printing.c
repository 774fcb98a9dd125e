/* These tests check what goes to a printer: the surface of every pattern is closed, encloses the
 * volume of the network, and reads back from its files as it was written. Outside checks are areas
 * by rows (coupon/planar/figures.c, another way to the same union), closed forms of rods, bars and
 * balls, the rules of the 3MF core specification 1.3 (4.1: manifold edges, outward normals). */
#include <math.h>
#include <unistd.h>

#include "coupon.h"

#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "printing/body.h"
#include "printing/mesh_3mf.h"
#include "printing/slab.h"
#include "printing/struts.h"
#include "printing/trails.h"

#include <strutpress/print.h>

#include "base/alloc.h"

static sp_context context;

static sp_surface body_of(const sp_case *request, const sp_network *network,
                          const sp_body_options *options)
{
    sp_surface surface;
    context.message[0] = 0;
    if (sp_body_build(&context, network, sp_body_wall(request), options, &surface) != SP_OK)
        fail_msg("%s: %s", request->pattern, context.message);
    return surface;
}

static double box_of(const sp_network *network)
{
    return network->size[0] * network->size[1] * network->size[2];
}

static void check_volume(const sp_case *request, const sp_network *network, double within)
{
    const sp_body_options options = {0};
    sp_surface surface = body_of(request, network, &options);
    assert_int_equal(sp_surface_open_edges(&surface), 0);
    const double share = sp_surface_volume(&surface) / box_of(network);
    if (fabs(share / network->solid_fraction - 1) > within)
        fail_msg("%s, density %g, angle %g, %d walls: the surface encloses %g of the box, the "
                 "network covers %g",
                 request->pattern, request->density, request->angle, request->wall_beads, share,
                 network->solid_fraction);
    sp_surface_free(&surface);
}

/* The volume of every planar pattern, with and without walls, with flaws, turned, in two densities,
 * is the solid fraction to 0.5 %. */
static void planar_coupons_are_closed_and_as_heavy_as_their_network(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *row = sp_pattern_rows(&count);
    for (int i = 0; i < 12 * count; i += coupon_quick() ? 5 : 1) {
        sp_case request;
        sp_case_default(&request);
        snprintf(request.pattern, sizeof request.pattern, "%s", row[i / 12].name);
        request.density = i % 2 ? 0.3 : 0.12;
        request.wall_beads = i / 2 % 3;
        request.angle = i / 6 % 2 ? 45 : 17;
        request.flaw_seed = i % 2;
        if (i % 5 == 3) request.width_offset = 0.06, request.thickening = 1.4;
        sp_network network;
        if (sp_network_build(&context, &request, 1, &network) != SP_OK) continue; /* too dense */
        check_volume(&request, &network, 0.005);
        sp_network_free(&network);
    }
}

/* A pad printed flat, layers, walls without infill and infill without walls, wider beads, and a
 * block are each closed, and as large as the sum of areas says. */
static void other_builds_are_closed(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    request.flaw_seed = 0;
    request.width = 24, request.depth = 20, request.height = 8;
    snprintf(request.pattern, sizeof request.pattern, "square");
    request.density = 0.2;
    request.press_direction = SP_PRESS_ALONG;
    sp_network network;
    assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
    check_volume(&request, &network, 0.005);
    sp_network_free(&network);
    request.press_direction = SP_PRESS_ACROSS;
    request.height = 20;

    /* Each layer is a planar network of its own, and every second one is turned. */
    request.layers = 4;
    assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
    const sp_body_options plain = {0};
    sp_surface surface = body_of(&request, &network, &plain);
    check_true(surface.shell_count >= 4);
    check_true(fabs(sp_surface_volume(&surface) / box_of(&network) / network.solid_fraction - 1) <
               0.01);
    sp_surface_free(&surface);
    sp_network_free(&network);
    request.layers = 0;

    /* Without walls there is what lies inside them, here at another width. */
    assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
    const double wall = sp_body_wall(&request);
    const sp_body_options without = {.without_walls = 1}, wide = {.width_scale = 1.1};
    sp_surface whole = body_of(&request, &network, &plain);
    sp_surface inside = body_of(&request, &network, &without);
    sp_surface wider = body_of(&request, &network, &wide);
    const double frame = network.size[0] * network.size[1] -
                         (network.size[0] - 2 * wall) * (network.size[1] - 2 * wall);
    check_true(fabs(sp_surface_volume(&whole) - sp_surface_volume(&inside) -
                    frame * network.size[2]) < 1e-3 * sp_surface_volume(&whole));
    const double growth = sp_surface_volume(&wider) / sp_surface_volume(&whole);
    check_true(growth > 1.07 && growth < 1.1); /* crossings are there once */
    sp_surface_free(&whole), sp_surface_free(&inside), sp_surface_free(&wider);
    sp_network_free(&network);

    snprintf(request.pattern, sizeof request.pattern, "solid");
    request.density = 1;
    assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
    check_volume(&request, &network, 1e-9);
    sp_network_free(&network);
}

/* Rods are prisms with the area of the circle and half balls at the ends; bars are boxes. */
static void struts_have_the_volume_of_rods_and_bars(void **state)
{
    (void)state;
    double position[] = {0, 0, 0, 3, 4, 12}, thickness[] = {0.8}, height[] = {0};
    double up[] = {0.8, -0.6, 0};
    int joint[] = {0, 1};
    sp_network network = {.dimension = 3,
                          .built = SP_BUILT_SPATIAL,
                          .size = {4, 5, 13},
                          .joint_count = 2,
                          .joint_position = position,
                          .strut_count = 1,
                          .strut_joint = joint,
                          .strut_thickness = thickness,
                          .strut_height = height,
                          .strut_up = up};
    sp_surface rod = {0}, bar = {0};
    assert_int_equal(sp_struts_add(&context, &network, 1, &rod), SP_OK);
    assert_int_equal(sp_surface_open_edges(&rod), 0);
    const double radius = 0.4, cylinder = M_PI * radius * radius * 13;
    const double ball = 4.0 / 3 * M_PI * radius * radius * radius;
    check_true(fabs(sp_surface_volume(&rod) - cylinder - ball) < 0.06 * ball); /* flat faces */
    height[0] = 0.5;
    assert_int_equal(sp_struts_add(&context, &network, 2, &bar), SP_OK);
    assert_int_equal(sp_surface_open_edges(&bar), 0);
    check_true(fabs(sp_surface_volume(&bar) - 1.6 * 1.0 * (13 + 1.0)) < 1e-9);
    sp_surface_free(&rod);
    sp_surface_free(&bar);
}

static void every_spatial_pattern_is_closed(void **state)
{
    (void)state;
    int count;
    const sp_cell_row *row = sp_cell_rows(&count);
    for (int i = 0; i < count; i++) {
        sp_case request;
        sp_case_default(&request);
        snprintf(request.pattern, sizeof request.pattern, "%s", row[i].name);
        request.height = request.width = request.depth = 20;
        request.cells_x = request.cells_y = request.cells_z = 2;
        request.density = 0.1;
        sp_network network;
        if (sp_network_build(&context, &request, 0, &network) != SP_OK)
            fail_msg("%s: %s", row[i].name, context.message);
        const sp_body_options options = {0};
        sp_surface surface = body_of(&request, &network, &options);
        assert_int_equal(sp_surface_open_edges(&surface), 0);
        assert_int_equal(surface.shell_count, network.strut_count);
        const double plain = sp_surface_volume(&surface);
        /* Overlaps count twice in the sum, and half balls stand out of the box. */
        check_true(plain > network.solid_fraction * box_of(&network));
        sp_surface_free(&surface);
        sp_network_free(&network);
        /* Thicker ends are cones, which are closed as well. */
        request.thickening = 1.5;
        if (sp_network_build(&context, &request, 0, &network) != SP_OK)
            fail_msg("%s: %s", row[i].name, context.message);
        surface = body_of(&request, &network, &options);
        check_true(sp_surface_volume(&surface) > 1.05 * plain);
        sp_surface_free(&surface);
        sp_network_free(&network);
    }
}

/* A triangle that looks inwards, or is missing, is detected. */
static void open_surfaces_are_seen(void **state)
{
    (void)state;
    sp_surface s = {0};
    assert_int_equal(sp_surface_reserve(&context, &s, 4, 4), SP_OK);
    sp_surface_vertex(&s, 0, 0, 0), sp_surface_vertex(&s, 1, 0, 0);
    sp_surface_vertex(&s, 0, 1, 0), sp_surface_vertex(&s, 0, 0, 1);
    sp_surface_triangle(&s, 0, 2, 1), sp_surface_triangle(&s, 0, 1, 3);
    sp_surface_triangle(&s, 1, 2, 3);
    assert_int_equal(sp_surface_open_edges(&s), 3);
    sp_surface_triangle(&s, 0, 3, 2);
    assert_int_equal(sp_surface_open_edges(&s), 0);
    check_true(fabs(sp_surface_volume(&s) - 1.0 / 6) < 1e-15);
    s.triangle[9] = 3, s.triangle[10] = 0;
    assert_int_equal(sp_surface_open_edges(&s), 3);
    sp_surface_free(&s);
}

/* --- files --- */

static unsigned little(const unsigned char *p)
{
    return p[0] | (unsigned)p[1] << 8 | (unsigned)p[2] << 16 | (unsigned)p[3] << 24;
}

static void a_block_in_stl_is_read_back(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "solid");
    request.density = 1;
    sp_network network;
    assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
    const sp_body_options options = {0};
    sp_surface surface = body_of(&request, &network, &options);
    char *bytes;
    size_t size;
    FILE *stream = open_memstream(&bytes, &size);
    assert_int_equal(sp_mesh_stl(&context, &surface, stream), SP_OK);
    fclose(stream);
    const unsigned count = little((unsigned char *)bytes + 80);
    assert_int_equal(count, surface.triangle_count);
    assert_int_equal(size, 84 + 50 * count);
    double six = 0;
    for (unsigned t = 0; t < count; t++) {
        double p[12];
        for (unsigned k = 0; k < 12; k++) {
            const unsigned word = little((unsigned char *)bytes + 84 + 50 * t + 4 * k);
            float value;
            memcpy(&value, &word, sizeof value);
            p[k] = (double)value;
        }
        const double *a = p + 3, *b = p + 6, *c = p + 9;
        const double n[3] = {b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2],
                             b[0] * c[1] - b[1] * c[0]};
        six += a[0] * n[0] + a[1] * n[1] + a[2] * n[2];
        /* The normal looks away from the middle of the block. */
        double out = 0;
        for (int k = 0; k < 3; k++)
            out += p[k] * ((a[k] + b[k] + c[k]) / 3 - 0.5 * network.size[k]);
        check_true(out > 0);
    }
    check_true(fabs(six / 6 / box_of(&network) - 1) < 1e-6);
    free(bytes);
    sp_surface_free(&surface);
    sp_network_free(&network);
}

static void every_failed_allocation_is_reported(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    request.width = 10, request.height = 10;
    request.density = 0.3;
    sp_network network;
    assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
    const sp_body_options options = {0};
    const long blocks = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_surface surface;
        sp_alloc_fail_at(nth);
        const sp_status status =
            sp_body_build(&context, &network, sp_body_wall(&request), &options, &surface);
        sp_alloc_fail_at(0);
        if (status == SP_OK) {
            sp_surface_free(&surface);
            break;
        }
        assert_int_equal(status, SP_NO_MEMORY);
        assert_int_equal(sp_alloc_count(), blocks);
    }
    sp_network_free(&network);
}

/* --- paths --- */

static void check_trails(const sp_line_drawing *drawing, int most)
{
    const double start[2] = {0, 0};
    sp_trails trails;
    int passed[64] = {0};
    assert_int_equal(sp_trails_find(&context, drawing, start, &trails), SP_OK);
    check_true(trails.count <= most);
    for (int t = 0; t < trails.count; t++) {
        assert_int_equal(trails.by[trails.first[t]], -1);
        for (int i = trails.first[t] + 1; i < trails.first[t + 1]; i++) {
            const int *edge = drawing->edge + 2 * trails.by[i];
            const int from = trails.place[i - 1], to = trails.place[i];
            check_true((edge[0] == from && edge[1] == to) || (edge[1] == from && edge[0] == to));
            passed[trails.by[i]]++;
        }
    }
    for (int e = 0; e < drawing->edge_count; e++) assert_int_equal(passed[e], 1);
    sp_trails_free(&trails);
}

/* Well-known drawings become few lines: the house of Nikolaus is one line; the bridges of
 * Koenigsberg are two (Euler 1741: four banks of odd degree); two squares that share a corner are
 * one, two apart are two. */
static void drawings_are_few_lines(void **state)
{
    (void)state;
    const double house[] = {0, 0, 1, 0, 1, 1, 0, 1, 0.5, 1.5};
    const int lines[] = {0, 1, 1, 2, 2, 3, 3, 0, 0, 2, 1, 3, 2, 4, 4, 3};
    check_trails(&(sp_line_drawing){5, 8, house, lines}, 1);
    const double banks[] = {0, 0, 0, 1, 0, -1, 1, 0};
    const int bridges[] = {0, 1, 0, 1, 0, 2, 0, 2, 0, 3, 1, 3, 2, 3};
    check_trails(&(sp_line_drawing){4, 7, banks, bridges}, 2);
    const double squares[] = {0, 0, 1, 0, 1, 1, 0, 1, 2, 1, 2, 2, 1, 2, 5, 5, 6, 5, 6, 6};
    const int corner[] = {0, 1, 1, 2, 2, 3, 3, 0, 2, 4, 4, 5, 5, 6, 6, 2};
    check_trails(&(sp_line_drawing){7, 8, squares, corner}, 1);
    const int apart[] = {0, 1, 1, 2, 2, 3, 3, 0, 7, 8, 8, 9, 9, 7};
    check_trails(&(sp_line_drawing){10, 7, squares, apart}, 2);
}

typedef struct motion {
    double length, filament, travel;
    double low[3], high[3];
    int lines;
} motion;

/* Read the words that a path may hold, independently of the library. */
static motion read_motion(const char *file)
{
    motion m = {.low = {1e9, 1e9, 1e9}, .high = {-1e9, -1e9, -1e9}};
    double at[3] = {0, 0, 0};
    char line[300];
    FILE *stream = fopen(file, "r");
    assert_non_null(stream);
    while (fgets(line, sizeof line, stream)) {
        m.lines++;
        if (line[0] == '(') continue;
        line[strcspn(line, "\n")] = 0;
        if (!strcmp(line, "G21") || !strcmp(line, "G90") || !strcmp(line, "M83")) continue;
        const int prints = !strncmp(line, "G1 ", 3);
        check_true(prints || !strncmp(line, "G0 ", 3));
        double to[3] = {at[0], at[1], at[2]}, e = 0;
        for (char *word = strtok(line + 3, " "); word; word = strtok(NULL, " ")) {
            check_true(strchr("XYZEF", word[0]) != NULL);
            const double value = atof(word + 1);
            if (word[0] == 'E')
                e = value;
            else if (word[0] != 'F')
                to[word[0] - 'X'] = value;
        }
        const double way = hypot(to[0] - at[0], to[1] - at[1]);
        if (prints) {
            check_true(e > 0 && to[2] == at[2]);
            m.length += way, m.filament += e;
            for (int k = 0; k < 3; k++) {
                m.low[k] = fmin(m.low[k], fmin(at[k], to[k]));
                m.high[k] = fmax(m.high[k], fmax(at[k], to[k]));
            }
        } else {
            check_true(e == 0);
        }
        memcpy(at, to, sizeof at);
    }
    fclose(stream);
    return m;
}

static double drawn_length(const sp_network *network, double inset)
{
    double total = 0;
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL) continue;
        double a[2], b[2], t0 = 0, t1 = 1;
        const int *joint = network->strut_joint + 2 * s;
        for (int k = 0; k < 2; k++) {
            a[k] = network->joint_position[3 * joint[0] + k];
            b[k] = network->joint_position[3 * joint[1] + k];
            const double d = b[k] - a[k], high = network->size[k] - inset;
            if (d == 0) {
                if (a[k] < inset || a[k] > high) t1 = 0;
                continue;
            }
            t0 = fmax(t0, fmin((inset - a[k]) / d, (high - a[k]) / d));
            t1 = fmin(t1, fmax((inset - a[k]) / d, (high - a[k]) / d));
        }
        if (t1 > t0) {
            total += (t1 - t0) * hypot(b[0] - a[0], b[1] - a[1]);
        } else if (inset < network->strut_thickness[s]) { /* along a free face: moved inside */
            for (int k = 0; k < 2; k++) {
                a[k] = fmin(fmax(a[k], inset), network->size[k] - inset);
                b[k] = fmin(fmax(b[k], inset), network->size[k] - inset);
            }
            total += hypot(b[0] - a[0], b[1] - a[1]);
        }
    }
    return total;
}

/* In the path of every planar pattern all lines and walls are printed once in each layer, the
 * filament is that of the beads, and the nozzle stays inside the part. */
static void paths_print_every_line_once(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *row = sp_pattern_rows(&count);
    for (int i = 0; i < 2 * count; i++) {
        sp_case request;
        sp_resolved resolved;
        sp_network network;
        sp_bead_path_summary summary;
        char folder[] = "/tmp/strutpress-path-XXXXXX", file[100];
        sp_case_default(&request);
        snprintf(request.pattern, sizeof request.pattern, "%s", row[i / 2].name);
        request.density = 0.15;
        request.depth = 1.1; /* of five layers of 0.22 mm */
        request.wall_beads = i % 2 ? 2 : 0;
        request.flaw_seed = 0;
        context.message[0] = 0;
        const int builds = sp_case_resolve(&context, &request, &resolved) == SP_OK &&
                           resolved.built == SP_BUILT_EXTRUDED &&
                           sp_resolved_network(&context, &resolved, 0, &network) == SP_OK;
        if (!builds) {
            sp_resolved_free(&resolved);
            continue;
        }
        assert_non_null(mkdtemp(folder));
        const sp_bead_path_options options = {.bed = {100, 100, 100}, .corner = {5, 7}};
        if (sp_print_path(&context, &resolved, &options, folder, &summary) != SP_OK)
            fail_msg("%s: %s", row[i / 2].name, context.message);
        snprintf(file, sizeof file, "%s/" SP_PRINT_PATH, folder);
        const motion m = read_motion(file);
        const double bead = request.bead_width, wall = sp_body_wall(&request);
        const double inset = wall > 0 ? wall : bead / 2;
        double length = drawn_length(&network, inset);
        for (int k = 0; k < request.wall_beads; k++)
            length += 2 * (network.size[0] + network.size[1]) - 8 * bead * (k + 0.5);
        assert_int_equal(summary.layers, 6); /* of 1.1 mm by 0.2 mm */
        if (fabs(m.length / summary.layers / length - 1) > 1e-4)
            fail_msg("%s, %d walls: %g mm of beads in a layer, drawn %g mm", row[i / 2].name,
                     request.wall_beads, m.length / summary.layers, length);
        const double h = request.depth / summary.layers;
        const double section = h * bead;
        check_true(fabs(m.filament * M_PI / 4 * 1.75 * 1.75 / (m.length * section) - 1) < 1e-3);
        check_true(fabs(m.filament / summary.filament_length - 1) < 1e-3);
        for (int k = 0; k < 2; k++) {
            const double corner = options.corner[k];
            check_true(m.low[k] > corner + bead / 2 - 1e-3);
            check_true(m.high[k] < corner + network.size[k] - bead / 2 + 1e-3);
        }
        check_true(fabs(m.high[2] - request.depth) < 1e-3);
        snprintf(file, sizeof file, "rm -r %s", folder);
        assert_int_equal(system(file), 0);
        sp_network_free(&network);
        sp_resolved_free(&resolved);
    }
}

static void paths_that_cannot_be_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *key, *value, *message;
        double bed[3], corner;
    } row[] = {
        {"coupon.depth",
         "30 mm",
         "leave the bed: the coupon reaches from 0 to 30 mm along z",
         {100, 100, 29},
         NAN},
        {"coupon.width", "60 mm", "along x; valid: within 0 to 50 mm", {50, 100, 100}, NAN},
        {"coupon.width", "60 mm", "reaches from 45 to 105 mm along x", {100, 100, 100}, 45},
        {"infill.pattern", "kelvin", "a planar pattern", {100, 100, 100}, NAN},
        {"bead.width", "0.15 mm", "at least the height of a layer, 0.2 mm", {100, 100, 100}, NAN},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_case request;
        sp_resolved resolved;
        sp_bead_path_summary summary;
        sp_bead_path_options options = {.corner = {row[i].corner, row[i].corner}};
        memcpy(options.bed, row[i].bed, sizeof options.bed);
        sp_case_default(&request);
        request.depth = 20;
        assert_int_equal(sp_case_set(&context, &request, row[i].key, row[i].value), SP_OK);
        if (!strcmp(row[i].value, "kelvin"))
            request.cells_x = request.cells_y = request.cells_z = 2;
        if (sp_case_resolve(&context, &request, &resolved) != SP_OK)
            fail_msg("%s", context.message);
        assert_int_equal(
            sp_print_path(&context, &resolved, &options, "/tmp/strutpress-no-path", &summary),
            SP_BAD_CASE);
        if (!strstr(context.message, row[i].message)) fail_msg("%s", context.message);
        assert_int_equal(access("/tmp/strutpress-no-path", F_OK), -1);
        sp_resolved_free(&resolved);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(planar_coupons_are_closed_and_as_heavy_as_their_network),
        cmocka_unit_test(other_builds_are_closed),
        cmocka_unit_test(struts_have_the_volume_of_rods_and_bars),
        cmocka_unit_test(every_spatial_pattern_is_closed),
        cmocka_unit_test(open_surfaces_are_seen),
        cmocka_unit_test(a_block_in_stl_is_read_back),
        cmocka_unit_test(every_failed_allocation_is_reported),
        cmocka_unit_test(drawings_are_few_lines),
        cmocka_unit_test(paths_print_every_line_once),
        cmocka_unit_test(paths_that_cannot_be_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
