/* Written by `make forecast` (benchmarks/speed/forecast.c). */
#ifndef SP_RUN_FORECAST_H
#define SP_RUN_FORECAST_H

/* clang-format off */
/* These are the coefficients of ln seconds of the press by the features of forecast.c, in order. */
static const double sp_forecast_fit[] = {
    -1.26, 1.24, 0.46, 0.85, 0.48, 1.40, 0.61, 0.01, 0.76, 0.62};
/* 9 of 10 coupons take between these shares of a forecast that was fitted without them; 71 % of
 * 78 coupons take half to twice of it. */
static const double sp_forecast_band[] = {0.64, 9.41};
/* These are the coefficients of ln seconds of all: constant, ln seconds of the coarse press, ln of
 * how many times its elements there are, ln (steps / 200), ln of the forecast before. */
static const double sp_forecast_try_fit[] = {
    0.37, 0.62, 0.35, 0.03, 0.40};
/* 9 of 10 coupons take between these shares of a forecast that was fitted without them; 95 % of
 * 72 coupons take half to twice of it. */
static const double sp_forecast_try_band[] = {0.68, 1.87};
/* Half of the plans of ten coupons, each forecast from its case, take more than this many times
 * the sum of the forecasts, and nine of ten take between these shares of that. */
static const double sp_forecast_sum = 1.26, sp_forecast_sum_band[] = {0.59, 1.89};
/* These are the bytes of contacts per element, solid fraction and square of the strain, and ln of
 * how many times as many there are with friction. 92 % of 78 coupons take half to twice of a
 * forecast that was fitted without them. */
static const double sp_forecast_bytes[] = {8.02e+04, 0.90};
/* clang-format on */

#endif
