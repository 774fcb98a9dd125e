/* These tests check patterns against geometry: line length per area, vertex configurations,
 * coverage, names. */
#include "coupon.h"

#include <strutpress/case.h>

#include "base/alloc.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"

static sp_context context;

static sp_pieces emit(const sp_pattern_row *row, const sp_case *request, double radius)
{
    sp_pieces pieces = {0};
    context.message[0] = 0;
    if (sp_pattern_emit(&context, row, request, radius, &pieces) != SP_OK)
        fail_msg("%s: %s", row->name, context.message);
    return pieces;
}

static int is_drawn(const sp_pattern_row *row)
{
    return strcmp(row->name, "drawn") == 0;
}

static double window(double x, double y, double half)
{
    if (fabs(x) >= half || fabs(y) >= half) return 0;
    double cx = cos(0.5 * M_PI * x / half), cy = cos(0.5 * M_PI * y / half);
    return cx * cx * cy * cy / (half * half); /* integral over the plane: 1 */
}

/* Return the line length per area as a mean with a smooth window over a box: its error falls much
 * faster than that of a sharp box, whose rim cuts the pattern at arbitrary places. Three Gauss
 * points on each piece. */
static double measured_density(const sp_pattern_row *row, const sp_case *request, double half)
{
    sp_pieces pieces = emit(row, request, half * sqrt(2));
    double total = 0;
    for (int i = 0; i < pieces.count; i++) {
        const double *e = pieces.end + 4 * i;
        double length = hypot(e[2] - e[0], e[3] - e[1]);
        static const double at[3] = {0.1127016653792583, 0.5, 0.8872983346207417};
        static const double weight[3] = {5.0 / 18, 8.0 / 18, 5.0 / 18};
        for (int k = 0; k < 3; k++)
            total += weight[k] * length *
                     window(e[0] + at[k] * (e[2] - e[0]), e[1] + at[k] * (e[3] - e[1]), half);
    }
    sp_pieces_free(&pieces);
    return total;
}

static void line_density_is_what_is_emitted(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; i < count; i++) {
        if (is_drawn(&rows[i])) continue;
        double want = rows[i].line_density(&request);
        if (isnan(want)) continue; /* random cells: their own test */
        double near = fabs(measured_density(&rows[i], &request, 15) / want - 1);
        double far = fabs(measured_density(&rows[i], &request, 45) / want - 1);
        if (!(far < 1e-5 && far <= near + 1e-9))
            fail_msg("%s: line density off by %.3g in 30 cells, %.3g in 90", rows[i].name, near,
                     far);
    }
}

/* The line density is right over a range of cell angles, ratios and wave heights. */
static void line_density_follows_the_shape(void **state)
{
    (void)state;
    const char *names[] = {"re-entrant", "bricks", "wavy"};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 4; k++) {
            sp_case request;
            sp_case_default(&request);
            request.cell_angle = (double[]){-30, -10, 15, 30}[k];
            request.cell_ratio = (double[]){2, 1.5, 3, 1}[k];
            request.wave_height = (double[]){0, 0.1, 0.2, 0.3}[k];
            const sp_pattern_row *row = sp_pattern_find(names[i]);
            check_relative(measured_density(row, &request, 45), row->line_density(&request), 1e-5);
        }
}

/* Relative density = line density x t / l. Gibson & Ashby, Cellular Solids (1997), chapter 4, from
 * memory; the re-entrant values are computed from (h/l + 2) / (2 cos theta (h/l + sin theta)). */
static void handbook_densities(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    static const struct {
        const char *name;
        double want;
    } plain[] = {{"hexagonal", 1.1547005383792515},
                 {"square", 2},
                 {"triangular", 3.4641016151377544},
                 {"kagome", 1.7320508075688772}};
    for (int i = 0; i < 4; i++)
        check_relative(sp_pattern_find(plain[i].name)->line_density(&request), plain[i].want,
                       1e-14);
    static const double folded[3][3] = {
        {15, 1.5, 1.030085113}, {-20, 2, 1.283704104}, {-30, 2, 1.539600718}};
    for (int i = 0; i < 3; i++) {
        request.cell_angle = folded[i][0], request.cell_ratio = folded[i][1];
        check_relative(sp_pattern_find("re-entrant")->line_density(&request), folded[i][2], 1e-9);
    }
    /* regular hexagons are the case theta = 30 deg, h = l */
    request.cell_angle = 30, request.cell_ratio = 1;
    check_relative(sp_pattern_find("re-entrant")->line_density(&request), 2 / sqrt(3), 1e-14);
}

