/* These tests check the case reader: defaults, units, origins, and the one line that is promised
 * for every malformed case. */
#include "check.h"
#include "coupon.h"

#include <unistd.h>

#include <strutpress/case.h>
#include <strutpress/inspect.h>

#include "base/alloc.h"
#include "case/case_parts.h"

static sp_status parse(sp_context *context, const char *text, size_t size, sp_case *request)
{
    *context = (sp_context){0};
    return sp_case_parse(context, "case.yaml", text, size, request);
}

static sp_status parse_text(const char *text, sp_case *request)
{
    sp_context context;
    sp_status status = parse(&context, text, strlen(text), request);
    if (status != SP_OK) print_message("%s\n", context.message);
    return status;
}

/* Check that the values are the same: padding and the unit in the texts do not matter, and NaN
 * equals NaN. */
static void check_same_case(const sp_case *a, const sp_case *b)
{
    char left[SP_FILE_SIZE], right[SP_FILE_SIZE];
    for (int i = 0; i < sp_parameter_count(); i++) {
        sp_case_value_text(a, i, left, sizeof left);
        sp_case_value_text(b, i, right, sizeof right);
        assert_string_equal(left, right);
        assert_int_equal(a->origin[i], b->origin[i]);
        assert_int_equal(a->line[i], b->line[i]);
    }
    assert_string_equal(a->source, b->source);
}

static void test_defaults(void **state)
{
    (void)state;
    sp_case r;
    sp_context context = {0};
    sp_case_default(&r);
    assert_int_equal(sp_case_check(&context, &r), SP_OK);
    check_close(r.width, 28, 0);
    check_close(r.height, 24, 0);
    check_close(r.depth, 20, 0);
    assert_string_equal(r.pattern, "square");
    check_close(r.density, 0.2, 0);
    check_true(isnan(r.angle)); /* that of the pattern */
    check_close(r.cell_angle, -20, 0);
    check_close(r.bead_width, 0.42, 0);
    assert_int_equal(r.wall_beads, 2);
    assert_string_equal(r.law, "neo-hookean");
    check_close(r.modulus, 30, 0);
    check_true(isnan(r.shore_a) && isnan(r.c10) && isnan(r.c30));
    assert_int_equal(r.ogden_modulus.count, 0);
    assert_int_equal(r.strain_state, SP_PLANE_STRAIN);
    assert_int_equal(r.platens, SP_PLATENS_BONDED);
    check_close(r.strain, 0.7, 0);
    check_true(isinf(r.load_limit));
    assert_int_equal(r.steps, 140);
    assert_int_equal(r.find_critical, 1);
    assert_int_equal(r.flaw_seed, 1);
    check_close(r.bow, 0.005, 0);
    check_close(r.thickness_scatter, 0.03, 0);
    check_close(r.joint_offset, 0.05, 0);
    check_true(isnan(r.joint_zone));
    assert_int_equal(r.section_points, 5);
}

/* Each of several tables is beside the file that gives them, also where another file, of another
 * folder, takes the case as its base. */
static void test_tables_are_beside_their_file(void **state)
{
    static const char text[] = "material: {law: yielding, table: a.txt; sub/b.txt;/c.txt}\n";
    static const char *const wanted[] = {"docs/a.txt", "docs/sub/b.txt", "/c.txt"};
    sp_context context = {0};
    sp_case r;
    char name[SP_FILE_SIZE];
    (void)state;
    assert_int_equal(sp_case_parse(&context, "docs/x.yaml", text, strlen(text), &r), SP_OK);
    snprintf(r.source, sizeof r.source, "elsewhere/plan.yaml");
    for (int i = 0; i < 3; i++) {
        assert_int_equal(sp_case_table_name(r.table_file, i, name), 1);
        assert_string_equal(name, wanted[i]);
    }
    assert_int_equal(sp_case_table_name(r.table_file, 3, name), 0);
}

/* The default text of every row parses, and the printed value parses back to the same value. */
static void test_rows_round_trip(void **state)
{
    (void)state;
    sp_case r, again;
    char text[SP_FILE_SIZE], twice[SP_FILE_SIZE];
    sp_case_default(&r);
    for (int i = 0; i < sp_parameter_count(); i++) {
        sp_parameter row = sp_parameter_at(i);
        assert_non_null(strchr(row.key, '.'));
        check_true(row.doc[0] && row.range[0]);
        check_true(strlen(row.range) + 1 < SP_VALID_SIZE / 2);
        sp_case_value_text(&r, i, text, sizeof text);
        if (!strcmp(text, "not given")) continue;
        sp_case_default(&again);
        sp_context context = {0};
        assert_int_equal(sp_case_set(&context, &again, row.key, text), SP_OK);
        sp_case_value_text(&again, i, twice, sizeof twice);
        assert_string_equal(text, twice);
        assert_int_equal(again.origin[i], SP_ORIGIN_FILE);
    }
}

