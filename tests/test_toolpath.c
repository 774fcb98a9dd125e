/* These tests check tool paths: words, metering and arcs against sums by hand, every planar pattern
 * drawn as a path and read back, and paths that are refused. */
#include "check.h"

#include <strutpress/strutpress.h>

#include "coupon.h"
#include "measure/curve.h"
#include "pattern/pattern.h"
#include "printing/body.h"
#include "temporary_file.h"
#include "toolpath/toolpath.h"
#include "whole_press.h"

static const double filament = 1.75, layer_height = 0.2;

/* Return the filament [mm] for a line of this width with a rectangular section. */
static double metered(double length, double width)
{
    return length * width * layer_height / (M_PI * filament * filament / 4);
}

typedef struct pen {
    FILE *stream;
    double e, x, y;
    long lines;
    double length, extruded;
} pen;

static void go(pen *p, double x, double y)
{
    if (hypot(x - p->x, y - p->y) > 1e-9) fprintf(p->stream, "G0 X%.5f Y%.5f F9000\n", x, y);
    p->x = x, p->y = y;
}

static void draw(pen *p, double x, double y, double width)
{
    const double length = hypot(x - p->x, y - p->y);
    if (!(length > 1e-9)) return;
    p->e += metered(length, width);
    p->length += length;
    fprintf(p->stream, "G1 X%.5f Y%.5f E%.6f\n", x, y, p->e);
    p->x = x, p->y = y;
}

/* Find the part of a line inside a box; returns 0 when there is none. */
static int inside(double a[2], double b[2], const double low[2], const double high[2])
{
    double from = 0, to = 1;
    const double d[2] = {b[0] - a[0], b[1] - a[1]};
    for (int k = 0; k < 2; k++) {
        if (fabs(d[k]) < 1e-12) {
            if (a[k] < low[k] || a[k] > high[k]) return 0;
            continue;
        }
        const double s = (low[k] - a[k]) / d[k], t = (high[k] - a[k]) / d[k];
        from = fmax(from, fmin(s, t)), to = fmin(to, fmax(s, t));
    }
    if (!(to - from > 1e-6)) return 0;
    for (int k = 0; k < 2; k++) {
        const double start = a[k];
        a[k] = start + from * d[k];
        b[k] = start + to * d[k];
    }
    return 1;
}

/* Draw one layer of a network: its walls as rectangles of beads, then its struts, up to the inner
 * face of the walls. */
static int to_the_middle; /* 1: struts go on to the middle of the walls */

static void draw_layer(pen *p, const sp_case *request, const sp_network *network, double shift)
{
    const double bead = request->bead_width;
    const int walls = request->wall_beads;
    for (int i = 0; i < walls; i++) {
        const double low = (i + 0.5) * bead + shift,
                     right = request->width - (i + 0.5) * bead + shift,
                     upper = request->height - (i + 0.5) * bead + shift;
        go(p, low, low);
        draw(p, right, low, bead), draw(p, right, upper, bead), draw(p, low, upper, bead),
            draw(p, low, low, bead);
    }
    const double low[2] = {walls * bead, walls * bead};
    const double high[2] = {request->width - walls * bead, request->height - walls * bead};
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL && walls) continue;
        const double *a = network->joint_position + 3 * network->strut_joint[2 * s];
        const double *b = network->joint_position + 3 * network->strut_joint[2 * s + 1];
        double from[2] = {a[0], a[1]}, to[2] = {b[0], b[1]};
        if (!to_the_middle && !inside(from, to, low, high)) continue;
        if (s % 2) {
            go(p, to[0] + shift, to[1] + shift), draw(p, from[0] + shift, from[1] + shift, bead);
        } else {
            go(p, from[0] + shift, from[1] + shift), draw(p, to[0] + shift, to[1] + shift, bead);
        }
    }
}

/* Write the path of a network. `other` is the network of every other layer; NULL: all layers are
 * alike. */
