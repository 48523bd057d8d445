/* puddle.h - how far a thin liquid spreads by its own weight: similarity solutions of Huppert 1982
 * (J. Fluid Mech. 121:43 on a level floor, Nature 300:427 down a slope), from memory. SI. */
#ifndef UL_RISE_PUDDLE_H
#define UL_RISE_PUDDLE_H

/* Radius of a volume on a level floor after t: 0.894 (g V^3 / 3 nu)^(1/8) t^(1/8). */
double ul_puddle_radius_m(double volume_m3, double kinematic_m2_s, double t_s);

/* How far to each side of a line: 1.411 (g a^3 / 3 nu)^(1/5) t^(1/5), `side_m2` the volume of one
 * side for each metre of line. */
double ul_puddle_side_m(double side_m2, double kinematic_m2_s, double t_s);

/* How far down a slope: (9 a^2 g sin / 4 nu)^(1/3) t^(1/3), `section_m2` the volume for each metre
 * across. */
double ul_puddle_downhill_m(double section_m2, double sine, double kinematic_m2_s, double t_s);

#endif
