/* field_vti.h - a rise cube by cube, for programs that look at volumes. */
#ifndef UL_REPORT_FIELD_VTI_H
#define UL_REPORT_FIELD_VTI_H

#include "report/rise_told.h"
#include "ullage/grid.h"

/* VTK image data (the XML format .vti; values per cell, appended as base64), mm, in the axes of
 * the mesh, whole or not at all: arrival_s, pressure_kpa at set, half_gap_mm (nan outside; arrival
 * also where foam never comes), cavity (its number in the file; 0 outside), void_id (of its cavity,
 * the largest is 1; 0 none; -1 left empty although its air could leave). Without a known foam
 * arrival_share, of the rise's time, stands for the seconds, and there is no pressure. */
ul_status ul_write_field_vti(const ul_rise_told *told, const ul_grid *grid, const char *path,
                             ul_error *err);

#endif
