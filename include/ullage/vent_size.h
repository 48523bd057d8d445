/* vent_size.h - how wide a vent must be for the air, and how wide it may be. */
#ifndef ULLAGE_VENT_SIZE_H
#define ULLAGE_VENT_SIZE_H

#include "ullage/drills.h"
#include "ullage/foam.h"

/* Under this a vent fills with release and is no vent: common practice, no source. */
#define UL_VENT_LEAST_MM 1.5

/* Back pressure, Pa, that air on its way out may build in foam of a class: the program's own
 * choice, no source. Cushion 200 to 1000, rigid 500 to 2000, self-skinning 1000 to 5000. */
ul_span ul_vent_back_pressure_pa(ul_foam_class foam_class);

/* The fastest that rising foam pushes air out of a cavity before it is full, as a share of the
 * cavity's volume a second, and when, from the start of mixing. Both 0 for a pack that already
 * fills as a liquid. */
double ul_vent_air_rate(const ul_foam *foam, double pack, double *at_s);

typedef struct ul_vent_size {
  double air_mm3_s;         /* through all holes together, at the shop's air */
  size_t holes;             /* the fewest of the set that do; or as many as were asked for */
  double least_mm, most_mm; /* each: at the highest and the lowest back pressure of the class */
  ul_drill drill;           /* the thinnest of the set that is thick enough */
  double back_pa;           /* what the air then builds */
  double air_m_s;           /* its mean speed in the hole */
  bool enough;              /* false: not even the thickest of the set, which is `drill` */
} ul_vent_size;

/* Round holes through `length_mm` of tool for air that leaves at `air_mm3_s`. Compressible orifice
 * in series with laminar flow in the bore. Bores hardly throttle: charge, place and timing set the
 * mould's pressure, so this is a range, and what can be cleared and plugged decides within it.
 * UL_E_USAGE for a rate or length below 0. */
ul_status ul_vent_size_for(ul_foam_class foam_class, double air_mm3_s, double length_mm,
                           ul_drill_set set, ul_vent_size *out, ul_error *err);

/* The same for as many as `holes` holes, all of one size. UL_E_USAGE for none, too. */
ul_status ul_vent_size_of(ul_foam_class foam_class, double air_mm3_s, size_t holes,
                          double length_mm, ul_drill_set set, ul_vent_size *out, ul_error *err);

#endif
