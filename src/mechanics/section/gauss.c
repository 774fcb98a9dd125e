/* The roots of the Legendre polynomial are found by Newton's method from starts like the roots of
 * Chebyshev's (Abramowitz & Stegun 1964, 25.4.29 and 22.16.6). */
#include "section/gauss.h"

#include <math.h>

void sp_gauss_rule(int n, double *x, double *weight)
{
    for (int i = 0; i < n; i++) {
        double root = -cos(M_PI * (i + 0.75) / (n + 0.5)), slope = 1;
        for (int iteration = 0; iteration < 8; iteration++) {
            double before = 1, value = root; /* P_0, P_1 */
            for (int k = 2; k <= n; k++) {
                const double next = ((2 * k - 1) * root * value - (k - 1) * before) / k;
                before = value;
                value = next;
            }
            slope = n * (root * value - before) / (root * root - 1);
            root -= value / slope;
        }
        x[i] = root;
        weight[i] = 2 / ((1 - root * root) * slope * slope);
    }
}
