/* star_peaks.h - the peaks of a body that is seen whole from the origin, by another method: the
 * tetrahedra from the origin to its triangles fill it, and a level that falls past their corners
 * joins what hangs together. */
#ifndef TEST_STRESS_STAR_PEAKS_H
#define TEST_STRESS_STAR_PEAKS_H

#include "ullage/mesh.h"

typedef struct star_peak {
  double at_mm[3];
  double height_mm, cut_off_mm; /* NAN: the highest */
  double pocket_mm3;
} star_peak;

/* All local maxima, in no order; *count of them, yours to free. No two vertices may be level. */
star_peak *star_peaks(const ul_mesh *mesh, const double up[3], size_t *count);

#endif
