/* Read curves of a test rig from the file that its program exports: they are found, put right, and
 * shown in words and in a picture before they are used.
 *
 * Units: mm and N, of the shortening and of the force that presses; where a file has strain and
 * stress and the specimen is not known, fractions and MPa. Ownership: a rig belongs to the caller;
 * its texts and curves belong to the rig. Errors: each function names its own. Threads: a rig may
 * be read by several at once. */
#ifndef STRUTPRESS_RIG_H
#define STRUTPRESS_RIG_H

#include <stdio.h>

#include <strutpress/measure.h>

SP_PUBLIC_BEGIN

/* Where the shortening is zero. */
typedef enum sp_rig_zero {
    SP_ZERO_AUTO,    /* by the toe where there is one, else at contact, else as in the file */
    SP_ZERO_FILE,    /* as in the file */
    SP_ZERO_CONTACT, /* where the force leaves the noise of the way through the air */
    SP_ZERO_TOE,     /* where the steepest line of the start meets zero force */
    SP_ZERO_PRELOAD, /* where the force first stays at the preload */
    SP_ZERO_AT       /* at a given shortening of the file */
} sp_rig_zero;

#define SP_RIG_TEXT_SIZE 64

/* What a person says of a file; all may be left to the program. */
typedef struct sp_rig_request {
    int specimen, cycle; /* from 1; 0: all specimens, and the first cycle that goes furthest */
    sp_rig_zero zero;
    double preload;                   /* [N] */
    double starts_at;                 /* [mm] */
    double machine_stiffness;         /* of the machine without a coupon [N/mm]; 0: rigid */
    char machine_curve[SP_FILE_SIZE]; /* a file of platen on platen; "": none */
    char travel[SP_RIG_TEXT_SIZE], force[SP_RIG_TEXT_SIZE]; /* name or number of a column; "" */
    double height, area; /* of the specimen [mm], [mm2]; 0: not known */
} sp_rig_request;

void sp_rig_request_default(sp_rig_request *request);
/* Set one of specimen, cycle, zero, preload, starts_at, machine_stiffness, machine_curve, travel,
 * force, height, area by its text ("1 N", "toe"). 0: refused; `valid` then says what would be. */
int sp_rig_request_set(sp_rig_request *request, const char *key, const char *text, char *valid,
                       size_t size);

typedef struct sp_rig sp_rig;

/* Read a file, or bytes in memory under a name, and take the loading of every specimen that is
 * asked for. Doubts are reported through context->warn. Errors: SP_NO_READ (file, line, what
 * was received, what would be valid), SP_NO_MEMORY; *rig is NULL then. */
sp_status sp_rig_read(sp_context *context, const char *file, const sp_rig_request *request,
                      sp_rig **rig);
sp_status sp_rig_parse(sp_context *context, const char *name, const char *bytes, size_t size,
                       const sp_rig_request *request, sp_rig **rig);
void sp_rig_free(sp_rig *rig); /* accepts NULL */

int sp_rig_count(const sp_rig *rig); /* specimens */
const char *sp_rig_name(const sp_rig *rig, int specimen);
/* Return the curve from its zero on; height and area are those of the request. Shortenings do not
 * fall. */
sp_curve sp_rig_curve(const sp_rig *rig, int specimen);

/* Write for people what was understood of the file, line by line. Errors: SP_NO_WRITE. */
sp_status sp_rig_table(sp_context *context, const sp_rig *rig, FILE *stream);
/* rig.svg (the rows of the file, what was taken and where zero is), rig.json (what was understood)
 * and for each specimen rig-N.csv (shortening and force), all or none. Errors: SP_NO_WRITE,
 * SP_NO_MEMORY. */
sp_status sp_rig_write(sp_context *context, const sp_rig *rig, const char *folder);

SP_PUBLIC_END

#endif
