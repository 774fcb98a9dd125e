/* These tests check figures over a store: the line and its interval against published values,
 * grouping and ranking against a store whose coupons follow a power law exactly. */
#include "check.h"

#include <unistd.h>

#include <strutpress/compare.h>

#include "base/alloc.h"
#include "compare/fit.h"

/* ---- the line ----------------------------------------------- */

/* NIST Statistical Reference Datasets, linear regression, Norris (observed, 36 points; the
 * certified values were read in tests of public statistics libraries that quote the page of NIST,
 * and the fit gives them back to 12 digits, which wrong data would not). y then x. */
static const double norris[][2] = {
    {0.1, 0.2},     {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1},    {228.1, 226.5},
    {668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6}, {778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4},
    {0.1, 0.6},     {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
    {557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3},
    {0.6, 0.3},     {557.6, 556.8}, {339.3, 339.1}, {888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0},
    {10.2, 11.1},   {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
};
enum { NORRIS = sizeof norris / sizeof norris[0] };

static void test_line(void **state)
{
    (void)state;
    double x[NORRIS], y[NORRIS];
    for (int i = 0; i < NORRIS; i++) {
        y[i] = norris[i][0];
        x[i] = norris[i][1];
    }
    const line_fit fit = sp_fit_line(NORRIS, x, y);
    check_relative(fit.slope, 1.00211681802045, 1e-12);
    check_relative(fit.intercept, -0.262323073774029, 1e-11);
    check_relative(fit.slope_deviation, 0.429796848199937e-03, 1e-11);
    check_relative(fit.residual_deviation, 0.884796396144373, 1e-11);
}

/* These are two-sided 5 % points of Student's t as every handbook prints them (Abramowitz & Stegun
 * 1964, table 26.10). */
static void test_student(void **state)
{
    static const double table[][2] = {{1, 12.706}, {2, 4.303},   {3, 3.182},
                                      {4, 2.776},  {5, 2.571},   {10, 2.228},
                                      {30, 2.042}, {120, 1.980}, {1e6, 1.960}};
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        check_close(sp_student_quantile(0.95, (int)table[i][0]), table[i][1], 5.1e-4);
    check_close(sp_student_share(1, 1), 0.5, 1e-14); /* Cauchy: quartile at 1 */
}

static void test_no_line(void **state)
{
    const double x[] = {1, 1, 1}, y[] = {1, 2, 3};
    (void)state;
    assert_int_equal(sp_fit_line(2, y, y).count, 0);
    assert_int_equal(sp_fit_line(3, x, y).count, 0);
    assert_int_equal(sp_fit_line(3, y, x).count, 3);
}

/* ---- a store that follows a law ----------------------------------------------- */

static char file[64];

static void set_measure(sp_result *result, const char *name, double value)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++)
        if (!strcmp(row[i].name, name)) result->measure[i] = (sp_measure){1, value};
}

/* Stiffness = factor x solid^2 and plateau = solid^3, times 1 + seed / 100 about seed 2. */
static void put_coupon(sp_store *store, const char *pattern, double factor, double solid, int seed)
{
    int count;
    sp_context context = {0};
    sp_result result;
    sp_coupon_key known;
    sp_step step[3] = {{0}};
    char text[32];
    const double scatter = 1 + (seed - 2) / 100.0;
    memset(&result, 0, sizeof result);
    sp_measure_rows(&count);
    sp_measure *measure = sp_alloc((size_t)count, sizeof *measure);
    assert_non_null(measure);
    result.measure = measure;
    result.measure_count = count;
    sp_case_default(&result.request);
    snprintf(text, sizeof text, "%g", solid / 2);
    assert_int_equal(sp_case_set(&context, &result.request, "infill.density", text), SP_OK);
    assert_int_equal(sp_case_set(&context, &result.request, "infill.pattern", pattern), SP_OK);
    result.request.flaw_seed = seed;
    set_measure(&result, "solid_fraction", solid);
    set_measure(&result, "mass", 10 * solid);
    set_measure(&result, "initial_stiffness", factor * solid * solid * scatter);
    set_measure(&result, "plateau_stress", solid * solid * solid * scatter);
    set_measure(&result, "energy_per_volume_50", factor * pow(solid, 1.5));
    result.path = (sp_path){.size = {28, 24, 20}, .step_count = 3, .step = step};
    step[1].shortening = 1.2, step[1].force = 56, step[1].work = 30;
    step[2].shortening = 12, step[2].force = 112, step[2].work = 900;
    assert_int_equal(sp_coupon_key_of_case(&context, &result.request, &known), SP_OK);
    assert_int_equal(sp_store_put(&context, store, &known, SP_OK, "", "", &result), SP_OK);
    assert_int_equal(sp_store_put(&context, store, &known, SP_OK, "twice", "", NULL), SP_OK);
    sp_free(measure);
}

