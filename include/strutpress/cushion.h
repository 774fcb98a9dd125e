/* A cushion curve is the largest force over the weight of a mass that falls on a coupon, against
 * the static stress of that mass. It is found by energy from one slow press, and from drops in
 * time.
 *
 * Units: mm, kg, N. Ownership: a cushion belongs to the caller, who frees it. Errors: each function
 * names its own. Threads: one call at a time. Results are predictions for choosing coupons to
 * print, not proof that anything is protected. */
#ifndef STRUTPRESS_CUSHION_H
#define STRUTPRESS_CUSHION_H

#include <stdio.h>

#include <strutpress/case.h>

SP_PUBLIC_BEGIN

enum { SP_CUSHION_HEIGHTS = 6, SP_CUSHION_MASSES = 6 };

typedef struct sp_cushion_asked {
    int height_count, mass_count;      /* no masses: three about the best one of each height */
    double height[SP_CUSHION_HEIGHTS]; /* of the fall [mm] */
    double mass[SP_CUSHION_MASSES];    /* [kg] */
} sp_cushion_asked;

/* Read "300 mm, 600 mm" or "0.5 kg, 1 kg"; 0: the text is no such list. */
int sp_cushion_read_heights(const char *text, sp_cushion_asked *asked);
int sp_cushion_read_masses(const char *text, sp_cushion_asked *asked);

typedef struct sp_cushion sp_cushion;

/* Press the coupon once as the case says, without its protocol, and drop every mass on a fresh one
 * from every height. Errors: those of sp_run, SP_GAVE_UP (the press ends before anything is
 * absorbed), SP_INTERRUPTED. */
sp_status sp_cushion_press(sp_context *context, const sp_case *request,
                           const sp_cushion_asked *asked, sp_cushion **cushion);
void sp_cushion_free(sp_cushion *cushion); /* accepts NULL */

/* Print a table for people. Errors: SP_NO_WRITE. */
sp_status sp_cushion_table(sp_context *context, const sp_cushion *cushion, FILE *stream);
/* Write cushion.csv and cushion.svg into a folder, both files or none. Errors: SP_NO_WRITE,
 * SP_NO_MEMORY. */
sp_status sp_cushion_write(sp_context *context, const sp_cushion *cushion, const char *folder);

SP_PUBLIC_END

#endif
