/* These tests check the fence of the library: the names that it exports, that it runs without a
 * context, and that it leaves its host as it was. */
#include "check.h"

#include <locale.h>
#include <omp.h>
#include <signal.h>
#include <unistd.h>

#include <strutpress/strutpress.h>

#include "store_folder.h"

/* OpenBLAS declares both in cblas.h, which only src/mechanics/sparse includes. */
int openblas_get_num_threads(void);
void openblas_set_num_threads(int count);

/* ---- names ----------------------------------------------- */

/* Find the folder of the build this program is in: build/release/tests/test_fence -> build/release.
 */
static const char *build_folder(void)
{
    static char path[1024];
    const ssize_t length = readlink("/proc/self/exe", path, sizeof path - 1);
    assert_true(length > 0);
    path[length] = '\0';
    for (int i = 0; i < 2; i++) *strrchr(path, '/') = '\0';
    return path;
}

/* Return what a command prints; it is freed with free. */
static char *output_of(const char *command)
{
    FILE *pipe = popen(command, "r");
    char *text = malloc(1 << 20);
    assert_non_null(pipe);
    assert_non_null(text);
    text[fread(text, 1, (1 << 20) - 1, pipe)] = '\0';
    assert_int_equal(pclose(pipe), 0);
    return text;
}

static void exported_names_are_the_public_ones(void **state)
{
    (void)state;
    char command[2048];
    /* These functions are declared by the public headers: a name before a bracket, where no call
     * stands. */
    char *declared =
        output_of("printf '#include <strutpress/strutpress.h>\\n' | cc -E -P -Iinclude - | "
                  "grep -oE '\\bsp_[a-z0-9_]+\\(' | tr -d '(' | LC_ALL=C sort -u");
    snprintf(command, sizeof command,
             "nm -D --defined-only '%s/libstrutpress.so' | awk '{ print $3 }' | LC_ALL=C sort",
             build_folder());
    char *exported = output_of(command);
    assert_true(strlen(declared) > 1000);
    assert_string_equal(exported, declared);
    free(declared);
    free(exported);
}

/* Names that are not public must not meet those of a program that links the archive. OpenMP makes
 * names of its locks, clang's one for all reductions of a program. */
static void names_of_the_archive_have_the_prefix(void **state)
{
    (void)state;
    char command[2048];
    snprintf(command, sizeof command,
             "nm -g --defined-only '%s/libstrutpress.a' 2> /dev/null | "
             "awk 'NF == 3 && $3 ~ /^sp_/ { good++ } "
             "NF == 3 && $3 !~ "
             "/^(sp_|\\.gomp_critical_user_(sp_|\\.reduction)|__odr_asan|asan\\.|__llvm|__prof|__"
             "gcov)/ { print $3 } "
             "END { if (good < 500) print \"only \" good + 0 \" names\" }'",
             build_folder());
    char *others = output_of(command);
    assert_string_equal(others, "");
    free(others);
}

static void soname_and_version_agree(void **state)
{
    (void)state;
    char command[2048], wanted[64];
    snprintf(wanted, sizeof wanted, "libstrutpress.so.%d.%d\n", SP_VERSION_MAJOR, SP_VERSION_MINOR);
    snprintf(command, sizeof command,
             "readelf -d '%s/libstrutpress.so' | sed -n 's/.*SONAME.*\\[\\(.*\\)\\]/\\1/p'",
             build_folder());
    char *soname = output_of(command);
    assert_string_equal(soname, wanted);
    free(soname);
    snprintf(wanted, sizeof wanted, "%d.%d.%d", SP_VERSION_MAJOR, SP_VERSION_MINOR,
             SP_VERSION_PATCH);
    assert_string_equal(sp_version(), wanted);
    assert_int_equal(sp_version_number(), SP_VERSION_NUMBER);
}

/* ---- the host ----------------------------------------------- */

static sp_case small_case(void)
{
    sp_case request;
    sp_case_default(&request);
    assert_int_equal(sp_case_set(NULL, &request, "infill.pattern", "triangular"), SP_OK);
    request.width = 12;
    request.height = 10;
    request.depth = 5;
    request.wall_beads = 1;
    request.strain = 0.06;
    request.steps = 4;
    request.find_critical = 0;
    return request;
}

/* Make a case with so many elements that they are evaluated on several threads. */
static sp_case case_of_many_elements(void)
{
    sp_case request = small_case();
    request.density = 0.3;
    request.width = 40;
    request.height = 30;
    request.elements_per_strut = 40;
    request.strain = 0.002;
    request.steps = 1;
    return request;
}

