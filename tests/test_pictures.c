/* These tests check spatial coupons in a picture: the strut that is in front is drawn last,
 * whatever the block and however it is bent.
 *
 * The picture is read again stroke by stroke and compared with a search over all struts for the
 * nearest one. */
#include "coupon.h"

#include <strutpress/strutpress.h>

#include "base/alloc.h"
#include "spatial_block.h"
#include "shape/strands.h"

/* ---- the direction of sight ----------------------------------------------- */

/* Isometric drawings: the line of sight is inclined by asin(1/sqrt 3) = 35.26 degrees (read in
 * public texts about isometric drawings; ISO 5456-3 was not); here it is turned about the upright
 * axis too, which leaves the rise as it is. */
static void the_view_is_a_rotation(void **state)
{
    (void)state;
    double seen[3][3];
    for (int i = 0; i < 3; i++) {
        const double axis[3] = {i == 0, i == 1, i == 2};
        sp_see(axis, seen[i]);
    }
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double product = 0.0;
            for (int k = 0; k < 3; k++) product += seen[i][k] * seen[j][k];
            check_close(product, i == j, 1e-15);
        }
    check_true(seen[0][0] > 0.4 && seen[0][1] < -0.2);  /* x: lower right */
    check_true(seen[2][0] < -0.4 && seen[2][1] < -0.2); /* z: lower left */
    check_close(seen[1][0], 0.0, 1e-15);                /* y: upright */
    check_close(sp_seen_rise(), sqrt(2.0 / 3.0), 1e-15);
    for (int i = 0; i < 3; i++) check_true(seen[i][2] > 0.3); /* from above and in front */
    const double turn = seen[0][0] * (seen[1][1] * seen[2][2] - seen[1][2] * seen[2][1]) -
                        seen[0][1] * (seen[1][0] * seen[2][2] - seen[1][2] * seen[2][0]) +
                        seen[0][2] * (seen[1][0] * seen[2][1] - seen[1][1] * seen[2][0]);
    check_close(turn, 1.0, 1e-15); /* no mirror image */
}

/* ---- reading strokes ----------------------------------------------- */

typedef struct stroke {
    unsigned colour;
    double width, a[2], b[2]; /* picture units, y up */
} stroke;

typedef struct picture {
    int count;
    stroke *stroke; /* in the order they are drawn */
} picture;

#define RIM 0xff0000u
#define RIM_TEXT "#ff0000"
static const double units = 20.0; /* picture units per mm */

static void read_points(picture *p, const char *d, stroke like)
{
    double at[2] = {0.0, 0.0};
    for (int taken; *d == 'M' || *d == 'l'; d += taken) {
        int x, y;
        if (sscanf(d + 1, "%d %d%n", &x, &y, &taken) != 2) fail_msg("no point at %.30s", d);
        taken++;
        for (int k = 0; k < 2; k++) like.a[k] = at[k];
        const double move[2] = {x / 10.0, y / 10.0};
        for (int k = 0; k < 2; k++) at[k] = *d == 'M' ? move[k] : at[k] + move[k];
        for (int k = 0; k < 2; k++) like.b[k] = at[k];
        if (*d == 'l') p->stroke[p->count++] = like;
    }
}

static picture drawn(const sp_scene *scene, const sp_strand *strand, int count)
{
    sp_context context = {0};
    const sp_view view = {0.0, 0.0, units};
    FILE *stream = tmpfile();
    sp_svg svg = {stream, 100.0, 100.0};
    assert_non_null(stream);
    assert_int_equal(sp_draw_strands(&context, &svg, &view, scene, strand, count), SP_OK);
    const long size = ftell(stream);
    char *text = test_calloc((size_t)size + 1, 1);
    rewind(stream);
    assert_int_equal(fread(text, 1, (size_t)size, stream), size);
    fclose(stream);
    picture p = {.stroke = test_malloc((size_t)size / 4 * sizeof(stroke))};
    for (const char *at = text; (at = strstr(at, "<path ")); at++) {
        stroke like = {0};
        int width;
        if (sscanf(at, "<path stroke=\"#%x\" stroke-width=\"%d\"", &like.colour, &width) != 2)
            fail_msg("unknown stroke %.60s", at);
        like.width = width / 10.0;
        read_points(&p, strstr(at, " d=\"") + 4, like);
    }
    test_free(text);
    return p;
}

static double distance(const double at[2], const double a[2], const double b[2], double *share)
{
    const double x = b[0] - a[0], y = b[1] - a[1], square = x * x + y * y;
    double t = square > 0.0 ? ((at[0] - a[0]) * x + (at[1] - a[1]) * y) / square : 0.0;
    t = fmax(0.0, fmin(1.0, t));
    *share = t;
    return hypot(at[0] - a[0] - t * x, at[1] - a[1] - t * y);
}

