/* These tests check the resolved case: ranges of members set by hand, keys that a case reads, and a
 * drawing that is read only once. */
#include "check.h"

#include <unistd.h>

#include <strutpress/inspect.h>
#include <strutpress/resolve.h>
#include <strutpress/store.h>

#include "base/hash.h"
#include "case/case_parts.h"
#include "coupon.h"
#include "law/law.h"
#include "run/result.h"
#include "temporary_file.h"
#include "whole_press.h"

/* ---- members that no reader saw ----------------------------------------------- */

static void refused(const sp_case *request, const char *want)
{
    sp_context context = {0};
    sp_resolved resolved;
    assert_int_equal(sp_case_resolve(&context, request, &resolved), SP_BAD_CASE);
    sp_resolved_free(&resolved);
    if (!strstr(context.message, want)) fail_msg("'%s' lacks '%s'", context.message, want);
    check_true(strchr(context.message, '\n') == NULL);
    sp_result *result;
    assert_int_equal(sp_run(&context, request, &result), SP_BAD_CASE);
    check_true(result == NULL);
}

#define REFUSED(member, value, want)                                                               \
    do {                                                                                           \
        sp_case r;                                                                                 \
        sp_case_default(&r);                                                                       \
        r.member = (value);                                                                        \
        refused(&r, want);                                                                         \
    } while (0)

static void members_set_by_hand_are_refused(void **state)
{
    (void)state;
    REFUSED(steps, 0, "press.steps: received '0'; valid: a whole number 1 .. 100000");
    REFUSED(density, 7, "infill.density: received '700 %'; valid: 1 % .. 100 %");
    REFUSED(density, NAN, "infill.density: received 'not a number'");
    REFUSED(platens, 9, "platens.hold: received '9'; valid: bonded | sliding | friction");
    REFUSED(platens, -1, "platens.hold: received '-1'");
    REFUSED(strain_state, 7, "material.strain_state: received '7'; valid: plane_strain | uniaxial");
    REFUSED(section_points, 1000, "model.section_points: received '1000'");
    REFUSED(strain, INFINITY, "press.strain: received");
    REFUSED(load_limit, -INFINITY, "press.load_limit: received");
    REFUSED(direction.count, 40, "infill.direction: received '40 numbers'");
    REFUSED(pattern[0], 0, "infill.pattern: received 'nothing'; valid: a name");
    sp_case r;
    sp_case_default(&r);
    r.shore_a = 85;
    r.modulus = 40;
    refused(&r,
            "material.modulus: received '40 MPa'; valid: no member set by hand beside a hardness");
    sp_case_default(&r);
    memset(r.law, 'x', sizeof r.law);
    refused(&r, "material.law: received 'nothing'");
}

/* A member may hold every value that its row takes as text, and the defaults are valid. */
static void every_row_has_a_range(void **state)
{
    (void)state;
    char received[SP_FILE_SIZE];
    for (int i = 0; i < sp_parameter_count(); i++) {
        sp_case r;
        sp_case_default(&r);
        const sp_case_row *row = sp_case_row_at(i);
        check_true(sp_case_row_is_valid(&r, i, received, sizeof received));
        char *member = (char *)&r + row->offset;
        if (row->kind == SP_KIND_NUMBER) *(double *)member = row->low - 1;
        if (row->kind == SP_KIND_INTEGER || row->kind == SP_KIND_CHOICE) *(int *)member = -1;
        if (row->kind == SP_KIND_NAME) memset(member, 'x', SP_NAME_SIZE);
        if (row->kind == SP_KIND_FILE || row->kind == SP_KIND_TEXT)
            memset(member, 'x', SP_FILE_SIZE);
        if (row->kind == SP_KIND_LIST) ((sp_list *)member)->count = -1;
        if (sp_case_row_is_valid(&r, i, received, sizeof received)) fail_msg("%s", row->key);
    }
}

static void walls_are_those_of_planar_networks(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case r;
    sp_case_default(&r);
    r.wall_beads = 20, r.bead_width = 1;
    refused(&r, "bead.walls: received '20'; valid: walls thinner than the coupon: 2 x walls x bead "
                "width = 40 mm must be below 24 mm");
    static const char text[] = "coupon:\n  height: 1.5 mm\n";
    assert_int_equal(sp_case_parse(&context, "case.yaml", text, strlen(text), &r), SP_OK);
    refused(&r, "case.yaml:2: coupon.height: received '1.5 mm'; valid: walls thinner");
    sp_case_default(&r);
    r.wall_beads = 20, r.bead_width = 1;
    coupon_set(&r, "infill.pattern", "kelvin");
    coupon_set(&r, "infill.cells", "[2, 2, 2]");
    assert_int_equal(coupon_settle(&context, &r), SP_OK);
}