typedef struct host {
    struct sigaction action[65];
    char locale[256], folder[1024];
    locale_t own_locale;
    int blas_threads, threads, levels, dynamic;
} host;

static host look_at_host(void)
{
    host h = {.own_locale = uselocale((locale_t)0),
              .blas_threads = openblas_get_num_threads(),
              .threads = omp_get_max_threads(),
              .levels = omp_get_max_active_levels(),
              .dynamic = omp_get_dynamic()};
    for (int i = 1; i <= 64; i++) sigaction(i, NULL, &h.action[i]);
    snprintf(h.locale, sizeof h.locale, "%s", setlocale(LC_ALL, NULL));
    assert_non_null(getcwd(h.folder, sizeof h.folder));
    return h;
}

static const int restorer = 0x04000000;

/* ThreadSanitizer sets masks of its own when the library sets an action and puts the old one back.
 */
#if defined(__SANITIZE_THREAD__)
enum { MASKS_ARE_OURS = 0 };
#elif defined(__has_feature)
#if __has_feature(thread_sanitizer)
enum { MASKS_ARE_OURS = 0 };
#else
enum { MASKS_ARE_OURS = 1 };
#endif
#else
enum { MASKS_ARE_OURS = 1 };
#endif

static void compare_hosts(const host *before, const host *after)
{
    for (int i = 1; i <= 64; i++) {
        /* The C library adds a flag when it sets an action, which does not come from the host
         * (SA_RESTORER of Linux). */
        assert_int_equal(before->action[i].sa_flags & ~restorer,
                         after->action[i].sa_flags & ~restorer);
        assert_ptr_equal(before->action[i].sa_handler, after->action[i].sa_handler);
        for (int k = 1; k <= 64 && MASKS_ARE_OURS; k++)
            assert_int_equal(sigismember(&before->action[i].sa_mask, k),
                             sigismember(&after->action[i].sa_mask, k));
    }
    assert_string_equal(before->locale, after->locale);
    assert_string_equal(before->folder, after->folder);
    assert_ptr_equal(before->own_locale, after->own_locale);
    assert_int_equal(before->blas_threads, after->blas_threads);
    assert_int_equal(before->threads, after->threads);
    assert_int_equal(before->levels, after->levels);
    assert_int_equal(before->dynamic, after->dynamic);
}

static void on_user_signal(int number)
{
    (void)number;
}

/* The host has these settings while a press runs. */
typedef struct watched {
    int calls, blas_threads;
} watched;

static void watch(void *user, double fraction, const char *text)
{
    watched *w = user;
    (void)fraction;
    (void)text;
    w->calls++;
    w->blas_threads = openblas_get_num_threads();
}

static void host_is_left_as_it_was(void **state)
{
    (void)state;
    const struct sigaction own = {.sa_handler = on_user_signal, .sa_flags = SA_RESTART};
    sigaction(SIGUSR1, &own, NULL);
    sigaction(SIGINT, &own, NULL);
    setlocale(LC_ALL, "C.UTF-8");
    openblas_set_num_threads(2);
    omp_set_num_threads(3);
    omp_set_max_active_levels(2);
    const host before = look_at_host();

    const sp_case small = small_case(), large = case_of_many_elements();
    watched w = {0};
    sp_context context = {.progress = watch, .user = &w};
    for (int i = 0; i < 2; i++) {
        sp_result *result;
        assert_int_equal(sp_run(&context, i ? &large : &small, &result), SP_OK);
        if (i)
            assert_true(sp_result_path(result)->element_count >
                        6000); /* src/mechanics/state/system.c */
        assert_int_equal(sp_write_all(&context, result, in_folder("out")), SP_OK);
        sp_result_free(result);
    }
    assert_true(w.calls > 0);
    const host after = look_at_host();
    compare_hosts(&before, &after);
    assert_int_equal(w.blas_threads,
                     before.blas_threads); /* while it pressed, too: BLAS is not called */

    sp_store *store;
    sp_batch_report report;
    sp_report_summary summary;
    const sp_report_options options = {.states = -1, .threads = 2};
    assert_int_equal(sp_store_open(&context, "", SP_STORE_MEMORY, &store), SP_OK);
    assert_int_equal(sp_batch_press_cases(&context, &small, 1, store, 2, &report), SP_OK);
    sp_store_close(store);
    assert_int_equal(
        sp_report_cases(&context, 1, &small, &options, in_folder("page.html"), &summary), SP_OK);
    const host last = look_at_host();
    compare_hosts(&before, &last);

    openblas_set_num_threads(1);
    omp_set_num_threads(1);
    omp_set_max_active_levels(1);
}

