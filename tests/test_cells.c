/* These tests check the spatial patterns against crystallography and geometry, without a coupon. */
#include "check.h"

#include "base/alloc.h"
#include "pattern/cell.h"

static const sp_lattice *lattice_of(const char *name, const sp_case *request)
{
    static sp_lattice lattice;
    sp_context context = {0};
    const sp_cell_row *row = sp_cell_find(name);
    check_true(row != NULL && row->lattice != NULL);
    assert_int_equal(row->lattice(&context, request, &lattice), SP_OK);
    return &lattice;
}

static double box_volume(const sp_lattice *lattice)
{
    return lattice->box[0] * lattice->box[1] * lattice->box[2];
}

static double cell_volume(const sp_lattice *lattice)
{
    const double(*b)[3] = lattice->basis;
    return fabs(b[0][0] * (b[1][1] * b[2][2] - b[1][2] * b[2][1]) -
                b[0][1] * (b[1][0] * b[2][2] - b[1][2] * b[2][0]) +
                b[0][2] * (b[1][0] * b[2][1] - b[1][1] * b[2][0]));
}

static double distance(const double *a, const double *b)
{
    return sqrt((a[0] - b[0]) * (a[0] - b[0]) + (a[1] - b[1]) * (a[1] - b[1]) +
                (a[2] - b[2]) * (a[2] - b[2]));
}

/* These are the joints and struts in the repeating box, the coordination numbers (the lower and the
 * higher one) and the strut length in cell lengths. Sources of the coordination numbers: Ashcroft &
 * Mermin, Solid State Physics (1976), chapter 4 (6, 8, 12, and 4 of diamond); Thomson (1887) for
 * the bitruncated octahedra (24 corners, 36 edges, each shared by 4 and by 3 bodies: 6 joints and
 * 12 struts per body, two bodies in the cube); public texts on the Laves graph, which cite Coxeter
 * 1955 and Sunada (degree 3, 8 joints in the cube; read); corners and edges of the rhombic
 * dodecahedron (14, 24, of which 8 meet three and 6 four edges: public texts that cite Coxeter,
 * read). Face diagonals: 6 faces of 4 half diagonals, shared by two cubes. Uprights: 4 in the box,
 * each with 4 slanted ones at its top. */
static const struct {
    const char *name;
    int joints, struts, degree[2];
    double length;
} wanted[] = {
    {"simple-cubic", 1, 3, {6, 6}, 1},
    {"body-centred-cubic", 2, 8, {8, 8}, 0.8660254037844386},
    {"face-centred-cubic", 4, 12, {4, 12}, 0.7071067811865476},
    {"octet-truss", 4, 24, {12, 12}, 0.7071067811865476},
    {"kelvin", 12, 24, {4, 4}, 0.3535533905932738},
    {"diamond-cubic", 8, 16, {4, 4}, 0.4330127018922193},
    {"rhombic-dodecahedral", 12, 32, {4, 8}, 0.4330127018922193},
    {"gyroid-skeleton", 8, 12, {3, 3}, 0.3535533905932738},
    {"cubic-on-corner", 6, 18, {6, 6}, 1},
    {"re-entrant-cubic", 8, 20, {5, 5}, NAN},
};
enum { WANTED = sizeof wanted / sizeof *wanted };

