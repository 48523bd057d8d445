/* rise.h - the foam rises: expanding, viscous and compressible, against trapped and vented air. */
#ifndef ULLAGE_RISE_H
#define ULLAGE_RISE_H

#include <stdbool.h>

#include "ullage/foam.h"
#include "ullage/grid.h"

/* A hole through the tool; also one that the charge was poured through. */
typedef struct ul_rise_vent {
  double at_mm[3];
  double diameter_mm;
  double length_mm; /* of tool it goes through */
  bool plug;        /* plugged as soon as foam shows; else left, and then it bleeds foam */
} ul_rise_vent;

typedef struct ul_rise_opts {
  unsigned cookie;
  ul_foam foam;
  double up[3];                   /* any length above 0 */
  double poured_up[3];            /* poured and shut so, and then turned to `up`; zeros: as `up` */
  const double (*pour_mm)[3];     /* one point a cavity, NAN: the middle of its lowest floor or
                                     edge; NULL: so for all */
  const double (*pour_end_mm)[3]; /* one a cavity: the charge is spread evenly along the line to
                                     there; NAN, or NULL for all: it lands at the point */
  bool pour_moves; /* out of a part of the cavity without room for the liquid, to the nearest with:
                      for cubes too coarse for what joins the parts. Else that is an error */
  const bool *poured_shut; /* one a cavity: poured through a hole of the shut mould, so that nothing
                              runs out at its rim but through a seam that gapes; NULL: none is */
  const ul_rise_vent *vent;
  size_t vent_count;
  double pack;          /* charge as a multiple of free rise; 0: the middle of the card's span */
  const double *more_g; /* one a cavity, 0 or more: poured besides, for what holes left open lose;
                           NULL: nothing */
  double poured_s;      /* end of pouring, from the start of mixing */
  double shut_s, turned_s; /* where it is turned: it begins, and it lies in `up` */
  bool has_parting; /* the halves meet in this plane: its rim is where an open pour may spill */
  double parting_mm[3], parting_normal[3];
  double seam_gap_mm, seam_land_mm; /* how far apart the halves stand, and how deep the faces are
                                       that meet; 0: tight */
  const float *seam_mm; /* per cube of the lattice, as ul_seam_lengths() gives; NULL: no seam */
  bool open;            /* air may leave everywhere: the arrival that vents are chosen from */
  const float
      *mobility_mm2;    /* per cube of the lattice, as ul_mobility() gives; NULL: it is called */
  bool wet_mobility;    /* that of the part that holds foam, found anew each time it has grown by a
                           tenth; else that of the whole cavity. Needs `columns` */
  double step_factor;   /* scales every limit on the step: 1, smaller for a finer one */
  double settle_factor; /* and this what a step may leave undone */
} ul_rise_opts;
ul_rise_opts ul_rise_opts_default(void);

typedef struct ul_rise_void {
  double at_mm[3];     /* its highest point */
  double air_mm3;      /* when it was cut off */
  double void_mm3;     /* at set */
  double kept_mm3;     /* its moles at set, as the volume they take at atmospheric pressure */
  double cut_off_s;    /* from the start of mixing */
  double across_mm;    /* largest extent */
  double pressure_kpa; /* gauge, at set */
} ul_rise_void;

/* How one cavity came out. Times from the start of mixing; pressures gauge. */
typedef struct ul_rise_cavity {
  double end_s;           /* set */
  double filled_fraction; /* foam's share of the cavity */
  double short_mm3;       /* left empty although its air could leave: short fill, not trapped air */
  double short_kpa;       /* mean pressure of the air there */
  size_t void_count;
  ul_rise_void *voids; /* largest first */
  double last_reached_mm[3];
  double last_reached_s;
  double rim_over_mm; /* the liquid stood so much over the rim while the mould was open (with a
                         seam that gapes: until it creamed); 0 where it is poured shut and tight */
  double rim_at_mm[3];
  double seam_mm; /* its length, where it is not tight */
  double seam_shows_s, seam_bled_g;
  double rim_s; /* when foam was at the parting plane's rim; NAN: never, or no plane is known */
  double pour_mm[3], pour_end_mm[3]; /* the end NAN: a point */
  double unreached_mm3;              /* of the cavity, that cubes do not join to the pour */
  double unreached_at_mm[3];
  double peak_kpa, peak_s;
  double end_kpa;                                /* mean over the foam at set */
  double density_mean, density_min, density_max; /* kg/m3 of cubes full of foam, overall, ISO 845 */
  double mass_in_g, mass_out_g;
  double mass_error; /* (in - out - held) / in */
  double air_error;  /* (there - left - vented - taken into the foam) / there, as moles */
  double air_there_mm3, air_vented_mm3, air_taken_mm3; /* those, as volumes at atmospheric pressure;
                                                          0 where air may leave everywhere */
  size_t solves, solver_iterations;                    /* what it took */
  size_t wet_mobilities;                               /* how often the mobility was found anew */
  size_t rough_steps; /* steps that went on although their pressures had not settled; masses close
                         in them as in all */
  double puddle_mm;   /* how far the charge had spread by cream; 0: it lay level */
} ul_rise_cavity;