static sp_store *make_store(void)
{
    static const double solid[] = {0.2, 0.3, 0.4, 0.5};
    sp_context context = {0};
    sp_store *store;
    sp_coupon_key known;
    sp_case broken;
    strcpy(file, "/tmp/strutpress_compare_XXXXXX");
    const int handle = mkstemp(file);
    assert_true(handle >= 0);
    close(handle);
    if (sp_store_open(&context, file, SP_STORE_WRITE, &store) != SP_OK)
        fail_msg("%s", context.message);
    for (int i = 0; i < 4; i++)
        for (int seed = 3; seed >= 1; seed--) { /* in no good order */
            put_coupon(store, "square", 10, solid[3 - i], seed);
            if (i > 0) put_coupon(store, "kagome", 20, solid[3 - i], seed);
        }
    sp_case_default(&broken);
    assert_int_equal(sp_case_set(&context, &broken, "bead.walls", "20"), SP_OK);
    broken.wall_beads = 19;
    broken.flaw_seed = 1;
    assert_int_equal(sp_coupon_key_of_case(&context, &broken, &known), SP_OK);
    assert_int_equal(
        sp_store_put(&context, store, &known, SP_BAD_CASE, "walls too thick", "", NULL), SP_OK);
    return store;
}

static char *table_of(sp_store *store, const sp_compare_options *options)
{
    sp_context context = {0};
    sp_compare *compare;
    char *text = NULL;
    size_t size;
    if (sp_compare_read(&context, store, options, &compare) != SP_OK)
        fail_msg("%s", context.message);
    FILE *stream = open_memstream(&text, &size);
    assert_int_equal(sp_compare_table(&context, compare, stream), SP_OK);
    fclose(stream);
    sp_compare_free(compare);
    return text;
}

static void expect(const char *text, const char *words)
{
    if (!strstr(text, words)) fail_msg("lacks '%s':\n%s", words, text);
}

static void test_table(void **state)
{
    (void)state;
    const long before = sp_alloc_count();
    sp_store *store = make_store();
    const sp_compare_options options = {.measures = "initial_stiffness,mass"};
    char *text = table_of(store, &options);
    expect(text,
           "square, density 25 %, walls 2       3         0        2.5 +-0.025"); /* 10 x 0.5^2 +- 1
                                                                                     % */
    expect(text,
           "square, walls 2               stiffness 2 +- "); /* rounding is all that is left */
    expect(text, "plateau 3 +- ");
    expect(text, "(4 densities)");
    /* both reach 2 .. 4 g: at 3 g the solid fraction is 0.3 and the energies are 20 and 10 x
     * 0.3^1.5 */
    expect(text,
           "at equal mass, 3 g: energy_per_volume_50 [MJ/m3]\n   1. kagome, walls 2              "
           "3.286\n   2. square, walls 2              1.643\n");
    expect(text, "(1 failed)");
    expect(text, "1 of 22 coupons failed or ended early; the first: walls too thick");
    free(text);
    const sp_compare_options heavy = {.mass = 4.5, .rank = "initial_stiffness"};
    text = table_of(store, &heavy);
    /* Between 0.4 and 0.5 a power law is straight in log-log: 10 x 0.45^2. */
    expect(text, "1. square, walls 2              2.025\n");
    expect(text, "kagome, walls 2              pressed from 2 to 4 g only");
    free(text);
    sp_store_close(store);
    unlink(file);
    assert_int_equal(sp_alloc_count(), before);
}