static void write_path(const char *name, const sp_case *request, const sp_network *network,
                       const sp_network *other, double shift)
{
    pen p = {.stream = fopen(name, "w")};
    assert_non_null(p.stream);
    fprintf(p.stream,
            "; anything may stand here (M104 too)\nG21\nG90\nM82\nM104 S215\nG28 X Y\nG92 E.0\n");
    const int layers = (int)lround(request->depth / layer_height);
    for (int k = 0; k < layers; k++) {
        fprintf(p.stream, "G0 Z%.3f (up)\n", (k + 1) * layer_height);
        if (k == 0) { /* a line around the part, which does not touch it */
            go(&p, shift - 5, shift - 5);
            draw(&p, shift + request->width + 5, shift - 5, 0.5);
            draw(&p, shift + request->width + 5, shift + request->height + 5, 0.5);
        }
        draw_layer(&p, request, other && k % 2 ? other : network, shift);
        fprintf(p.stream, "G1 E%.6f F2400 ; back\nG1 E%.6f\n", p.e - 0.8, p.e);
    }
    assert_int_equal(fclose(p.stream), 0);
}

static sp_case small(const char *pattern)
{
    sp_case c;
    sp_case_default(&c);
    c.width = 16, c.height = 14, c.depth = 2;
    c.density = 0.2;
    snprintf(c.pattern, sizeof c.pattern, "%s", pattern);
    c.strain = 0.3;
    c.steps = 40;
    c.find_critical = 0;
    c.flaw_seed = 0;
    return c;
}

static void file_name(char *name, size_t size)
{
    write_temporary_file(name, size, "");
}

/* A path that ends at the face of a wall does not hold what lies in its body: a pattern that has
 * joints there becomes another coupon, whose curve differs by up to this share. */
static const double joints_in_walls = 0.03;

/* Check every planar pattern that is drawn as a path and read back: its network weighs what was
 * metered, and its curve is that of the pattern. */
static void check_patterns(double most, double mass_most)
{
    int rows, tried = 0;
    const sp_pattern_row *row = sp_pattern_rows(&rows);
    char name[256];
    file_name(name, sizeof name);
    for (int i = 0; i < rows; i++) {
        sp_context context = {0};
        sp_network network;
        sp_result pattern, printed;
        sp_drawing drawing;
        sp_toolpath_figures f;
        if (!strcmp(row[i].name, "drawn") || (coupon_quick() && i % 5)) continue;
        sp_case request = small(row[i].name);
        assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
        write_path(name, &request, &network, NULL, 40);
        sp_case back = request;
        snprintf(back.pattern, sizeof back.pattern, "printed");
        snprintf(back.toolpath_file, sizeof back.toolpath_file, "%s", name);
        if (sp_toolpath_drawing(&context, &back, &drawing, &f) != SP_OK)
            fail_msg("%s", context.message);
        const double off_mass = f.network / f.metered - 1;
        sp_drawing_free(&drawing);
        if (press_whole(&context, &request, &pattern) != SP_OK) fail_msg("%s", context.message);
        if (press_whole(&context, &back, &printed) != SP_OK)
            fail_msg("%s: %s", row[i].name, context.message);
        const sp_curve a = sp_curve_of_path(&pattern.path), b = sp_curve_of_path(&printed.path);
        double square = 0, mean = 0;
        int count = 0;
        for (double u = 0.02 * request.height; u < 0.29 * request.height;
             u += 0.01 * request.height, count++) {
            const double x = sp_curve_force(&a, u).value, y = sp_curve_force(&b, u).value;
            square += (x - y) * (x - y);
            mean += x;
        }
        const double off = sqrt(square / count) / (mean / count);
        const sp_start s = sp_curve_start(&a), t = sp_curve_start(&b);
        print_message("%-22s joints %4d %4d struts %4d %4d mass %+.2f %% solid %.4f %.4f start "
                      "%+.2f %% curve %.2f %%\n",
                      row[i].name, network.joint_count, printed.network.joint_count,
                      network.strut_count, printed.network.strut_count, 100 * off_mass,
                      network.solid_fraction, printed.network.solid_fraction,
                      100 * (t.stiffness / s.stiffness - 1), 100 * off);
        check_true(fabs(off_mass) < mass_most);
        const int alike = printed.network.joint_count == network.joint_count;
        check_true(alike || !to_the_middle);
        if (!(off < (alike ? most : joints_in_walls)))
            fail_msg("%s: the curve of the path is %.3g %% from that of the pattern", row[i].name,
                     100 * off);
        check_relative(printed.network.solid_fraction, network.solid_fraction, 0.005);
        tried += alike;
        sp_network_free(&network);
        sp_result_clear(&pattern);
        sp_result_clear(&printed);
    }
    assert_true(tried >= (coupon_quick() ? 1 : to_the_middle ? 15 : 13));
    unlink(name);
}

