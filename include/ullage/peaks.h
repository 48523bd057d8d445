/* peaks.h - the high points of a cavity in one attitude, exactly, and the air each would hold. */
#ifndef ULLAGE_PEAKS_H
#define ULLAGE_PEAKS_H

#include "ullage/columns.h"
#include "ullage/tree.h"

/* What every attitude of one cavity shares: runs, from where down neighbouring runs see each other,
 * the mesh's corners and edges. Made once, read by any number of threads. `solid` and `columns`
 * must outlive it. UL_E_THIN when no column meets the cavity. */
typedef struct ul_heights ul_heights;

ul_status ul_heights_new(const ul_solid *solid, const ul_columns *columns, const ul_job *job,
                         ul_heights **out, ul_error *err);
void ul_heights_free(ul_heights *heights);

typedef enum { UL_PEAK_POINT, UL_PEAK_EDGE, UL_PEAK_FACE } ul_peak_kind;

/* One peak; what is cut off from it by 0.25 mm or less counts as its top, and on one level top by
 * up to extent x tan 0.5 deg: not across a rib.
 * Place, height, cut-off and pocket are those of the polyhedron, exact but for rounding, however
 * thin the air: they come from the mesh and not from the columns. Only where the mesh is not the
 * cavity's wall (inserts not cut out, overlapping shells not united) columns must do; a note says
 * so. */
typedef struct ul_peak {
  uint32_t id;       /* 1-based, highest first */
  uint32_t cavity;   /* 0-based */
  double at_mm[3];   /* on the mesh; the middle of a level edge or face */
  double height_mm;  /* dot(up, at) */
  double cut_off_mm; /* height at which it is cut off from a higher one; NAN for a cavity's
                        highest */
  double pocket_mm3; /* the connected cavity above cut_off that holds it, nested lower peaks
                        included; for a cavity's highest, the whole cavity */
  ul_peak_kind kind;
  double extent_mm; /* longest distance across the level top; 0 for a point */
  size_t end_count; /* the ends of the extent, where a flat top is vented: 1 to 8 */
  double end_mm[8][3];
  double half_gap_mm; /* thickness of the air there: shortest run half-length a cube below the top;
                         0 if no column meets it */
} ul_peak;

typedef struct ul_peaks_opts {
  unsigned cookie;
  double void_ok_mm3; /* peaks with smaller pockets are left out; those under one cube always are */
} ul_peaks_opts;

ul_peaks_opts ul_peaks_opts_default(void);

typedef struct ul_peaks {
  double up[3];
  size_t count;
  ul_peak *peak;     /* highest first; ties by place */
  size_t note_count; /* places where the columns, and so a search over tilts, are too coarse */
  char (*note)[200];
} ul_peaks;

/* `up`: any length above 0 (UL_E_USAGE). UL_OK: *out is yours, ul_peaks_free(). Thread-safe on one
 * `heights`. */
ul_status ul_peaks_find(const ul_heights *heights, const double up[3], const ul_peaks_opts *opts,
                        ul_peaks **out, ul_error *err);
void ul_peaks_free(ul_peaks *peaks);

/* Only what a search over attitudes needs, fast. On a mesh of up to 24,000 vertices the air tree is
 * the skin's own, and exact. On a larger one, and where the mesh is not the wall, it is that of the
 * runs along the axis nearest to `up`: places and levels are good to a cube, and pockets no deeper
 * than a few cubes come out too large by a layer half a cube thick. Either way a pocket under two
 * cubes of volume never counts, nor does one that a higher top's region holds. One scratch is for
 * one thread at a time; it grows to what it needs and stays so. */
typedef struct ul_air ul_air;
ul_status ul_air_new(const ul_heights *heights, ul_air **scratch, ul_error *err);
void ul_air_free(ul_air *scratch);

typedef struct ul_pocket {
  uint32_t cavity;
  double top_mm[3]; /* a highest place of it */
  double height_mm;
  double cut_off_mm; /* NAN for a cavity's highest */
  double pocket_mm3;
} ul_pocket;

/* Pockets of one attitude, highest first, at most `most`; *count is how many there are. Those under
 * void_ok_mm3 are left out. */
ul_status ul_air_pockets(ul_air *scratch, const double up[3], double void_ok_mm3, size_t most,
                         ul_pocket *pocket, size_t *count);
/* Air that stays when the cavity, lying at `up`, may let air out only at these places on its wall
 * (mesh frame): the volume of all regions that are cut off from every place while the foam rises
 * level; all of it when there is none. A place drains the wall within a cube of it, as a mouth does
 * that was moved in from an edge by its radius. One farther than four cubes from the cavity:
 * UL_E_OUTSIDE. */
ul_status ul_air_trapped_mm3(ul_air *scratch, const double up[3], const double (*vent_mm)[3],
                             size_t vent_count, double *trapped_mm3);
/* The largest single one of the regions that the last ul_air_trapped_mm3() added up. */
double ul_air_largest_mm3(const ul_air *scratch);

#endif