/* Cautions of one kind differ in their numbers; a coupon may have several. */
static void test_cautions(void **state)
{
    static const char *const cautions[] = {
        "12 % of the struts are short; Fibre strains reach 155 %", "12.5 % of the struts are short",
        "", "12 % of the struts are not short"};
    (void)state;
    const long before = sp_alloc_count();
    sp_store *store = make_store();
    const sp_compare_options options = {.measures = "mass"};
    for (int i = 0; i < 4; i++) {
        sp_context context = {0};
        sp_case request;
        sp_coupon_key known;
        sp_case_default(&request);
        request.flaw_seed = 1 + i;
        request.wall_beads = 7;
        assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
        assert_int_equal(
            sp_store_put(&context, store, &known, SP_BAD_CASE, "no", cautions[i], NULL), SP_OK);
    }
    char *text = table_of(store, &options);
    expect(text, "walls 7       4         2      -  (4 failed)\n"); /* the most of one seed */
    expect(text, "\ncautions, of 3 of 26 coupons\n"
                 "  12 % of the struts are short (the first of 2 alike)\n"
                 "  Fibre strains reach 155 %\n"
                 "  12 % of the struts are not short\n");
    expect(text, "Predictions for choosing coupons to print, not proof of a protective part");
    free(text);
    sp_store_close(store);
    unlink(file);
    assert_int_equal(sp_alloc_count(), before);
}

/* Some coupons of a larger store are compared under names of their own; seeds of one coupon share a
 * row. */
static void test_named_coupons(void **state)
{
    static const int seed[] = {1, 3, 2};
    static const char *const pattern[] = {"square", "square", "kagome"};
    (void)state;
    sp_store *store = make_store();
    sp_compare_coupon only[3] = {{.name = "mine"}, {.name = "yours"}, {.name = "theirs"}};
    const sp_compare_options options = {.measures = "mass", .only = only, .only_count = 3};
    for (int i = 0; i < 3; i++) {
        sp_context context = {0};
        sp_case request;
        sp_coupon_key known;
        sp_case_default(&request);
        assert_int_equal(sp_case_set(&context, &request, "infill.density", "0.2"), SP_OK);
        assert_int_equal(sp_case_set(&context, &request, "infill.pattern", pattern[i]), SP_OK);
        request.flaw_seed = seed[i];
        assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
        strcpy(only[i].key, known.key);
    }
    char *text = table_of(store, &options);
    expect(text, "mine + yours      2         0  4 +-0\n");
    expect(text, "theirs            1         0      4\n");
    assert_null(strstr(text, "density 20")); /* no label of the other kind */
    assert_null(strstr(text, "failed"));
    free(text);
    sp_store_close(store);
    unlink(file);
}

/* Two tested specimens have a mean of 1.1 times the curve p of all coupons, which rises straight
 * from 0 to 0.1 MPa at 5 % strain and on to 0.2 at 50 %: off by 0.1/1.1 of p, whose root mean
 * square is 0.14606 MPa and whose mean 0.14 MPa, by its integrals. */
static void test_tested(void **state)
{
    (void)state;
    sp_store *store = make_store();
    const double shortening[] = {0, 1.2, 12};
    const double force[2][3] = {{0, 0.9 * 56, 0.9 * 112}, {0, 1.3 * 56, 1.3 * 112}};
    sp_curve tested[2];
    for (int i = 0; i < 2; i++)
        tested[i] = (sp_curve){.height = 24,
                               .area = 560,
                               .count = 3,
                               .stride = sizeof(double),
                               .shortening = shortening,
                               .force = force[i]};
    const sp_compare_options options = {
        .tested = tested, .tested_count = 2, .tested_name = "foot.csv"};
    char *text = table_of(store, &options);
    expect(text, "beside foot.csv (mean of 2 specimens): root mean square");
    expect(text, "  9.5 %   to 50 % strain, 9.5 .. 9.5 % over 3 seeds\n");
    free(text);
    sp_context context = {0};
    sp_compare *compare;
    char *row = NULL;
    size_t size;
    FILE *stream = open_memstream(&row, &size);
    assert_int_equal(sp_compare_read(&context, store, &options, &compare), SP_OK);
    assert_int_equal(sp_compare_records(&context, compare, SP_FORMAT_CSV, stream), SP_OK);
    fclose(stream);
    expect(row, ",tested_misfit_median,tested_misfit_low,tested_misfit_high,tested_to_strain,");
    const char *first = strchr(row, '\n') + 1; /* the last cells of its line */
    const char *end = strchr(first, '\n');
    double misfit[4];
    for (int k = 0; k < 5; k++) {
        while (*--end != ',') {
        }
        if (k > 0) misfit[4 - k] = strtod(end + 1, NULL);
    }
    for (int k = 0; k < 3; k++) check_relative(misfit[k], 0.1 / 1.1 * 0.14606 / 0.14, 2e-3);
    check_close(misfit[3], 0.5, 1e-9);
    free(row);
    sp_compare_free(compare);
    sp_store_close(store);
    unlink(file);
}

