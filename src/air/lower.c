#include "air/lower.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
  double height, at[3];
} place;

static int highest_first(const void *a, const void *b) {
  const place *p = a, *q = b;
  if (p->height != q->height) return p->height > q->height ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (p->at[c] != q->at[c]) return p->at[c] < q->at[c] ? -1 : 1;
  return 0;
}

static size_t gather(const ul_bore_site *site, place *list) {
  size_t n = 0;
  const ul_mesh *m = site->cavity;
  double top = ul_dot(site->up, site->at_mm);
  for (size_t t = 0; t < m->triangle_count; t++) {
    if (site->kept && site->kept[t]) continue;
    double at[4][3] = {{0}};
    for (int k = 0; k < 3; k++) {
      ul_copy3(m->vertex_mm[m->triangle[t][k]], at[k]);
      ul_add_scaled(at[3], 1.0 / 3, at[k], at[3]);
    }
    for (int k = 0; k < 4; k++) {
      double height = ul_dot(site->up, at[k]);
      if (height > top + 1e-9) continue;
      list[n].height = height;
      ul_copy3(at[k], list[n++].at);
    }
  }
  return n;
}

static bool is_near_one(double (*taken)[3], size_t count, const double at[3], double apart) {
  for (size_t i = 0; i < count; i++)
    if (ul_distance(taken[i], at) < apart) return true;
  return false;
}

ul_status ul_lower_places(const ul_bore_site *site, double apart, size_t most, double (*out)[3],
                          size_t *count, ul_error *err) {
  *count = 0;
  place *list = ul_new_raw(4 * site->cavity->triangle_count, sizeof *list);
  if (!list) return ul_fail_memory(err);
  size_t n = gather(site, list);
  qsort(list, n, sizeof *list, highest_first);
  for (size_t i = 0; i < n && *count < most; i++)
    if (!is_near_one(out, *count, list[i].at, apart)) ul_copy3(list[i].at, out[(*count)++]);
  free(list);
  return UL_OK;
}
