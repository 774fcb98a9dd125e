/* Fit a straight line through points by least squares. */
#ifndef SP_COMPARE_FIT_H
#define SP_COMPARE_FIT_H

typedef struct line_fit {
    int count;                 /* points used; 0: no line (fewer than 3 points, or all at one x) */
    double slope, intercept;   /* y = intercept + slope x */
    double slope_deviation;    /* standard error of the slope */
    double slope_half_width;   /* of its 95 % confidence interval */
    double residual_deviation; /* sqrt(sum of squares / (count - 2)) */
} line_fit;

/* Fit in closed form (Draper & Smith 1998, Applied Regression Analysis, ch. 1; interval: t of
 * n - 2 degrees of freedom times the error of the slope, read in course notes). */
line_fit sp_fit_line(int count, const double *x, const double *y);

/* Return P(|t| <= value) of Student's t with `freedom` >= 1 degrees of freedom, a finite sum:
 * Abramowitz & Stegun 1964, 26.7.3 and 26.7.4. */
double sp_student_share(double value, int freedom);
/* Return the value within which that share lies: sp_student_quantile(0.95, 10) = 2.228. */
double sp_student_quantile(double share, int freedom);

#endif
