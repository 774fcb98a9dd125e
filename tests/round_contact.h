/* Published forces of round bars that are pressed on each other, for tests and for the fit of the
 * kernel. */
#ifndef SP_TESTS_ROUND_CONTACT_H
#define SP_TESTS_ROUND_CONTACT_H

#include <math.h>

/* Return the force per length of a rubber roller between plates, over its modulus and its diameter
 * D, when it has lost the share s of D: Lindley 1966 (quoted by Freakley & Payne, Theory and
 * Practice of Engineering with Rubber, 1978; from memory). Rubber keeps its volume: E = 3 G. */
static inline double roller(double s)
{
    return 3 * (1.25 * pow(s, 1.5) + 50 * pow(s, 6));
}

/* Return the same by linear elasticity: Johnson, Contact Mechanics, 1985, eq. 5.57 (from memory),
 * which gives the squash by a force, here with a stiff plate on either side. */
static inline double elastic_roller(double s)
{
    double low = 0, high = 0.6;
    for (int i = 0; i < 60; i++) {
        const double p = 0.5 * (low + high);
        const double squash = p / (2 * M_PI) * (2 * log(4 * 0.5 / sqrt(p / (2 * M_PI))) - 1);
        *(squash < s ? &low : &high) = p;
    }
    return low;
}

#endif