static void test_units(void **state)
{
    (void)state;
    static const struct {
        const char *key, *value;
        size_t offset;
        double want;
    } rows[] = {
        {"coupon.width", "28 mm", offsetof(sp_case, width), 28},
        {"coupon.width", "2.8 cm", offsetof(sp_case, width), 28},
        {"coupon.width", "0.028m", offsetof(sp_case, width), 28},
        {"coupon.width", "28", offsetof(sp_case, width), 28},
        {"coupon.width", "  2.8e1  mm ", offsetof(sp_case, width), 28},
        {"bead.width", "420 um", offsetof(sp_case, bead_width), 0.42},
        {"infill.density", "28 %", offsetof(sp_case, density), 0.28},
        {"infill.density", "28%", offsetof(sp_case, density), 0.28},
        {"infill.density", "0.28", offsetof(sp_case, density), 0.28},
        {"infill.density", "1", offsetof(sp_case, density), 1},
        {"infill.density", "1 %", offsetof(sp_case, density), 0.01},
        {"infill.angle", "-45 deg", offsetof(sp_case, angle), -45},
        {"infill.angle", "0.7853981633974483 rad", offsetof(sp_case, angle), 45},
        {"material.modulus", "30 MPa", offsetof(sp_case, modulus), 30},
        {"material.modulus", "0.03 GPa", offsetof(sp_case, modulus), 30},
        {"material.modulus", "30000 kPa", offsetof(sp_case, modulus), 30},
        {"material.modulus", "30 N/mm2", offsetof(sp_case, modulus), 30},
        {"material.solid_density", "1200 kg/m3", offsetof(sp_case, solid_density), 1.2},
        {"press.load_limit", "6 kN", offsetof(sp_case, load_limit), 6000},
        {"press.load_limit", "6000 N", offsetof(sp_case, load_limit), 6000},
        {"press.load_limit", "+6000", offsetof(sp_case, load_limit), 6000},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        sp_case r;
        sp_context context = {0};
        sp_case_default(&r);
        assert_int_equal(sp_case_set(&context, &r, rows[i].key, rows[i].value), SP_OK);
        check_relative(*(double *)((char *)&r + rows[i].offset), rows[i].want, 1e-15);
    }
    sp_case r;
    sp_context context = {0};
    sp_case_default(&r);
    assert_int_equal(sp_case_set(&context, &r, "press.load_limit", "none"), SP_OK);
    check_true(isinf(r.load_limit) && r.load_limit > 0);
}

static void test_origin_and_line(void **state)
{
    (void)state;
    sp_case r;
    sp_context context = {0};
    int width = sp_case_row_find("coupon.width"), offset = sp_case_row_find("infill.offset_y");
    assert_int_equal(parse_text("# a foot\ncoupon:\n  height: 20 mm\n\n  width: 22 mm\n"
                                "infill: {density: 12 %,\n  offset: [0.5, -0.25]}\n",
                                &r),
                     SP_OK);
    check_close(r.width, 22, 0);
    assert_int_equal(r.line[width], 5);
    assert_int_equal(r.origin[width], SP_ORIGIN_FILE);
    assert_int_equal(r.line[offset], 7);
    check_close(r.offset_x, 0.5, 0);
    check_close(r.offset_y, -0.25, 0);
    assert_int_equal(r.origin[sp_case_row_find("coupon.depth")], SP_ORIGIN_DEFAULT);
    assert_int_equal(r.line[sp_case_row_find("coupon.depth")], 0);
    assert_int_equal(sp_case_set(&context, &r, "infill.offset", "0.1, 0.2"), SP_OK);
    check_close(r.offset_y, 0.2, 0);
    assert_int_equal(r.line[offset], 0);
}

