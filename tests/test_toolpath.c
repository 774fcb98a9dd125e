/* Tool paths: words, metering and arcs against sums by hand; every planar pattern drawn as a path and read back; what is refused. */
#include "check.h"

#include <strutpress/strutpress.h>

#include "coupon.h"
#include "measure/curve.h"
#include "pattern/pattern.h"
#include "temporary_file.h"
#include "toolpath/toolpath.h"

static const double filament = 1.75, layer_height = 0.2;

/* mm of filament for a line of this width of rectangle. */
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

/* The part of a line inside a box; 0: there is none. */
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

/* One layer of a network: its walls as rectangles of beads, then its struts, up to the inner face of the walls. */
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

static void write_path(const char *name, const sp_case *request, const sp_network *network,
                       double shift)
{
    pen p = {.stream = fopen(name, "w")};
    assert_non_null(p.stream);
    fprintf(p.stream,
            "; anything may stand here (M104 too)\nG21\nG90\nM82\nM104 S215\nG28 X Y\nG92 E0\n");
    const int layers = (int)lround(request->depth / layer_height);
    for (int k = 0; k < layers; k++) {
        fprintf(p.stream, "G0 Z%.3f (up)\n", (k + 1) * layer_height);
        if (k == 0) { /* a line around the part, which does not touch it */
            go(&p, shift - 5, shift - 5);
            draw(&p, shift + request->width + 5, shift - 5, 0.5);
            draw(&p, shift + request->width + 5, shift + request->height + 5, 0.5);
        }
        draw_layer(&p, request, network, shift);
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

/* Every planar pattern as a path, read back: its network weighs what was metered, and its curve is that of the pattern. */
static void test_every_pattern(void **state)
{
    int rows, tried = 0;
    const sp_pattern_row *row = sp_pattern_rows(&rows);
    char name[256];
    (void)state;
    to_the_middle = getenv("MIDDLE") != NULL;
    file_name(name, sizeof name);
    for (int i = 0; i < rows; i++) {
        sp_context context = {0};
        sp_network network;
        sp_result pattern, printed;
        sp_drawing drawing;
        sp_toolpath_figures f;
        if (!strcmp(row[i].name, "drawn")) continue;
        if (coupon_quick() && i % 5) continue;
        if (getenv("TOOLPATH_ONLY") && strcmp(getenv("TOOLPATH_ONLY"), row[i].name)) continue;
        sp_case request = small(row[i].name);
        assert_int_equal(sp_network_build(&context, &request, 0, &network), SP_OK);
        write_path(name, &request, &network, 40);
        sp_case back = request;
        snprintf(back.pattern, sizeof back.pattern, "printed");
        snprintf(back.toolpath_file, sizeof back.toolpath_file, "%s", name);
        if (sp_toolpath_drawing(&context, &back, &drawing, &f) != SP_OK)
            fail_msg("%s", context.message);
        const double off_mass = f.network / f.metered - 1;
        sp_drawing_free(&drawing);
        if (sp_result_press(&context, &request, &pattern) != SP_OK) fail_msg("%s", context.message);
        if (sp_result_press(&context, &back, &printed) != SP_OK)
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
        tried++;
        sp_network_free(&network);
        sp_result_clear(&pattern);
        sp_result_clear(&printed);
    }
    assert_true(tried > 0);
    unlink(name);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_pattern),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