/* ---- a drawing ----------------------------------------------- */

/* Draw two crossed frames of 10 x 8 mm; `depth` is 0 in the plane. */
static void draw(char *name, size_t size, double depth, double middle)
{
    char text[1024];
    size_t used = (size_t)snprintf(text, sizeof text, "# lines of a test, mm\n");
    for (int i = 0; i < 2; i++)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 "v 0 0 %g\nv 10 0 %g\nv 10 8 %g\nv 0 8 %g\nv %g 4 %g\n", i * depth,
                                 i * depth, i * depth, i * depth, middle, i * depth);
    for (int i = 0; i < (depth > 0 ? 2 : 1); i++)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 "l %d %d\nl %d %d\nl %d %d\nl %d %d\n", 5 * i + 1, 5 * i + 5,
                                 5 * i + 2, 5 * i + 5, 5 * i + 3, 5 * i + 5, 5 * i + 4, 5 * i + 5);
    if (depth > 0) snprintf(text + used, sizeof text - used, "l 5 10\nl 1 10\nl 3 10\n");
    char made[256];
    write_temporary_file(made, sizeof made, text);
    snprintf(name, size, "%s.obj", made);
    rename(made, name);
}

static void a_drawing_is_read_once(void **state)
{
    (void)state;
    for (int in_space = 0; in_space < 2; in_space++) {
        sp_context context = {0};
        sp_case r;
        sp_resolved resolved;
        sp_coupon_key before, after;
        sp_network network;
        sp_result result;
        char file[300];
        draw(file, sizeof file, in_space ? 6 : 0, 5);
        sp_case_default(&r);
        coupon_set(&r, "infill.pattern", "drawn");
        coupon_set(&r, "infill.network", file);
        r.width = 10.4, r.height = 8, r.depth = 6, r.bead_width = 0.4;
        r.wall_beads = in_space ? 20 : 1; /* a network in space has no walls to be too thick */
        r.strain = 0.02, r.steps = 2;
        assert_int_equal(sp_coupon_key_of_case(&context, &r, &before), SP_OK);
        assert_int_equal(sp_case_resolve(&context, &r, &resolved), SP_OK);
        assert_int_equal(resolved.dimension, in_space ? 3 : 2);
        assert_int_equal(resolved.built, in_space ? SP_BUILT_SPATIAL : SP_BUILT_EXTRUDED);
        check_true(resolved.expected.struts > 0 && resolved.expected.seconds > 0);
        unlink(file); /* from here on nothing can read it again */
        for (int flaws = 0; flaws < 2; flaws++) {
            assert_int_equal(sp_resolved_network(&context, &resolved, flaws, &network), SP_OK);
            check_true(network.strut_count > 3);
            sp_network_free(&network);
        }
        assert_int_equal(sp_coupon_key_of(&context, &resolved, &after), SP_OK);
        assert_string_equal(before.key, after.key);
        assert_string_equal(before.text, after.text);
        if (sp_result_press_resolved(&context, &resolved, &result) != SP_OK)
            fail_msg("%s", context.message);
        sp_result_clear(&result);
        sp_resolved_free(&resolved);
        assert_int_equal(sp_case_resolve(&context, &r, &resolved), SP_NO_READ);
        sp_resolved_free(&resolved);
    }
}

/* ---- which keys a case reads ----------------------------------------------- */

/* Return a hash of states, joints and figures of a press of this case; a refusal gives its
 * status. */
static uint64_t outcome_of(const sp_case *request, sp_context *context)
{
    sp_result result;
    sp_hash hash = sp_hash_begin();
    const sp_status status = press_whole(context, request, &result);
    sp_hash_add(&hash, &status, sizeof status);
    const sp_path *path = &result.path;
    for (int i = 0; i < path->step_count + path->back_count; i++) {
        const sp_step *s = sp_path_state(path, i);
        const double number[] = {s->shortening, s->force, s->stiffness,
                                 s->stored,     s->work,  s->dissipated};
        sp_hash_add(&hash, number, sizeof number);
    }
    sp_hash_add(&hash, &path->critical.strain, sizeof path->critical.strain);
    const sp_network *n = &result.network;
    if (n->joint_count)
        sp_hash_add(&hash, n->joint_position, 3 * (size_t)n->joint_count * sizeof(double));
    for (int i = 0; i < result.measure_count; i++) {
        const double value = result.measure[i].reached ? result.measure[i].value : -1;
        sp_hash_add(&hash, &value, sizeof value);
    }
    sp_result_clear(&result);
    return hash.high ^ hash.low;
}

