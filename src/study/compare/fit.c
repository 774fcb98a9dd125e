#include "compare/fit.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;
enum {
    FREEDOM_MAX = 2000
}; /* with more degrees of freedom t is normal to more digits than are printed */

double sp_student_share(double value, int freedom)
{
    if (freedom > FREEDOM_MAX) return erf(value / sqrt(2));
    const double angle = atan(value / sqrt(freedom)), c = cos(angle), s = sin(angle);
    const int odd = freedom % 2;
    double term = odd ? c : 1, sum = freedom == 1 ? 0 : term;
    for (int k = odd ? 3 : 2; k <= freedom - 2; k += 2) {
        term *= (double)(k - 1) / k * c * c;
        sum += term;
    }
    return odd ? 2 / pi * (angle + s * sum) : s * sum;
}

double sp_student_quantile(double share, int freedom)
{
    double low = 0, high = 1;
    while (sp_student_share(high, freedom) < share && high < 1e12) high *= 2;
    for (int i = 0; i < 200 && high - low > 1e-14 * high; i++) {
        const double middle = 0.5 * (low + high);
        if (sp_student_share(middle, freedom) < share)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

line_fit sp_fit_line(int count, const double *x, const double *y)
{
    line_fit fit;
    double x_mean = 0, y_mean = 0, sxx = 0, sxy = 0, rest = 0;
    memset(&fit, 0, sizeof fit);
    if (count < 3) return fit;
    for (int i = 0; i < count; i++) x_mean += x[i] / count, y_mean += y[i] / count;
    for (int i = 0; i < count; i++) {
        sxx += (x[i] - x_mean) * (x[i] - x_mean);
        sxy += (x[i] - x_mean) * (y[i] - y_mean);
    }
    if (!(sxx > 1e-20 * (1 + x_mean * x_mean) * count)) return fit;
    fit.count = count;
    fit.slope = sxy / sxx;
    fit.intercept = y_mean - fit.slope * x_mean;
    for (int i = 0; i < count; i++) {
        const double off = y[i] - y_mean - fit.slope * (x[i] - x_mean);
        rest += off * off;
    }
    fit.residual_deviation = sqrt(rest / (count - 2));
    fit.slope_deviation = fit.residual_deviation / sqrt(sxx);
    fit.slope_half_width = sp_student_quantile(0.95, count - 2) * fit.slope_deviation;
    return fit;
}
