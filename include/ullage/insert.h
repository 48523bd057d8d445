/* insert.h - what is cast in: solids that are taken out of a cavity. */
#ifndef ULLAGE_INSERT_H
#define ULLAGE_INSERT_H

#include "ullage/columns.h"

/* The triangles of `cavity` (NULL: none) and of all inserts in one mesh, the inserts `turned`
 * inside out or not. Turned, the mesh winds once round what is cavity and no insert, and never
 * more. Parts keep their names. UL_OK: *out is yours. */
ul_status ul_inserts_join(const ul_mesh *cavity, const ul_solid *const *insert, size_t count,
                          bool turned, ul_mesh **out, ul_error *err);

/* Each cavity less the inserts, within the skin that their surfaces make together, all in one
 * solid: as exact as any other. A cavity cut in two is two there, in its place in the order; a
 * hollow that is sealed in or between inserts is taken for full. *out is NULL if no clean skin
 * comes of it: no closed one, one through itself, one that has not the volume and area of its
 * pieces within 1e-5 (surfaces may lie in one another within rounding), or if nothing is left of a
 * cavity. Then the inserts are for ul_columns_build() and ul_grid_build() to take out. UL_OK: *out
 * is yours. */
ul_status ul_inserts_cut(const ul_solid *solid, const ul_solid *const *insert, size_t count,
                         const ul_job *job, ul_solid **out, ul_error *err);

/* What the inserts leave of each cavity, to `left`, one measure a cavity: exact for the polyhedra,
 * wherever the inserts lie. All zeros where nothing is left. */
ul_status ul_inserts_measure(const ul_solid *solid, const ul_solid *const *insert, size_t count,
                             const ul_job *job, ul_measure *left, ul_error *err);

/* Volume of the cavities that one insert takes up. 0: it lies outside. */
ul_status ul_insert_displaces_mm3(const ul_solid *solid, const ul_solid *insert, const ul_job *job,
                                  double *volume_mm3, ul_error *err);

#endif
