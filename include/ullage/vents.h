/* vents.h - where to let the air out, as holes a shop can make. */
#ifndef ULLAGE_VENTS_H
#define ULLAGE_VENTS_H

#include "ullage/attitude.h"

typedef struct ul_vent {
  uint32_t id;     /* 1-based */
  uint32_t cavity; /* 0-based */
  double at_mm[3]; /* centre of the mouth, on the cavity's surface; the peak's place if not ok */
  double axis[3];  /* unit, out of the cavity; zeros if not ok */
  double diameter_mm;
  double length_mm;     /* from the mouth to the outside of the tool */
  double through_mm[3]; /* where its centre line comes out of the tool */
  double back_mm; /* a cutter that begins this far before the mouth opens the whole circle into the
                     cavity, 1 mm deep or half of what air there is, and spares the wall opposite */
  double past_mm; /* beyond through_mm the circle is not wholly outside for so long */
  size_t serves_count;
  uint32_t serves[16]; /* peak ids */
  double air_mm3;      /* what it lets out that no other vent does */
  double moved_mm;     /* how far the mouth is from the peak: moved in by the radius at an edge */
  bool ok;             /* a hole can be made here */
  char note[200];      /* why it is where it is; or why it can't be made */
} ul_vent;

typedef struct ul_vents_opts {
  unsigned cookie;
  double void_ok_mm3;
  size_t at_most;
  double diameter_mm; /* from the shop's set */
  double draw[3];     /* unit, or zeros: none known */
} ul_vents_opts;
ul_vents_opts ul_vents_opts_default(void);

typedef struct ul_vents {
  size_t count;
  ul_vent *vent;
  double left_mm3; /* air that no vent lets out */
} ul_vents;

/* The fewest vents that leave no pocket above void_ok, chosen by the air tree; a wide flat top is
 * vented at the ends of its extent. Each is put on the mesh, moved in by its radius where an edge
 * is near, along the draw where that leaves the surface outward, else along the outward axis
 * nearest to up, and followed to the outside of the tool: it may not meet a cavity again. UL_OK:
 * *out is yours, ul_vents_free(). */
ul_status ul_vents_choose(const ul_solid *solid, const ul_heights *heights, const ul_peaks *peaks,
                          const ul_tool *tool, const ul_vents_opts *opts, ul_vents **out,
                          ul_error *err);
void ul_vents_free(ul_vents *vents);

#endif
