#include "cavity/union.h"

#include "base/vec.h"
#include "cavity/measure.h"

/* Every piece as a fan from its first corner. */
static ul_status as_triangles(const ul_skin *skin, ul_mesh **out) {
  size_t count = 0, t = 0;
  for (size_t i = 0; i < skin->piece_count; i++) count += skin->piece[i].count - 2;
  if (skin->corner_count > UINT32_MAX || count > UINT32_MAX) return UL_E_LIMIT;
  ul_status status = ul_mesh_new(skin->corner_count, count, out, NULL);
  if (status != UL_OK) return status;
  for (size_t v = 0; v < skin->corner_count; v++) ul_copy3(skin->corner[v], (*out)->vertex_mm[v]);
  for (size_t i = 0; i < skin->piece_count; i++) {
    const uint32_t first = (uint32_t)skin->piece[i].first;
    for (uint32_t k = 1; k + 1 < skin->piece[i].count; k++, t++) {
      (*out)->triangle[t][0] = first;
      (*out)->triangle[t][1] = first + k;
      (*out)->triangle[t][2] = first + k + 1;
    }
  }
  return UL_OK;
}

ul_status ul_skin_measure(const ul_skin *skin, const ul_job *job, ul_measure *out) {
  *out = (ul_measure){0};
  if (skin->piece_count == 0) return UL_OK;
  ul_mesh *fans = NULL;
  ul_status status = as_triangles(skin, &fans);
  if (status == UL_OK) status = ul_measure_parallel(fans, NULL, fans->triangle_count, job, out);
  ul_mesh_free(fans);
  return status;
}

ul_status ul_union_measure(const ul_mesh *mesh, size_t whole, bool plain, double touch_mm,
                           const ul_job *job, ul_measure *out) {
  ul_skin skin;
  ul_status status = ul_skin_cut(mesh, whole, plain, touch_mm, job, &skin);
  if (status == UL_OK) status = ul_skin_measure(&skin, job, out);
  ul_skin_clear(&skin);
  return status;
}
