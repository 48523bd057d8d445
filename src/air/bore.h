/* bore.h - one straight hole from a place on the cavity's surface to the outside of the tool. */
#ifndef UL_AIR_BORE_H
#define UL_AIR_BORE_H

#include "ullage/attitude.h"
#include "ullage/parting.h"

typedef struct ul_bore_site {
  const ul_mesh *cavity; /* closed, wound outwards; all cavities of the tool and their cores */
  const ul_tool *tool;
  double up[3], at_mm[3]; /* the place to vent, on the surface */
  double pocket_mm3;      /* the air that is to get out there; 0: not known */
  bool shared;            /* other vents let out what stands over the other ends of its level top */
  double radius_mm;
  const ul_mesh *inserts; /* wound outwards; NULL: none */
  const unsigned char
      *kept;               /* per triangle of the cavity: 1 if no mouth may touch it; NULL: none */
  const ul_mesh *keep_off; /* just those triangles; NULL: none */
  const double (*keep_box)[2][3];
  size_t keep_box_count;
  const ul_parting *parting; /* no hole nearer to it than a web (web.h); NULL, or without a plane */
} ul_bore_site;

typedef struct ul_bore {
  double axis[3];     /* unit, out of the cavity */
  double mouth_mm[3]; /* where its centre line leaves the cavity */
  double through_mm[3];
  double length_mm; /* from mouth to through */
  double back_mm;   /* a cutter that begins this far before the mouth opens the whole circle into
                       the cavity and does not reach the wall opposite */
  double entry_deg; /* between the hole and the outside's normal: over 15, a drill wanders off */
  double mouth_deg; /* between the hole and the cavity wall's normal, in the mean over the mouth:
                       none at an apex */
  double past_mm;   /* beyond `through` the circle is not yet wholly outside for so long */
} ul_bore;

typedef enum {
  UL_BORE_FITS,
  UL_BORE_NO_ROOM,      /* the circle finds no place near enough where it breaks in wholly */
  UL_BORE_AT_PARTING,   /* it would run along the parting face, nearer to it than a web */
  UL_BORE_KEPT_OFF,     /* the only places are where none may be */
  UL_BORE_MEETS_INSERT, /* on its way out it meets an insert */
  UL_BORE_MEETS_AGAIN,  /* on its way out it meets a cavity again */
  UL_BORE_IN_HOLLOW,  /* it comes out into a hollow of the tool, with more of the tool behind it */
  UL_BORE_NO_OUTSIDE, /* the tool's mesh does not close around it */
  UL_BORE_AT_EDGE     /* it would come out nearer than 1.5 diameters to an edge of the tool */
} ul_bore_end;

/* Looks along the unit `axis` for the place nearest to site->at_mm where the hole's whole circle,
 * with 0.05 mm to spare, leaves the cavity through one stretch of surface without a step and
 * without a part steeper than 78 degrees, and goes straight out of the tool, 1.5 diameters or more
 * from its edges; one that runs along the parting face keeps a web to it. Nearest is across the
 * axis; at most four radii. *again_mm: how far on it meets a cavity, an insert or a hollow. Errors:
 * UL_E_MEMORY. */
ul_status ul_bore_fit(const ul_bore_site *site, const double axis[3], ul_bore *out,
                      ul_bore_end *end, double *again_mm, ul_error *err);

/* Whether a hole of `radius_mm` along the same centre line, but only from `from_mm` past the mouth
 * on, comes out for good without meeting a cavity, an insert or a box that vents keep off.
 * *past_mm: beyond through_mm its circle is not yet wholly outside for so long. Errors:
 * UL_E_MEMORY. */
ul_status ul_bore_widen(const ul_bore_site *site, const ul_bore *bore, double radius_mm,
                        double from_mm, bool *clear, double *past_mm, ul_error *err);

#endif