static void test_lists_and_choices(void **state)
{
    (void)state;
    sp_case r;
    assert_int_equal(parse_text("material:\n  law: ogden\n  ogden_modulus: [1.2 MPa, 300 kPa]\n"
                                "  ogden_exponent:\n  - 2\n  - -2\n  strain_state: uniaxial\n"
                                "platens: {hold: sliding}\npress: {find_critical: no}\n",
                                &r),
                     SP_OK);
    assert_int_equal(r.ogden_modulus.count, 2);
    check_close(r.ogden_modulus.value[0], 1.2, 0);
    check_close(r.ogden_modulus.value[1], 0.3, 1e-15);
    assert_int_equal(r.ogden_exponent.count, 2);
    check_close(r.ogden_exponent.value[1], -2, 0);
    assert_int_equal(r.strain_state, SP_UNIAXIAL);
    assert_int_equal(r.platens, SP_PLATENS_SLIDING);
    assert_int_equal(r.find_critical, 0);
}

static void test_files_are_relative_to_the_case(void **state)
{
    (void)state;
    static const char text[] = "infill: {pattern: drawn, network: ../meshes/leaf.vtk}\n"
                               "material: {table: /data/pull.csv}\n";
    sp_context context = {0};
    sp_case r;
    assert_int_equal(sp_case_parse(&context, "docs/demo/x.yaml", text, strlen(text), &r), SP_OK);
    assert_string_equal(r.network_file, "docs/demo/../meshes/leaf.vtk");
    assert_string_equal(r.table_file, "/data/pull.csv");
    assert_int_equal(sp_case_parse(&context, "x.yaml", text, strlen(text), &r), SP_OK);
    assert_string_equal(r.network_file, "../meshes/leaf.vtk");
}

typedef struct malformed {
    const char *text;
    const char *want; /* part of the line */
} malformed;

