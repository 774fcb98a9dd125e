/* These tests check what is said about a coupon in words, from networks and paths made by hand, and
 * a result as programs read it: each case on its own, without a press where none is needed. */
#include "check.h"

#include <signal.h>
#include <unistd.h>

#include <strutpress/network.h>
#include <strutpress/resolve.h>
#include <strutpress/run.h>
#include <strutpress/write.h>

#include "caution/caution.h"
#include "run/result.h"

enum { SIZE = 900 };

static void says(const char *text, const char *words)
{
    if (!strstr(text, words)) fail_msg("wanted \"%s\": %s", words, text);
}

/* Branches are put into words: not asked for, no fold, no other state, other states of which some
 * were taken. */
static void branches_in_words(void **state)
{
    (void)state;
    char text[SIZE];
    sp_branches branches = {0};
    sp_branches_text(&branches, text, sizeof text);
    assert_string_equal(text, "");
    branches.searched = 1;
    sp_branches_text(&branches, text, sizeof text);
    says(text, "no fold began");
    branches.look_count = 6;
    for (int i = 0; i < 6; i++)
        branches.look[i] = (sp_look){.strain = 0.01 * (i + 1), .pushes = 5, .lost = i == 0};
    sp_branches_text(&branches, text, sizeof text);
    says(text, "30 pushes");
    says(text, "ended in no other stable state; 1 of them found none at all");
    for (int i = 0; i < 6; i++) branches.look[i].others = 1, branches.look[i].apart = 0.02 * i;
    branches.look[2].taken = 1, branches.look[2].gained = 0.25;
    sp_branches_text(&branches, text, sizeof text);
    says(text, "at a strain of 1 %, 2 %, 3 %, 4 % and 2 more.");
    says(text, "less energy at 3 %: 0.25 mJ less.");
    says(text, "up to 10 % from the curve");
    check_close(sp_branches_apart(&branches), 0.1, 1e-15);
}

/* Networks are put into words: skins, a stack, a block, flat coupons, walls too thick for
 * plates. */
static void networks_in_words(void **state)
{
    (void)state;
    char text[SIZE];
    sp_case request;
    sp_panel panel[2] = {{.role = SP_ROLE_INFILL, .thickness = 0.8, .length = 4},
                         {.role = SP_ROLE_WALL, .thickness = 9, .length = 9}};
    sp_network network = {.dimension = 3,
                          .built = SP_BUILT_PANELS,
                          .size = {20, 6, 20},
                          .panel_count = 2,
                          .panel = panel};
    sp_case_default(&request);
    sp_network_printed_text(&network, text, sizeof text);
    assert_null(strstr(text, "full layers"));
    assert_int_equal(sp_network_skin_text(&network, &request, text, sizeof text), 0);
    network.skin = 0.5;
    sp_network_printed_text(&network, text, sizeof text);
    says(text, "between full layers of 0.5 mm on top and bottom");
    assert_int_equal(sp_network_skin_text(&network, &request, text, sizeof text), 1);
    says(text, "The skins (0.5 mm) are thinner than the walls (0.8 mm)");
    assert_null(strstr(text, "sideways"));
    request.platens = SP_PLATENS_SLIDING;
    assert_int_equal(sp_network_skin_text(&network, &request, text, sizeof text), 1);
    says(text, "The skins hold the ends of the walls sideways");
    assert_int_equal(sp_network_panel_text(&network, text, sizeof text), 1);
    says(text, "thicker than 0.15 of their length");
    panel[0] = (sp_panel){.role = SP_ROLE_INFILL, .thickness = 0.2, .length = 8};
    assert_int_equal(sp_network_panel_text(&network, text, sizeof text), 1);
    says(text, "lower than they are long");
    request.block = 3;
    assert_int_equal(sp_network_block_text(&network, &request, text, sizeof text), 1);
    says(text, "coupon.block 3 is not used");
    network.block = 3;
    network.whole[0] = network.whole[2] = 60;
    network.stands_for[SP_ROLE_INFILL] = 9, network.stands_for[SP_ROLE_WALL] = 3;
    assert_int_equal(sp_network_block_text(&network, &request, text, sizeof text), 1);
    says(text, "A block of 20 x 20 mm is pressed in the place of the coupon of 60 x 60 mm");
    says(text, "infill times 9 and those on its perimeter walls times 3");
    network.mirror = 1;
    assert_int_equal(sp_network_block_text(&network, &request, text, sizeof text), 1);
    says(text, "A block of 20 x 20 mm between planes of symmetry is pressed in the place of the "
               "coupon of 60 x 60 mm");
    says(text, "are 9 times its own");
    sp_network_pressed_text(&network, text, sizeof text);
    says(text, "a block of 20 x 20 mm whose sides are planes of symmetry is pressed in its place");
    network = (sp_network){.dimension = 3, .built = SP_BUILT_STACK, .size = {20, 6, 20}};
    sp_network_pressed_text(&network, text, sizeof text);
    says(text, "through the stack");
    assert_int_equal(sp_network_stack_text(&network, text, sizeof text), 1);
    says(text, "beams that squash where they cross");
    network.built = SP_BUILT_LAYERS;
    assert_int_equal(sp_network_flat_text(&network, &request, text, sizeof text), 1);
    says(text, "its beads lie across the load");
    network.size[1] = 30;
    assert_int_equal(sp_network_flat_text(&network, &request, text, sizeof text), 0);
}

