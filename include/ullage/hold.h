/* hold.h - what the pressure does to the mould, and what keeps it shut. */
#ifndef ULLAGE_HOLD_H
#define ULLAGE_HOLD_H

#include "ullage/foam.h"
#include "ullage/mesh.h"
#include "ullage/vents.h"

/* Area of the shadow of a closed mesh, wound outwards (a solid's), along `direction` (any length),
 * mm2: exact for the polyhedron. The shadow is where the outline of the faces that look along the
 * direction winds round; it is cut into strips between the outline's corners, and these until no
 * two edges cross in one. For a tool parted across the direction it is the area that opens the
 * halves. UL_E_USAGE for a direction without length, UL_E_MEMORY. */
ul_status ul_shadow_mm2(const ul_mesh *mesh, const double direction[3], double *area_mm2,
                        ul_error *err);

/* ---- plates ---- */

typedef enum { UL_EDGE_SUPPORTED, UL_EDGE_CLAMPED } ul_edge;
typedef struct ul_plate_state {
  double stress_pa, deflection_m;
} ul_plate_state;

/* Largest stress and deflection of a rectangular plate under even pressure, Poisson's ratio 0.3:
 * stress = beta q b^2/t^2, deflection = alpha q b^4/(E t^3), b the short side. Coefficients from
 * Levy's series, as Roark tabulates them, cubics in b/a between the rows. */
ul_plate_state ul_plate_bend(double long_m, double short_m, double thick_m, double pressure_pa,
                             double modulus_pa, ul_edge edge);

/* ---- materials ---- */

typedef struct ul_material {
  const char *name;
  double allowed_kpa;        /* gauge, in a cavity of common wall: common practice, no source */
  double modulus_pa;         /* low end of what is published */
  double strength_pa;        /* yield or bending strength, low end */
  double safety;             /* strength over allowed stress */
  bool soft;                 /* a rigid case must carry the pressure */
  ul_vent_made hole, groove; /* how vents come into it: common practice, no source */
  const char *advice;
} ul_material;
/* aluminium, cast-epoxy, cast-urethane, glass-laminate, plaster, silicone, printed, wood. */
size_t ul_material_count(void);
const ul_material *ul_material_get(size_t i);
/* NULL when there is none of that name. */
const ul_material *ul_material_find(const char *name);

/* ---- hold ---- */

/* Clamps are sized for this many times the opening force: 1.5 to 2 is common practice. */
#define UL_CLAMP_FACTOR 2.0

typedef struct ul_hold_opts {
  unsigned cookie;
  double rise_kpa;             /* peak pressure that a rise found; NAN: none was made */
  const ul_material *material; /* of the mould and lid; NULL: not said */
  double lid_mm[3];            /* two sides and thickness; zeros: none to check */
} ul_hold_opts;
ul_hold_opts ul_hold_opts_default(void);

typedef struct ul_lid {
  ul_plate_state supported, clamped; /* resting on its edge, and held all round */
  double allowed_pa;                 /* stress */
  double open_mm;     /* the edge gap that lets foam out: flash shows over this: 0.1 */
  bool strong, stiff; /* judged resting on its edge, the worse of the two */
} ul_lid;

typedef struct ul_hold {
  double packing_kpa; /* from the packing formula */
  double rise_kpa;    /* NAN: none */
  double peak_kpa;    /* the higher of the two, gauge */
  double projected_mm2;
  double opening_n, clamp_n;
  size_t bolts_m6, bolts_m8; /* class 8.8 at a quarter of proof load, at least 2 */
  double toggles_n;          /* rated hold of all toggle clamps together: twice clamp_n */
  bool has_material;         /* else nobody said, and nobody knows whether it holds: */
  bool material_holds;       /* true then */
  bool has_lid;
  ul_lid lid;
} ul_hold;

/* UL_E_USAGE for a lid without material or with sides not above 0. */
ul_status ul_hold_make(const ul_foam *foam, double pack, double projected_mm2,
                       const ul_hold_opts *opts, ul_hold *out, ul_error *err);

/* Sentences for whoever clamps it. */
enum { UL_HOLD_REMARKS = 3, UL_HOLD_REMARK = 300 };
size_t ul_hold_remarks(const ul_hold *hold, const ul_hold_opts *opts,
                       char remark[UL_HOLD_REMARKS][UL_HOLD_REMARK]);

#endif