static const malformed table[] = {
    /* These are no case at all. */
    {"", "case.yaml:1: received 'an empty file'; valid: a case with"},
    {"\n\n# only a remark\n", "received 'an empty file'"},
    {"---\n...\n", "case.yaml:2: received ''"},
    {"{}\n", "received '{}'; valid: at least one section"},
    {"foot\n", "received 'foot'; valid: the sections coupon, infill"},
    {"- coupon\n- infill\n", "received 'a list'; valid: the sections"},
    {"\xff\xfe"
     "c",
     "received 'bytes that are not UTF-8'"},
    {"coupon: {}\ninfill: \xc3(\n", "case.yaml:2: received 'bytes that are not UTF-8'"},
    {"coupon: {}\ninfill: \xed\xa0\x80\n", "case.yaml:2: received 'bytes that are not UTF-8'"},
    {"\x7f"
     "ELF\x02\x01",
     "received 'a binary file'"},
    {"coupon:\n  width: \x01\n", "case.yaml:2: received 'a binary file'"},
    /* These are not YAML, or more of it than a case needs. */
    {"coupon:\n\twidth: 20 mm\n",
     "case.yaml:2: received 'a tab in the indentation'; valid: spaces"},
    {"coupon:\n  width: 20\n height: 20\n", "case.yaml:3: received 'did not find"},
    {"coupon: {width: 20\n", "valid: YAML, sections with"},
    {"coupon: {width: '20}\n", "valid: YAML, sections with"},
    {"coupon: &size {width: 20}\n", "case.yaml:1: received 'size'; valid: values without anchors"},
    {"coupon:\n  width: &w 20\n", "case.yaml:2: received 'w'; valid: values without anchors"},
    {"coupon:\n  width: *w\n", "case.yaml:2: received 'w'; valid: values written out, no aliases"},
    {"coupon:\n  width: !!float 20\n",
     "case.yaml:2: received 'tag:yaml.org,2002:float'; valid: values without tags"},
    {"coupon: {width: 20}\n---\ncoupon: {width: 30}\n",
     "received 'a second document'; valid: one case per file"},
    {"coupon: {? {a: b} : c}\n", "coupon: received 'a mapping'; valid: a plain name as key"},
    {"? [coupon]\n: {}\n", "received 'a list'; valid: the name of a section"},
    {"<<: {coupon: 1}\n", "received '<<'; valid: coupon, infill"},
    {"coupon: {width: \"20\\0\"}\n", "received '20'; valid: text without NUL"},
    /* These have wrong names. */
    {"cuopon: {width: 20}\n", "case.yaml:1: received 'cuopon'; valid: coupon, infill, bead, joint, "
                              "material, platens, press, flaws, model (did you mean 'coupon'?)"},
    {"density: 20 %\n", "(did you mean 'infill.density'?)"},
    {"lattice: {}\n", "received 'lattice'; valid: coupon"},
    {"coupon:\n  widht: 20\n",
     "case.yaml:2: received 'coupon.widht'; valid: width, height, depth, block, block_sides, skins "
     "(did you mean 'coupon.width'?)"},
    {"coupon:\n  density: 20 %\n", "(did you mean 'infill.density'?)"},
    {"coupon: {Width: 20}\n", "(did you mean 'coupon.width'?)"},
    {"coupon: {wxyz: 20}\n", "received 'coupon.wxyz'; valid: width, height, depth"},
    {"coupon: {'': 20}\n", "received 'coupon.'; valid: width, height, depth"},
    {"coupon:\n", "coupon: received ''; valid: `name: value` lines"},
    {"coupon: 20 mm\n", "coupon: received '20 mm'; valid: `name: value` lines"},
    {"coupon: [20, 20]\n", "coupon: received 'a list'"},
    {"coupon:\n  width: 20\n  height: 20\n  width: 20\n",
     "case.yaml:4: coupon.width: received 'the same key again'; valid: once only, it stands on "
     "line 2"},
    {"bead: {width: 0.4}\nbead: {walls: 1}\n",
     "case.yaml:2: bead: received 'the same key again'; valid: once only, it stands on line 1"},
    {"infill: {offset_y: 1, offset: [0, 0]}\n", "infill.offset: received 'the same key again'"},
    {"infill: {offset: [0, 0], offset_x: 1}\n", "infill.offset_x: received 'the same key again'"},
    /* These have wrong values. */
    {"coupon: {width: }\n",
     "coupon.width: received ''; valid: 0.1 mm .. 10000 mm (units mm, cm, m, um)"},
    {"coupon: {width: wide}\n", "coupon.width: received 'wide'"},
    {"coupon: {width: {mm: 20}}\n",
     "coupon.width: received 'a mapping'; valid: one value or a list"},
    {"coupon: {width: [20]}\ncoupon: {}\n", "received 'the same key again'"},
    {"coupon: {width: [[20]]}\n", "coupon.width: received 'a list'; valid: a list of plain values"},
    {"coupon: {width: [20, 30]}\n", "coupon.width: received '20, 30'"},
    {"coupon: {width: 20 kg}\n",
     "coupon.width: received '20 kg'; valid: 0.1 mm .. 10000 mm (units mm"},
    {"coupon: {width: 20 %}\n", "coupon.width: received '20 %'"},
    {"coupon: {width: 20 MM}\n", "coupon.width: received '20 MM'"},
    {"coupon: {width: 20 mm mm}\n", "coupon.width: received '20 mm mm'"},
    {"coupon: {width: 2,8 cm}\n",
     "case.yaml:1: coupon: received '8 cm'; valid: a name of the section; a comma"},
    {"coupon:\n  width: 2,8 cm\n", "coupon.width: received '2,8 cm'"},
    {"coupon: {width: 0}\n", "coupon.width: received '0'; valid: 0.1 mm"},
    {"coupon: {width: -28 mm}\n", "coupon.width: received '-28 mm'"},
    {"coupon: {width: 1e999}\n", "coupon.width: received '1e999'"},
    {"coupon: {width: 0x1C}\n", "coupon.width: received '0x1C'"},
    {"coupon: {width: nan}\n", "coupon.width: received 'nan'"},
    {"coupon: {width: .inf}\n", "coupon.width: received '.inf'"},
    {"coupon: {width: infinity}\n", "coupon.width: received 'infinity'"},
    {"coupon: {width: '.'}\n", "coupon.width: received '.'"},
    {"coupon: {width: 1e}\n", "coupon.width: received '1e'"},
    {"coupon: {width: 00000000000000000000000000000000000000000000028}\n",
     "coupon.width: received '000000"},
    {"infill: {density: 0}\n",
     "infill.density: received '0'; valid: 1 % .. 100 % (units % or none for a fraction)"},
    {"infill: {density: 1.5}\n", "infill.density: received '1.5'"},
    {"infill: {density: NaN}\n", "infill.density: received 'NaN'"},
    {"infill: {density: 20}\n", "infill.density: received '20'"},
    {"infill: {density: 120 %}\n", "infill.density: received '120 %'"},
    {"infill: {density: -5 %}\n", "infill.density: received '-5 %'"},
    {"infill: {angle: 45 grad}\n",
     "infill.angle: received '45 grad'; valid: -360 deg .. 360 deg (units deg, rad)"},
    {"infill: {offset: 0.5}\n", "infill.offset: received '0.5'; valid: [x, y]"},
    {"infill: {offset: [1, 2, 3, 4]}\n", "infill.offset: received '1, 2, 3, 4'; valid: [x, y]"},
    {"infill: {cells: [3, 3]}\n", "infill.cells: received '3, 3'; valid: [x, y, z], three whole"},
    {"infill: {cells: [3, 0, 3]}\n", "infill.cells: received '3, 0, 3'; valid: [x, y, z]"},
    {"infill: {cells: [3, 3, 2.5]}\n", "infill.cells: received '3, 3, 2.5'; valid: [x, y, z]"},
    {"infill: {cells: [3, 3, 3], cells_y: 2}\n", "infill.cells_y: received 'the same key again'"},
    {"infill: {direction: [1, 1, up]}\n", "infill.direction: received '1, 1, up'"},
    {"infill: {offset: ['1,5', 2]}\n",
     "infill.offset: received '1,5'; valid: a list of plain values"},
    {"infill: {pattern: ''}\n",
     "infill.pattern: received ''; valid: a name of at most 47 characters"},
    {"infill: {pattern: a-name-that-is-longer-than-any-name-of-a-pattern-may-be}\n",
     "infill.pattern: received 'a-name"},
    {"infill: {cell_seed: 1.5}\n",
     "infill.cell_seed: received '1.5'; valid: a whole number 0 .. 2147483647"},
    {"infill: {cell_seed: 2147483648}\n", "infill.cell_seed: received '2147483648'"},
    {"bead: {width: 0}\n", "bead.width: received '0'; valid: 0.01 mm .. 100 mm"},
    {"bead: {walls: -1}\n", "bead.walls: received '-1'; valid: a whole number 0 .. 20"},
    {"bead: {walls: 2 mm}\n", "bead.walls: received '2 mm'"},
    {"material: {modulus: 30 N}\n", "material.modulus: received '30 N'; valid: 0.0001 MPa"},
    {"material: {poisson_ratio: 0.6}\n", "material.poisson_ratio: received '0.6'; valid: 0 .. 0.5"},
    {"material: {shore_a: 100}\n", "material.shore_a: received '100'"},
    {"material: {ogden_modulus: []}\n", "material.ogden_modulus: received ''"},
    {"material: {ogden_modulus: [1, 2, 3, 4, 5, 6, 7]}\n",
     "valid: [a, b, ...] of at most 6 numbers"},
    {"material: {ogden_modulus: [1, , 2]}\n", "valid: "},
    {"material: {ogden_exponent: [2 MPa]}\n", "material.ogden_exponent: received '2 MPa'"},
    {"material: {strain_state: plane-strain}\n",
     "valid: plane_strain | uniaxial (did you mean 'plane_strain'?)"},
    {"material: {table: \"a\\nb\"}\n", "material.table: received 'a\\x0ab'"},
    {"platens: {hold: bondet}\n", "platens.hold: received 'bondet'; valid: bonded | sliding | "
                                  "friction (did you mean 'bonded'?)"},
    {"platens: {hold: 1}\n", "platens.hold: received '1'; valid: bonded | sliding | friction"},
    {"platens: {hold: friction}\n",
     "platens.friction: received '0'; valid: a coefficient above 0 with `hold: friction`"},
    {"platens: {hold: sliding, friction: 0.3}\n",
     "platens.friction: received '0.3'; valid: 0 with `hold: sliding`"},
    {"platens: {friction: -0.1}\n", "platens.friction: received '-0.1'; valid: 0 .. 3"},
    {"material: {friction: 4}\n", "material.friction: received '4'; valid: 0 .. 3"},
    {"press: {load_limit: non}\n",
     "press.load_limit: received 'non'; valid: 0.001 N .. 1000000000 N (units N, kN) or none"},
    {"infill: {density: 30}\n", "(did you mean '30 %'?)"},
    {"infill: {density: 0,3}\n", "infill.density: received '0,3'; valid: 1 % .. 100 % (units % or "
                                 "none for a fraction) (did you mean '0.3'?)"},
    {"infill:\n  density: 12,5\n", "(did you mean '12.5 %'?)"},
    {"coupon: {width: 28,5 mm}\n",
     "coupon: received '5 mm'; valid: a name of the section; a comma"},
    {"press: {load_limit: '1,000'}\n", "units N, kN) or none"}, /* a thousand or one? */
    {"press: {load_limit: 6kn}\n", "(did you mean '6 kN'?)"},
    {"press: {strain: 70}\n", "(did you mean '70 %'?)"},
    {"coupon: {width: 3.5in}\n", "(did you mean '88.9 mm'?)"},
    {"coupon: {width: '2\"'}\n", "(did you mean '50.8 mm'?)"},
    {"material: {shore_a: 95A}\n", "(did you mean '95'?)"},
    {"material: {shore_a: 64D}\n", "(did you mean 'shore_d: 64'?)"},
    {"material: {modulus: 95 Shore A}\n", "(did you mean 'shore_a: 95'?)"},
    {"material: {modulus: 4000 psi}\n", "(did you mean '27.579 MPa'?)"},
    {"infill: {angle: 45°}\n", "(did you mean '45 deg'?)"},
    {"press: {load_limit: inf}\n", "press.load_limit: received 'inf'"},
    {"press: {strain: 100 %}\n", "press.strain: received '100 %'; valid: 0.0001 % .. 95 %"},
    {"press: {steps: 0}\n", "press.steps: received '0'"},
    {"press: {find_critical: maybe}\n", "press.find_critical: received 'maybe'; valid: no | yes"},
    {"flaws: {missing: 90 %}\n", "flaws.missing: received '90 %'; valid: 0 % .. 50 %"},
    {"model: {section_points: 1}\n",
     "model.section_points: received '1'; valid: a whole number 2 .. 16"},
    {"model: {elements_per_strut: 1e9}\n", "model.elements_per_strut: received '1e9'"},
};

