/* Hardness gives Young's modulus E [MPa] at small strain (E36, E37, E90): a centre and a band that
 * is never narrower than a factor of 1.5 either way. A hardness of NaN is not given; all members
 * are 0 when there is none. */
#ifndef SP_LAW_HARDNESS_H
#define SP_LAW_HARDNESS_H

#include <stddef.h>

#include <strutpress/case.h>

typedef struct sp_hardness {
    double centre, low, high; /* [MPa] */
} sp_hardness;

sp_hardness sp_hardness_a(double shore_a);
sp_hardness sp_hardness_d(double shore_d);
/* Return 0 when both hardnesses are given and the centre of neither lies in the band of the other.
 */
int sp_hardness_agree(double shore_a, double shore_d);
/* Find the band of both hardnesses together: it holds both bands, about the geometric mean of their
 * centres. */
sp_hardness sp_hardness_band(double shore_a, double shore_d);

/* Return 1 when the modulus of the case is the centre of its hardness band and its law is linear in
 * the modulus. Forces at one strain are then exactly proportional to the modulus, because buckling
 * and contact depend on shapes alone. */
int sp_hardness_of(const sp_case *request, sp_hardness *band);
/* Write "95 Shore A", or "95 Shore A and 46 Shore D". */
void sp_hardness_text(const sp_case *request, char *text, size_t size);
/* Write a caution with the band of the modulus and of the forces where sp_hardness_of is 1; else
 * "", and return 0. */
int sp_hardness_caution(const sp_case *request, char *text, size_t size);

#endif