static int compare_double(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* List the polygons around a vertex in cyclic order, from the directions of its edges; returns how
 * many. */
static int polygons_around(const sp_pieces *pieces, double x, double y, int polygon[12])
{
    double angle[12];
    int count = 0;
    for (int i = 0; i < pieces->count; i++)
        for (int k = 0; k < 2; k++) {
            const double *here = pieces->end + 4 * i + 2 * k,
                         *there = pieces->end + 4 * i + 2 - 2 * k;
            if (hypot(here[0] - x, here[1] - y) > 1e-6) continue;
            check_true(count < 12);
            angle[count++] = atan2(there[1] - y, there[0] - x);
        }
    qsort(angle, (size_t)count, sizeof *angle, compare_double);
    for (int i = 0; i < count; i++) {
        double gap = (i + 1 < count ? angle[i + 1] : angle[0] + 2 * M_PI) - angle[i];
        double sides = 2 * M_PI / (M_PI - gap); /* regular polygon with this interior angle */
        polygon[i] = (int)lround(sides);
        check_close(sides, polygon[i], 1e-6);
    }
    return count;
}

static int same_cycle(const int *a, const int *b, int n)
{
    for (int shift = 0; shift < n; shift++)
        for (int way = -1; way <= 1; way += 2) {
            int same = 1;
            for (int i = 0; i < n; i++) same &= a[i] == b[((shift + way * i) % n + n) % n];
            if (same) return 1;
        }
    return 0;
}

/* Every vertex of a uniform tiling is surrounded by the regular polygons of its name, in that order
 * up to turning and reflection. Gruenbaum & Shephard, Tilings and Patterns (1987), as public
 * lists quote it: there are eleven. */
static void vertex_configurations(void **state)
{
    (void)state;
    int count, tilings = 0;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; i < count; i++) {
        if (rows[i].name[0] < '0' || rows[i].name[0] > '9') continue;
        tilings++;
        int want[12], wanted = 0, vertices = 0;
        for (const char *at = rows[i].name; *at;) {
            want[wanted++] = (int)strtol(at, (char **)&at, 10);
            if (*at == '.') at++;
        }
        sp_pieces pieces = emit(&rows[i], &request, 9);
        for (int k = 0; k < 2 * pieces.count; k++) {
            const double *p = pieces.end + 2 * k;
            if (hypot(p[0], p[1]) > 7) continue;
            int got[12], n = polygons_around(&pieces, p[0], p[1], got);
            if (n != wanted || !same_cycle(want, got, n))
                fail_msg("%s: wrong polygons about (%g, %g)", rows[i].name, p[0], p[1]);
            vertices++;
        }
        check_true(vertices > 50);
        for (int k = 0; k < pieces.count; k++) {
            const double *e = pieces.end + 4 * k;
            check_close(hypot(e[2] - e[0], e[3] - e[1]), 1, 1e-12);
        }
        sp_pieces_free(&pieces);
    }
    assert_int_equal(tilings, 11);
}

static double distance_to(const double *e)
{
    double dx = e[2] - e[0], dy = e[3] - e[1];
    double t = fmin(1, fmax(0, -(e[0] * dx + e[1] * dy) / (dx * dx + dy * dy)));
    return hypot(e[0] + t * dx, e[1] + t * dy);
}

/* No piece comes twice, and none is longer than the row says. */
static void check_pieces(const sp_pattern_row *row, const sp_pieces *pieces)
{
    for (int m = 0; m < pieces->count; m++) {
        const double *e = pieces->end + 4 * m;
        if (row->unit_edges > 0)
            check_true(hypot(e[2] - e[0], e[3] - e[1]) <= row->unit_edges + 1e-12);
        for (int n = 0; n < m; n++) {
            const double *f = pieces->end + 4 * n;
            double same =
                fabs(e[0] - f[0]) + fabs(e[1] - f[1]) + fabs(e[2] - f[2]) + fabs(e[3] - f[3]);
            double turned =
                fabs(e[0] - f[2]) + fabs(e[1] - f[3]) + fabs(e[2] - f[0]) + fabs(e[3] - f[1]);
            if (fmin(same, turned) < 1e-9) fail_msg("%s: a piece comes twice", row->name);
        }
    }
}

static double length_touching(const sp_pieces *pieces, double radius)
{
    double total = 0;
    for (int m = 0; m < pieces->count; m++) {
        const double *e = pieces->end + 4 * m;
        if (distance_to(e) <= radius) total += hypot(e[2] - e[0], e[3] - e[1]);
    }
    return total;
}