/* The accessors of a result give what the library stores in it. */
static void a_result_is_read(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    sp_result *result;
    const char text[] = "coupon: {width: 8 mm, height: 8 mm, depth: 4 mm}\n"
                        "infill: {density: 30 %}\n"
                        "press: {strain: 3 %, steps: 6, unload: yes}\n";
    int count, frames, points, struts;
    const char *unit;
    sp_measure value;
    assert_int_equal(sp_case_parse(&context, "c.yaml", text, strlen(text), &request), SP_OK);
    assert_int_equal(sp_run(&context, &request, &result), SP_OK);
    assert_ptr_equal(sp_result_back(result, &count), result->path.back);
    assert_true(count > 0 && count == result->path.back_count);
    assert_ptr_equal(sp_result_events(result, &count), result->path.event);
    assert_int_equal(count, result->path.event_count);
    assert_ptr_equal(sp_result_measures(result, &count), result->measure);
    assert_ptr_equal(sp_result_network(result), &result->network);
    assert_ptr_equal(sp_result_perfect(result), &result->perfect);
    assert_ptr_equal(sp_result_positions(result, &frames, &points), result->path.shapes.position);
    const int *first = sp_result_first_points(result, &struts);
    assert_true(struts == result->network.strut_count && first[struts] == points);
    const int *step = sp_result_frame_steps(result, &count);
    assert_true(count == frames && step[0] == 0);
    assert_int_equal(sp_result_figure(&context, result, "force_at 2 mmm", &value, &unit),
                     SP_BAD_USAGE);
    says(context.message, "figure: received 'force_at 2 mmm'");
    assert_int_equal(sp_result_figure(&context, result, "plateau_stres", &value, &unit),
                     SP_BAD_USAGE);
    says(context.message, "(did you mean 'plateau_stress'?)");
    sp_result_free(result);
}

/* All files of a press are made from the drawing that was read, whose file may no longer exist. */
static void a_drawing_is_not_read_again(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    sp_resolved resolved;
    sp_result *result;
    char folder[] = "/tmp/strutpress-texts-XXXXXX", name[64], path[96], command[160];
    const char text[] = "coupon: {width: 28 mm, height: 24 mm, depth: 5 mm}\n"
                        "infill: {pattern: drawn, network: pad-fan.obj}\n"
                        "press: {strain: 1 %, steps: 2, find_critical: no}\n";
    assert_non_null(mkdtemp(folder));
    snprintf(command, sizeof command, "cp meshes/pad-fan.obj %s", folder);
    assert_int_equal(system(command), 0);
    snprintf(name, sizeof name, "%s/c.yaml", folder);
    assert_int_equal(sp_case_parse(&context, name, text, strlen(text), &request), SP_OK);
    if (sp_case_resolve(&context, &request, &resolved) != SP_OK) fail_msg("%s", context.message);
    snprintf(path, sizeof path, "%s/pad-fan.obj", folder);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(sp_run_resolved(&context, &resolved, &result), SP_OK);
    if (sp_write_all(&context, result, folder) != SP_OK) fail_msg("%s", context.message);
    snprintf(path, sizeof path, "%s/network.3mf", folder);
    assert_int_equal(access(path, R_OK), 0);
    sp_result_free(result);
    sp_resolved_free(&resolved);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
}