/* Struts of these paths go on to the middle of the walls, over their beads. */
static void test_every_pattern(void **state)
{
    (void)state;
    to_the_middle = 1;
    check_patterns(0.02, 0.01);
}

/* Struts of these paths end at the walls, and are joined across to the middle. */
static void test_up_to_the_walls(void **state)
{
    (void)state;
    to_the_middle = 0;
    check_patterns(0.02, 0.01);
}

/* ---- words ----------------------------------------------- */

static sp_status read_text(sp_context *context, const char *text, const sp_case *size,
                           sp_toolpath_figures *f, sp_drawing *drawing)
{
    char name[256];
    sp_case c = size ? *size : small("printed");
    write_temporary_file(name, sizeof name, text);
    snprintf(c.pattern, sizeof c.pattern, "printed");
    snprintf(c.toolpath_file, sizeof c.toolpath_file, "%s", name);
    const sp_status status = sp_toolpath_drawing(context, &c, drawing, f);
    unlink(name);
    return status;
}

static sp_case sized(double width, double height, double depth)
{
    sp_case c = small("printed");
    c.width = width, c.height = height, c.depth = depth;
    return c;
}

/* A chain of beads that ends beside its beginning is not a ring: its last bead stays. A chain that
 * ends at its beginning with a seam is a ring. */
static void test_chains(void **state)
{
    (void)state;
    for (int seam = 0; seam < 2; seam++) {
        sp_context context = {0};
        sp_toolpath_figures f;
        sp_drawing drawing;
        char name[256];
        file_name(name, sizeof name);
        pen p = {.stream = fopen(name, "w")};
        assert_non_null(p.stream);
        fprintf(p.stream, "G21\nG90\nM82\nG0 Z0.2\n");
        go(&p, 0, seam ? 0.3 : 0);
        /* The path has three sides of a square, and the fourth up to the seam; or all four and a
         * short piece more. */
        draw(&p, 0, 8, 0.4), draw(&p, 8, 8, 0.4), draw(&p, 8, 0, 0.4), draw(&p, 0, 0, 0.4);
        if (!seam) draw(&p, 0, -0.8, 0.4);
        assert_int_equal(fclose(p.stream), 0);
        sp_case c = sized(8.4, seam ? 8.4 : 9, 0.2);
        snprintf(c.toolpath_file, sizeof c.toolpath_file, "%s", name);
        if (sp_toolpath_drawing(&context, &c, &drawing, &f) != SP_OK)
            fail_msg("%s", context.message);
        assert_int_equal(drawing.line_count, seam ? 4 : 5);
        double longest = 0, all = 0;
        for (int i = 0; i < drawing.line_count; i++) {
            const double *a = drawing.point + 3 * drawing.line_point[2 * i];
            const double *b = drawing.point + 3 * drawing.line_point[2 * i + 1];
            const double length = hypot(a[0] - b[0], a[1] - b[1]);
            longest = fmax(longest, length);
            all += length;
        }
        check_close(longest, 8, 1e-9);
        check_close(all, seam ? 32 : 32.8, 1e-9);
        sp_drawing_free(&drawing);
        unlink(name);
    }
}

/* This is a frame of 20 x 10 mm, of two beads in one layer of 0.3 mm: 1 mm of filament of 1.75 mm
 * is 2.405 mm3; 60 mm of line, 12 mm of filament. */
