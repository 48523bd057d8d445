/* union.h - the measures of what shells that pass through one another enclose together. */
#ifndef UL_CAVITY_UNION_H
#define UL_CAVITY_UNION_H

#include "cavity/skin.h"
#include "ullage/solid.h"

/* Volume, area and so on of what the skin encloses; all zeros where there is none. UL_OK,
 * UL_E_MEMORY, UL_E_STOPPED, UL_E_LIMIT. */
ul_status ul_skin_measure(const ul_skin *skin, const ul_job *job, ul_measure *out);
/* The same of the skin that ul_skin_cut() finds; where that does not close, as of surfaces a few
 * touches apart, with finer touches. */
ul_status ul_union_measure(const ul_mesh *mesh, size_t whole, bool plain, double touch_mm,
                           const ul_job *job, ul_measure *out);

#endif
