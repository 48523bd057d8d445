#include "air/ways.h"

#include "air/normal.h"
#include "base/vec.h"

const double ul_least_climb = -0.5;

static size_t add_way(ul_way *list, size_t count, ul_way_along along, const double axis[3],
                      const double up[3]) {
  if (ul_dot(axis, up) < ul_least_climb) return count;
  list[count].along = along;
  ul_copy3(axis, list[count].axis);
  return count + 1;
}

/* The six main axes, the one nearest to up first; of equals +x, -x, +y ... */
static size_t add_main_axes(ul_way *list, size_t count, const double up[3]) {
  size_t first = count;
  for (int side = 0; side < 6; side++) {
    double axis[3] = {0};
    axis[side / 2] = side % 2 ? -1 : 1;
    size_t end = add_way(list, count, UL_WAY_MAIN, axis, up);
    if (end == count) continue;
    ul_way added = list[count];
    size_t i = count;
    for (; i > first && ul_dot(list[i - 1].axis, up) < ul_dot(axis, up) - 1e-12; i--)
      list[i] = list[i - 1];
    list[i] = added;
    count = end;
  }
  return count;
}

static size_t add_draw(ul_way *list, size_t count, const double draw[3], const double up[3]) {
  if (ul_dot(draw, draw) == 0) return count;
  double sense = ul_dot(draw, up) < 0 ? -1 : 1, axis[3];
  for (int turn = 0; turn < 2; turn++, sense = -sense) {
    for (int c = 0; c < 3; c++) axis[c] = sense * draw[c];
    count = add_way(list, count, UL_WAY_DRAW, axis, up);
  }
  return count;
}

size_t ul_ways_list(const ul_bore_site *site, const ul_place_rules *rules,
                    ul_way list[UL_WAYS_MOST]) {
  size_t count = 0;
  double normal[3];
  if (rules->along == UL_ALONG_NORMAL && ul_surface_normal(site->cavity, site->at_mm, true, normal))
    count = add_way(list, count, UL_WAY_NORMAL, normal, site->up);
  if (rules->along != UL_ALONG_UP) count = add_draw(list, count, rules->draw, site->up);
  count = add_main_axes(list, count, site->up);
  if (rules->along == UL_ALONG_UP) count = add_draw(list, count, rules->draw, site->up);
  return count;
}

const ul_way *ul_ways_first_main(const ul_bore_site *site, const ul_place_rules *rules,
                                 ul_way list[UL_WAYS_MOST]) {
  ul_ways_list(site, rules, list);
  while (list->along != UL_WAY_MAIN) list++;
  return list;
}
