/* This makes a model from case settings, and re-checks whole presses from raw data. */
#ifndef TESTS_COUPON_H
#define TESTS_COUPON_H

#include "check.h"

#include <strutpress/network.h>
#include <strutpress/path.h>

#include "law/law.h"
#include "model/model.h"
#include "press/press.h"

typedef struct coupon {
    sp_context context;
    sp_case request;
    sp_network network;
    sp_law law;
    sp_model model;
} coupon;

/* These are the settings of a small pad pressed along its walls: two cells by two, all panels
 * alike, a little higher than a cell. */
extern const char *const coupon_pad[];

/* Make a coupon of settings such as "infill.density=20 %"; NULL ends them. Fails the test on any
 * error. */
void coupon_set_up(coupon *c, int with_flaws, const char *const *settings);
void coupon_tear_down(coupon *c);

/* Make the model again after a change of the network; the model before is freed. */
void coupon_mesh(coupon *c);

/* Press the coupon; fails the test, naming the pattern, where the press does not come to its
 * end. */
void coupon_press(coupon *c, const sp_press_options *options, sp_path *path);

/* Re-derive from the stored shapes what a press may not do: no piece of a strut crosses a piece of
 * another strut (except struts that share a joint), nothing is outside the platens; in space no
 * piece comes too near another or passes through it. Fails the test with the place. */
void coupon_check_shapes(const sp_network *network, const sp_path *path);

/* Check that every accepted step is an equilibrium: its figures are finite, residual and platen
 * imbalance are within 2e-6 of the force (and a floor), and work = stored + released within
 * `balance` of the work. */
void coupon_check_steps(const sp_path *path, double balance);

/* Replace the case by the resolved one. Errors as sp_case_resolve. */
sp_status coupon_settle(sp_context *context, sp_case *request);

/* Set one value of a case, as in a case file. */
void coupon_set(sp_case *request, const char *key, const char *value);

/* Press a case through sp_run: it must reach its strain or its load limit, and every step and shape
 * must pass the checks above. */
void coupon_run_to_the_end(const sp_case *request);

#endif