/* Each malformed case gives SP_BAD_CASE and one printable line that names the file, and leaves the
 * defaults. */
static void test_malformed(void **state)
{
    (void)state;
    sp_case defaults, r;
    sp_context context;
    int failures = 0;
    sp_case_default(&defaults);
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        sp_status status = parse(&context, table[i].text, strlen(table[i].text), &r);
        int good = status == SP_BAD_CASE && strstr(context.message, table[i].want) &&
                   !strncmp(context.message, "case.yaml:", 10) &&
                   strstr(context.message, "received '") && strstr(context.message, "; valid: ");
        if (!good)
            print_error("%s: %d %s\n  wanted %s\n", table[i].text, status, context.message,
                        table[i].want);
        failures += !good;
        check_same_case(&defaults, &r);
    }
    assert_int_equal(failures, 0);
}

/* A row refuses from a program every value that it refuses from a file, and the case stays as it
 * was. */
static void test_set_refuses(void **state)
{
    (void)state;
    sp_case r, before;
    sp_case_default(&r);
    before = r;
    static const char *const bad[][2] = {
        {"infill.density", "0"},
        {"infill.densty", "0.2"},
        {"density", "0.2"},
        {"", "1"},
        {"infill", "1"},
        {"infill.", "1"},
        {".", "1"},
        {"coupon.width", ""},
        {"infill.offset", "[1, 2"},
        {"infill.offset", "1, 2, 3, 4"},
        {"infill.cells", "1, 2"},
        {"infill.offset", ""},
        {"platens.hold", "bonded|sliding|friction"},
        {"press.find_critical", "no|"},
        {"material.ogden_modulus", "1,"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        sp_context context = {0};
        assert_int_equal(sp_case_set(&context, &r, bad[i][0], bad[i][1]), SP_BAD_CASE);
        check_true(strstr(context.message, "received '") != NULL);
        check_same_case(&before, &r);
    }
}

static void test_long_values_are_cut(void **state)
{
    (void)state;
    static const char *const shapes[][2] = {
        {"coupon: {width: ", "}\n"}, {"coupon: {", ": 1}\n"},       {"", ": {width: 1}\n"},
        {"? ", "\n: 1\n"},           {"coupon: {width: '", "'}\n"},
    };
    const size_t many = 10 * 1000 * 1000;
    char *text = test_malloc(many + 64);
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        size_t head = strlen(shapes[i][0]);
        sp_case r;
        sp_context context;
        memcpy(text, shapes[i][0], head);
        memset(text + head, 'a', many);
        strcpy(text + head + many, shapes[i][1]);
        assert_int_equal(parse(&context, text, strlen(text), &r), SP_BAD_CASE);
        check_true(strlen(context.message) < 400);
    }
    /* An excerpt is never cut inside a character. */
    char excerpt[SP_EXCERPT_SIZE];
    for (size_t i = 0; i < 100; i++) memcpy(text + 2 * i, "\xc3\xa4", 2);
    text[200] = 0;
    for (int shift = 0; shift < 2; shift++) {
        sp_case_excerpt(text + 2 * shift, excerpt);
        check_true(strlen(excerpt) % 2 == 1); /* whole pairs and three dots */
    }
    test_free(text);
}

