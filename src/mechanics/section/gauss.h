/* Find the Gauss-Legendre rule on [-1, 1]: n places (ascending) and weights, to round-off for every
 * n used here. */
#ifndef SP_SECTION_GAUSS_H
#define SP_SECTION_GAUSS_H

void sp_gauss_rule(int n, double *x, double *weight);

#endif
