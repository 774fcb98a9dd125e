/* This program fits the kernel of round struts (E246): one function for struts side by side and
 * struts that cross. It prints the coefficients, compares them with those of the library, and
 * writes the forces by the fit beside those of the sources that it was fitted to.
 *
 * usage: round_kernel TABLE.csv */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "../../tests/round_contact.h"
#include "gap/line.h"

enum { FREE = 3, MOST_ROWS = 32, PARTS = 2000 };

/* The shear modulus G and the diameter are 1. */
static const double first = 0.25, width = M_PI / 4;

/* Return the force of equal cylinders that cross at right angles, squashed by s, after Hertz: that
 * of a ball on a plane with E* = 2 G (4/3 E* R^1/2 s^3/2, read in public texts; Johnson,
 * Contact Mechanics, 1985, eq. 4.23). */
static double crossed(double s)
{
    return 4.0 / 3 * 2 * sqrt(0.5) * pow(s, 1.5);
}

/* Return the force on the solid of the same area, pressed flat between plates without friction. */
static double flat(double l)
{
    return width * (1 / (l * l * l) - l);
}

/* Return a function of q = r^2 that vanishes with its slope at 1: that with a q^(-3/2), then those
 * with q^2, q^3 and q^4; or its slope when `slope` is 1. */
static double basis(int which, double q, int slope)
{
    if (which < 0)
        return slope ? first * 1.5 * (1 - pow(q, -2.5))
                     : first * (pow(q, -1.5) - 1 + 1.5 * (q - 1));
    const int k = which + 2;
    return slope ? k * (pow(q, k - 1) - 1) : pow(q, k) - 1 - k * (q - 1);
}

/* Return the force of struts that cross at right angles (E58), and the force per length of struts
 * side by side. */
static double across(int which, double l)
{
    return 2 * M_PI * width * l * basis(which, l * l, 0);
}

static double beside(int which, double l)
{
    const double reach = sqrt(1 - l * l);
    double sum = 0;
    for (int i = 0; i < PARTS; i++) {
        const double turn = (i + 0.5) / PARTS * M_PI / 2, x = reach * sin(turn);
        sum -= 2 * l * basis(which, l * l + x * x, 1) * reach * cos(turn);
    }
    return width * 2 * sum * M_PI / 2 / PARTS;
}

/* This is one condition, sum of part[k] x[k] = wanted, all as shares of the wanted force. */
typedef struct row {
    double part[FREE], wanted, weight;
} row;

static row condition(double (*force)(int, double), double l, double meant, double weight)
{
    row r = {.wanted = 1 - force(-1, l) / meant, .weight = weight};
    for (int k = 0; k < FREE; k++) r.part[k] = force(k, l) / meant;
    return r;
}

/* Make the conditions. Struts that cross count as much as struts side by side, the solid pressed
 * flat counts less. */
static int conditions(row *r)
{
    static const double cross_at[] = {0.03, 0.05, 0.075, 0.1, 0.125, 0.15, 0.175, 0.2};
    static const double beside_at[] = {0.05, 0.075, 0.1, 0.15, 0.2, 0.25,
                                       0.3,  0.35,  0.4, 0.45, 0.5};
    static const double flat_at[] = {0.65, 0.7, 0.75, 0.8};
    int n = 0;
    for (int i = 0; i < 8; i++)
        r[n++] = condition(across, 1 - cross_at[i], crossed(cross_at[i]), 1);
    for (int i = 0; i < 11; i++) {
        const double s = beside_at[i];
        const double meant = s > 0.1 ? roller(s) : 0.5 * (roller(s) + elastic_roller(s));
        r[n++] = condition(beside, 1 - s, meant, 1);
    }
    for (int i = 0; i < 4; i++)
        r[n++] = condition(beside, 1 - flat_at[i], flat(1 - flat_at[i]), 0.3);
    return n;
}

/* The least squares follow from the normal equations, 3 x 3, by Cramer's rule. */
static double det(double m[FREE][FREE])
{
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
           m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

static void fit(double x[FREE])
{
    row r[MOST_ROWS];
    double a[FREE][FREE] = {{0}}, b[FREE] = {0}, m[FREE][FREE];
    const int n = conditions(r);
    for (int i = 0; i < n; i++)
        for (int k = 0; k < FREE; k++) {
            b[k] += r[i].weight * r[i].part[k] * r[i].wanted;
            for (int j = 0; j < FREE; j++) a[k][j] += r[i].weight * r[i].part[k] * r[i].part[j];
        }
    const double whole = det(a);
    for (int k = 0; k < FREE; k++) {
        for (int i = 0; i < FREE; i++)
            for (int j = 0; j < FREE; j++) m[i][j] = j == k ? b[i] : a[i][j];
        x[k] = round(1e6 * det(m) / whole) / 1e6;
    }
}

static double sum_of(double (*force)(int, double), const double x[FREE], double l)
{
    double sum = force(-1, l);
    for (int k = 0; k < FREE; k++) sum += x[k] * force(k, l);
    return sum;
}

int main(int count, char **argument)
{
    double x[FREE];
    if (count != 2) {
        fprintf(stderr, "usage: round_kernel TABLE.csv\n");
        return 2;
    }
    fit(x);
    const double c1 = 1.5 * first - 2 * x[0] - 3 * x[1] - 4 * x[2];
    printf("c: %.6f %.6f %.6f %.6f %.6f\n", -first - c1 - x[0] - x[1] - x[2], c1, x[0], x[1], x[2]);
    FILE *table = fopen(argument[1], "w");
    if (!table) {
        perror(argument[1]);
        return 1;
    }
    fprintf(table, "squash,crossed_over_hertz,side_by_side_over_roller,side_by_side_over_linear_"
                   "elasticity,side_by_side_over_flat_layer\n");
    int same = 1;
    for (int i = 1; i <= 16; i++) {
        const double s = 0.05 * i, l = 1 - s, two = sum_of(beside, x, l);
        double w[3];
        sp_layer_smooth(SP_ROUND_FACES, l, w);
        same &= fabs(-width * w[1] - two) < 1e-4 * two;
        fprintf(table, "%.2f,%.3f,%.3f,", s, sum_of(across, x, l) / crossed(s), two / roller(s));
        if (s < 0.205)
            fprintf(table, "%.3f,", two / elastic_roller(s));
        else
            fprintf(table, ",");
        fprintf(table, "%.3f\n", two / flat(l));
    }
    if (fclose(table) != 0) same = 0;
    if (!same) fprintf(stderr, "the program has other coefficients (src/mechanics/gap/line.c)\n");
    return same ? 0 : 1;
}