static void test_counts_and_lengths(void **state)
{
    (void)state;
    sp_case request;
    const double unit[3] = {1, 1, 1};
    sp_case_default(&request);
    for (int i = 0; i < WANTED; i++) {
        const sp_lattice *lattice = lattice_of(wanted[i].name, &request);
        double repeats = box_volume(lattice) / cell_volume(lattice);
        check_relative(repeats * lattice->vertex_count, wanted[i].joints, 1e-12);
        check_relative(repeats * lattice->edge_count, wanted[i].struts, 1e-12);
        int degree[SP_LATTICE_VERTICES] = {0};
        for (int e = 0; e < lattice->edge_count; e++) {
            double a[3], b[3];
            sp_lattice_edge(lattice, e, a, b);
            if (!isnan(wanted[i].length)) check_relative(distance(a, b), wanted[i].length, 1e-12);
            degree[lattice->edge[e][0]]++, degree[lattice->edge[e][1]]++;
        }
        int least = 99, most = 0;
        for (int v = 0; v < lattice->vertex_count; v++) {
            least = degree[v] < least ? degree[v] : least;
            most = degree[v] > most ? degree[v] : most;
        }
        assert_int_equal(least, wanted[i].degree[0]);
        assert_int_equal(most, wanted[i].degree[1]);
        if (!isnan(wanted[i].length))
            check_relative(sp_lattice_line_density(lattice, unit),
                           wanted[i].struts * wanted[i].length / box_volume(lattice), 1e-12);
    }
}

/* The relative density of slender round struts over (r/l)^2 is 3 pi, 3 sqrt(3) pi, 6 sqrt(2) pi, 3
 * pi/(2 sqrt(2)) for simple cubic, body-centred (l = sqrt(3) a/2), octet (Deshpande, Fleck & Ashby
 * 2001) and Kelvin cells: counts of struts over the volume of a cell. */
static void test_relative_densities(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double length, want;
    } rows[] = {{"simple-cubic", 1, 9.42477796},
                {"body-centred-cubic", 0.8660254037844386, 16.3241943},
                {"octet-truss", 0.7071067811865476, 26.6572976},
                {"kelvin", 0.3535533905932738, 3.3321622}};
    const double unit[3] = {1, 1, 1};
    sp_case request;
    sp_case_default(&request);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        check_relative(sp_lattice_line_density(lattice_of(rows[i].name, &request), unit) * M_PI *
                           rows[i].length * rows[i].length,
                       rows[i].want, 1e-8);
}

/* Laves graph (Sunada 2008; read in public texts: the three struts of a joint lie in a plane at 120
 * degrees, parallel to a face of a regular tetrahedron, so that the planes of neighbours are turned
 * by its acos(1/3) = 70.53 degrees). Diamond:
 * 109.47 degrees between any two. */
static void test_angles(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    const char *const names[] = {"gyroid-skeleton", "diamond-cubic"};
    const double cosine[] = {-0.5, -1.0 / 3};
    for (int i = 0; i < 2; i++) {
        const sp_lattice *lattice = lattice_of(names[i], &request);
        double normal[SP_LATTICE_VERTICES][3];
        for (int v = 0; v < lattice->vertex_count; v++) {
            double out[4][3];
            int count = 0;
            for (int k = 0; k < 2 * lattice->edge_count; k++) {
                double end[2][3];
                if (lattice->edge[k / 2][k % 2] != v) continue;
                sp_lattice_edge(lattice, k / 2, end[0], end[1]);
                double length = distance(end[0], end[1]);
                for (int n = 0; n < 3; n++)
                    out[count][n] = (end[1 - k % 2][n] - end[k % 2][n]) / length;
                count++;
            }
            for (int p = 0; p < count; p++)
                for (int q = 0; q < p; q++)
                    check_close(out[p][0] * out[q][0] + out[p][1] * out[q][1] +
                                    out[p][2] * out[q][2],
                                cosine[i], 1e-12);
            for (int n = 0; n < 3; n++) {
                int a = (n + 1) % 3, b = (n + 2) % 3;
                normal[v][n] = (out[0][a] * out[1][b] - out[0][b] * out[1][a]) /
                               sqrt(1 - cosine[i] * cosine[i]);
            }
        }
        for (int e = 0; i == 0 && e < lattice->edge_count; e++) {
            const double *a = normal[lattice->edge[e][0]], *b = normal[lattice->edge[e][1]];
            check_close(fabs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]), 1.0 / 3, 1e-12);
        }
    }
}

