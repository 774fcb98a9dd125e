#include "measured_curve.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"

enum { ROWS_MAX = 20000 };
static const double behind = 0.1; /* mm */
static const double fall = 0.02; /* of the force behind a maximum, above the noise of a load cell */

static int set_up(measured_curve *curve, int room)
{
    curve->count = 0;
    curve->shortening = sp_alloc((size_t)room, sizeof *curve->shortening);
    curve->force = sp_alloc((size_t)room, sizeof *curve->force);
    return curve->shortening && curve->force;
}

void measured_curve_free(measured_curve *curve)
{
    sp_free(curve->shortening);
    sp_free(curve->force);
    *curve = (measured_curve){0};
}

static int is_blank(const char *line)
{
    return line[strspn(line, " \t\r\n")] == 0;
}

/* Read one line of at most `count` pairs: the last curves may have ended before. */
static int read_row(const char *line, measured_curve *curve, int count)
{
    for (int i = 0; i < count; i++) {
        const int k = curve[i].count;
        double *u = &curve[i].shortening[k], *f = &curve[i].force[k];
        char *middle, *end;
        if (i > 0 && k > 0 && is_blank(line)) return 1;
        *u = strtod(line, &middle);
        *f = strtod(middle, &end);
        if (middle == line || end == middle || !isfinite(*u) || !isfinite(*f)) return 0;
        if (k > 0 && !(*u > u[-1])) return 0;
        line = end;
        curve[i].count++;
    }
    return is_blank(line);
}

int measured_curves_read(const char *file, measured_curve *curve, int count)
{
    char line[256];
    int whole = 1, rows = 0;
    for (int i = 0; i < count; i++) whole = set_up(&curve[i], ROWS_MAX) && whole;
    FILE *stream = whole ? fopen(file, "r") : NULL;
    if (!stream) return 0;
    whole = fgets(line, sizeof line, stream) != NULL; /* the names */
    while (whole && fgets(line, sizeof line, stream))
        whole = rows++ < ROWS_MAX && read_row(line, curve, count);
    if (ferror(stream)) whole = 0;
    fclose(stream);
    return whole && rows > 1;
}

int measured_curve_of_path(const sp_path *path, measured_curve *curve)
{
    if (!set_up(curve, path->step_count)) return 0;
    for (int i = 0; i < path->step_count; i++) {
        curve->shortening[i] = path->step[i].shortening;
        curve->force[i] = path->step[i].force;
    }
    curve->count = path->step_count;
    return 1;
}

static double between(double x0, double y0, double x1, double y1, double x)
{
    return x1 > x0 ? y0 + (y1 - y0) * (x - x0) / (x1 - x0) : y1;
}

double measured_force(const measured_curve *curve, double shortening)
{
    const double *u = curve->shortening, *f = curve->force;
    for (int i = 1; i < curve->count; i++)
        if (shortening >= u[i - 1] && shortening <= u[i])
            return between(u[i - 1], f[i - 1], u[i], f[i], shortening);
    return NAN;
}

/* Return the shortening where the force first passes a value. */
static double first_pass(const measured_curve *curve, double force)
{
    const double *u = curve->shortening, *f = curve->force;
    for (int i = 1; i < curve->count; i++)
        if (f[i - 1] < force && f[i] >= force)
            return between(f[i - 1], u[i - 1], f[i], u[i], force);
    return NAN;
}

/* Fit u = offset + f/stiffness by least squares. */
static double straight_start(const measured_curve *curve, int low, int high, double *offset)
{
    double sum_f = 0, sum_u = 0, sum_ff = 0, sum_fu = 0, n = 0;
    for (int force = low; force <= high; force++) {
        const double u = first_pass(curve, force), f = force;
        sum_f += f, sum_u += u, sum_ff += f * f, sum_fu += f * u, n += 1;
    }
    const double stiffness = (n * sum_ff - sum_f * sum_f) / (n * sum_fu - sum_f * sum_u);
    *offset = (sum_u - sum_f / stiffness) / n;
    return stiffness;
}

double measured_stiffness(const measured_curve *curve, int low, int high)
{
    double offset;
    return straight_start(curve, low, high, &offset);
}

double measured_bend(const measured_curve *curve, int low, int high)
{
    double offset;
    const double stiffness = straight_start(curve, low, high, &offset);
    const double *u = curve->shortening, *f = curve->force;
    for (int i = 1; i < curve->count; i++) {
        const double before = u[i - 1] - offset - f[i - 1] / stiffness - behind;
        const double after = u[i] - offset - f[i] / stiffness - behind;
        if (f[i] > high && before <= 0 && after > 0)
            return between(before, f[i - 1], after, f[i], 0);
    }
    return NAN;
}

double measured_first_peak(const measured_curve *curve, double *shortening)
{
    int highest = 0;
    for (int i = 1; i < curve->count; i++) {
        if (curve->force[i] > curve->force[highest]) highest = i;
        if (curve->force[i] < (1 - fall) * curve->force[highest]) {
            *shortening = curve->shortening[highest];
            return curve->force[highest];
        }
    }
    *shortening = NAN;
    return NAN;
}