/* Find another value for every row; the second one where a case has the first already. */
static const struct probe {
    const char *key, *first, *second;
} probes[] = {
    {"coupon.width", "12 mm", "11.5 mm"},
    {"coupon.height", "10 mm", "9.5 mm"},
    {"coupon.depth", "9 mm", "8.5 mm"},
    {"coupon.block", "2", "0"},
    {"coupon.block_sides", "mirror", "free"},
    {"coupon.skins", "0.5 mm", "0 mm"},
    {"infill.pattern", "hexagonal", "square"},
    {"infill.density", "30 %", "24 %"},
    {"infill.angle", "20 deg", "10 deg"},
    {"infill.offset_x", "0.3", "0.2"},
    {"infill.offset_y", "0.3", "0.2"},
    {"infill.offset_z", "0.3", "0.2"},
    {"infill.cells_x", "3", "2"},
    {"infill.cells_y", "3", "2"},
    {"infill.cells_z", "3", "2"},
    {"infill.cell_size", "5 mm", "4 mm"},
    {"infill.strut_diameter", "0.9 mm", "0.8 mm"},
    {"infill.diameter_offset", "0.05 mm", "0.1 mm"},
    {"infill.direction", "[1, 1, 0]", "[0, 1, 0]"},
    {"infill.turn", "20 deg", "10 deg"},
    {"infill.face_plates", "grillage", "none"},
    {"infill.side_frames", "yes", "no"},
    {"infill.cell_angle", "-30 deg", "-20 deg"},
    {"infill.cell_ratio", "2.3", "2"},
    {"infill.wave_height", "0.12", "0.15"},
    {"infill.regularity", "0.8", "0.6"},
    {"infill.cell_seed", "5", "1"},
    {"infill.network", NULL, NULL},
    {"infill.toolpath", "a.path", "b.path"},
    {"infill.filament_diameter", "2.85 mm", "1.7 mm"},
    {"infill.path_turn", "90 deg", "10 deg"},
    {"infill.path_box", "[0, 0, 50, 50]", "[1, 1, 40, 40]"},
    {"infill.path_layers", "[1, 2]", "[2, 3]"},
    {"infill.path_gap", "10 %", "50 %"},
    {"infill.layers", "2", "3"},
    {"infill.layer_turn", "50 deg", "90 deg"},
    {"infill.layer_pattern", "hexagonal", "square"},
    {"bead.width", "0.44 mm", "0.42 mm"},
    {"bead.width_offset", "0.03 mm", "0.05 mm"},
    {"bead.flanks", "0.1 mm", "0.2 mm"},
    {"bead.walls", "2", "1"},
    {"joint.thickening", "1.2", "1.4"},
    {"joint.thickening_length", "1.5", "3"},
    {"material.filament", "urethane-95a", "urethane-85a"},
    {"material.reach", "20 %", "30 %"},
    {"material.reach_rates", "[1e-3, 1]", "[1e-4, 1]"},
    {"material.law", "gent", "neo-hookean"},
    {"material.modulus", "40 MPa", "30 MPa"},
    {"material.shore_a", "90", "80"},
    {"material.shore_d", "45", "40"},
    {"material.poisson_ratio", "0.3", "0.5"},
    {"material.c10", "6 MPa", "5 MPa"},
    {"material.c01", "0.7 MPa", "0.5 MPa"},
    {"material.c20", "0.3 MPa", "0.2 MPa"},
    {"material.c30", "0.2 MPa", "0.1 MPa"},
    {"material.ogden_modulus", "[8]", "[7]"},
    {"material.ogden_exponent", "[2.2]", "[2]"},
    {"material.gent_limit", "12", "20"},
    {"material.table", NULL, NULL},
    {"material.table_compression", NULL, NULL},
    {"material.table_rates", "[2e-3]", "[1e-3]"},
    {"material.table_scale", "1.2", "1.1"},
    {"material.rate", "1e-2", "1e-3"},
    {"material.softening.ratio", "2", "1.5"},
    {"material.softening.energy", "0.1 MPa", "0.2 MPa"},
    {"material.softening.share", "0.1", "0.2"},
    {"material.relaxation.exponent", "0.07", "0.06"},
    {"material.relaxation.compression_set", "20 %", "18 %"},
    {"material.relaxation.set_held", "20 h", "70 h"},
    {"material.relaxation.set_free", "20 min", "40 min"},
    {"material.relaxation.shares", "[0.1]", "[0.2]"},
    {"material.relaxation.times", "[1 s]", "[2 s]"},
    {"material.relaxation.reference", "2 s", "3 s"},
    {"material.relaxation.shortest", "0.1 s", "0.01 s"},
    {"material.relaxation.longest", "1e5 s", "1e4 s"},
    {"material.flow.share", "0.1", "0.2"},
    {"material.flow.stress", "0.1 MPa", "0.2 MPa"},
    {"material.flow.time", "100 s", "200 s"},
    {"material.second_flow.share", "0.1", "0.2"},
    {"material.second_flow.stress", "0.1 MPa", "0.2 MPa"},
    {"material.second_flow.time", "100 s", "200 s"},
    {"material.strain_state", "uniaxial", "plane_strain"},
    {"material.across_layers", "0.8", "1.1"},
    {"material.solid_density", "1.3 g/cm3", "1.2 g/cm3"},
    {"material.friction", "0.6", "0.3"},
    {"platens.hold", "sliding", "bonded"},
    {"platens.friction", "0.6", "0.3"},
    {"press.direction", "along", "across"},
    {"press.strain", "39 %", "38 %"},
    {"press.load_limit", "3 N", "4 N"},
    {"press.steps", "7", "6"},
    {"press.unload", "yes", "no"},
    {"press.protocol", "press to 20 %", "press to 30 %"},
    {"press.speed", "100 mm/min", "10 mm/min"},
    {"press.find_critical", "yes", "no"},
    {"press.branches", "yes", "no"},
    {"press.seeds", "3", "2"},
    {"flaws.seed", "3", "4"},
    {"flaws.bow", "1 %", "0.5 %"},
    {"flaws.thickness_scatter", "5 %", "3 %"},
    {"flaws.row_scatter", "10 %", "0 %"},
    {"flaws.missing", "40 %", "0 %"},
    {"flaws.joint_offset", "15 %", "5 %"},
    {"model.joint_zone", "0.6", "1"},
    {"model.elements_per_strut", "7", "5"},
    {"model.section_points", "7", "5"},
    {"model.contact_spacing", "0.5", "0"},
    {"model.shear_factor", "0.4", "0.5"},
};
enum { PROBES = sizeof probes / sizeof *probes };

