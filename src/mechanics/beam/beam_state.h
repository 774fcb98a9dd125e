/* This is what an element reports of itself beside its energy, in the plane and in space alike. */
#ifndef SP_BEAM_STATE_H
#define SP_BEAM_STATE_H

typedef struct sp_beam_state {
    double axial_force;  /* tension positive [N] */
    double eps;          /* stretch less 1 */
    double curvature[2]; /* about section axes 2 and 3; planar: 0 and kappa [1/mm] */
    double shear[3]; /* along section axes 2 and 3, and twist [-, -, 1/mm]; planar: gamma, 0, 0 */
    double more[2];  /* by how much eps and curvature are more at the joint than on the mean, of an
                        element asked at two places (E222) [-, 1/mm] */
} sp_beam_state;

#endif
