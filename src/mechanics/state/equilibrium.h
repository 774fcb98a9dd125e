/* These functions find the next equilibrium by Newton's method with the exact Hessian. */
#ifndef SP_EQUILIBRIUM_H
#define SP_EQUILIBRIUM_H

#include "state/system.h"

/* An attempt at a state ends in one of these ways; none of them is an error. */
typedef enum {
    SP_FOUND,  /* an equilibrium to tolerance; the factor is that of its true K */
    SP_FAR,    /* no equilibrium within the iterations allowed */
    SP_STUCK,  /* no step goes down any more above tolerance, or a fibre left its law */
    SP_STOPPED /* the user interrupted */
} sp_attempt_end;

typedef struct sp_attempt {
    sp_attempt_end end;
    int iterations, factorizations;
    int negative; /* negative pivots of K when found */
    int bent;     /* iterates at which K was not positive definite */
} sp_attempt;

/* A descent that jumps takes so many iterations at most. */
enum { SP_MOST_IN_A_JUMP = 600 };

/* Find a minimum of the potential at travel u, by descent from x (values of the nodes):
 * inertia-controlled Newton with line search. When it is found, K is positive definite. A descent
 * through states where K is not (a jump) is not held to `most_iterations`. */
sp_status sp_equilibrium_descend(sp_context *context, sp_system *system, const double *x,
                                 double shortening, int most_iterations, sp_attempt *attempt);

/* Do the same where a jump is of no use: end, with SP_FAR, at the first state where K is not
 * positive definite. */
sp_status sp_equilibrium_roll(sp_context *context, sp_system *system, const double *x,
                              double shortening, int most_iterations, sp_attempt *attempt);

/* Find an equilibrium near x, stable or not, by plain Newton, which stays on the path of x through
 * a bifurcation. */
sp_status sp_equilibrium_follow(sp_context *context, sp_system *system, const double *x,
                                double shortening, int most_iterations, sp_attempt *attempt);

/* This pushes the platen: a force, less what the inertia of a mass takes of it (E180). */
typedef struct sp_platen_load {
    double force;     /* [N] */
    double tolerance; /* how closely the force is met [N] */
    double inertia;   /* force per travel beyond `drift`; 0: no mass [N/mm] */
    double energy;    /* whose round-off counts: in time the potential may come to zero [mJ] */
    double drift;     /* travel that the mass would come to by its present motion alone [mm] */
} sp_platen_load;

/* Return the force that pushes at travel u [N]. */
double sp_platen_load_at(const sp_platen_load *load, double shortening);

/* Find an equilibrium under a load: the travel is an unknown, and *shortening enters as a guess
 * near it (E131). This is Newton with one row more, whose steps are halved while they lead uphill;
 * `tangent` (`unknowns` per node) is work space and receives dx/du. When it is found, K is positive
 * definite and so is the stiffness of the platen with its mass. */
sp_status sp_equilibrium_load(sp_context *context, sp_system *system, const double *x,
                              const sp_platen_load *load, int most_iterations, double *tangent,
                              double *shortening, sp_attempt *attempt);

/* Do the same by descents at given travels, for a load that is met behind a jump, or where K is not
 * positive definite on the way. The travel is corrected, by at most `longest` at once [mm], until
 * the load is met (E237). K is positive definite when it is found; attempt->bent says whether there
 * was a jump. */
sp_status sp_equilibrium_load_down(sp_context *context, sp_system *system, const double *x,
                                   const sp_platen_load *load, int most_iterations, double longest,
                                   double *tangent, double *shortening, sp_attempt *attempt);

/* Return the largest residual at which the evaluated state counts as an equilibrium [N]. */
double sp_equilibrium_tolerance(const sp_system *system);

#endif
