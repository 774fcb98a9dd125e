/* These tests check the base: status rows, failure and caution lines, allocation, random numbers,
 * build line. */
#include "check.h"

#include <strutpress/context.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "base/rng.h"

static void status_rows_have_exit_and_text(void **state)
{
    (void)state;
    static const struct {
        sp_status status;
        int exit_status;
    } rows[] = {
        {SP_OK, 0},          {SP_INTERNAL, 1},     {SP_BAD_USAGE, 2}, {SP_BAD_CASE, 3},
        {SP_BAD_NETWORK, 4}, {SP_NO_READ, 5},      {SP_NO_WRITE, 6},  {SP_NO_MEMORY, 7},
        {SP_GAVE_UP, 8},     {SP_INTERRUPTED, 130}}; /* 128 + SIGINT: shell convention (POSIX) */
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_int_equal(sp_status_exit(rows[i].status), rows[i].exit_status);
        check_true(strlen(sp_status_text(rows[i].status)) > 3);
    }
    assert_int_equal(sp_status_exit((sp_status)999), 1);
    assert_non_null(sp_status_text((sp_status)999));
}

static void failure_is_one_printable_line(void **state)
{
    (void)state;
    sp_context context = {0};
    assert_int_equal(sp_fail(&context, SP_BAD_CASE, "a %d\nb\x1b[31m\x7f", 7), SP_BAD_CASE);
    assert_string_equal(context.message, "a 7\\x0ab\\x1b[31m\\x7f");
    /* The old message may be a part of the new one. */
    sp_fail(&context, SP_NO_READ, "file: %s", context.message);
    assert_string_equal(context.message, "file: a 7\\x0ab\\x1b[31m\\x7f");
    char text[2 * SP_MESSAGE_SIZE];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    sp_fail(&context, SP_NO_READ, "%s", text);
    assert_int_equal(strlen(context.message), SP_MESSAGE_SIZE - 1);
    assert_string_equal(context.message + SP_MESSAGE_SIZE - 4, "...");
}

static void keep_line(void *user, const char *line)
{
    snprintf(user, 64, "%s", line);
}

static void caution_reaches_the_caller(void **state)
{
    (void)state;
    char line[64] = "";
    sp_context context = {.warn = keep_line, .user = line};
    sp_warn(&context, "bead %.2f mm\t", 0.42);
    assert_string_equal(line, "bead 0.42 mm\\x09");
    context.warn = NULL;
    sp_warn(&context, "dropped");
    assert_string_equal(line, "bead 0.42 mm\\x09");
}

static void allocation_is_zeroed_counted_and_fails_on_demand(void **state)
{
    (void)state;
    const long before = sp_alloc_count();
    double *numbers = sp_alloc(100, sizeof *numbers);
    for (int i = 0; i < 100; i++) check_true(numbers[i] == 0);
    char *text = sp_copy_text("strut");
    assert_string_equal(text, "strut");
    void *empty = sp_alloc(0, 8), *grown = sp_resize(NULL, 4, 8);
    check_true(empty && grown);
    assert_int_equal(sp_alloc_count(), before + 4);
    grown = sp_resize(grown, 0, 8);
    check_true(grown != NULL);
    assert_int_equal(sp_alloc_count(), before + 4);
    sp_free(NULL);

    volatile size_t huge = SIZE_MAX / 2; /* volatile: the compiler warns of the constant */
    assert_null(sp_alloc(huge, 8));
    assert_null(sp_resize(grown, huge, 8));

    sp_alloc_fail_at(3);
    void *first = sp_alloc(1, 1), *second = sp_alloc(1, 1);
    check_true(first && second);
    assert_null(sp_resize(grown, 9, 8)); /* the block stays valid */
    void *fourth = sp_alloc(1, 1);
    check_true(fourth != NULL);
    sp_alloc_fail_at(0);
    void *blocks[] = {numbers, text, empty, grown, first, second, fourth};
    for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++) sp_free(blocks[i]);
    assert_int_equal(sp_alloc_count(), before);
}

/* Source: reference output of xoshiro256** from the state 1 2 3 4 (Blackman & Vigna 2018) and of
 * splitmix64 from seed 1234567, read in tests of other public programs that quote the reference
 * implementations; the first is 9 rotl(5 x 2, 7) = 11520 by hand. */
