#include "air/off.h"

#include "air/directions.h"
#include "base/fail.h"

#include <math.h>

void ul_off_clear(ul_off *off) {
  for (int i = 0; i < UL_OFF_WAYS; i++) ul_skin_tree_free(off->tree[i]);
  *off = (ul_off){{NULL}};
}

static ul_status lie(ul_off *off, const ul_skin_tree *skin, int way) {
  double up[3];
  if (off->tree[way]) return UL_OK;
  ul_direction_beside(skin->up, UL_OFF_DEG, way, up);
  return ul_skin_tree_new(skin->view.surface, up, &off->tree[way]);
}

static ul_status leaves(const ul_skin_tree *tree, const double mouth[3], const double (*place)[3],
                        size_t count, double *most) {
  ul_outlet outlet, top;
  ul_status status = ul_outlet_at(tree, mouth, &outlet);
  for (size_t i = 0; status == UL_OK && i < count; i++) {
    status = ul_outlet_at(tree, place[i], &top);
    if (status == UL_OK) *most = fmax(*most, ul_outlet_leaves_at(tree, &outlet, &top));
  }
  return status;
}

ul_status ul_off_leaves(ul_off *off, const ul_skin_tree *skin, const double mouth_mm[3],
                        const double (*place_mm)[3], size_t count, double *most_mm3,
                        ul_error *err) {
  ul_status status = UL_OK;
  *most_mm3 = 0;
  for (int i = 0; status == UL_OK && i < UL_OFF_WAYS; i++) {
    status = lie(off, skin, i);
    if (status == UL_OK) status = leaves(off->tree[i], mouth_mm, place_mm, count, most_mm3);
  }
  return status == UL_OK ? UL_OK : ul_fail_memory(err);
}