static void test_nearest(void **state)
{
    (void)state;
    sp_nearest nearest = {0};
    sp_nearest_offer(&nearest, "hexagnoal", "square");
    assert_string_equal(nearest.name, "");
    sp_nearest_offer(&nearest, "hexagnoal", "hexagonal");
    assert_string_equal(nearest.name, "hexagonal");
    assert_int_equal(nearest.distance, 1); /* swapped neighbours count once */
    sp_nearest_offer(&nearest, "", "a");
    sp_nearest_offer(&nearest, "HEXAGONAL", "hexagonal");
    assert_int_equal(nearest.distance, 0);
}

static void write_file(const char *file, const char *head, int remarks)
{
    FILE *stream = fopen(file, "w");
    assert_non_null(stream);
    fputs(head, stream);
    for (int i = 0; i < remarks; i++)
        fputs("# a remark that makes the file longer than one block\n", stream);
    assert_int_equal(fclose(stream), 0);
}

/* Name a temporary file of this process. */
static const char *scratch(void)
{
    static char name[64];
    snprintf(name, sizeof name, "/tmp/strutpress-case-%ld.yaml", (long)getpid());
    return name;
}

static void test_read(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case r;
    write_file(scratch(), "coupon: {width: 20 mm}\n", 10000);
    assert_int_equal(sp_case_read(&context, scratch(), &r), SP_OK);
    check_close(r.width, 20, 0);
    assert_string_equal(r.source, scratch());
    unlink(scratch());
    assert_int_equal(sp_case_read(&context, scratch(), &r), SP_NO_READ);
    check_true(strstr(context.message, "No such file") != NULL);
    assert_int_equal(sp_case_read(&context, "/tmp", &r), SP_NO_READ);
    check_true(strstr(context.message, "is a folder") != NULL);
    assert_int_equal(sp_case_read(&context, "", &r), SP_NO_READ);
    assert_int_equal(sp_case_read(&context, "/dev/null", &r), SP_BAD_CASE);
    check_true(strstr(context.message, "an empty file") != NULL);
    assert_int_equal(sp_case_read(&context, "/dev/zero", &r), SP_BAD_CASE); /* endless */
    check_true(strstr(context.message, "more than 64 MiB") != NULL);
}