/* The pieces emitted for a larger disc include no further piece that touches a smaller one. */
static void emission_covers_its_disc(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; i < count; i++) {
        if (!rows[i].perfect) continue;
        sp_pieces large = emit(&rows[i], &request, 25);
        for (double radius = 0.3; radius < 12; radius += 0.37) {
            sp_pieces small = emit(&rows[i], &request, radius);
            check_relative(length_touching(&small, radius), length_touching(&large, radius), 1e-12);
            if (radius > 3 && radius < 3.3) check_pieces(&rows[i], &small);
            sp_pieces_free(&small);
        }
        sp_pieces_free(&large);
    }
}

static int holds_piece(const sp_pieces *pieces, const double *e, double x, double y)
{
    for (int n = 0; n < pieces->count; n++) {
        const double *f = pieces->end + 4 * n;
        const double same =
            hypot(e[0] + x - f[0], e[1] + y - f[1]) + hypot(e[2] + x - f[2], e[3] + y - f[3]);
        const double turned =
            hypot(e[0] + x - f[2], e[1] + y - f[3]) + hypot(e[2] + x - f[0], e[3] + y - f[1]);
        if (fmin(same, turned) < 1e-9) return 1;
    }
    return 0;
}

/* A shift by a lattice vector leaves the endless pattern as it is, and half of one does not. */
static void lattice_vectors_are_periods(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; i < count; i++) {
        double vector[2][2];
        if (!rows[i].perfect) continue;
        assert_int_equal(sp_pattern_lattice(&context, &rows[i], &request, vector), SP_OK);
        check_true(vector[0][0] * vector[1][1] - vector[0][1] * vector[1][0] > 0.5);
        sp_pieces large = emit(&rows[i], &request, 9), small = emit(&rows[i], &request, 3);
        for (int k = 0; k < 2; k++) {
            int missing = 0;
            for (int m = 0; m < small.count; m++) {
                const double *e = small.end + 4 * m;
                if (!holds_piece(&large, e, vector[k][0], vector[k][1]))
                    fail_msg("%s: lattice vector %d is no period", rows[i].name, k);
                missing += !holds_piece(&large, e, 0.5 * vector[k][0], 0.5 * vector[k][1]);
            }
            check_true(missing > 0);
        }
        sp_pieces_free(&large);
        sp_pieces_free(&small);
    }
}

/* Cells of scattered points have the mean line length per area 2 sqrt(n) for n points per area:
 * n^2/2 times the integral of 2 pi d exp(-n pi d^2/4) over the distance d of two points, 4/n, and
 * of exp(-n pi s^2) along the line between them, 1/sqrt(n), that no third point is nearer. Any
 * cells of equal area have at least that of equal hexagons, 12^(1/4) (Hales 2001, abstract); evenly
 * spread points come near it. */
static void random_cells(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    const sp_pattern_row *row = sp_pattern_find("voronoi");
    check_true(isnan(row->line_density(&request)));
    request.regularity = 0;
    const double radius = coupon_quick() ? 35 : 60;
    check_relative(measured_density(row, &request, radius), 2, 0.02);
    request.regularity = 1;
    double even = measured_density(row, &request, radius);
    check_true(even > 1.8612 && even < 1.8612 * 1.03);
}

/* Random cells have three edges at every vertex, and only the same seed gives the same cells. */
static void random_cells_repeat(void **state)
{
    (void)state;
    sp_case request;
    sp_case_default(&request);
    const sp_pattern_row *row = sp_pattern_find("voronoi");
    sp_pieces first = emit(row, &request, 8), again = emit(row, &request, 8);
    request.cell_seed++;
    sp_pieces other = emit(row, &request, 8);
    assert_int_equal(first.count, again.count);
    assert_memory_equal(first.end, again.end, 4 * sizeof(double) * (size_t)first.count);
    check_true(other.count != first.count ||
               memcmp(first.end, other.end, 4 * sizeof(double) * (size_t)first.count) != 0);
    for (int k = 0; k < 2 * first.count; k++) {
        const double *p = first.end + 2 * k;
        int edges = 0;
        if (hypot(p[0], p[1]) > 6) continue;
        for (int m = 0; m < 2 * first.count; m++)
            edges += hypot(first.end[2 * m] - p[0], first.end[2 * m + 1] - p[1]) < 1e-9;
        assert_int_equal(edges, 3);
    }
    sp_pieces_free(&first);
    sp_pieces_free(&again);
    sp_pieces_free(&other);
}