static void test_wrong_names(void **state)
{
    (void)state;
    sp_store *store = make_store();
    sp_context context = {0};
    sp_compare *compare;
    const sp_compare_options options = {.measures = "mas"}, rank = {.rank = "enregy_kept"};
    assert_int_equal(sp_compare_read(&context, store, &options, &compare), SP_BAD_USAGE);
    expect(context.message,
           "--measures: received 'mas'; valid: a name of `list measures`, or force_at");
    expect(context.message, "(did you mean 'mass'?)");
    assert_int_equal(sp_compare_read(&context, store, &rank, &compare), SP_BAD_USAGE);
    expect(context.message, "(did you mean 'energy_kept'?)");
    sp_store_close(store);
    unlink(file);
}

static void test_files(void **state)
{
    (void)state;
    static const char *const names[] = {"compare.csv", "fits.csv",   "ranking.csv",
                                        "curves.svg",  "energy.svg", "stiffness.svg",
                                        "plateau.svg", "curves.csv"};
    char folder[] = "/tmp/strutpress_compare_XXXXXX", path[96], text[16384];
    const sp_compare_options options = {0};
    sp_store *store = make_store();
    sp_context context = {0};
    sp_compare *compare;
    assert_non_null(mkdtemp(folder));
    assert_int_equal(sp_compare_read(&context, store, &options, &compare), SP_OK);
    assert_int_equal(sp_compare_write(&context, compare, folder), SP_OK);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        FILE *stream = fopen(path, "r");
        assert_non_null(stream);
        text[fread(text, 1, sizeof text - 1, stream)] = 0;
        fclose(stream);
        assert_null(strstr(text, "nan"));
        assert_null(strstr(text, "inf,"));
        if (strstr(names[i], "svg")) expect(text, "</title>");
        if (strstr(names[i], "svg")) assert_null(strstr(text, "Nothing is drawn"));
        if (!strcmp(names[i], "curves.csv"))
            expect(text, ",flaw_seed,strain,stress_MPa,shortening_mm,force_N,work_mJ\n\"");
        if (!strcmp(names[i], "curves.svg")) expect(text, ">nominal strain [%]</text>");
        if (!strcmp(names[i], "curves.svg")) expect(text, "fill-opacity=\"0.16\""); /* of seeds */
        if (!strcmp(names[i], "stiffness.svg")) expect(text, ">initial stiffness [N/mm]</text>");
        if (strstr(names[i], "svg")) expect(text, "not proof of a protective part");
        if (!strcmp(names[i], "fits.csv"))
            expect(text, "\"square, walls 2\",initial_stiffness,4,2,");
        if (!strcmp(names[i], "ranking.csv")) expect(text, "1,\"kagome, walls 2\",3,3.286335");
        unlink(path);
    }
    rmdir(folder);
    sp_compare_free(compare);
    sp_store_close(store);
    unlink(file);
}

static void test_without_memory(void **state)
{
    (void)state;
    sp_store *store = make_store();
    const sp_compare_options options = {0};
    const long before = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_context context = {0};
        sp_compare *compare;
        sp_alloc_fail_at(nth);
        const sp_status status = sp_compare_read(&context, store, &options, &compare);
        sp_alloc_fail_at(0);
        sp_compare_free(compare);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
    sp_store_close(store);
    unlink(file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line),        cmocka_unit_test(test_student),
        cmocka_unit_test(test_no_line),     cmocka_unit_test(test_table),
        cmocka_unit_test(test_cautions),    cmocka_unit_test(test_named_coupons),
        cmocka_unit_test(test_wrong_names), cmocka_unit_test(test_files),
        cmocka_unit_test(test_tested),      cmocka_unit_test(test_without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