/* ---- without a context ----------------------------------------------- */

#define CASE                                                                                       \
    "case:\n  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}\n"                                \
    "  infill: {pattern: triangular, angle: 0}\n  bead: {walls: 1}\n"                              \
    "  press: {strain: 0.06, steps: 4, find_critical: no}\n"

static void failures_need_no_context(void **state)
{
    (void)state;
    sp_case request, wrong;
    sp_plan *plan;
    sp_target *target;
    sp_tested *tested;
    sp_store *store;
    sp_result *result;
    sp_network network;
    sp_resolved settled;
    sp_coupon_key known;
    sp_report_summary summary;
    static const char bad[] = "coupon: {width: -1 mm}\n", braces[] = "infill: {density: 0,3}\n";
    assert_int_equal(sp_fail(NULL, SP_BAD_CASE, "%d", 1), SP_BAD_CASE);
    sp_warn(NULL, "%d", 1);
    sp_say(NULL, "%d", 1);
    sp_begin(NULL, "nothing");
    assert_int_equal(sp_case_read(NULL, "/nowhere.yaml", &request), SP_NO_READ);
    assert_int_equal(sp_case_parse(NULL, "bad", bad, sizeof bad - 1, &request), SP_BAD_CASE);
    assert_int_equal(sp_case_parse(NULL, "bad", braces, sizeof braces - 1, &request), SP_BAD_CASE);
    assert_int_equal(sp_case_set(NULL, &request, "infill.density", "much"), SP_BAD_CASE);
    wrong = small_case();
    wrong.wall_beads = 20;
    assert_int_equal(sp_run(NULL, &wrong, &result), SP_BAD_CASE);
    assert_null(result);
    assert_int_equal(sp_network_build(NULL, &wrong, 1, &network), SP_BAD_CASE);
    wrong = small_case();
    snprintf(wrong.law, sizeof wrong.law, "none");
    snprintf(wrong.source, sizeof wrong.source, "file.yaml");
    assert_int_equal(sp_run(NULL, &wrong, &result), SP_BAD_CASE);
    assert_int_equal(sp_case_resolve(NULL, &wrong, &settled), SP_BAD_CASE);
    sp_resolved_free(&settled);
    wrong = small_case();
    snprintf(wrong.pattern, sizeof wrong.pattern, "drawn");
    snprintf(wrong.network_file, sizeof wrong.network_file, "/nowhere.vtk");
    assert_int_not_equal(sp_run(NULL, &wrong, &result), SP_OK);
    assert_int_equal(sp_coupon_key_of_case(NULL, &wrong, &known), SP_NO_READ);
    assert_int_equal(sp_store_open(NULL, "/nowhere.store", SP_STORE_READ, &store), SP_NO_READ);
    assert_int_equal(sp_plan_parse(NULL, "bad", bad, sizeof bad - 1, &plan), SP_BAD_CASE);
    assert_int_equal(sp_target_parse(NULL, "bad", bad, sizeof bad - 1, &target), SP_BAD_CASE);
    assert_int_equal(sp_tested_parse(NULL, "bad", bad, sizeof bad - 1, &tested), SP_BAD_CASE);
    assert_int_equal(sp_write_try(NULL, "/proc/nowhere"), SP_NO_WRITE);
    assert_int_equal(sp_folder_try(NULL, "/proc/nowhere"), SP_NO_WRITE);
    const sp_report_options options = {.compare = {.measures = "no_measure"}};
    wrong = small_case();
    assert_int_equal(sp_report_cases(NULL, 1, &wrong, &options, "/nowhere", &summary),
                     SP_BAD_USAGE);
    assert_int_equal(sp_store_open(NULL, "", SP_STORE_MEMORY, &store), SP_OK);
    assert_int_equal(sp_report_store(NULL, store, &options, "/nowhere", &summary), SP_BAD_USAGE);
    sp_compare *compare;
    assert_int_equal(sp_compare_read(NULL, store, &options.compare, &compare), SP_BAD_USAGE);
    sp_store_close(store);
}

