/* pours.h - how the charge goes in, as the options say it. */
#ifndef UL_MAIN_POURS_H
#define UL_MAIN_POURS_H

#include "main/cavity_case.h"

/* Per cavity of the solid; NAN where nobody said. */
typedef struct pours {
  double (*at_mm)[3];  /* from --pour, or below the --pour-hole */
  double (*end_mm)[3]; /* the other end of a line */
  bool *shut;          /* poured through a hole of the shut mould */
  float *seam_mm;      /* as ul_seam_lengths() gives; NULL: tight */
} pours;

/* `grid` is the one that will be filled. */
ul_status pours_find(const cavity_case *c, const ul_grid *grid, pours *out, ul_error *err);
/* Where nobody said: where the foam was poured in that rise, so that one place is told. */
ul_status pours_as_risen(const ul_rise *rise, pours *p, ul_error *err);
void pours_free(pours *p);

/* How it goes in, how it lies meanwhile, and when: into the options of a rise that ends at `up`. */
void pours_into(const cavity_case *c, const pours *p, ul_rise_opts *rise);
/* The pour holes as vents, after those that `vent` holds already. */
void pours_holes(const options *opts, ul_rise_vent *vent, size_t *count);

/* The clock as the hands go. What it has to keep to: in each cavity the pour hole, or the rim where
 * a parting plane is known, in the attitude in which it is poured; `rise` where there was one, or
 * NULL. `up` is the tilt. */
ul_status pours_clock(const cavity_case *c, const ul_foam *foam, double pack, const double up[3],
                      const ul_rise *rise, size_t first_hole, ul_clock *out, ul_error *err);

/* How to pour where it is not simply at a place from above in the tilt: in which attitude, through
 * which hole, along which line. "" when it is. Returns `out`. */
enum { POUR_WORDS = 400 };
const char *pours_how(const options *opts, char out[POUR_WORDS]);
/* A seam that gapes, in words; nothing when it is tight. */
void pours_show_seam(const options *opts);
/* The clock as a few lines. */
void pours_show_clock(const ul_clock *clock, const ul_foam *foam, const options *opts);

#endif