/* Return the length of the part of a line inside a box, by the parameters of its faces. */
static double length_inside(const double *line, const double low[3], const double high[3])
{
    double t[2] = {0, 1};
    for (int k = 0; k < 3; k++) {
        double d = line[3 + k] - line[k];
        if (d == 0 && (line[k] < low[k] || line[k] >= high[k])) return 0;
        if (d == 0) continue;
        double p = (low[k] - line[k]) / d, q = (high[k] - line[k]) / d;
        t[0] = fmax(t[0], fmin(p, q)), t[1] = fmin(t[1], fmax(p, q));
    }
    return t[1] > t[0] ? (t[1] - t[0]) * distance(line, line + 3) : 0;
}

/* The lines emitted for a box of two repeats, moved off all planes of symmetry, have the length
 * that the closed form gives, and each line comes once. */
static void test_emitted_lines_fill_the_box(void **state)
{
    (void)state;
    const double unit[3] = {1, 1, 1};
    sp_case request;
    sp_context context = {0};
    sp_case_default(&request);
    for (int i = 0; i < WANTED; i++) {
        const sp_lattice *lattice = lattice_of(wanted[i].name, &request);
        sp_lines lines = {0};
        double low[3] = {-0.813, 1.271, 0.137}, high[3], total = 0;
        for (int k = 0; k < 3; k++) high[k] = low[k] + 2 * lattice->box[k];
        assert_int_equal(sp_lattice_emit(&context, lattice, low, high, &lines), SP_OK);
        for (int n = 0; n < lines.count; n++) total += length_inside(lines.end + 6 * n, low, high);
        check_relative(total / (8 * box_volume(lattice)), sp_lattice_line_density(lattice, unit),
                       1e-12);
        for (int n = 0; n < lines.count; n++)
            for (int m = 0; m < n; m++) {
                const double *p = lines.end + 6 * n, *q = lines.end + 6 * m;
                check_true(distance(p, q) + distance(p + 3, q + 3) > 1e-9);
                check_true(distance(p, q + 3) + distance(p + 3, q) > 1e-9);
            }
        sp_lines_free(&lines);
    }
}

/* Cells may be stretched: boxes of 2 x 3 x 5 have 2 + 3 + 5 of line in a volume of 30. */
static void test_stretched(void **state)
{
    (void)state;
    const double scale[3] = {2, 3, 5};
    sp_case request;
    sp_case_default(&request);
    check_relative(sp_lattice_line_density(lattice_of("simple-cubic", &request), scale), 1.0 / 3,
                   1e-14);
}

/* A re-entrant cell with uprights of h and slanted struts of l has a length of 4 h + 16 l in (2 l
 * cos t)^2 2 (h + l sin t). It is refused when facing corners touch. */
static void test_re_entrant(void **state)
{
    (void)state;
    const double unit[3] = {1, 1, 1};
    sp_case request;
    sp_context context = {0};
    sp_lattice lattice;
    sp_case_default(&request);
    request.cell_angle = -30, request.cell_ratio = 1.5;
    double l = 0.5 / cos(M_PI / 6), h = 1.5 * l;
    check_relative(sp_lattice_line_density(lattice_of("re-entrant-cubic", &request), unit),
                   (4 * h + 16 * l) / (2 * (h - 0.5 * l)), 1e-12);
    request.cell_ratio = 0.9;
    assert_int_equal(sp_cell_find("re-entrant-cubic")->lattice(&context, &request, &lattice),
                     SP_BAD_CASE);
    check_true(strstr(context.message, "infill.cell_ratio") != NULL);
}

typedef struct foam_figures {
    double vertices, line, degree; /* per volume, per volume, mean */
} foam_figures;

static int compare_points(const void *a, const void *b)
{
    return memcmp(a, b, 3 * sizeof(double));
}