static void test_words_alike(void **state)
{
    static const char *const same[] = {
        "G21 G90 M82\nG0 Z0.3\nG0 X0 Y0\nG1 X20 E4\nG1 Y10 E6\nG1 X0 E10\nG1 Y0 E12\n",
        "G90\nG0 X0 Y0 Z0.3\nM83\nG1 X20 E4\nY10 E2\nX0 E4\nY0 E2\n",
        "g91\nm83\ng0 z0.3\ng1 x20 e4\ng1 y10 e2\ng1 x-20 e4\ng1 y-10 e2\n",
        "G20\nG0 X0 Y0 Z0.011811023622\nG1 X0.78740157480 E0.15748031496\nG1 Y0.3937007874 "
        "E0.23622047244\n"
        "G1 X0 E0.3937007874\nG1 Y0 E0.47244094488\n",
        "G0 X5 Y5\nG92 X0 Y0 E7\nG0 Z.3\nG1 X20 E11\nG92 E.0\nG1 Y10 E2\nG1 X0 E6\nG92 E1.5\nG1 Y0 "
        "E3.5\n",
        "N1 G0 Z0.3*22\r\nN2 G1 X20 E4*99\r\nN3 G1 Y10 E6 ; e99\r\nN4 (G1 X500 E50) G1 X0 "
        "E10\r\nN5 G1 Y0 E12\r\n",
        "M104 S210 T0\nT0\nM117 Hello G1 X500 E9\nG28 X Y\nG4 P500\nG0 Z0.3 F600\nG1 X20 E4\nG1 "
        "E3\nG0 Y0\nG1 E4\n"
        "G1 Y10 E6\nG1 Y9.5 E5.5\nG0 Y10\nG1 E6\nG1 X0 E10\nG1 X0 Y0 E12\nG1 X1 E11\nG0 X30\nM84\n",
        "%\nO1\nG0 Z1\nG0 Z0.3\nG1 X 20 E 4\nG1\tY10\tE6\nG1 X10 E8\nG1 X0 E10\nG1 Y0 E12\n%\n",
    };
    const double filament_area = M_PI * filament * filament / 4;
    (void)state;
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        sp_context context = {0};
        sp_toolpath_figures f;
        sp_drawing drawing;
        const double flat = 12 * filament_area / 60 / 0.3;
        const sp_case size = sized(20 + flat, 10 + flat, 0.3);
        if (read_text(&context, same[i], &size, &f, &drawing) != SP_OK)
            fail_msg("%zu: %s", i, context.message);
        check_relative(f.metered, 12 * filament_area, 1e-6);
        check_close(f.elsewhere, 0, 1e-9);
        check_close(f.size[0], 20 + flat, 1e-6);
        check_close(f.size[1], 10 + flat, 1e-6);
        check_close(f.size[2], 0.3, 1e-9);
        check_relative(f.network, f.metered, 1e-6);
        /* By E210 the section is (w - h) h + pi h^2 / 4. */
        const double w = f.width_median, h = 0.3;
        check_relative((w - h) * h + M_PI * h * h / 4, 12 * filament_area / 60, 1e-9);
        assert_int_equal(drawing.line_count, 4);
        sp_drawing_free(&drawing);
    }
}

/* Half circles by I and J and by R, to the left and to the right, make a ring of radius 6 with the
 * volume of 8 mm of filament. */
static void test_arcs(void **state)
{
    static const char *const ring[] = {
        "M83\nG0 X-6 Y0 Z0.2\nG2 X6 Y0 I6 J0 E4\nG2 X-6 Y0 I-6 J0 E4\n",
        "M83\nG0 X-6 Y0 Z0.2\nG3 X6 Y0 I6 E4\nG3 X-6 Y0 I-6 E4\n",
        "M83\nG0 X-6 Y0 Z0.2\nG3 X-6 Y0 I6 E8\n",
        "M83\nG0 X-6 Y0 Z0.2\nG2 X0 Y6 R6 E2\nG2 X-6 Y0 R-6 E6\n",
        "M83\nG0 X-6 Y0 Z0.2\nG3 X0 Y-6 R6 E2\nG3 X6 Y0 R6 E2\nX0 Y6 R6 E2\nX-6 Y0 R6 E2\n",
    };
    const double volume = 8 * M_PI * filament * filament / 4, flat = volume / (12 * M_PI) / 0.2;
    (void)state;
    for (size_t i = 0; i < sizeof ring / sizeof *ring; i++) {
        sp_context context = {0};
        sp_toolpath_figures f;
        sp_drawing drawing;
        const sp_case size = sized(12 + flat, 12 + flat, 0.2);
        if (read_text(&context, ring[i], &size, &f, &drawing) != SP_OK)
            fail_msg("%zu: %s", i, context.message);
        check_relative(f.metered, volume, 2e-3); /* chords */
        check_close(f.size[0], 12 + flat, 0.03);
        check_close(f.size[1], 12 + flat, 0.03);
        check_relative(f.network, volume, 4e-3);
        sp_drawing_free(&drawing);
    }
}

/* Three beads side by side are one wall of three; with a gap beyond a quarter of a bead they are
 * three. */
