/* This file takes the steps of a branch that flows. */
#include "law/flow.h"

#include <math.h>

/* Below these the lag is taken from its series, whose next term is smaller by th cosh x, or by the
 * square of the stress; above the last one it is th to the last digit. */
static const double short_step = 1e-5, small_stress = 1e-3, large_stress = 300;
static const int newton_steps = 30;

/* Return what a hold of th leaves of the stress x >= 0: tanh(left/2) = exp(-th) tanh(x/2). */
static double held(double x, double th)
{
    const double decay = exp(-th), share = decay * tanh(0.5 * x);
    /* This is 1 - share without cancellation. */
    const double rest = -expm1(-th) + decay * 2 / (1 + exp(x));
    return log1p(2 * share / rest);
}

/* Return the factor of sinh in E127 with which a steady flow stays as it is. E271 */
static double find_lag(double x, double left, double th)
{
    if (x > large_stress) return th;
    if (th * cosh(x) < short_step) return 0.5 * th;
    if (x < small_stress) return th / -expm1(-th) - 1;
    return (th * sinh(x) - (x - left)) / (sinh(x) - sinh(left));
}

sp_law_flow sp_law_flow_ready(double before, double th)
{
    if (!(th > 0)) return (sp_law_flow){before, 0};
    const double x = fabs(before), left = held(x, th), lag = find_lag(x, left, th);
    return (sp_law_flow){copysign(left + lag * sinh(left), before), lag};
}

/* Solve x + lag sinh x = y for x: Newton's method descends from above the root, where the function
 * is convex. */
double sp_law_flow_end(sp_law_flow flow, double pulled)
{
    const double y = flow.rest + pulled, size = fabs(y), lag = flow.lag;
    if (!(lag > 0)) return y;
    double x = fmin(size, asinh(size / lag));
    for (int i = 0; i < newton_steps; i++) {
        const double step = (x + lag * sinh(x) - size) / (1 + lag * cosh(x));
        x -= step;
        if (!(fabs(step) > 1e-15 * x)) break;
    }
    return copysign(x, y);
}
