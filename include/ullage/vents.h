/* vents.h - where to let the air out, as holes a shop can make. */
#ifndef ULLAGE_VENTS_H
#define ULLAGE_VENTS_H

#include "ullage/attitude.h"
#include "ullage/drills.h"
#include "ullage/level.h"
#include "ullage/parting.h"

/* X(name, word in JSON and on the command line) */
#define UL_VENT_KIND_LIST(X)                                                                       \
  X(UL_VENT_HOLE, "hole")                                                                          \
  X(UL_VENT_GROOVE, "groove") /* scraped in the parting face: cleans out, leaves flash not a post  \
                               */
#define UL_DRILL_ALONG_LIST(X)                                                                     \
  X(UL_ALONG_DRAW, "draw")                                                                         \
  X(UL_ALONG_NORMAL, "normal") /* of the surface */                                                \
  X(UL_ALONG_UP, "up")         /* the main axis nearest to up */
#define UL_VENT_MADE_LIST(X)                                                                       \
  X(UL_MADE_DRILLED, "drilled")                                                                    \
  X(UL_MADE_SCRAPED, "scraped")                                                                    \
  X(UL_MADE_CAST_IN, "cast in")                                                                    \
  X(UL_MADE_PUNCHED, "punched")                                                                    \
  X(UL_MADE_PRINTED, "printed in")
#define UL_VENT_AS_ENUM(name, word) name,
typedef enum { UL_VENT_MADE_LIST(UL_VENT_AS_ENUM) UL_VENT_MADE_END } ul_vent_made;
const char *ul_vent_made_word(ul_vent_made made);
typedef enum { UL_VENT_KIND_LIST(UL_VENT_AS_ENUM) UL_VENT_KIND_END } ul_vent_kind;
typedef enum { UL_DRILL_ALONG_LIST(UL_VENT_AS_ENUM) UL_DRILL_ALONG_END } ul_drill_along;
const char *ul_vent_kind_word(ul_vent_kind kind);
const char *ul_drill_along_word(ul_drill_along along);
const char *ul_vent_half_word(int half); /* "upper", "lower"; "" where no parting is known */

typedef struct ul_vent {
  uint32_t id;      /* 1-based */
  uint32_t cavity;  /* 0-based */
  double at_mm[3];  /* centre of the mouth, on the cavity's surface; the peak's place if not ok */
  double for_mm[3]; /* the place that it is to vent */
  double axis[3];   /* unit, out of the cavity; if not ok, the way it would best have gone */
  ul_vent_kind kind;
  double diameter_mm;   /* of a groove: of the round hole of its area */
  double width_mm;      /* of a groove, along the parting face; 0 for a hole */
  double depth_mm;      /* of a groove, into the half it is scraped in */
  double face[3];       /* of a groove: unit, from the parting face into that half */
  int half;             /* in which half of the mould: 1 upper, -1 lower, 0 no parting is known */
  double land_mm;       /* so far from the mouth it has the vent's own size */
  double relief_mm;     /* from there on, from outside, it is opened to this diameter; 0: not */
  double length_mm;     /* from the mouth to the outside of the tool */
  double through_mm[3]; /* where its centre line comes out of the tool */
  double back_mm; /* a cutter that begins this far before the mouth opens the whole circle into the
                     cavity, 1 mm deep or half of what air there is, and spares the wall opposite */
  double past_mm; /* beyond through_mm its circle, the relief's where it has one, is not wholly
                     outside for so long */
  size_t serves_count;
  uint32_t serves[16]; /* peak ids */
  double air_mm3;   /* what its peak lets out that no other vented peak does, shared equally among
                       the vents of one level top */
  double moved_mm;  /* how far the mouth is from for_mm: moved in by the radius at an edge */
  double stays_mm3; /* air of its pocket that stays because the mouth is not at the top */
  ul_vent_made made;
  double
      case_mm; /* of the hole in line with it through the rigid case of a soft tool; 0: no case */
  bool plug;   /* to be plugged when foam shows; else left open */
  bool exists; /* it is there already */
  bool closed; /* it is there, and to be plugged for good */
  bool ok;     /* it can be made */
  char note[640]; /* why it is where it is; or why it can't be made */
} ul_vent;