static void test_side_by_side(void **state)
{
    (void)state;
    for (int apart = 0; apart < 2; apart++) {
        sp_context context = {0};
        sp_toolpath_figures f;
        sp_drawing drawing;
        const double width = 0.4, pitch = apart ? 0.6 : 0.42;
        char text[1000];
        /* An upright on the left ties them. */
        snprintf(text, sizeof text,
                 "M83\nG0 X0 Y0 Z0.2\nG1 X30 E%.6f\nG0 X0 Y%.3f\nG1 X30 E%.6f\nG0 X0 Y%.3f\nG1 X30 "
                 "E%.6f\nG0 X0 Y0\nG1 Y8 E%.6f\n",
                 metered(30, width), pitch, metered(30, width), 2 * pitch, metered(30, width),
                 metered(8, width));
        sp_case size = sized(30.2, 8.2, 0.2);
        if (read_text(&context, text, &size, &f, &drawing) != SP_OK)
            fail_msg("%s", context.message);
        double thickest = 0;
        for (int i = 0; i < drawing.line_count; i++)
            thickest = fmax(thickest, drawing.line_diameter[i]);
        check_close(thickest, apart ? width : 3 * width, 1e-4);
        check_relative(f.network, f.metered, 0.01);
        sp_drawing_free(&drawing);
    }
}

/* ---- layers and pieces ----------------------------------------------- */

static void check_refused(const char *text, const char *says)
{
    sp_context context = {0};
    sp_toolpath_figures f;
    sp_drawing drawing;
    const sp_status status = read_text(&context, text, NULL, &f, &drawing);
    if (status == SP_OK || !strstr(context.message, says))
        fail_msg("'%s' lacks '%s'", context.message, says);
    assert_null(strchr(context.message, '\n'));
    assert_int_equal(drawing.line_count, 0);
}

static void test_layers(void **state)
{
    (void)state;
#define ACROSS "G0 X0 Y0\nG1 X9 E1\nG0 X0 Y9\nG1 X9 E1\nG0 X0 Y0\nG1 Y9 E1\n"
#define UPRIGHT "G0 X0 Y0\nG1 X9 E1\nG0 X4 Y0\nG1 Y9 E1\nG0 X7 Y0\nG1 Y9 E1\n"
    check_refused(
        "M83\nG0 Z.2\n" ACROSS "G0 Z.4\n" UPRIGHT "G0 Z.6\n" UPRIGHT "G0 Z.8\n" UPRIGHT,
        "received layer 2 (at 0.4 mm) that is not as layer 1; valid: layers all alike, or that "
        "repeat by 2 to 4, such as infill.path_layers: [2, 4]");
    check_refused("M83\nG0 Z.2\n" ACROSS "G0 Z.4\n" UPRIGHT,
                  "layer 2 (at 0.4 mm) that is not as layer 1");
    check_refused(
        "M83\nG0 Z.2\n" ACROSS "G0 Z.4\n" UPRIGHT "G0 Z.6\n" ACROSS "G0 Z.8\n" UPRIGHT
        "G0 Z1\n" ACROSS "G0 Z1.2\n" ACROSS,
        "received layer 6 (at 1.2 mm) that is not as layer 4; valid: layers all alike, or "
        "that repeat by 2 to 4, such as infill.path_layers: [1, 5]");
    check_refused("M83\nG0 Z.2\n" ACROSS "G0 X40\nG1 X49 E1\nG1 Y9 E1\nG1 X40 E1\n",
                  "2 pieces that do not touch");
    check_refused("M83\nG0 Z.2\n" ACROSS "G0 Z.4\n" ACROSS, "valid: coupon: {width: 9");
    check_refused("M83\nG0 Z.4\n" ACROSS "G0 Z.2\n" ACROSS, "layers from below upwards");
}

/* ---- layers that repeat ----------------------------------------------- */

/* A path of squares and of squares turned by 45 degrees, in turn, gives the network and the curve
 * of the stack that infill.layers makes. */
