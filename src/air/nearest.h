/* nearest.h - the point of a triangle that is nearest to a point. */
#ifndef UL_AIR_NEAREST_H
#define UL_AIR_NEAREST_H

/* Voronoi regions of the corners, the sides and the face in turn (Ericson 2005, Real-Time Collision
 * Detection, 5.1.5). A triangle of no area is as good as its sides. */
void ul_nearest_on_triangle(const double p[3], const double a[3], const double b[3],
                            const double c[3], double out[3]);
/* The same for the segment a-b. */
void ul_nearest_on_segment(const double p[3], const double a[3], const double b[3], double out[3]);

#endif
