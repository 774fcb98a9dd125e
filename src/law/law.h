/* Strut laws: stored energy per volume W, nominal stress P = dW/dl and tangent A = d2W/dl2 against the stretch l
 * of a fibre, for a free strut (uniaxial) and for a wall that is deep against its thickness (plane strain).
 *
 * One file per law plus one row in law_list.h. W(1) = P(1) = 0. */
#ifndef SP_LAW_H
#define SP_LAW_H

#include <strutpress/case.h>
#include <strutpress/context.h>

#define SP_LAW_CONSTANTS 16

typedef struct sp_law_row sp_law_row;

typedef struct sp_law {
    const sp_law_row *row;
    int strain_state;                  /* SP_PLANE_STRAIN or SP_UNIAXIAL */
    double constant[SP_LAW_CONSTANTS]; /* meaning in the file of the law */
    int term_count;                    /* Ogden terms, rows of the table */
    double *table;                     /* tabulated law only, owned: interpolation data */
    double modulus;                    /* P'(1) in this strain state                      [MPa] */
    double shear_modulus;              /* small-strain G                                  [MPa] */
    double poisson_ratio;
    double stretch_min,
        stretch_max; /* inside: finite and A > 0 ("stable"); searched on 0.05 .. 8 */
} sp_law;

struct sp_law_row {
    const char *name;  /* "neo-hookean" */
    const char *doc;   /* one line: what it is for, source */
    const char *needs; /* the case keys it reads, for `list laws` */
    sp_status (*prepare)(sp_context *context, const sp_case *request,
                         sp_law *law); /* fills constant[], table, shear_modulus, poisson_ratio */
    /* n fibres at once: w, p, a (n each) from stretch (n). Outside the domain of the law w = +inf. No allocation. */
    void (*eval)(const sp_law *law, int n, const double *stretch, double *w, double *p, double *a);
};

const sp_law_row *sp_law_rows(int *count);
const sp_law_row *sp_law_find(const char *name); /* NULL when unknown */

/* Prepare the law a case asks for: constants, modulus, stable range. Errors: SP_BAD_CASE (constant missing, unstable at
 * small strain), SP_NO_READ (table), SP_NO_MEMORY. Warns when it loses stability inside stretch 0.3 .. 2, saying where. */
sp_status sp_law_prepare(sp_context *context, const sp_case *request, sp_law *law);
void sp_law_free(sp_law *law);

/* Hardness to small-strain Young's modulus E [MPa]. Gent (1958) and a second published relation; low <= high. */
void sp_hardness_band(double shore_a, double shore_d, double *low, double *high);

#endif
