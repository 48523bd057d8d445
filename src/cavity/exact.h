/* exact.h - which side of a line or plane a point is on, without rounding error. */
#ifndef UL_CAVITY_EXACT_H
#define UL_CAVITY_EXACT_H

/* +1 when `p` is on the side of plane abc to which (b-a) x (c-a) points, -1 on the other, 0 exactly
 * on it. A rounding bound settles nearly all calls; the rest are done in exact expansions
 * (Shewchuk 1997, Discrete Comput. Geom. 18: 305-363). Coordinates must be finite. */
int ul_side(const double a[3], const double b[3], const double c[3], const double p[3]);
/* +1 when a, b, p turn to the left seen in coordinates u, v (each 0, 1 or 2), -1 right, 0 straight.
 */
int ul_turn(const double a[3], const double b[3], const double p[3], int u, int v);

#endif
