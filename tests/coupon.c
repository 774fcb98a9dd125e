#include "coupon.h"

#include <strutpress/resolve.h>

#include "run/result.h"

#include "no_crossing.h"
#include "whole_press.h"

/* Struts in space that did not overlap in the unloaded coupon keep this share of the distance at
 * which they touch. */
static const double least_approach = 0.05;

const char *const coupon_pad[] = {"coupon.width=8.82 mm",
                                  "coupon.depth=8.82 mm",
                                  "coupon.height=5 mm",
                                  "infill.angle=0 deg",
                                  "bead.walls=1",
                                  "press.direction=along",
                                  NULL};

int coupon_quick(void)
{
    const char *quick = getenv("STRUTPRESS_QUICK");
    return quick && !strcmp(quick, "1");
}

sp_status coupon_settle(sp_context *context, sp_case *request)
{
    sp_resolved resolved;
    const sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK) *request = resolved.request;
    sp_resolved_free(&resolved);
    return status;
}

void coupon_mesh(coupon *c)
{
    sp_model_free(&c->model);
    const sp_model_options options = {.platens = c->request.platens,
                                      .elements_per_strut = c->request.elements_per_strut,
                                      .section_points = c->request.section_points,
                                      .contact_spacing = c->request.contact_spacing,
                                      .friction_struts = c->request.strut_friction,
                                      .friction_platens = c->request.platen_friction,
                                      .shear_factor = c->request.shear_factor};
    assert_int_equal(sp_model_build(&c->context, &c->network, &c->law, &options, &c->model), SP_OK);
}

void coupon_set_up(coupon *c, int with_flaws, const char *const *settings)
{
    memset(c, 0, sizeof *c);
    sp_case_default(&c->request);
    for (; *settings; settings++) {
        char key[256];
        snprintf(key, sizeof key, "%s", *settings);
        char *value = strchr(key, '=');
        assert_non_null(value);
        *value++ = 0;
        if (sp_case_set(&c->context, &c->request, key, value) != SP_OK)
            fail_msg("%s", c->context.message);
    }
    if (sp_network_build(&c->context, &c->request, with_flaws, &c->network) != SP_OK)
        fail_msg("%s", c->context.message);
    assert_int_equal(sp_law_prepare(&c->context, &c->request, &c->law), SP_OK);
    coupon_mesh(c);
}

void coupon_press(coupon *c, const sp_press_options *options, sp_path *path)
{
    if (press_whole_model(&c->context, &c->model, options, path) != SP_OK)
        fail_msg("%s: %s", c->request.pattern, c->context.message);
}

void coupon_tear_down(coupon *c)
{
    sp_model_free(&c->model);
    sp_law_free(&c->law);
    sp_network_free(&c->network);
}

static double side(const double *a, const double *b, const double *p)
{
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
}

static int cross(const double *a, const double *b, const double *p, const double *q)
{
    return side(a, b, p) * side(a, b, q) < 0 && side(p, q, a) * side(p, q, b) < 0;
}

static int share_joint(const sp_network *network, int s, int r)
{
    const int *a = network->strut_joint + 2 * s, *b = network->strut_joint + 2 * r;
    return a[0] == b[0] || a[0] == b[1] || a[1] == b[0] || a[1] == b[1];
}

static void check_frame(const sp_network *network, const sp_path *path, int frame)
{
    const sp_shapes *shapes = &path->shapes;
    const double *x = shapes->position + 3 * (size_t)frame * (size_t)shapes->point_count;
    const double gap = path->size[1] - sp_path_state(path, shapes->frame_step[frame])->shortening;
    for (int s = 0; s < shapes->strut_count; s++)
        for (int k = shapes->first_point[s]; k < shapes->first_point[s + 1]; k++) {
            const double *a = x + 3 * k, *b = a + 3;
            if (!(a[1] > -1e-9 && a[1] < gap + 1e-9))
                fail_msg("frame %d: strut %d is outside the platens", frame, s);
            if (k + 1 == shapes->first_point[s + 1]) break;
            for (int r = s + 1; r < shapes->strut_count; r++) {
                if (share_joint(network, s, r)) continue;
                for (int m = shapes->first_point[r]; m + 1 < shapes->first_point[r + 1]; m++)
                    if (cross(a, b, x + 3 * m, x + 3 * m + 3))
                        fail_msg(
                            "frame %d (strain %.3f): strut %d crosses strut %d near (%.3f, %.3f)",
                            frame,
                            sp_path_state(path, shapes->frame_step[frame])->shortening /
                                path->size[1],
                            s, r, a[0], a[1]);
            }
        }
}

static void check_inside(const sp_path *path, int frame)
{
    const sp_shapes *shapes = &path->shapes;
    const double *x = shapes->position + 3 * (size_t)frame * (size_t)shapes->point_count;
    const double gap = path->size[1] - sp_path_state(path, shapes->frame_step[frame])->shortening;
    for (int k = 0; k < shapes->point_count; k++)
        if (!(x[3 * k + 1] > -1e-9 && x[3 * k + 1] < gap + 1e-9))
            fail_msg("frame %d: point %d at %.3f is outside the platens 0 .. %.3f", frame, k,
                     x[3 * k + 1], gap);
}

void coupon_check_shapes(const sp_network *network, const sp_path *path)
{
    check_true(path->shapes.frame_count > 5);
    for (int f = 0; f < path->shapes.frame_count; f++)
        if (network->dimension == 2)
            check_frame(network, path, f);
        else
            check_inside(path, f);
    if (network->dimension == 3) no_crossing_check(network, &path->shapes, least_approach);
}

void coupon_check_steps(const sp_path *path, double balance)
{
    check_true(path->step_count > 5);
    for (int i = 0; i < path->step_count; i++) {
        const sp_step *s = &path->step[i];
        const double *figure[] = {&s->shortening, &s->force,    &s->stiffness,   &s->stored,
                                  &s->work,       &s->released, &s->fibre_strain};
        for (size_t k = 0; k < sizeof figure / sizeof figure[0]; k++)
            check_true(isfinite(*figure[k]));
        const double scale = fabs(s->force) + 1e-3;
        check_close(s->residual / scale, 0, 2e-6);
        check_close(s->imbalance / scale, 0, 2e-5);
        check_close(s->work - s->stored - s->released, 0, balance * s->work + 1e-9);
        if (i > 0)
            check_true(s->shortening > path->step[i - 1].shortening &&
                       s->released >= path->step[i - 1].released);
    }
}

void coupon_set(sp_case *request, const char *key, const char *value)
{
    sp_context context = {0};
    if (sp_case_set(&context, request, key, value) != SP_OK) fail_msg("%s", context.message);
}

void coupon_run_to_the_end(const sp_case *request)
{
    sp_context context = {0};
    sp_result result;
    const sp_status status = press_whole(&context, request, &result);
    if (status != SP_OK)
        fail_msg("%s %.2f seed %d: %s", request->pattern, request->density, request->flaw_seed,
                 context.message);
    check_true(result.path.stop == SP_STOP_STRAIN || result.path.stop == SP_STOP_LOAD);
    coupon_check_steps(&result.path, 1e-3);
    coupon_check_shapes(&result.network, &result.path);
    sp_result_clear(&result);
}
