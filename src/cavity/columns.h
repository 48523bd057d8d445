/* columns.h - building only some of the bundles, for those who need no more. */
#ifndef UL_CAVITY_COLUMNS_H
#define UL_CAVITY_COLUMNS_H

#include "ullage/columns.h"

/* As ul_columns_build(), but only the bundles whose bit (1 << axis) is set in `axes`; the others
 * are left empty, with first == NULL. */
ul_status ul_columns_build_axes(const ul_solid *solid, const ul_solid *const *inserts,
                                size_t insert_count, const ul_lattice *lattice, unsigned axes,
                                const ul_job *job, ul_columns **out, ul_error *err);

#endif
