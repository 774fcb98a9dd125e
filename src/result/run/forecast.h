/* Written by `make forecast` (benchmarks/speed/forecast.c). */
#ifndef SP_RUN_FORECAST_H
#define SP_RUN_FORECAST_H

/* clang-format off */
/* These are the coefficients of ln seconds of the press by the features of forecast.c, in order. */
static const double sp_forecast_fit[] = {
    -1.32, 1.30, 0.43, 0.70, 0.57, 1.53, 0.43, -0.03, 0.64, 0.63};
/* 9 of 10 coupons take between these shares of a forecast that was fitted without them; 70 % of
 * 78 coupons take half to twice of it. */
static const double sp_forecast_band[] = {0.46, 4.10};
/* These are the coefficients of ln seconds of all: constant, ln seconds of the coarse press, ln of
 * how many times its elements there are, ln (steps / 200), ln of the forecast before. */
static const double sp_forecast_try_fit[] = {
    0.51, 0.77, 0.28, 0.15, 0.21};
/* 9 of 10 coupons take between these shares of a forecast that was fitted without them; 93 % of
 * 75 coupons take half to twice of it. */
static const double sp_forecast_try_band[] = {0.71, 1.81};
/* Half of the plans of ten coupons, each forecast from its case, take more than this many times
 * the sum of the forecasts, and nine of ten take between these shares of that. */
static const double sp_forecast_sum = 1.28, sp_forecast_sum_band[] = {0.62, 1.84};
/* These are the bytes of contacts per element, solid fraction and square of the strain, and ln of
 * how many times as many there are with friction. 92 % of 78 coupons take half to twice of a
 * forecast that was fitted without them. */
static const double sp_forecast_bytes[] = {2.81e+04, 1.20};
/* clang-format on */

#endif
