/* markers.h - the vents as files for a mould maker: solids to subtract, flags to look at, a table.
 */
#ifndef ULLAGE_MARKERS_H
#define ULLAGE_MARKERS_H

#include "ullage/datum.h"
#include "ullage/mesh_files.h"
#include "ullage/vents.h"

/* Solids to subtract from the tool, one part each, for the vents that can be made: "vent N" and,
 * where a parting is known, its half. A hole is a cylinder, wider from its land on where it has a
 * relief; a groove a box from the parting face into its half, to be taken from that half alone.
 * From back_mm before the mouth (its whole rim 1 mm inside the cavity where there is room) to 2 mm
 * past past_mm, where its whole rim is outside the tool. A cylinder has 48 sides that touch the
 * hole's circle, so that a pin of its diameter goes through: corners stand 0.2 % outside it. UL_OK:
 * *out is yours. UL_E_EMPTY if no vent can be made.
 */
ul_status ul_markers_cutters(const ul_vents *vents, ul_mesh **out, ul_error *err);
/* An arrow with a pennant, size_mm long, on every vent's mouth and along its axis; on +z and named
 * "vent N (no hole)" where none can be made. To look at: pennant and pin overlap. UL_OK: *out is
 * yours. UL_E_EMPTY if there are no vents, UL_E_USAGE for a size that is not above 0. */
ul_status ul_markers_flags(const ul_vents *vents, double size_mm, ul_mesh **out, ul_error *err);
/* What a vent's part is called in both. */
enum { UL_MARKER_NAME = 48 };
void ul_marker_name(const ul_vent *vent, char out[UL_MARKER_NAME]);
/* `mesh` and `more` as one, parts of `mesh` first. UL_OK: *out is yours. */
ul_status ul_mesh_join(const ul_mesh *mesh, const ul_mesh *more, ul_mesh **out, ul_error *err);

/* A header row with units, then one vent a row: id, cavity (from 1), mouth, axis, diameter, length,
 * where it comes out, air, how far it was moved, peaks served (apart by spaces), ok, note, what
 * places and axes are measured from (NULL: the file's origin and axes), kind, width and depth of a
 * groove, land, relief (each empty for none), half, leave or plug, air that stays. RFC 4180, UTF-8,
 * a point as decimal mark in any locale; mm to 0.001. Written whole or not at all, as meshes are.
 */
ul_status ul_write_vents_csv(const ul_vents *vents, const ul_datum *datum, const char *path,
                             ul_error *err);

/* A drill layout: the vents seen along a direction, as flat drawing. */
typedef struct ul_layout {
  ul_datum datum; /* what is measured from: the drawing's origin */
  double view[3]; /* what it is seen along, unit, in the file's axes; zeros: the axis that more than
                     one hole share, or else the datum's that they lie along best */
  double box_mm[2][3]; /* the tool's, drawn as an outline */
} ul_layout;
/* DXF R12 text, mm: layer OUTLINE the tool, DATUM a cross and the datum's axes with their names,
 * and for each drill size a layer DRILL-3_0-MM with its holes and their numbers. A hole along the
 * view is a circle, and says so when it is drilled from the far side; another is the line of its
 * axis from the mouth to where it comes out, and says its axis. Places are the table's: seen along
 * the datum's z from its +z side (x, y), along its y from -y (x, z), along its x from +x (y, z);
 * along a direction between these from the side of the nearest. UL_E_EMPTY when
 * no vent can be made. */
ul_status ul_write_vents_dxf(const ul_vents *vents, const ul_layout *layout, const char *path,
                             ul_error *err);

#endif
