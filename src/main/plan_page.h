/* plan_page.h - the plan as report.html. */
#ifndef UL_MAIN_PLAN_PAGE_H
#define UL_MAIN_PLAN_PAGE_H

#include "main/plan.h"
#include "report/page.h"

ul_status plan_write_page(const cavity_case *c, const plan *p, const char *path, ul_error *err);

/* The moments of the level rise, by filled share; *count of them, yours (free()). NULL: no memory.
 */
ul_page_event *plan_level_moments(const cavity_case *c, const plan *p, size_t *count);
/* The moments of the foam's rise, by time; likewise. */
ul_page_event *plan_foam_moments(const cavity_case *c, const plan *p, size_t *count);
/* How high above the bench the highest place is that foam has reached by then. `arrival`: per cube.
 */
double plan_stands_mm(const plan *p, const ul_grid *grid, const float *arrival, double reached);
/* "Foam shows at holes 1 and 2", and what to do about it. `id`: of the plan's vents. */
void plan_say_shows(const plan *p, const uint32_t *id, size_t count, char text[400]);

#endif
