/* finish.h - from triangles in a file's unit and axes to a cavity's mesh in mm, +z up, welded. */
#ifndef UL_CAVITY_FINISH_H
#define UL_CAVITY_FINISH_H

#include "ullage/import.h"

/* Changes `mesh` in place and fills the rest of *info: unit, weld, notes. mm_per_unit 0: the file
 * carries no unit; `up`: the axis it calls so. Errors: UL_E_EMPTY, _FLAT, _MEMORY. */
ul_status ul_import_finish(ul_mesh *mesh, double mm_per_unit, char up, const ul_import_opts *opts,
                           ul_import_info *info, ul_error *err);
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void ul_import_note(ul_import_info *info, const char *format, ...);

#endif
