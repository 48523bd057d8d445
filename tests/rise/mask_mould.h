/* mask_mould.h - a lidded mould of whole cubes, level, poured in the middle of its floor, with the
 * options of its rise. The reference foam is ul_foam_middling(): 1080 and 64 kg/m3, cream 25, gel
 * 80, rise 110 s. */
#ifndef TEST_RISE_MASK_MOULD_H
#define TEST_RISE_MASK_MOULD_H

#include "rise/mask.h"
#include "ullage/rise.h"

typedef struct mould {
  double size[3];
  ul_grid *grid;
  float *mobility;
  double pour[3];
  ul_rise_vent vent[8];
  ul_rise_opts opts;
} mould;

/* Pack 1.25, poured by 10 s. Release with free_mould(). */
void make_mould(mould *m, double x, double y, double z, double cube_mm, mask_fn inside,
                double half_gap_mm);
void free_mould(mould *m);

/* Through 25 mm of tool, left open. */
void add_vent(mould *m, double x, double y, double z, double diameter_mm);
/* In the four corners of the lid. */
void vent_corners(mould *m, double diameter_mm);

/* One rise on one thread, its books and its pressures looked through. Yours, ul_rise_free(). */
ul_rise *rise(const ul_grid *grid, const ul_rise_opts *opts);

/* All voids of the first cavity, mm3. */
double trapped(const ul_rise *rise);

#endif