/* Sizes on both sides of where a block becomes large, and across. What is right is what C says of
 * calloc and realloc; a block that rests holds zeros or what it held. */
static void large_blocks_keep_their_numbers_and_rest(void **state)
{
    (void)state;
    static const size_t count[] = {10, 300000, 900000, 200000, 5};
    const long before = sp_alloc_count();
    double *block = sp_alloc_large(count[0], sizeof *block);
    assert_non_null(block);
    for (size_t i = 0; i < count[0]; i++) block[i] = (double)i;
    for (size_t k = 1; k < 5; k++) {
        sp_alloc_fail_at(1);
        assert_null(sp_resize_large(block, count[k - 1], count[k], sizeof *block));
        sp_alloc_fail_at(0);
        block = sp_resize_large(block, count[k - 1], count[k], sizeof *block);
        assert_non_null(block);
        for (size_t i = 0; i < count[0] && i < count[k]; i++) check_true(block[i] == (double)i);
        block[count[k] - 1] = block[0] + (double)(count[k] - 1);
        assert_int_equal(sp_alloc_count(), before + 1);
    }
    sp_free_large(block, count[4], sizeof *block);
    block = sp_alloc_large(count[1], sizeof *block);
    for (size_t i = 0; i < count[1]; i++) check_true(block[i] == 0);
    block[7] = 7;
    sp_rest_large(block, count[1], sizeof *block);
    check_true(block[7] == 0 || block[7] == 7);
    block[7] = 8;
    check_true(block[7] == 8);
    sp_free_large(block, count[1], sizeof *block);
    sp_free_large(NULL, 0, sizeof *block);
    assert_null(sp_alloc_large(SIZE_MAX / 2, sizeof *block));
    assert_int_equal(sp_alloc_count(), before);
}

static void random_numbers_match_the_published_algorithms(void **state)
{
    (void)state;
    static const uint64_t seeded[4] = {UINT64_C(6457827717110365317), UINT64_C(3203168211198807973),
                                       UINT64_C(9817491932198370423),
                                       UINT64_C(4593380528125082431)};
    static const uint64_t output[8] = {11520,
                                       0,
                                       1509978240,
                                       UINT64_C(1215971899390074240),
                                       UINT64_C(1216172134540287360),
                                       UINT64_C(607988272756665600),
                                       UINT64_C(16172922978634559625),
                                       UINT64_C(8476171486693032832)};
    sp_rng rng;
    sp_rng_seed(&rng, 1234567, 0);
    for (int i = 0; i < 4; i++) check_true(rng.s[i] == seeded[i]);
    rng = (sp_rng){{1, 2, 3, 4}};
    for (int i = 0; i < 8; i++) /* the upper 53 bits */
        check_true(sp_rng_uniform(&rng) == (double)(output[i] >> 11) * 0x1p-53);
}

static void random_streams_repeat_and_differ(void **state)
{
    (void)state;
    sp_rng a, b, c;
    sp_rng_seed(&a, 7, 3);
    sp_rng_seed(&b, 7, 3);
    sp_rng_seed(&c, 7, 4);
    int equal = 0;
    for (int i = 0; i < 1000; i++) {
        const double x = sp_rng_normal(&a);
        check_true(x == sp_rng_normal(&b));
        equal += x == sp_rng_normal(&c);
    }
    assert_int_equal(equal, 0);
}

/* Mean, variance and the share within one deviation (0.682689, tables of the normal distribution)
 * of 1e5 numbers: within four standard errors. */
static void random_numbers_have_their_distribution(void **state)
{
    (void)state;
    const int n = 100000;
    sp_rng rng;
    sp_rng_seed(&rng, 1, 0);
    double sum = 0, square = 0, inside = 0, uniform = 0;
    for (int i = 0; i < n; i++) {
        const double x = sp_rng_normal(&rng), u = sp_rng_uniform(&rng);
        check_true(u >= 0 && u < 1);
        sum += x;
        square += x * x;
        inside += fabs(x) < 1;
        uniform += u;
    }
    check_close(sum / n, 0, 4 / sqrt(n));
    check_close(square / n, 1, 4 * sqrt(2.0 / n));
    check_close(inside / n, 0.682689, 4 * sqrt(0.68 * 0.32 / n));
    check_close(uniform / n, 0.5, 4 / sqrt(12.0 * n));
}

