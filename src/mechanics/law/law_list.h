/* Each law has one row, X(file name, name, what it is for and source, case keys it reads, history
 * or NULL). */
#ifndef SP_LAW_LIST_H
#define SP_LAW_LIST_H

#include "law/law.h"

#define SP_LAW_ROWS(X)                                                                             \
    X(linear, "linear", "straight line P = E (l - 1); small strains and checks (Hooke)",           \
      "modulus, poisson_ratio", NULL)                                                              \
    X(neo_hookean, "neo-hookean",                                                                  \
      "one modulus, incompressible; up to about 40 % strain (Treloar 1943)", "modulus", NULL)      \
    X(mooney_rivlin, "mooney-rivlin",                                                              \
      "two constants, incompressible; up to about 100 % strain (Mooney 1940, Rivlin 1948)",        \
      "c01, c10 (from modulus when not given)", NULL)                                              \
    X(yeoh, "yeoh", "cubic in I1, incompressible; filled rubber, stiffening (Yeoh 1993)",          \
      "c20, c30, c10 (from modulus when not given)", NULL)                                         \
    X(ogden, "ogden", "sum of powers of the stretch, incompressible; large strains (Ogden 1972)",  \
      "ogden_modulus, ogden_exponent", NULL)                                                       \
    X(gent, "gent", "limited chain length, incompressible; stiffens to a wall (Gent 1996)",        \
      "modulus, gent_limit", NULL)                                                                 \
    X(tabulated, "tabulated",                                                                      \
      "measured strain and stress rows, monotone cubics between them (Fritsch & Carlson 1980)",    \
      "table_file, table_compression, table_rates, table_scale, rate", NULL)                       \
    X(yielding, "yielding",                                                                        \
      "measured tension rows, of compression if there are any, elastic up to where they bend, "    \
      "plastic beyond: keeps its bends, unloads steeply, hardens (Ortiz & Stainier 1999)",         \
      "table_file, table_compression, table_rates, table_scale, rate, poisson_ratio",              \
      &sp_law_yielding_history)

extern const sp_law_history sp_law_yielding_history;
extern const sp_law_history sp_law_two_sided_history;

#define SP_LAW_DECLARE(id, name, doc, needs, history)                                              \
    sp_status sp_law_##id##_prepare(sp_context *context, const sp_case *request, sp_law *law);     \
    void sp_law_##id##_eval(const sp_law *law, int n, const double *stretch, double *w, double *p, \
                            double *a);
SP_LAW_ROWS(SP_LAW_DECLARE)
#undef SP_LAW_DECLARE

/* The domain of hyperelastic laws ends at this stretch: below it w = +inf, and p and a are those at
 * this stretch. */
#define SP_LAW_SMALLEST_STRETCH 0.02

#endif
