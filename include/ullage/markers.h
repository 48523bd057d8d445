/* markers.h - the vents as files for a mould maker: solids to subtract, flags to look at, a table.
 */
#ifndef ULLAGE_MARKERS_H
#define ULLAGE_MARKERS_H

#include "ullage/vents.h"

/* Cylinders to subtract from the tool, one part "vent N" each, for the vents that can be made: from
 * back_mm before the mouth (1 mm inside the cavity where there is room) to 2 mm past the tool's
 * outside. Each has 48 sides that touch the hole's circle, so that a pin of its diameter goes
 * through: corners stand 0.2 % outside it. UL_OK: *out is yours. UL_E_EMPTY if no vent can be made.
 */
ul_status ul_markers_cutters(const ul_vents *vents, ul_mesh **out, ul_error *err);
/* An arrow with a pennant, size_mm long, on every vent's mouth and along its axis; on +z and named
 * "vent N (no hole)" where none can be made. To look at: pennant and pin overlap. UL_OK: *out is
 * yours. UL_E_EMPTY if there are no vents, UL_E_USAGE for a size that is not above 0. */
ul_status ul_markers_flags(const ul_vents *vents, double size_mm, ul_mesh **out, ul_error *err);
/* Binary STL, mm, coordinates rounded to the nearest float. Written whole or not at all: beside
 * `path`, then renamed. Same mesh, same bytes. UL_E_WRITE with the system's reason; UL_E_NUMBER for
 * a coordinate that is no float; UL_E_LIMIT above 2^32-1 triangles. */
ul_status ul_write_stl(const ul_mesh *mesh, const char *path, ul_error *err);
/* A header row with units, then one vent a row: id, cavity (from 1), mouth, axis, diameter, length,
 * where it comes out, air, how far it was moved, peaks served (apart by spaces), ok, note. RFC
 * 4180, UTF-8, a point as decimal mark in any locale; mm to 0.001. Written as ul_write_stl() is. */
ul_status ul_write_vents_csv(const ul_vents *vents, const char *path, ul_error *err);

#endif
