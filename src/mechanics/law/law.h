/* A strut law gives the stored energy per volume W, the nominal stress P = dW/dl and the tangent A
 * = d2W/dl2 against the stretch l of a fibre, for a free strut (uniaxial) and for a wall that is
 * deep against its thickness (plane strain).
 *
 * Each law is one file and one row in law_list.h. W(1) = P(1) = 0. */
#ifndef SP_LAW_H
#define SP_LAW_H

#include <strutpress/case.h>
#include <strutpress/context.h>

#define SP_LAW_CONSTANTS 16

typedef struct sp_law_row sp_law_row;
typedef struct sp_law_history sp_law_history;

enum { SP_LAW_BRANCHES = 12, SP_LAW_FLOWS = 2 };

/* This says how a law depends on time, see in_time.h; all members are 0 when it does not. */
typedef struct sp_law_time {
    int on;
    double young;  /* Young's modulus at small strain [MPa] */
    double factor; /* k: log strain of a fibre / ln l */
    double left;   /* share of the law that is left for ever */
    double softening_ratio, softening_energy, softening_share; /* r (0: none), m [MPa], beta */
    int branch_count;
    double branch_share[SP_LAW_BRANCHES]; /* of `young` */
    double branch_time[SP_LAW_BRANCHES];  /* [s] */
    int flow_count;
    double flow_share[SP_LAW_FLOWS];  /* of `young` */
    double flow_stress[SP_LAW_FLOWS]; /* s [MPa] */
    double flow_time[SP_LAW_FLOWS];   /* tau [s] */
} sp_law_time;

typedef struct sp_law {
    const sp_law_row *row;
    int strain_state;                  /* SP_PLANE_STRAIN or SP_UNIAXIAL */
    double constant[SP_LAW_CONSTANTS]; /* meaning in the file of the law */
    int term_count;                    /* Ogden terms, rows of the table */
    double *table;                     /* laws of measured rows only, owned: see table/cubic.h */
    double modulus;                    /* P'(1) in this strain state                      [MPa] */
    double shear_modulus;              /* small-strain G                                  [MPa] */
    double poisson_ratio;
    /* Between these stretches the law is finite and A > 0 ("stable"); they are searched for on 0.05
     * .. 8. */
    double stretch_min, stretch_max;
    sp_law_time time;
    /* A law of measured rows has here the largest and the smallest stretch that its rows reach in
     * this strain state; other laws have infinity and 0. Beyond the rows the law goes on by a
     * rule. */
    double rows_most, rows_least;
    int has_corner; /* 1: of two measured curves, whose moduli may differ at the unloaded state */
    const sp_law_history *own;     /* without time; NULL: the law is reversible then */
    const sp_law_history *history; /* `own`, or that of the law in time; NULL: reversible */
    int history_count;             /* doubles that a fibre keeps */
} sp_law;

struct sp_law_row {
    const char *name;  /* "neo-hookean" */
    const char *doc;   /* one line: what it is for, source */
    const char *needs; /* the case keys it reads, for `list laws` */
    sp_status (*prepare)(sp_context *context, const sp_case *request,
                         sp_law *law); /* fills constant[], table, shear_modulus, poisson_ratio */
    /* Find w, p and a (n each) of n fibres at once from stretch (n). Outside the domain of the law
     * w = +inf. Nothing is allocated. For a law with a history, the fibres are loaded in one go
     * from the unloaded state. */
    void (*eval)(const sp_law *law, int n, const double *stretch, double *w, double *p, double *a);
    const sp_law_history *history; /* NULL: the law is reversible */
};

/* A law that is not reversible keeps `count` doubles per fibre, all 0 before it is first loaded.
 * They stay as they are while an equilibrium is sought, and change when one is accepted (`keep`). W
 * is then what the fibre stores and has dissipated so far, the least that takes it from its last
 * accepted state to `stretch` (E63 of docs/theory.md); its derivatives are P and A. */
struct sp_law_history {
    int count;      /* of a law without time; see sp_law.history_count */
    int dissipated; /* which of them is the energy dissipated so far, per volume [MPa] */
    /* Do the same as sp_law_row.eval for fibres with a history (n x count). */
    void (*eval)(const sp_law *law, int n, const double *stretch, const double *history, double *w,
                 double *p, double *a);
    void (*keep)(const sp_law *law, int n, const double *stretch, double *history);
};

/* Evaluate the law for n fibres with their history (n x count of the law, or NULL). */
static inline void sp_law_eval(const sp_law *law, int n, const double *stretch,
                               const double *history, double *w, double *p, double *a)
{
    if (history)
        law->history->eval(law, n, stretch, history, w, p, a);
    else
        law->row->eval(law, n, stretch, w, p, a);
}

const sp_law_row *sp_law_rows(int *count);
const sp_law_row *sp_law_find(const char *name);
/* Return 1 when the law of this name yields: struts keep their bends. */
int sp_law_yields(const char *name); /* NULL when unknown */

/* Make `stretch` the last accepted state of n fibres of a law with a history; returns the energy
 * dissipated so far, summed with their weights. */
double sp_law_keep(const sp_law *law, int n, const double *stretch, const double *weight,
                   double *history);

/* Prepare the law a case asks for: constants, modulus, stable range. Errors: SP_BAD_CASE (constant
 * missing, unstable at small strain), SP_NO_READ (table), SP_NO_MEMORY. Warns when the law loses
 * stability inside stretch 0.3 .. 2, saying where. */
sp_status sp_law_prepare(sp_context *context, const sp_case *request, sp_law *law);
void sp_law_free(sp_law *law);

/* Return 1 when twice the modulus of the case gives twice the stress at every stretch: then P is
 * proportional to the modulus. */
int sp_law_goes_with_modulus(const sp_case *request);

#endif
