/* Written by `make forecast` (benchmarks/speed/forecast.c). */
#ifndef SP_RUN_FORECAST_H
#define SP_RUN_FORECAST_H

/* clang-format off */
/* ln seconds of the press by the features of forecast.c, in their order. */
static const double sp_forecast_fit[] = {-1.03, 1.30, 0.26, 1.04, 0.65, 1.22, 0.40, 0.01, 0.93, 0.73};
/* 9 of 10 coupons take between these shares of a forecast that was fitted without them, 67 % of
 * 109 half to twice of it. */
static const double sp_forecast_band[] = {0.41, 6.89};
/* ln seconds of all: constant, ln seconds of the coarse press, ln of how many times its elements,
 * ln (steps / 200), ln of the forecast before. */
static const double sp_forecast_try_fit[] = {0.34, 0.73, 0.60, 0.09, 0.29};
/* 9 of 10 coupons take between these shares of a forecast that was fitted without them, 91 % of
 * 101 half to twice of it. */
static const double sp_forecast_try_band[] = {0.55, 1.88};
/* Bytes of contacts per element, solid fraction and square of the strain; ln of how many times as
 * many with friction. 89 % of 109 coupons lie half to twice of a forecast that was fitted without
 * them. */
static const double sp_forecast_bytes[] = {1.29e+05, 0.90};
/* clang-format on */

#endif
