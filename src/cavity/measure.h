/* measure.h - measures of a triangle set, computed block by block on several threads. */
#ifndef UL_CAVITY_MEASURE_H
#define UL_CAVITY_MEASURE_H

#include "ullage/solid.h"

/* ul_measure_triangles(), on the job's threads and with the same bytes. UL_E_MEMORY. */
ul_status ul_measure_parallel(const ul_mesh *mesh, const uint32_t *triangle_ids, size_t count,
                              const ul_job *job, ul_measure *out);

#endif