typedef struct ul_rise_vent_seen {
  uint32_t cavity;
  double foam_shows_s; /* NAN: never */
  double clogs_s;      /* its mouth covered all over; NAN: never */
  double bled_g;
  double liquid_over_mm; /* the liquid stood so much over it before cream; 0: it stayed below */
} ul_rise_vent_seen;

/* X(name, word in JSON and text) */
#define UL_RISE_EVENT_LIST(X)                                                                      \
  X(UL_RISE_POURED, "poured")                                                                      \
  X(UL_RISE_LIQUID, "liquid stands over an opening")                                               \
  X(UL_RISE_TURNED, "turned")                                                                      \
  X(UL_RISE_CREAM, "cream")                                                                        \
  X(UL_RISE_SHOWS, "foam shows at a vent")                                                         \
  X(UL_RISE_CLOGS, "vent covered")                                                                 \
  X(UL_RISE_SEAM, "foam shows at the seam")                                                        \
  X(UL_RISE_CUT_OFF, "air cut off")                                                                \
  X(UL_RISE_FULL, "full")                                                                          \
  X(UL_RISE_GEL, "gel")                                                                            \
  X(UL_RISE_SET, "set")
#define UL_RISE_EVENT_AS_ENUM(name, word) name,
typedef enum { UL_RISE_EVENT_LIST(UL_RISE_EVENT_AS_ENUM) UL_RISE_EVENT_END } ul_rise_event_kind;
const char *ul_rise_event_word(ul_rise_event_kind kind);

typedef struct ul_rise_event {
  double s;
  uint32_t cavity;
  ul_rise_event_kind kind;
  uint32_t vent; /* 0-based, of the vents given; UINT32_MAX: none */
  bool has_place;
  double at_mm[3];
  double air_mm3; /* of air that is cut off: how much; else 0 */
} ul_rise_event;

/* One step of one cavity. */
typedef struct ul_rise_sample {
  double s;
  uint32_t cavity;
  double filled_fraction;
  double peak_kpa;
  double air_mm3, sealed_mm3;
} ul_rise_sample;

typedef struct ul_rise {
  float
      *arrival_s; /* per cube of the lattice: when it was half full; NAN outside, INFINITY never */
  float *pressure_kpa; /* per cube of the lattice: gauge, at set, of what it holds; NAN outside */
  int32_t *void_id;    /* per cube of the lattice: the void of its cavity that its air belongs to,
                          counted from 1; 0: none; -1: left empty although its air could leave */
  size_t cavity_count;
  ul_rise_cavity *cavity;
  size_t vent_count;
  ul_rise_vent_seen *vent; /* as given */
  size_t event_count;
  ul_rise_event *event; /* by time */
  size_t sample_count;
  ul_rise_sample *sample; /* cavity by cavity, by time */
} ul_rise;

/* Fills every cavity of `grid`. Model: creeping flow of a compressible foam with the pressures of
 * foam and air in one system, the front as a complementarity problem on cubes (docs/model.md).
 * Errors: UL_E_OUTSIDE for a pour or vent out of place, UL_E_USAGE for a charge that is more than
 * the cavity holds as liquid, UL_E_CARD. UL_OK: *out is yours, ul_rise_free(). */
ul_status ul_rise_run(const ul_grid *grid, const ul_columns *columns, const ul_rise_opts *opts,
                      const ul_job *job, ul_rise **out, ul_error *err);
void ul_rise_free(ul_rise *rise);

#endif