static char drawings[3][300], tables[2][300]; /* in the plane, another one, in space */

static const char *probe_value(int which, int second)
{
    const struct probe *p = &probes[which];
    if (!strcmp(p->key, "infill.network")) return drawings[second ? 0 : 1];
    if (!strncmp(p->key, "material.table", 14) && !p->first) return tables[second ? 0 : 1];
    return second ? p->second : p->first;
}

#define COMMON                                                                                     \
    "coupon.width=11 mm", "coupon.height=9 mm", "coupon.depth=8 mm", "infill.density=26 %",        \
        "bead.walls=1", "press.strain=40 %", "press.steps=8", "press.find_critical=no"
#define SPATIAL                                                                                    \
    "coupon.width=8 mm", "coupon.height=8 mm", "coupon.depth=8 mm", "infill.density=8 %",          \
        "press.strain=30 %", "press.steps=5", "press.find_critical=no"
enum { SETTINGS_MAX = 16 };
static const char *const cases[][SETTINGS_MAX] = {
    {COMMON},
    {COMMON, "flaws.seed=0"},
    {COMMON, "platens.hold=friction", "platens.friction=0.2"},
    {COMMON, "joint.thickening=1.3"},
    {COMMON, "infill.pattern=wavy"},
    {COMMON, "infill.pattern=re-entrant"},
    {COMMON, "infill.pattern=bricks"},
    {COMMON, "infill.pattern=random-cells"},
    {COMMON, "material.law=linear"},
    {COMMON, "material.law=mooney-rivlin", "material.c01=1 MPa"},
    {COMMON, "material.law=mooney-rivlin", "material.c01=1 MPa", "material.c10=4 MPa"},
    {COMMON, "material.law=yeoh", "material.c10=5 MPa", "material.c20=0.1 MPa",
     "material.c30=0.05 MPa"},
    {COMMON, "material.law=ogden", "material.ogden_modulus=[9]", "material.ogden_exponent=[1.7]"},
    {COMMON, "material.law=gent"},
    {COMMON, "material.relaxation.exponent=0.05", "material.softening.ratio=3",
     "material.softening.energy=0.05 MPa"},
    {COMMON, "material.relaxation.compression_set=25 %", "material.flow.share=0.3",
     "material.flow.stress=0.3 MPa", "material.flow.time=1000 s", "material.second_flow.share=0.1",
     "material.second_flow.stress=0.1 MPa", "material.second_flow.time=10 s"},
    {COMMON, "material.relaxation.shares=[0.3]", "material.relaxation.times=[3 s]"},
    {COMMON, "material.law=tabulated", "material.table=0"},
    {COMMON, "material.law=yielding", "material.table=0"},
    {COMMON, "infill.pattern=solid"},
    {COMMON, "press.direction=along", "coupon.width=7 mm", "coupon.depth=6 mm",
     "coupon.height=4 mm", "press.strain=20 %", "press.steps=5"},
    {COMMON, "infill.pattern=drawn", "infill.network=0", "coupon.width=10.4 mm",
     "coupon.height=8 mm"},
    {COMMON, "infill.layers=2", "coupon.depth=2 mm", "press.strain=12 %", "press.steps=5"},
    {SPATIAL, "infill.pattern=drawn", "infill.network=2", "coupon.width=10.4 mm",
     "coupon.depth=6.4 mm"},
    {SPATIAL, "infill.pattern=body-centred-cubic", "infill.cells=[1, 1, 1]"},
    {SPATIAL, "infill.pattern=re-entrant-cubic", "infill.cells=[1, 1, 1]"},
    {SPATIAL, "infill.pattern=voronoi-foam", "infill.cell_size=5 mm"},
};
enum { CASES = sizeof cases / sizeof *cases };