/* Return the colour of the last stroke over a place [mm]. */
static unsigned colour_at(const picture *p, const double place[2])
{
    const double at[2] = {units * place[0], units * place[1]};
    double share;
    for (int i = p->count - 1; i >= 0; i--)
        if (distance(at, p->stroke[i].a, p->stroke[i].b, &share) <= 0.5 * p->stroke[i].width)
            return p->stroke[i].colour;
    return 0xffffff;
}

/* ---- what is in front ----------------------------------------------- */

typedef struct front {
    int strand;        /* nearest to the reader over a place; -1: two of them are too near to say */
    double depth, gap; /* to the next */
} front;

/* Return the nearest depth at which the middle half of one strand covers the place, -HUGE_VAL where
 * it does not. *edge gets 1 where its rim covers the place. */
static double depth_at(const sp_strand *strand, const double place[2], int *edge)
{
    double depth = -HUGE_VAL;
    for (int p = 0; p + 1 < strand->count; p++) {
        const double *a = strand->seen + 3 * p, *b = a + 3;
        double share;
        const double off = distance(place, a, b, &share) / strand->width;
        if (off < 0.25) depth = fmax(depth, a[2] + share * (b[2] - a[2]));
        *edge |= off >= 0.25 && off < 0.75;
    }
    return depth;
}

static front front_at(const sp_strand *strand, int count, const double place[2])
{
    front found = {-1, -HUGE_VAL, HUGE_VAL};
    int edges = 0;
    for (int s = 0; s < count; s++) {
        int edge = 0;
        const double depth = depth_at(&strand[s], place, &edge);
        if (depth == -HUGE_VAL) edges += edge;
        if (depth > found.depth) {
            found = (front){s, depth, depth - found.depth};
        } else if (depth > -HUGE_VAL) {
            found.gap = fmin(found.gap, found.depth - depth);
        }
    }
    if (edges || found.gap < 1.05 * strand[0].width) found.strand = -1;
    return found;
}

/* Return the nearest depth at which a strand other than `own` covers a place or comes near it;
 * -HUGE_VAL: none does. */
static double others_at(const sp_strand *strand, int count, int own, const double place[2])
{
    double depth = -HUGE_VAL, share;
    for (int s = 0; s < count; s++)
        for (int p = 0; s != own && p + 1 < strand[s].count; p++) {
            const double *a = strand[s].seen + 3 * p, *b = a + 3;
            if (distance(place, a, b, &share) < 0.75 * strand[s].width)
                depth = fmax(depth, a[2] + share * (b[2] - a[2]));
        }
    return depth;
}

/* Check that the rim of strand s on its piece at point i shows its outline against a strut behind
 * it. Returns 1 when there is such a strut. */
static int check_rim(const picture *p, const sp_strand *strand, int count, int s, int i)
{
    const double *a = strand[s].seen + 3 * i, *b = a + 3, length = hypot(b[0] - a[0], b[1] - a[1]);
    if (length < 0.5 * strand[s].width) return 0; /* seen from its end */
    const double off = 0.46 * strand[s].width / length;
    const double place[2] = {0.5 * (a[0] + b[0]) - off * (b[1] - a[1]),
                             0.5 * (a[1] + b[1]) + off * (b[0] - a[0])};
    const double behind = others_at(strand, count, s, place);
    if (behind == -HUGE_VAL || fmin(a[2], b[2]) - behind < 1.3 * strand[s].width) return 0;
    if (colour_at(p, place) != RIM)
        fail_msg("strut %d has no outline at (%.3f, %.3f) but colour %06x", s, place[0], place[1],
                 colour_at(p, place));
    return 1;
}

/* Check that no outline runs through a joint that nothing hides. Returns 1 when the joint is in
 * sight. */
static int check_joint(const picture *p, const sp_strand *strand, int count, int s)
{
    const double *joint = strand[s].seen;
    if (others_at(strand, count, s, joint) > joint[2] + 0.9 * strand[s].width) return 0;
    if (colour_at(p, joint) == RIM)
        fail_msg("an outline runs through the joint at (%.3f, %.3f)", joint[0], joint[1]);
    return 1;
}

/* Draw every strut in a colour of its own and check places along every strut. Returns the number of
 * places that two struts or more cover. */