/* When any allocation fails, reading gives the promised status and the defaults, and leaves nothing
 * behind. */
static void test_out_of_memory(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case r, defaults;
    long before = sp_alloc_count(), nth = 0;
    sp_status status;
    sp_case_default(&defaults);
    write_file(scratch(), "coupon: {width: 20 mm}\n", 10000);
    do {
        sp_alloc_fail_at(++nth);
        status = sp_case_read(&context, scratch(), &r);
        sp_alloc_fail_at(0);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
        check_same_case(&defaults, &r);
    } while (nth < 1000);
    assert_int_equal(status, SP_OK);
    check_true(nth > 2);
    unlink(scratch());
}

static void test_print(void **state)
{
    (void)state;
    sp_case r;
    char *text = NULL;
    size_t size = 0;
    assert_int_equal(parse_text("coupon:\n  width: 2.8 cm\nmaterial: {shore_a: 85}\n", &r), SP_OK);
    for (int only_changed = 0; only_changed < 2; only_changed++) {
        FILE *stream = open_memstream(&text, &size);
        sp_case_print(&r, only_changed, stream);
        fclose(stream);
        int lines = 0;
        for (const char *at = text; (at = strchr(at, '\n')); at++) lines++;
        assert_int_equal(lines, only_changed ? 2 : sp_parameter_count());
        check_true(strstr(text, "28 mm") && strstr(text, "line 2"));
        check_true(!strstr(text, "nan") && !strstr(text, "inf\n"));
        free(text);
    }
}

/* Texts that do not fit are cut, never overrun. */
static void test_value_text_fits(void **state)
{
    (void)state;
    sp_case r;
    char text[64];
    sp_case_default(&r);
    for (int row = 0; row < sp_parameter_count(); row++)
        for (size_t size = 0; size < 20; size++) {
            memset(text, 'x', sizeof text);
            sp_case_value_text(&r, row, text, size);
            check_true(text[size] == 'x');
            if (size) check_true(memchr(text, 0, size) != NULL);
        }
}

static int cautions;
static void count_caution(void *user, const char *line)
{
    (void)user;
    check_true(line[0] != 0);
    cautions++;
}