static void make_case(const char *const *settings, sp_case *request)
{
    sp_case_default(request);
    for (int i = 0; i < SETTINGS_MAX && settings[i]; i++) {
        char key[128];
        snprintf(key, sizeof key, "%s", settings[i]);
        char *value = strchr(key, '=');
        *value++ = 0;
        if (!strcmp(key, "infill.network")) value = drawings[atoi(value)];
        if (!strcmp(key, "material.table")) value = tables[atoi(value)];
        coupon_set(request, key, value);
    }
}

static const char *probed; /* key that is looked for among the cautions */
static int was_reported;

static void look_for_report(void *user, const char *line)
{
    (void)user;
    const size_t length = strlen(probed);
    if (!strncmp(line, probed, length) && strstr(line, " is not read")) was_reported = 1;
}

/* These keys are read, although another value gave the same figures here. */
static const struct {
    const char *key, *pattern, *why;
} no_effect[] = {
    {"coupon.block", "", "a coupon may have no more cells than the block"},
    {"flaws.seed", "solid", "a plan gives it to every coupon"},
    {"press.find_critical", "solid", "a block has no critical step to find"},
    {"platens.friction", "", "acts on what folds against a platen, which not every press does"},
    {"material.friction", "", "acts where struts slide on each other, which not every press does"},
    {"material.reach", "", "tells a caution"},
    {"material.reach_rates", "", "tells a caution"},
    {"material.table_rates", "", "one curve has no other to go to"},
    {"press.seeds", "", "says how many seeds are pressed, not what one of them gives"},
    {"press.load_limit", "", "ends what reaches it"},
    {"material.strain_state", "", "networks in space allow one of the two only"},
};

static int may_have_no_effect(const char *key, const sp_case *request)
{
    for (size_t i = 0; i < sizeof no_effect / sizeof *no_effect; i++)
        if (!strcmp(no_effect[i].key, key) &&
            (!no_effect[i].pattern[0] || !strcmp(no_effect[i].pattern, request->pattern)))
            return 1;
    return 0;
}