static void test_as_layers(void **state)
{
    char name[256];
    sp_context context = {0};
    sp_network plan[2];
    sp_result stacked, printed;
    sp_case request = small("square"), flat;
    (void)state;
    file_name(name, sizeof name);
    request.angle = 0, request.depth = 0.8, request.strain = 0.08, request.steps = 8;
    for (int k = 0; k < 2; k++) {
        flat = request;
        flat.angle = 45 * k;
        assert_int_equal(sp_network_build(&context, &flat, 0, &plan[k]), SP_OK);
    }
    to_the_middle = 1;
    write_path(name, &request, &plan[0], &plan[1], 3);
    sp_case back = request;
    request.layers = 4, request.layer_turn = 45;
    snprintf(back.pattern, sizeof back.pattern, "printed");
    snprintf(back.toolpath_file, sizeof back.toolpath_file, "%s", name);
    if (press_whole(&context, &request, &stacked) != SP_OK) fail_msg("%s", context.message);
    if (press_whole(&context, &back, &printed) != SP_OK) fail_msg("%s", context.message);
    const sp_network *a = &stacked.network, *b = &printed.network;
    assert_int_equal(b->dimension, 3);
    assert_int_equal(b->built, SP_BUILT_LAYERS);
    assert_int_equal(b->joint_count, a->joint_count);
    assert_int_equal(b->strut_count, a->strut_count);
    check_relative(b->solid_fraction, a->solid_fraction, 0.005);
    const sp_curve x = sp_curve_of_path(&stacked.path), y = sp_curve_of_path(&printed.path);
    check_relative(sp_curve_start(&y).stiffness, sp_curve_start(&x).stiffness, 0.002);
    for (double u = 0.01; u < 0.075; u += 0.01)
        check_relative(sp_curve_force(&y, u * request.height).value,
                       sp_curve_force(&x, u * request.height).value, 0.01);
    sp_result_clear(&stacked);
    sp_result_clear(&printed);
    for (int k = 0; k < 2; k++) sp_network_free(&plan[k]);
    unlink(name);
}

enum { UPRIGHTS, LEVELS, ASIDE, SLANTED };

/* Draw a layer of 10 x 10 mm: three lines upright or level, upright ones elsewhere, or slanted
 * ones, all moved by `shift` along x. */
static void draw_kind(pen *p, int kind, double z, double high, double shift)
{
    const double width = 0.4 * high / layer_height; /* draw() meters for layers of 0.2 mm */
    fprintf(p->stream, "G0 Z%.4f\n", z);
    for (int i = 0; i < 3; i++) {
        const double from = kind == SLANTED ? 1 + 2 * i : kind == ASIDE ? 3 + 3 * i : 1 + 4 * i;
        if (kind == LEVELS) {
            go(p, shift, 2 + 3 * i), draw(p, 10 + shift, 2 + 3 * i, width);
        } else {
            go(p, from + shift, 0);
            draw(p, from + shift + (kind == SLANTED ? 4 : 0), 10, width);
        }
    }
}

/* Write layers of these kinds in turn, the first of them `first` mm high, each moved `drift` mm
 * on. */
static void write_kinds(const char *name, const int *kind, int repeat, int layers, double first,
                        double drift)
{
    pen p = {.stream = fopen(name, "w")};
    double z = 0;
    assert_non_null(p.stream);
    fprintf(p.stream, "G21\nG90\nM82\n");
    for (int k = 0; k < layers; k++) {
        const double high = k ? layer_height : first;
        draw_kind(&p, kind[k % repeat], z += high, high, k * drift);
    }
    assert_int_equal(fclose(p.stream), 0);
}

/* Write layers of crossed lines, each moved on by `drift` mm up to the middle one, and back from
 * there. */
static void write_swing(const char *name, int layers, double drift)
{
    pen p = {.stream = fopen(name, "w")};
    assert_non_null(p.stream);
    fprintf(p.stream, "G21\nG90\nM82\n");
    for (int k = 0; k < layers; k++) {
        const int steps = k < layers / 2 ? k : layers - 1 - k;
        draw_kind(&p, UPRIGHTS, (k + 1) * layer_height, layer_height, steps * drift);
        draw_kind(&p, LEVELS, (k + 1) * layer_height, layer_height, steps * drift);
    }
    assert_int_equal(fclose(p.stream), 0);
}

static sp_case of_kinds(const char *name, double depth)
{
    sp_case c = sized(10, 10, depth);
    snprintf(c.toolpath_file, sizeof c.toolpath_file, "%s", name);
    c.strain = 0.001, c.steps = 2;
    return c;
}

/* Layers of upright and of level lines alternate; counted by hand: each upright has 3 crossings and
 * 4 pieces, its ends on the platens, each level line 4 pieces with loose ends. Only the uprights
 * carry: bars of E A / L each (Hooke), in layers of their own heights; a bond is the square of two
 * beads. */