static void build_line_names_compiler_and_libraries(void **state)
{
    (void)state;
    const char *text = sp_build_text();
    check_true(strlen(sp_version()) >= 5);
    check_true(strstr(text, "CHOLMOD ") && strstr(text, "libyaml ") && strstr(text, "OpenBLAS"));
    check_true(!strchr(text, '\n'));
    check_true(sp_build_text() == text);
}

static void what_does_not_fit_is_refused_with_the_estimate(void **state)
{
    (void)state;
    sp_context context = {0};
    check_true(sp_memory_free() > 1e7);
    sp_memory_pretend(2e9);
    assert_int_equal(sp_memory_expect(&context, 1e9, "this"), SP_OK);
    assert_int_equal(sp_memory_expect(&context, 3.21e9, "the factor"), SP_NO_MEMORY);
    check_true(strstr(context.message, "the factor needs about 3.21 GB of memory, 2 GB are free"));
    sp_memory_pretend(0);
}

static void foreign_text_is_printable(void **state)
{
    static const struct {
        const char *text, *shown;
    } rows[] = {
        {"\xc3\xa4 \xe2\x82\xac \xf0\x9f\x94\xa9", "\xc3\xa4 \xe2\x82\xac \xf0\x9f\x94\xa9"},
        {"\x1b[2J", "\\x1b[2J"},                        /* a control character */
        {"a\r\n", "a\\x0d\\x0a"},                       /* line ends */
        {"\xc2\x9b", "\\u009b"},                        /* C1: begins a command as ESC [ does */
        {"\xc2\x85", "\\u0085"},                        /* next line */
        {"\xe2\x80\xa8\xe2\x80\xa9", "\\u2028\\u2029"}, /* line and paragraph separator */
        {"\xe2\x80\xae", "\\u202e"},                    /* right to left from here */
        {"\xe2\x81\xa6", "\\u2066"},                    /* an isolate */
        {"\xd8\x9c\xe2\x80\x8f", "\\u061c\\u200f"},     /* marks */
        {"\xef\xbb\xbf", "\\ufeff"},                    /* byte order mark */
        {"\xed\xa0\x80", "\\xed\\xa0\\x80"},            /* half of a pair */
        {"\xc3", "\\xc3"},                              /* cut */
    };
    char shown[64];
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        sp_printable(rows[i].text, shown, sizeof shown);
        assert_string_equal(shown, rows[i].shown);
        assert_true(strlen(shown) <= 4 * strlen(rows[i].text));
    }
}

/* A line that is too long ends with "..." and at a character. */
static void long_failure_is_cut(void **state)
{
    sp_context context = {0};
    char text[2 * SP_MESSAGE_SIZE] = "a";
    (void)state;
    for (int i = 0; i < SP_MESSAGE_SIZE - 2; i++) strcat(text, "\xc3\xa4");
    for (int shift = 0; shift < 2; shift++) {
        sp_fail(&context, SP_BAD_CASE, "%s", text + shift);
        const size_t length = strlen(context.message);
        assert_true(length < SP_MESSAGE_SIZE && length > SP_MESSAGE_SIZE - 6);
        assert_string_equal(context.message + length - 5, "\xc3\xa4...");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(status_rows_have_exit_and_text),
        cmocka_unit_test(failure_is_one_printable_line),
        cmocka_unit_test(foreign_text_is_printable),
        cmocka_unit_test(long_failure_is_cut),
        cmocka_unit_test(caution_reaches_the_caller),
        cmocka_unit_test(allocation_is_zeroed_counted_and_fails_on_demand),
        cmocka_unit_test(large_blocks_keep_their_numbers_and_rest),
        cmocka_unit_test(random_numbers_match_the_published_algorithms),
        cmocka_unit_test(random_streams_repeat_and_differ),
        cmocka_unit_test(random_numbers_have_their_distribution),
        cmocka_unit_test(what_does_not_fit_is_refused_with_the_estimate),
        cmocka_unit_test(build_line_names_compiler_and_libraries),
    };
    return cmocka_run_group_tests_name("base", tests, NULL, NULL);
}
