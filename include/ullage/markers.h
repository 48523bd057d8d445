/* markers.h - the vents as files for a mould maker: solids to subtract, flags to look at, a table.
 */
#ifndef ULLAGE_MARKERS_H
#define ULLAGE_MARKERS_H

#include "ullage/vents.h"

/* Closed cylinders to subtract from the tool: from 1 mm inside the cavity to past the tool's
 * outside. UL_OK: *out is yours. */
ul_status ul_markers_cutters(const ul_vents *vents, ul_mesh **out, ul_error *err);
/* Pins with a flag standing on the vents, one named part each, to look at. */
ul_status ul_markers_flags(const ul_vents *vents, double size_mm, ul_mesh **out, ul_error *err);
/* Binary STL, written beside `path` and renamed. */
ul_status ul_write_stl(const ul_mesh *mesh, const char *path, ul_error *err);
/* id, place, axis, diameter, length, air; RFC 4180, point as decimal mark in any locale. */
ul_status ul_write_vents_csv(const ul_vents *vents, const char *path, ul_error *err);

#endif