static int check_picture(const sp_shapes *shapes, int frame)
{
    const sp_ink ink = {.share = 1.0, .colour = "#000000"};
    sp_context context = {0};
    sp_strand_set set;
    char(*colour)[8] = test_malloc((size_t)shapes->strut_count * sizeof *colour);
    int crossings = 0, rims = 0, joints = 0;
    assert_int_equal(
        sp_strands_of_shapes(&context, shapes,
                             shapes->position + 3 * (size_t)frame * (size_t)shapes->point_count,
                             &ink, &set),
        SP_OK);
    for (int s = 0; s < set.count; s++) {
        snprintf(colour[s], sizeof colour[s], "#%06x", (s + 1) & 0xffff);
        set.strand[s].colour = colour[s];
        set.strand[s].front = 0.0;
    }
    const sp_scene scene = {.edge = RIM_TEXT, .top = 1.0}; /* without reach: no fading */
    const picture p = drawn(&scene, set.strand, set.count);
    for (int s = 0; s < set.count; s++)
        for (int i = 1; i + 2 < set.strand[s].count; i++) {
            const double *a = set.strand[s].seen + 3 * i;
            const double place[2] = {0.7 * a[0] + 0.3 * a[3], 0.7 * a[1] + 0.3 * a[4]};
            const front in_front = front_at(set.strand, set.count, place);
            if (in_front.strand < 0) continue;
            crossings += isfinite(in_front.gap);
            if (colour_at(&p, place) != (unsigned)in_front.strand + 1)
                fail_msg("frame %d: at (%.3f, %.3f) colour %06x, but strut %d is in front by %.3g "
                         "mm",
                         frame, place[0], place[1], colour_at(&p, place), in_front.strand,
                         in_front.gap);
        }
    for (int s = 0; s < set.count; s++) {
        joints += check_joint(&p, set.strand, set.count, s);
        for (int i = 0; i + 1 < set.strand[s].count; i++)
            rims += check_rim(&p, set.strand, set.count, s, i);
    }
    check_true(rims > 20 && joints > 10);
    test_free(p.stroke);
    test_free(colour);
    sp_strand_set_free(&set);
    return crossings;
}

static void what_is_in_front_is_drawn_last(void **state)
{
    (void)state;
    for (int kind = 0; kind < (coupon_quick() ? 1 : BLOCK_KINDS); kind++) {
        sp_result made;
        int crossings = 0;
        block_make(&made, kind, kind == BLOCK_KELVIN ? 2 : 3, 10.0, 0.8, 0, 3);
        for (int f = 0; f < 3; f++) crossings += check_picture(&made.path.shapes, f);
        check_true(crossings > 100);
        block_free(&made);
    }
}

/* The detail becomes coarser until the pieces fit, and is the finest with which they do. */
static void detail_follows_the_number_of_pieces(void **state)
{
    (void)state;
    const sp_ink ink = {.share = 1.0, .colour = "#000000"};
    const sp_scene scene = {.edge = "#000000", .top = 1.0};
    sp_context context = {0};
    sp_strand_set set;
    sp_result made;
    block_make(&made, BLOCK_BODY_CENTRED, 2, 10.0, 0.5, 0, 1);
    assert_int_equal(
        sp_strands_of_shapes(&context, &made.path.shapes, made.path.shapes.position, &ink, &set),
        SP_OK);
    int before = 0;
    for (int limit = 100000; limit > set.count / 2; limit /= 2) {
        const int detail = sp_detail_within(&scene, set.strand, set.count, limit);
        check_true(detail >= before);
        check_true(limit < 100000 || detail == 0);
        before = detail;
    }
    check_true(sp_detail_is_last(before));
    sp_scene coarse = scene;
    coarse.detail = before;
    picture p = drawn(&coarse, set.strand, set.count);
    assert_int_equal(p.count, 2 * set.count); /* straight struts: an outline and a filling each */
    test_free(p.stroke);
    sp_strand_set_free(&set);
    block_free(&made);
}

/* ---- size of files ----------------------------------------------- */

static void files_of_big_blocks_stay_small(void **state)
{
    (void)state;
    sp_result made;
    sp_context context = {0};
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    block_make(&made, BLOCK_KELVIN, 4, 5.0, 0.4, 0, 6);
    check_true(made.network.strut_count > 1500);
    for (int i = 0; i < count; i++) {
        FILE *stream = tmpfile();
        assert_int_equal(row[i].write(&context, &made, stream), SP_OK);
        if (ftell(stream) > 6000000) fail_msg("%s: %ld bytes", row[i].name, ftell(stream));
        fclose(stream);
    }
    block_free(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_view_is_a_rotation),
        cmocka_unit_test(what_is_in_front_is_drawn_last),
        cmocka_unit_test(detail_follows_the_number_of_pieces),
        cmocka_unit_test(files_of_big_blocks_stay_small),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
