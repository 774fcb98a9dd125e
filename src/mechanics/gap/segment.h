/* Distance of two straight pieces in space. */
#ifndef SP_GAP_SEGMENT_H
#define SP_GAP_SEGMENT_H

/* Square of the distance of the pieces from p to p + d and from q to q + e, lengths not zero
 * (Ericson 2005, section 5.1.9). Continuous where they become parallel: there the closest points
 * jump, their distance does not. */
double sp_segment_square(const double p[3], const double d[3], const double q[3],
                         const double e[3]);

#endif