static void test_lines_in_turn(void **state)
{
    static const int kind[] = {UPRIGHTS, LEVELS};
    char name[256];
    (void)state;
    file_name(name, sizeof name);
    for (int thick = 0; thick < 2; thick++) {
        sp_context context = {0};
        sp_result result;
        sp_drawing drawing;
        sp_toolpath_figures f;
        const double first = thick ? 0.3 : 0.2, depth = first + 0.4, bead = 0.4;
        write_kinds(name, kind, 2, 3, first, 0);
        const sp_case c = of_kinds(name, depth);
        if (sp_toolpath_drawing(&context, &c, &drawing, &f) != SP_OK)
            fail_msg("%s", context.message);
        assert_int_equal(f.repeat, 2);
        assert_int_equal(drawing.layer_count, 3);
        check_relative(f.metered, 3 * 10 * bead * depth, 1e-5);
        check_relative(f.network, f.metered, 1e-6);
        sp_drawing_free(&drawing);
        if (press_whole(&context, &c, &result) != SP_OK) fail_msg("%s", context.message);
        const sp_network *n = &result.network;
        int bonds = 0, held = 0;
        for (int s = 0; s < n->strut_count; s++) {
            const double *p = n->joint_position + 3 * n->strut_joint[2 * s];
            const double *q = n->joint_position + 3 * n->strut_joint[2 * s + 1];
            if (!sp_network_is_bond(n, s)) continue;
            bonds++;
            check_close(hypot(q[0] - p[0], q[1] - p[1]), 0, 1e-9);
            check_close(q[2] - p[2], p[2] < first ? 0.5 * first + 0.1 : 0.2, 1e-9);
            check_relative(n->strut_thickness[s] * n->strut_height[s], bead * bead, 1e-5);
        }
        for (int j = 0; j < n->joint_count; j++) held += n->joint_face[j] != 0;
        assert_int_equal(bonds, 18);
        assert_int_equal(n->strut_count, 24 + 12 + 18);
        assert_int_equal(n->joint_count, 3 * 15);
        assert_int_equal(held, 12);
        assert_int_equal(n->piece_count, 1);
        check_relative(n->solid_fraction, 3 * 10 * bead / 100, 1e-5);
        assert_true(sp_body_wall(&c) <= 0); /* nothing is printed around the beads of the path */
        const sp_curve curve = sp_curve_of_path(&result.path);
        check_relative(sp_curve_start(&curve).stiffness, 3 * c.modulus * bead * (first + 0.2) / 10,
                       0.002);
        sp_result_clear(&result);
    }
    unlink(name);
}

/* Layers repeat by three or by four; other paths drift, or have a line that touches its neighbours
 * but is bonded to none. */