/* This replaces a drawing while a press of it runs. */
typedef struct replacement {
    const char *folder, *name; /* where it stands, and what its files are called by */
    int replaces, interrupts;
    volatile sig_atomic_t stop;
    int states;
} replacement;

/* Put another drawing, the mirrored one, in the place of the first; interrupt the press. */
static void replace_drawing(void *user, const sp_path *path)
{
    replacement *r = user;
    char command[300];
    (void)path;
    if (!r->replaces || ++r->states != 3) return;
    snprintf(command, sizeof command,
             "awk '/^v/ {$2 = 28 - $2} 1' meshes/pad-fan.obj > %s/pad-fan.obj", r->folder);
    assert_int_equal(system(command), 0);
    r->stop = r->interrupts;
}

/* Press two seeds of the drawing in a folder, write the files of each that has begun, and compare
 * them with those of the first press. Returns how many seeds have begun. */
static int press_and_write(replacement *r)
{
    sp_context context = {.accepted = replace_drawing, .user = r, .interrupt = &r->stop};
    sp_case request;
    sp_result *result;
    const char *folder = r->folder;
    char name[64], out[80], command[400];
    int begun = 0;
    const char text[] = "coupon: {width: 28 mm, height: 24 mm, depth: 5 mm}\n"
                        "infill: {pattern: drawn, network: pad-fan.obj}\n"
                        "press: {strain: 4 %, steps: 8, find_critical: no}\n";
    snprintf(command, sizeof command, "cp meshes/pad-fan.obj %s", folder);
    assert_int_equal(system(command), 0);
    snprintf(name, sizeof name, "%s/c.yaml", folder);
    assert_int_equal(sp_case_parse(&context, name, text, strlen(text), &request), SP_OK);
    assert_int_equal(sp_run_seeds(&context, &request, 2, &result), SP_OK);
    if (r->interrupts) assert_int_equal(sp_result_stop(result), SP_STOP_INTERRUPTED);
    for (int seed = 0; seed < 2; seed++) {
        sp_context quiet = {0};
        const sp_result *one = sp_result_of_seed(result, seed);
        int steps;
        sp_result_steps(one, &steps);
        if (!steps) continue; /* on one thread the second has not begun when the first is cut */
        begun++;
        snprintf(out, sizeof out, "%s/%s-%d", folder, r->name, seed);
        snprintf(command, sizeof command, "mkdir %s", out);
        assert_int_equal(system(command), 0);
        assert_int_equal(sp_write_all(&quiet, one, out), SP_OK);
        for (int i = 0; i < 3; i++) {
            static const char *const file[] = {"network.3mf", "network.vtk", "network.svg"};
            snprintf(command, sizeof command, "cmp %s/whole-%d/%s %s/%s", folder, seed, file[i],
                     out, file[i]);
            assert_int_equal(system(command), 0);
        }
    }
    sp_result_free(result);
    return begun;
}

/* When another drawing takes the place of the one that is pressed, no file of the press changes,
 * also where the press is then interrupted. */
static void a_replaced_drawing_changes_nothing(void **state)
{
    (void)state;
    char folder[] = "/tmp/strutpress-texts-XXXXXX", command[100];
    assert_non_null(mkdtemp(folder));
    replacement none = {.folder = folder, .name = "whole"};
    replacement other = {.folder = folder, .name = "other", .replaces = 1};
    replacement cut = {.folder = folder, .name = "cut", .replaces = 1, .interrupts = 1};
    assert_int_equal(press_and_write(&none), 2);
    assert_int_equal(press_and_write(&other), 2);
    assert_true(press_and_write(&cut) >= 1);
    assert_true(other.states >= 3 && cut.states >= 3);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(branches_in_words),
        cmocka_unit_test(networks_in_words),
        cmocka_unit_test(a_result_is_read),
        cmocka_unit_test(a_drawing_is_not_read_again),
        cmocka_unit_test(a_replaced_drawing_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
