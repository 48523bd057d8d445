/* shown.h - voids on faces that show. */
#ifndef UL_MAIN_SHOWN_H
#define UL_MAIN_SHOWN_H

#include "main/plan.h"

/* Of --void-ok, what may be let be on a face that shows: the program's own choice. */
#define SHOWN_SHARE 0.1

/* The largest void of the plan's rise that lies on a face of --show-side and is more than may be
 * let be there, SHOWN_SHARE of --void-ok: its volume, and its place to at_mm; 0: there is none. */
double shown_void_mm3(const cavity_case *c, const plan *p, double at_mm[3]);

#endif
