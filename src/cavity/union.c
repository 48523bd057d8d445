#include "cavity/union.h"

#include "base/vec.h"
#include "cavity/measure.h"

#include <math.h>

/* What pieces smaller than a touch do to a skin that closes is less; any other taken wrongly that
 * matters does more. */
static const double CLOSED = 1e-5;

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

/* -- whether pieces were taken wrongly -- */

/* Of a closed skin the normals, weighed by area, add up to nothing, and the volume is the same by
 * x, by y and by z. By how much of its size this is not so. */
static double gap_of(const ul_mesh *fans) {
  double box[2][3], normal[3] = {0}, volume[3] = {0}, area = 0;
  ul_mesh_box_mm(fans, box);
  for (size_t t = 0; t < fans->triangle_count; t++) {
    const double *a = fans->vertex_mm[fans->triangle[t][0]],
                 *b = fans->vertex_mm[fans->triangle[t][1]],
                 *c = fans->vertex_mm[fans->triangle[t][2]];
    double ab[3], ac[3], n[3];
    ul_sub(b, a, ab);
    ul_sub(c, a, ac);
    ul_cross(ab, ac, n);
    area += ul_norm(n) / 2;
    for (int k = 0; k < 3; k++) {
      normal[k] += n[k] / 2;
      volume[k] += n[k] / 2 * ((a[k] + b[k] + c[k]) / 3 - box[0][k]);
    }
  }
  const double least = fmin(volume[0], fmin(volume[1], volume[2]));
  const double most = fmax(volume[0], fmax(volume[1], volume[2]));
  if (!(least > 0)) return INFINITY;
  return fmax(ul_norm(normal) / area, (most - least) / most);
}

static ul_status measure_skin(const ul_skin *skin, const ul_job *job, ul_measure *out,
                              double *gap) {
  *out = (ul_measure){0};
  if (skin->piece_count == 0) return UL_OK;
  ul_mesh *fans = NULL;
  ul_status status = as_triangles(skin, &fans);
  if (status == UL_OK) status = ul_measure_parallel(fans, NULL, fans->triangle_count, job, out);
  if (status == UL_OK) *gap = gap_of(fans);
  ul_mesh_free(fans);
  return status;
}

ul_status ul_skin_measure(const ul_skin *skin, const ul_job *job, ul_measure *out) {
  double gap;
  return measure_skin(skin, job, out, &gap);
}

/* Surfaces a few touches apart are neither in one place nor apart: pieces of both or of neither are
 * taken. With so much finer touches they are apart; the first with which the skin closes is right.
 */
ul_status ul_union_measure(const ul_mesh *mesh, size_t whole, bool plain, double touch_mm,
                           const ul_job *job, ul_measure *out) {
  static const double finer[] = {1, 1.0 / 64, 1.0 / 4096};
  double least = INFINITY;
  ul_status status = UL_OK;
  *out = (ul_measure){0};
  for (size_t i = 0; status == UL_OK && least > CLOSED && i < sizeof finer / sizeof *finer; i++) {
    ul_skin skin;
    ul_measure measure;
    double gap = 0;
    status = ul_skin_cut(mesh, whole, plain, finer[i] * touch_mm, job, &skin);
    if (status == UL_OK) status = measure_skin(&skin, job, &measure, &gap);
    ul_skin_clear(&skin);
    if (status != UL_OK || !(i == 0 || gap < least)) continue;
    least = gap;
    *out = measure;
  }
  return status;
}