static int hold_row(const sp_case *base, uint64_t plain, int which)
{
    char was[SP_FILE_SIZE], now[SP_FILE_SIZE];
    const int row = sp_case_row_find(probes[which].key);
    sp_case request = *base;
    sp_context context = {.warn = look_for_report};
    probed = probes[which].key;
    /* Walls along the load take a hundred times as long: their first steps are compared. */
    if (!strcmp(probes[which].key, "press.direction")) {
        coupon_set(&request, "press.strain", "1 %");
        coupon_set(&request, "press.steps", "2");
        plain = outcome_of(&request, &context);
    }
    coupon_set(&request, probes[which].key, probe_value(which, 0));
    sp_case_value_text(base, row, was, sizeof was);
    sp_case_value_text(&request, row, now, sizeof now);
    if (!strcmp(was, now)) coupon_set(&request, probes[which].key, probe_value(which, 1));
    was_reported = 0;
    const int changed = outcome_of(&request, &context) != plain;
    if (was_reported != changed) return 1;
    if (!was_reported && may_have_no_effect(probed, base)) return 1;
    print_message("%s of pattern %s, law %s: %s\n", probed, base->pattern, base->law,
                  changed ? "is reported as not read, and changes the press"
                          : "changes nothing, and is not reported as not read");
    return 0;
}

static void every_key_that_is_not_read_is_reported(void **state)
{
    (void)state;
    int wrong = 0;
    assert_int_equal(PROBES, sp_parameter_count()); /* a new row needs its probe */
    draw(drawings[0], sizeof drawings[0], 0, 5);
    draw(drawings[1], sizeof drawings[1], 0, 6);
    draw(drawings[2], sizeof drawings[2], 6, 5);
    write_temporary_file(tables[0], sizeof tables[0],
                         "0.02 0.6\n0.05 1.2\n0.1 1.6\n0.3 2.2\n1 3.1\n2 4.5\n");
    write_temporary_file(tables[1], sizeof tables[1],
                         "0.02 0.7\n0.05 1.3\n0.1 1.7\n0.3 2.4\n1 3.3\n2 4.9\n");
    /* Every row of every kind takes about twenty minutes: `make relations` checks them all, the
     * ordinary run checks one row in eight of some kinds, and the sanitizers one in forty. */
    const int all = getenv("RELATIONS") != NULL, stride = all ? 1 : 7;
    const int rows = all ? 1 : getenv("STRUTPRESS_QUICK") ? 40 : 8;
    for (int c = 0; c < CASES; c += stride) {
        sp_case base;
        sp_context context = {0};
        make_case(cases[c], &base);
        const uint64_t plain = outcome_of(&base, &context);
        if (context.message[0]) fail_msg("case %d: %s", c, context.message);
        for (int i = c % rows; i < PROBES; i += rows) wrong += !hold_row(&base, plain, i);
    }
    for (int i = 0; i < 3; i++) unlink(drawings[i]);
    for (int i = 0; i < 2; i++) unlink(tables[i]);
    assert_int_equal(wrong, 0);
}

static int has_word(const char *text, const char *word)
{
    for (const char *at = text; (at = strstr(at, word)); at++)
        if (at == text || at[-1] == ' ') return 1;
    return 0;
}

/* The words of `list laws` agree with the column of the rows. */
static void laws_and_rows_agree(void **state)
{
    (void)state;
    int count;
    const sp_law_row *law = sp_law_rows(&count);
    for (int l = 0; l < count; l++)
        for (int i = 0; i < sp_parameter_count(); i++) {
            const sp_case_row *row = sp_case_row_at(i);
            const char *laws = strstr(row->readers, "law:");
            if (!laws || strstr(row->key, "shore")) continue;
            char name[SP_NAME_SIZE + 2], list[256];
            snprintf(list, sizeof list, "|%.*s|", (int)strcspn(laws + 4, " "), laws + 4);
            snprintf(name, sizeof name, "|%s|", law[l].name);
            const int in_row = strstr(list, name) != NULL;
            const int in_law = has_word(law[l].needs, row->key + strlen("material."));
            if (in_row != in_law) fail_msg("%s and law %s", row->key, law[l].name);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(members_set_by_hand_are_refused),
        cmocka_unit_test(every_row_has_a_range),
        cmocka_unit_test(walls_are_those_of_planar_networks),
        cmocka_unit_test(a_drawing_is_read_once),
        cmocka_unit_test(laws_and_rows_agree),
        cmocka_unit_test(every_key_that_is_not_read_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