static foam_figures measure_foam(const sp_case *request, double side)
{
    sp_context context = {0};
    sp_lines lines = {0};
    const double half[3] = {side / 2, side / 2, side / 2},
                 low[3] = {-side / 2, -side / 2, -side / 2};
    foam_figures out = {0};
    assert_int_equal(sp_cell_find("voronoi-foam")->emit(&context, request, half, &lines), SP_OK);
    double *point = malloc((size_t)lines.count * 6 * sizeof *point);
    check_true(point != NULL);
    int inside = 0, distinct = 0;
    for (int i = 0; i < lines.count; i++)
        out.line += length_inside(lines.end + 6 * i, low, half) / (side * side * side);
    for (int i = 0; i < 2 * lines.count; i++) {
        const double *p = lines.end + 3 * i;
        if (fabs(p[0]) > side / 2 || fabs(p[1]) > side / 2 || fabs(p[2]) > side / 2) continue;
        memcpy(point + 3 * inside++, p, 3 * sizeof *p);
    }
    qsort(point, (size_t)inside, 3 * sizeof *point, compare_points);
    for (int i = 0; i < inside; i++)
        distinct += i == 0 || memcmp(point + 3 * i, point + 3 * i - 3, 3 * sizeof *point) != 0;
    out.vertices = distinct / (side * side * side);
    out.degree = (double)inside / distinct;
    free(point);
    sp_lines_free(&lines);
    return out;
}

/* Cells of scattered points (Meijering 1953, from memory) have four struts at each joint; 15.535
 * faces per cell, which is 2 + 2 V by Euler with V joints per cell; edge length per volume 5.832.
 * The scatter of a box of 1728 cells is about 1 %. */
static void test_foam_of_scattered_points(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    request.regularity = 0;
    foam_figures mean = {0};
    for (int seed = 1; seed <= 3; seed++) {
        request.cell_seed = seed;
        foam_figures one = measure_foam(&request, 12);
        check_close(one.degree, 4, 1e-12);
        mean.vertices += one.vertices / 3, mean.line += one.line / 3;
    }
    check_relative(2 + 2 * mean.vertices, 15.535, 0.02);
    check_relative(mean.line, 5.832, 0.02);
}

/* Evenly spread points lie between the scattered ones (15.535 faces, 5.832 of edge) and the
 * bitruncated cubic cell of the same volume (14 faces, 24 x 0.35355 / 2^(1/3) = 5.345 of edge per
 * volume, Thomson 1887). */
static void test_regular_foam(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    request.regularity = 1;
    foam_figures one = measure_foam(&request, 8), again = measure_foam(&request, 8);
    check_close(2 + 2 * one.vertices, 0.5 * (14 + 15.535), 0.5 * (15.535 - 14));
    check_close(one.line, 0.5 * (5.345 + 5.832), 0.5 * (5.832 - 5.345));
    check_close(again.line, one.line, 0);
    request.cell_seed = 2;
    check_true(measure_foam(&request, 8).line != one.line);
}

static void test_rows_are_complete(void **state)
{
    (void)state;
    int count;
    const sp_cell_row *rows = sp_cell_rows(&count);
    assert_int_equal(count, WANTED + 1);
    for (int i = 0; i < count; i++) {
        check_true(rows[i].name[0] && rows[i].doc[0]);
        check_true((rows[i].lattice != NULL) != (rows[i].emit != NULL));
        check_true(sp_cell_find(rows[i].name) == &rows[i]);
        if (rows[i].alias[0]) check_true(sp_cell_find(rows[i].alias) == &rows[i]);
    }
    check_true(sp_cell_find("") == NULL && sp_cell_find("square") == NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_counts_and_lengths),
        cmocka_unit_test(test_relative_densities),
        cmocka_unit_test(test_angles),
        cmocka_unit_test(test_emitted_lines_fill_the_box),
        cmocka_unit_test(test_stretched),
        cmocka_unit_test(test_re_entrant),
        cmocka_unit_test(test_foam_of_scattered_points),
        cmocka_unit_test(test_regular_foam),
        cmocka_unit_test(test_rows_are_complete),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