static void shapes_that_touch_are_refused(void **state)
{
    (void)state;
    sp_case request;
    sp_pieces pieces = {0};
    sp_case_default(&request);
    request.cell_angle = -60, request.cell_ratio = 1.7; /* 2 sin 60 deg = 1.732 */
    assert_int_equal(sp_pattern_emit(&context, sp_pattern_find("re-entrant"), &request, 5, &pieces),
                     SP_BAD_CASE);
    check_true(strstr(context.message, "infill.cell_ratio") && strstr(context.message, "valid:"));
    sp_case_default(&request);
    request.wave_height = 1, request.density = 1;
    assert_int_equal(sp_pattern_emit(&context, sp_pattern_find("wavy"), &request, 5, &pieces),
                     SP_BAD_CASE);
    check_true(strstr(context.message, "infill.wave_height") && strstr(context.message, "valid:"));
    assert_int_equal(sp_pattern_emit(&context, sp_pattern_find("drawn"), &request, 5, &pieces),
                     SP_BAD_CASE);
    check_true(strstr(context.message, "infill.network") != NULL);
    sp_pieces_free(&pieces);
}

static void names_are_unique(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++) {
        check_true(sp_pattern_find(rows[i].name) == &rows[i]);
        if (rows[i].alias[0]) check_true(sp_pattern_find(rows[i].alias) == &rows[i]);
        check_true(rows[i].doc[0] && strlen(rows[i].name) < SP_NAME_SIZE);
    }
    check_true(sp_pattern_find("") == NULL && sp_pattern_find("squares") == NULL);
}

static void every_failed_allocation_is_reported(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    sp_case request;
    sp_case_default(&request);
    for (int i = 0; i < count; i++) {
        if (is_drawn(&rows[i])) continue;
        for (long nth = 1;; nth++) {
            sp_pieces pieces = {0};
            sp_alloc_fail_at(nth);
            sp_status status = sp_pattern_emit(&context, &rows[i], &request, 8, &pieces);
            sp_alloc_fail_at(0);
            sp_pieces_free(&pieces);
            assert_int_equal(sp_alloc_count(), 0);
            if (status == SP_OK) break;
            assert_int_equal(status, SP_NO_MEMORY);
        }
    }
}

/* A word that stands for a pattern leads to one. */
static void near_words_lead_to_patterns(void **state)
{
    static const char *const word[] = {
#define SP_NEAR_PATTERN(word, name) word,
#include "pattern/near_list.h"
#undef SP_NEAR_PATTERN
    };
    (void)state;
    for (size_t i = 0; i < sizeof word / sizeof *word; i++) {
        const char *name = sp_pattern_near(word[i]);
        assert_non_null(name);
        if (strcmp(name, SP_SOLID_NAME) && !sp_pattern_find(name) && !sp_cell_find(name))
            fail_msg("%s leads to %s, which is no pattern", word[i], name);
        assert_null(sp_pattern_find(word[i])); /* else it is a name, not a near one */
        assert_null(sp_cell_find(word[i]));
    }
}

/* The angle of a case that gives none is that of its row; squares stand on their corners. */
static void angles_of_the_rows(void **state)
{
    int count;
    const sp_pattern_row *row = sp_pattern_rows(&count);
    sp_case request;
    (void)state;
    sp_case_default(&request);
    for (int i = 0; i < count; i++) {
        snprintf(request.pattern, sizeof request.pattern, "%s", row[i].name);
        check_close(sp_pattern_angle(&request), strcmp(row[i].alias, "square") ? 0 : 45, 0);
    }
    request.angle = 12;
    check_close(sp_pattern_angle(&request), 12, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(near_words_lead_to_patterns),
        cmocka_unit_test(angles_of_the_rows),
        cmocka_unit_test(line_density_is_what_is_emitted),
        cmocka_unit_test(line_density_follows_the_shape),
        cmocka_unit_test(handbook_densities),
        cmocka_unit_test(vertex_configurations),
        cmocka_unit_test(lattice_vectors_are_periods),
        cmocka_unit_test(emission_covers_its_disc),
        cmocka_unit_test(random_cells),
        cmocka_unit_test(random_cells_repeat),
        cmocka_unit_test(shapes_that_touch_are_refused),
        cmocka_unit_test(names_are_unique),
        cmocka_unit_test(every_failed_allocation_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
