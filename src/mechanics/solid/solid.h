/* The solid block is a coupon without holes, pressed in closed form.
 *
 * Its nominal stress is that of the law in a free bar; between bonded platens it is raised by one
 * factor (Gent & Lindley 1959; E84, E85). It serves the coupon of pattern `solid`, the reference
 * line of every curve, and forces that are given as shares of those of the solid. */
#ifndef SP_SOLID_H
#define SP_SOLID_H

#include <strutpress/case.h>
#include <strutpress/network.h>
#include <strutpress/path.h>

#include "law/law.h"

typedef struct sp_solid {
    int modelled;        /* 0: the law keeps a history; nothing else is filled */
    sp_law law;          /* of a free bar */
    double size[3];      /* width, height, depth [mm] */
    double shape_factor; /* S: one loaded face / the four faces that are free to bulge */
    double raise;        /* force between bonded platens / between sliding ones */
} sp_solid;

/* Prepare the block. Errors: those of the law (SP_BAD_CASE, SP_NO_READ), SP_NO_MEMORY. The caller
 * frees it with sp_solid_free in any case. */
sp_status sp_solid_prepare(sp_context *context, const sp_case *request, sp_solid *solid);
void sp_solid_free(sp_solid *solid);

/* Find S of a block, and how much its bonded faces raise its force, for a Poisson ratio up to 0.5.
 */
double sp_solid_shape_factor(const double size[3]);
double sp_solid_raise(double shape_factor, double poisson_ratio);

/* Find the state at a strain; it is not finite outside the domain of the law. */
sp_step sp_solid_at(const sp_solid *solid, double strain, int bonded);

/* Find both curves at whole percents of strain, as far as the law goes. */
void sp_solid_sample(const sp_solid *solid, sp_solid_curve *curve);

/* Make the path of a coupon that is the block itself, and its way back when asked for. Platens that
 * hold by friction are treated as bonded ones. It ends at SP_STOP_RANGE where the law ends before
 * the target. Errors: SP_NO_MEMORY. */
sp_status sp_solid_press(sp_context *context, const sp_case *request, const sp_solid *solid,
                         sp_path *path);

#endif