static void test_names(void **state)
{
    (void)state;
    sp_context context = {.warn = count_caution};
    sp_case r;
    assert_int_equal(parse_text("infill:\n  pattern: hexagnoal\n", &r), SP_OK);
    assert_int_equal(coupon_settle(&context, &r), SP_BAD_CASE);
    check_true(strstr(context.message,
                      "case.yaml:2: infill.pattern: received 'hexagnoal'; valid: ") != NULL);
    check_true(strstr(context.message, "(did you mean 'hexagonal'?)") != NULL);
    static const char *const near[][2] = {
        {"grid", "square"}, {"honeycomb", "hexagonal"}, {"Gyroid", "gyroid-skeleton"}};
    for (size_t i = 0; i < sizeof near / sizeof *near; i++) {
        char text[64], want[64];
        snprintf(text, sizeof text, "infill: {pattern: %s}\n", near[i][0]);
        snprintf(want, sizeof want, "(did you mean '%s'?)", near[i][1]);
        assert_int_equal(parse_text(text, &r), SP_OK);
        assert_int_equal(coupon_settle(&context, &r), SP_BAD_CASE);
        check_true(strstr(context.message, want) != NULL);
    }
    assert_int_equal(parse_text("material:\n  law: neohookean\n", &r), SP_OK);
    assert_int_equal(coupon_settle(&context, &r), SP_BAD_CASE);
    check_true(strstr(context.message,
                      "case.yaml:2: material.law: received 'neohookean'; valid: ") != NULL);
    check_true(strstr(context.message, "(did you mean 'neo-hookean'?)") != NULL);
    assert_int_equal(parse_text("infill: {pattern: drawn}\n", &r), SP_OK);
    assert_int_equal(coupon_settle(&context, &r), SP_BAD_CASE);
    check_true(strstr(context.message, "infill.network: received 'nothing'") != NULL);
    assert_int_equal(cautions, 0);
    assert_int_equal(parse_text("material: {c10: 1, gent_limit: 20}\n", &r), SP_OK);
    assert_int_equal(coupon_settle(&context, &r), SP_OK);
    assert_int_equal(cautions, 2);
}

/* At Shore A 60 the modulus is that of Gent 1958, computed from the published formula; beyond, that
 * of the printed urethanes of Bates, Farrow & Trask 2016 (second hand). */
static void test_hardness_gives_the_modulus(void **state)
{
    (void)state;
    static const double shore[] = {60, 85, 98}, known[] = {3.605, 26.5, 89.5};
    int row = sp_case_row_find("material.modulus");
    for (int i = 0; i < 3; i++) {
        sp_context context = {0};
        sp_case r;
        char value[16];
        sp_case_default(&r);
        snprintf(value, sizeof value, "%g", shore[i]);
        assert_int_equal(sp_case_set(&context, &r, "material.shore_a", value), SP_OK);
        for (int twice = 0; twice < 2; twice++) {
            assert_int_equal(coupon_settle(&context, &r), SP_OK);
            check_relative(r.modulus, known[i], 0.01);
            assert_int_equal(r.origin[row], SP_ORIGIN_DERIVED);
        }
        assert_int_equal(sp_case_set(&context, &r, "material.modulus", "26.5 MPa"), SP_OK);
        assert_int_equal(coupon_settle(&context, &r), SP_OK);
        check_close(r.modulus, 26.5, 0); /* a measured modulus overrides */
    }
    sp_case r;
    sp_context context = {0};
    assert_int_equal(parse_text("material:\n  shore_a: 95\n  shore_d: 70\n", &r), SP_OK);
    assert_int_equal(coupon_settle(&context, &r), SP_BAD_CASE);
    check_true(strstr(context.message, "case.yaml:3: material.shore_d: received '70'; valid: ") !=
               NULL);
    check_true(strstr(context.message, "95 Shore A says 67.7 MPa (39.1 .. 102), 70 Shore D says") !=
               NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defaults),
        cmocka_unit_test(test_rows_round_trip),
        cmocka_unit_test(test_tables_are_beside_their_file),
        cmocka_unit_test(test_units),
        cmocka_unit_test(test_origin_and_line),
        cmocka_unit_test(test_lists_and_choices),
        cmocka_unit_test(test_files_are_relative_to_the_case),
        cmocka_unit_test(test_malformed),
        cmocka_unit_test(test_set_refuses),
        cmocka_unit_test(test_long_values_are_cut),
        cmocka_unit_test(test_nearest),
        cmocka_unit_test(test_read),
        cmocka_unit_test(test_out_of_memory),
        cmocka_unit_test(test_print),
        cmocka_unit_test(test_value_text_fits),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_hardness_gives_the_modulus),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
