/* Every test file includes this: cmocka, and comparisons in double that refuse NaN. */
#ifndef TESTS_CHECK_H
#define TESTS_CHECK_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "run/result.h"
/* With CHECK_REPORT in the environment every comparison is printed; `make verify` sums them up in
 * README.md. */
static inline void check_report(const char *what, double got, double want)
{
    if (getenv("CHECK_REPORT")) print_message("checked: %.17g %.17g %s\n", got, want, what);
}

/* Check that |got - want| <= tolerance; NaN fails. */
#define check_close(got, want, tolerance)                                                          \
    do {                                                                                           \
        double check_g = (got), check_w = (want), check_t = (tolerance);                           \
        check_report(#got, check_g, check_w);                                                      \
        if (!(fabs(check_g - check_w) <= check_t))                                                 \
            fail_msg("%s = %.12g, wanted %.12g within %.3g", #got, check_g, check_w, check_t);     \
    } while (0)

/* Check that |got - want| <= tolerance |want|; NaN fails. */
#define check_relative(got, want, tolerance)                                                       \
    do {                                                                                           \
        double check_g = (got), check_w = (want), check_t = (tolerance);                           \
        check_report(#got, check_g, check_w);                                                      \
        if (!(fabs(check_g - check_w) <= check_t * fabs(check_w)))                                 \
            fail_msg("%s = %.12g, wanted %.12g within %.3g relative (off by %.3g)", #got, check_g, \
                     check_w, check_t, check_w != 0 ? check_g / check_w - 1 : check_g);            \
    } while (0)

#define check_true(condition)                                                                      \
    do {                                                                                           \
        if (!(condition)) fail_msg("%s does not hold", #condition);                                \
    } while (0)

/* Return 1 under STRUTPRESS_QUICK=1, as the sanitizer run sets it: there are fewer seeds, patterns
 * or repeats, never fewer tests and never a wider bound. The ordinary run of the tests does
 * everything. */
int coupon_quick(void);

#endif