static void studies_need_no_context(void **state)
{
    (void)state;
    static const char plan_text[] =
        CASE "axes:\n  infill.density: [20 %, 30 %]\n  bead.walls: [1, 9]\n",
                      target_text[] =
                          CASE "vary:\n  infill.density: {from: 16 %, to: 35 %, within: 5 %}\n"
                               "require:\n  initial_stiffness: {at_least: 1 N/mm}\n";
    sp_store *store, *other;
    sp_plan *plan;
    sp_target *target;
    sp_answer *answer;
    sp_outlook outlook;
    sp_batch_report report;
    sp_gather_report gathered;
    assert_int_equal(sp_store_open(NULL, "", SP_STORE_MEMORY, &store), SP_OK);
    assert_int_equal(sp_store_open(NULL, "", SP_STORE_MEMORY, &other), SP_OK);
    assert_int_equal(sp_plan_parse(NULL, "plan", plan_text, sizeof plan_text - 1, &plan), SP_OK);
    assert_int_equal(sp_plan_share(NULL, plan, 3, 2), SP_BAD_USAGE);
    assert_int_equal(sp_plan_outlook(NULL, plan, &outlook), SP_OK);
    assert_int_equal(outlook.refused, 2);
    assert_int_equal(sp_batch_press(NULL, plan, store, 2, &report), SP_OK);
    assert_int_equal(report.failed, 2);
    assert_int_equal(sp_store_gather(NULL, other, store, &gathered), SP_OK);
    assert_int_equal(gathered.added, 4);
    assert_int_equal(sp_target_parse(NULL, "target", target_text, sizeof target_text - 1, &target),
                     SP_OK);
    assert_int_equal(sp_target_outlook(NULL, target, &outlook), SP_OK);
    assert_int_equal(sp_seek(NULL, target, store, 1, &answer), SP_OK);
    assert_int_equal(sp_answer_reached(answer), 1);
    assert_int_equal(sp_answer_write(NULL, answer, "/proc/nowhere"), SP_NO_WRITE);
    sp_answer_free(answer);
    sp_target_free(target);
    sp_plan_free(plan);
    sp_store_close(other);
    sp_store_close(store);
}

/* ---- the result ----------------------------------------------- */

static volatile sig_atomic_t stop_now;

static void stop_later(void *user, double fraction, const char *text)
{
    (void)text;
    (void)user;
    if (fraction > 0) stop_now = 1;
}

/* A press that is interrupted has a result, and its curve so far. */
static void ends_are_no_errors(void **state)
{
    (void)state;
    sp_case request = small_case();
    sp_result *result;
    int count, measures;
    assert_int_equal(sp_run(NULL, &request, &result), SP_OK);
    assert_int_equal(sp_result_stop(result), SP_STOP_STRAIN);
    assert_string_equal(sp_result_reason(result), "");
    const sp_step *step = sp_result_steps(result, &count);
    assert_true(count > 1);
    check_close(step[count - 1].shortening, request.strain * request.height, 1e-9);
    assert_non_null(sp_result_measures(result, &measures));
    sp_measure_rows(&count);
    assert_int_equal(measures, count);
    sp_result_back(result, &count);
    assert_int_equal(count, 0);
    sp_result_events(result, &count);
    assert_true(count >= 0);
    assert_int_equal(sp_result_network(result)->dimension, 2);
    assert_true(sp_result_case(result)->width == request.width);
    sp_result_free(result);
    sp_result_free(NULL);

    request.steps = 40;
    stop_now = 0;
    sp_context context = {.interrupt = &stop_now, .progress = stop_later};
    assert_int_equal(sp_run(&context, &request, &result), SP_OK);
    assert_int_equal(sp_result_stop(result), SP_STOP_INTERRUPTED);
    assert_int_equal(sp_stop_exit(SP_STOP_INTERRUPTED), 130);
    assert_non_null(strstr(sp_result_reason(result), "interrupted"));
    sp_result_steps(result, &count);
    assert_in_range(count, 1, 39);
    sp_result_free(result);

    stop_now = 1; /* before there is a curve */
    assert_int_equal(sp_run(&context, &request, &result), SP_OK);
    assert_int_equal(sp_result_stop(result), SP_STOP_INTERRUPTED);
    sp_result_steps(result, &count);
    assert_int_equal(count, 0);
    sp_result_free(result);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exported_names_are_the_public_ones),
        cmocka_unit_test(names_of_the_archive_have_the_prefix),
        cmocka_unit_test(soname_and_version_agree),
        cmocka_unit_test(host_is_left_as_it_was),
        cmocka_unit_test(failures_need_no_context),
        cmocka_unit_test(studies_need_no_context),
        cmocka_unit_test(ends_are_no_errors),
    };
    return cmocka_run_group_tests(tests, make_store_folder, remove_store_folder);
}