/* A place where a rise left air, or that foam reaches last: a hole there. */
typedef struct ul_vent_wish {
  double at_mm[3]; /* taken to the nearest place on the cavity's surface */
  uint32_t peak;   /* that it serves; 0: none, and then it is left out if it can't be made */
  uint32_t cavity; /* 0-based */
  double air_mm3;
} ul_vent_wish;

typedef struct ul_vents_opts {
  unsigned cookie;
  double void_ok_mm3;
  size_t at_most;
  double diameter_mm;        /* from the shop's set */
  double draw[3];            /* unit, or zeros: none known */
  const ul_parting *parting; /* NULL, or without a plane: no grooves */
  ul_drill_along along;
  ul_drill_set drills; /* for the relief */
  double land_mm;
  bool plug;
  const ul_solid *const *insert; /* cast in: no hole may go through one */
  size_t insert_count;
  bool inserts_are_cut;         /* they are in the solid already (ul_inserts_cut()) */
  const ul_solid *const *other; /* cavities of the same tool that the solid leaves out: no hole may
                                   meet one */
  size_t other_count;
  const double (*keep_box)[2][3]; /* no vent may pass through these */
  size_t keep_box_count;
  const char *const *keep_part; /* no mouth on these named parts of the mesh */
  size_t keep_part_count;
  bool only_wishes;    /* and not what the heights ask for */
  const ul_vent *keep; /* that exist: first in the list, as they are */
  size_t keep_count;
  const ul_vent_at *hole; /* pour holes: there, too, but in no list; air leaves by them */
  size_t hole_count;
  ul_vent_made hole_made, groove_made;
  bool has_case;            /* a rigid case round a soft tool: holes go through it too */
  const ul_vent_wish *wish; /* beside those that the heights ask for; not counted by at_most */
  size_t wish_count;
  unsigned show_sides; /* bit 0 -x, 1 +x, ... 5 +z: no mouth on faces within 45 degrees of it */
} ul_vents_opts;
ul_vents_opts ul_vents_opts_default(void);

typedef struct ul_vents {
  size_t count;
  ul_vent *vent;
  double left_mm3; /* air that no vent lets out, the mouths being where they are: what lies above a
                      mouth in its pocket counts; exact where the mesh is the cavity's wall */
} ul_vents;

/* The fewest vented peaks that, with what is there already, leave no pocket above void_ok in the
 * attitude of `peaks`; when at_most (with those kept and not closed) is fewer, those that let out
 * the most air, by the air tree, though one for each cavity first. A wide flat top is vented at the
 * ends of its extent, as far as at_most goes; or in its middle alone, by a groove that leaves no
 * more over any end, 2 degrees off in any direction, too. Each hole is fitted to the mesh: its
 * whole circle breaks in, moved in where an edge is near; along the draw where that leaves the
 * surface outward, else along the outward main axis nearest to up, unless the mouth would leave
 * more than void_ok of the peak's pocket and another axis or the surface's normal leaves less; and
 * it is followed to the outside of the tool: it may not meet a cavity again. Mouths that would
 * overlap are one vent. A peak that no hole reaches stays in the list, not ok, with the reason.
 * Deterministic. UL_OK: *out is yours, ul_vents_free(). Errors: UL_E_USAGE for options that make no
 * sense, UL_E_OUTSIDE for peaks of another cavity, UL_E_MEMORY. */
ul_status ul_vents_choose(const ul_solid *solid, const ul_heights *heights, const ul_peaks *peaks,
                          const ul_tool *tool, const ul_vents_opts *opts, ul_vents **out,
                          ul_error *err);
void ul_vents_free(ul_vents *vents);

#endif
