/* One step of a branch that flows (E127, E271): a spring in line with a dashpot whose flow goes
 * with the hyperbolic sine of its stress (Eyring 1936). */
#ifndef SP_LAW_FLOW_H
#define SP_LAW_FLOW_H

/* What a step needs that is known at its beginning. All of it is over s: stress that the branch
 * would end with in E127 if the strain stayed, and the factor of its hyperbolic sine. */
typedef struct sp_law_flow {
    double rest, lag;
} sp_law_flow;

/* Make a step ready: `before` is the stress at its beginning over s, `th` its time over tau. With
 * th = 0 nothing flows, exactly. */
sp_law_flow sp_law_flow_ready(double before, double th);

/* Return the stress over s at the end of a step in which the spring is stretched by `pulled`, its
 * stress over s if nothing flowed. */
double sp_law_flow_end(sp_law_flow flow, double pulled);

#endif
