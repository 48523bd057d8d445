/* shown.h - voids on faces that show. */
#ifndef UL_MAIN_SHOWN_H
#define UL_MAIN_SHOWN_H

#include "main/plan.h"

/* The largest void of the plan's rise that lies on a face of --show-side and is more than may be
 * let be there, a tenth of --void-ok (the program's own choice): its volume, and its place to
 * at_mm; 0: there is none. */
double shown_void_mm3(const cavity_case *c, const plan *p, double at_mm[3]);

#endif