static void test_repeats(void **state)
{
    static const int three[] = {UPRIGHTS, LEVELS, SLANTED},
                     four[] = {UPRIGHTS, LEVELS, ASIDE, LEVELS};
    char name[256];
    sp_context context = {0};
    sp_network network;
    sp_result result;
    sp_drawing drawing;
    sp_toolpath_figures f;
    (void)state;
    file_name(name, sizeof name);
    for (int by = 3; by <= 4; by++) {
        write_kinds(name, by == 3 ? three : four, by, 7, 0.2, 0);
        const sp_case c = of_kinds(name, 1.4);
        if (sp_toolpath_drawing(&context, &c, &drawing, &f) != SP_OK)
            fail_msg("%s", context.message);
        assert_int_equal(f.repeat, by);
        check_relative(f.network, f.metered, 0.01);
        sp_drawing_free(&drawing);
        if (sp_network_build(&context, &c, 0, &network) != SP_OK) fail_msg("%s", context.message);
        assert_int_equal(network.piece_count, 1);
        check_relative(network.solid_fraction * 10 * 10 * 1.4, f.metered, 0.01);
        sp_network_free(&network);
    }
    sp_case c = of_kinds(name, 8);
    write_kinds(name, four, 2, 40, 0.2, 0.05);
    assert_int_equal(sp_toolpath_drawing(&context, &c, &drawing, &f), SP_NO_READ);
    if (!strstr(context.message,
                "layers that drift: layer 9 (at 1.8 mm) is not as layer 1, though"))
        fail_msg("%s", context.message);
    /* This path comes back: the last layer lies on the first. */
    write_swing(name, 41, 0.05);
    assert_int_equal(sp_toolpath_drawing(&context, &c, &drawing, &f), SP_NO_READ);
    if (!strstr(context.message, "layers that drift: layer ")) fail_msg("%s", context.message);
    write_swing(name, 41, 0.005);
    c.depth = 8.2;
    if (sp_toolpath_drawing(&context, &c, &drawing, &f) != SP_OK) fail_msg("%s", context.message);
    assert_int_equal(f.repeat, 1);
    sp_drawing_free(&drawing);
    write_kinds(name, four, 2, 3, 0.2, 0);
    c = of_kinds(name, 0.6);
    c.layers = 2;
    assert_int_equal(press_whole(&context, &c, &result), SP_BAD_CASE);
    assert_non_null(strstr(context.message, "the layers of the tool path repeat"));
    pen p = {.stream = fopen(name, "w")};
    assert_non_null(p.stream);
    for (int k = 0; k < 5; k++) {
        draw_kind(&p, k % 2 ? LEVELS : UPRIGHTS, 0.2 * (k + 1), 0.2, 0);
        if (k % 2) go(&p, 1.42, 3.5), draw(&p, 4.58, 3.5, 0.4);
    }
    assert_int_equal(fclose(p.stream), 0);
    c = of_kinds(name, 1);
    if (sp_network_build(&context, &c, 0, &network) != SP_OK) fail_msg("%s", context.message);
    assert_int_equal(network.dropped_no_platen, 2); /* one in each layer of level lines */
    assert_int_equal(network.piece_count, 1);
    assert_int_equal(network.joint_count, 5 * 15);
    sp_network_free(&network);
    unlink(name);
}

static void test_hostile(void **state)
{
    static const char *const bad[][2] = {
        {"", "received 0 layers"},
        {"G0 X1 Y2\n", "received 0 layers"},
        {"once upon a time\n", ":1: received 'once upon a time'; valid: words of ISO 6983"},
        {"G1 XNAN Y0 E1\n", ":1: received 'G1 XNAN Y0 E1'"},
        {"G1 X\n", ":1: received 'G1 X'"},
        {"G0 Z.2\nG1 X1e300 E1\n", ":2: received 'a place beyond 100 m'"},
        {"G0 Z.2\nG1 X5 E1e300\n", ":2: received 'filament beyond 1e9 mm'"},
        {"G0 Z.2\nG1 X0.001 E1e6\n", "more than 400 mm2"},
        {"G0 Z.2\nG1 X9 Z.4 E1\n", "a line that rises while it is printed"},
        {"G1 X9 E1\n", "layers from below upwards, one object at a time, above 0"},
        {"G0 Z.2\nG2 X9 E1\n", "an arc without a middle"},
        {"G0 Z.2\nG2 X9 I1 E1\n", "different distances"},
        {"G0 Z.2\nG2 X9 R1 E1\n", "an arc without a middle"},
        {"G1 X0x10\n", "received 'G1 X0x10'"},
        {"G1 X1 \x01\n", ":1: received 'a byte that stands in no text'"},
        {"\x7f"
         "ELF\x02\x01\x01\n",
         "a byte that stands in no text"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) check_refused(bad[i][0], bad[i][1]);
    char *line = malloc(100001);
    memset(line, '7', 100000);
    memcpy(line, "G1 X", 4);
    line[100000] = 0;
    check_refused(line, "at most 511 characters");
    free(line);
    /* Many moves without a distance cost nothing but time. */
    char *many = malloc(1 << 21);
    size_t used = 0;
    while (used < (1 << 21) - 64) used += (size_t)sprintf(many + used, "G1 X0 Y0 E.0\n");
    check_refused(many, "received 0 layers");
    free(many);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_pattern), cmocka_unit_test(test_up_to_the_walls),
        cmocka_unit_test(test_chains),        cmocka_unit_test(test_words_alike),
        cmocka_unit_test(test_arcs),          cmocka_unit_test(test_side_by_side),
        cmocka_unit_test(test_layers),        cmocka_unit_test(test_as_layers),
        cmocka_unit_test(test_lines_in_turn), cmocka_unit_test(test_repeats),
        cmocka_unit_test(test_hostile),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
