/* air.c - the air of one attitude, fast: regions are born at the highest items of a graph, grow and
 * meet as the level falls past it.
 *
 * Items come in the order of their heights, cut to 24 bits: two passes of a radix sort, and heights
 * that differ by rounding alone are a tie, settled by the item's number. Two questions are answered
 * by the same sweep; they differ in which of two meeting regions lives on, and whether the other's
 * air is counted. */
#include "air/air.h"

#include "base/fail.h"
#include "base/forest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NONE UINT32_MAX

/* --- the scratch --- */

ul_status ul_air_new_of(const ul_heights *heights, const ul_air_kind *kind, ul_air **scratch,
                        ul_error *err) {
  ul_air *air = *scratch = ul_new(1, sizeof *air);
  if (!air) return ul_fail_memory(err);
  air->heights = heights;
  air->kind = kind;
  air->start = ul_new_raw(2, sizeof *air->start);
  if (air->start) return UL_OK;
  ul_air_free(air);
  *scratch = NULL;
  return ul_fail_memory(err);
}

/* A node of the skin costs about what a run costs, and 128 columns a side are some 16,000 runs. */
enum { SKIN_AT_MOST = 24000 };

ul_status ul_air_new(const ul_heights *heights, ul_air **scratch, ul_error *err) {
  bool skin = heights->skin_is_wall && heights->surface->node_count <= SKIN_AT_MOST;
  return ul_air_new_of(heights, skin ? &ul_air_skin : &ul_air_columns, scratch, err);
}

bool ul_air_is_skin(const ul_air *air) {
  return air->kind == &ul_air_skin;
}

static void free_sweep(ul_air *air) {
  free(air->cards);
  free(air->other);
  free(air->above);
  free(air->next);
  free(air->region);
  free(air->vented);
}

void ul_air_free(ul_air *air) {
  if (!air) return;
  free_sweep(air);
  free(air->height);
  free(air->join);
  free(air->view.plan);
  ul_patch_clear(&air->patch);
  free(air->start);
  free(air->pocket);
  free(air->vent);
  free(air);
}

ul_status ul_air_make_room(ul_air *air, size_t items_and_joins) {
  return ul_grow((void **)&air->height, &air->height_room, items_and_joins, sizeof *air->height)
             ? UL_OK
             : UL_E_MEMORY;
}

/* The sweep's own memory, for as many as there may be heights. */
static ul_status make_sweep_room(ul_air *air) {
  size_t items = air->height_room;
  if (items <= air->room) return UL_OK;
  free_sweep(air);
  air->room = items;
  air->cards = ul_new_raw(items, sizeof *air->cards);
  air->other = ul_new_raw(items, sizeof *air->other);
  air->above = ul_new_raw(items, sizeof *air->above);
  air->next = ul_new_raw(items, sizeof *air->next);
  air->region = ul_new_raw(items, sizeof *air->region);
  air->vented = ul_new_raw(items, sizeof *air->vented);
  if (air->cards && air->other && air->above && air->next && air->region && air->vented)
    return UL_OK;
  air->room = 0;
  return UL_E_MEMORY;
}

/* --- the order of heights --- */

static void deal(const ul_air_card *from, ul_air_card *to, size_t count, uint32_t *start,
                 int shift) {
  uint32_t sum = 0;
  for (int b = 0; b < UL_AIR_BUCKETS; b++) {
    uint32_t here = start[b];
    start[b] = sum;
    sum += here;
  }
  for (size_t i = 0; i < count; i++)
    to[start[from[i].key >> shift & (UL_AIR_BUCKETS - 1)]++] = from[i];
}

/* Leaves the order in `cards`. An item comes before a join of its height: both ends are there. */
static void sort_by_height(ul_air *air, size_t count) {
  double high = -DBL_MAX, low = DBL_MAX;
  for (size_t i = 0; i < count; i++) {
    high = air->height[i] > high ? air->height[i] : high;
    low = air->height[i] < low ? air->height[i] : low;
  }
  double scale = high > low ? ((1 << 2 * UL_AIR_DIGIT_BITS) - 1) / (high - low) : 0;
  memset(air->start, 0, 2 * sizeof *air->start);
  for (size_t i = 0; i < count; i++) {
    uint32_t key = (uint32_t)((high - air->height[i]) * scale + 0.5);
    air->cards[i] = (ul_air_card){key, (uint32_t)i};
    air->start[0][key & (UL_AIR_BUCKETS - 1)]++;
    air->start[1][key >> UL_AIR_DIGIT_BITS]++;
  }
  deal(air->cards, air->other, count, air->start[0], 0);
  deal(air->other, air->cards, count, air->start[1], UL_AIR_DIGIT_BITS);
}

/* --- regions --- */

/* All air of a part of the cavity; what the mesh encloses is known exactly. */
static double whole_air(const ul_air *air, uint32_t root) {
  if (!air->heights->skin_is_wall) return air->kind->above(air, root, -INFINITY);
  return air->heights->solid->cavity[air->kind->cavity(air, root)].volume_mm3;
}

static ul_status add_pocket(ul_air *air, uint32_t leaf, double cut_off, double volume) {
  if (!ul_grow((void **)&air->pocket, &air->pocket_room, air->pocket_count + 1,
               sizeof *air->pocket))
    return UL_E_MEMORY;
  ul_pocket *p = &air->pocket[air->pocket_count++];
  *p = (ul_pocket){.cavity = air->kind->cavity(air, leaf),
                   .height_mm = air->height[leaf],
                   .cut_off_mm = cut_off,
                   .pocket_mm3 = volume};
  air->kind->point(air, leaf, p->top_mm);
  return UL_OK;
}

static void count_trapped(ul_air *air, double volume) {
  air->trapped_mm3 += volume;
  air->largest_mm3 = fmax(air->largest_mm3, volume);
}

/* The region's air above `level` is cut off, unless it is too little to count. `other` is the
 * region it meets there, or NONE. */
static ul_status cut_off(ul_air *air, uint32_t root, uint32_t other, double level) {
  uint32_t leaf = air->region[root].leaf;
  double depth = air->height[leaf] - level;
  if (!(depth > 0)) return UL_OK;
  double volume = air->kind->above(air, root, level);
  if (volume < air->least_mm3) return UL_OK;
  if (other != NONE && air->kind->one_top(air, leaf, air->region[other].leaf, depth)) return UL_OK;
  count_trapped(air, volume);
  return air->ask_trapped ? UL_OK : add_pocket(air, leaf, level, volume);
}

static ul_status meet(ul_air *air, uint32_t a, uint32_t b, double level) {
  uint32_t keep = ul_root(air->above, a), lose = ul_root(air->above, b);
  if (keep == lose) return UL_OK;
  bool one_vented = air->ask_trapped && air->vented[keep] != air->vented[lose];
  bool swap = one_vented ? air->vented[lose] : air->region[lose].place < air->region[keep].place;
  if (swap) {
    uint32_t other = keep;
    keep = lose;
    lose = other;
  }
  ul_status status = UL_OK;
  if (!air->ask_trapped || one_vented) status = cut_off(air, lose, keep, level);
  ul_air_region *to = &air->region[keep], *from = &air->region[lose];
  if (air->region[from->leaf].place < air->region[to->leaf].place) to->leaf = from->leaf;
  air->above[lose] = keep;
  air->next[to->last] = lose;
  to->last = from->last;
  return status;
}

static ul_status pass_item(ul_air *air, uint32_t item, uint32_t place) {
  ul_status status = UL_OK;
  air->above[item] = item;
  air->next[item] = NONE;
  air->region[item] = (ul_air_region){item, item, place};
  for (uint32_t n = air->first[item]; status == UL_OK && n < air->first[item + 1]; n++)
    if (air->above[air->open[n]] != NONE) status = meet(air, air->open[n], item, air->height[item]);
  return status;
}

/* Opens the vents above `level` whose items have been passed. */
static void pass_vents(ul_air *air, double level) {
  for (; air->vents_open < air->vent_count; air->vents_open++) {
    const ul_air_vent *v = &air->vent[air->vents_open];
    if (!(v->level > level) || air->above[v->item] == NONE) return;
    uint32_t root = ul_root(air->above, v->item);
    if (!air->vented[root]) cut_off(air, root, NONE, v->level);
    air->vented[root] = true;
  }
}

/* Items of one height lie anywhere in memory, and waiting for them is most of the work: what will
 * be wanted is called for in time, step by step. */
static void look_ahead(const ul_air *air, size_t i) {
  const ul_air_card *c = air->cards;
  if (i + 24 >= air->item_count + air->join_count) return;
  uint32_t far = c[i + 24].id, near = c[i + 16].id, next = c[i + 8].id;
  __builtin_prefetch(&air->height[far]);
  if (far < air->item_count) __builtin_prefetch(&air->first[far]);
  if (near < air->item_count) __builtin_prefetch(&air->open[air->first[near]]);
  if (next < air->item_count)
    for (uint32_t n = air->first[next]; n < air->first[next + 1]; n++)
      __builtin_prefetch(&air->above[air->open[n]]);
}

/* Lets the level fall past everything. */
static ul_status sweep(ul_air *air) {
  size_t items = air->item_count, all = items + air->join_count;
  ul_status status = UL_OK;
  memset(air->above, 0xff, items * sizeof *air->above); /* NONE */
  air->trapped_mm3 = air->largest_mm3 = 0;
  air->pocket_count = air->vents_open = 0;
  for (size_t i = 0; status == UL_OK && i < all; i++) {
    uint32_t id = air->cards[i].id;
    look_ahead(air, i);
    if (air->vents_open < air->vent_count) pass_vents(air, air->height[id]);
    if (id < items)
      status = pass_item(air, id, (uint32_t)i);
    else
      status = meet(air, air->join[id - items][0], air->join[id - items][1], air->height[id]);
  }
  pass_vents(air, -INFINITY);
  return status;
}

/* Heights and their order at `up`; those of the last attitude still stand if it is asked about
 * again, with other vents. */
static ul_status lie_at(ul_air *air, const double up[3]) {
  double to[3];
  ul_status status = ul_up_settle(up, to, NULL);
  if (status != UL_OK || (air->lies && memcmp(to, air->up, sizeof to) == 0)) return status;
  ul_copy3(to, air->up);
  status = air->kind->look(air);
  if (status == UL_OK) status = make_sweep_room(air);
  air->lies = status == UL_OK;
  if (air->lies) sort_by_height(air, air->item_count + air->join_count);
  return status;
}

/* Under two cubes is the columns' own grain, a lone run on a ridge that runs askew, and so counts
 * for nothing in either graph. */
static ul_status look(ul_air *air, const double up[3], double void_ok_mm3) {
  double h = air->heights->columns->lattice.cube_mm;
  air->least_mm3 = fmax(void_ok_mm3, 2 * h * h * h);
  air->vent_count = 0;
  return lie_at(air, up);
}

/* --- the two questions --- */

static int highest_first(const void *a, const void *b) {
  const ul_pocket *x = a, *y = b;
  if (x->height_mm != y->height_mm) return x->height_mm > y->height_mm ? -1 : 1;
  if (isnan(x->cut_off_mm) != isnan(y->cut_off_mm)) return isnan(x->cut_off_mm) ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (x->top_mm[c] != y->top_mm[c]) return x->top_mm[c] < y->top_mm[c] ? -1 : 1;
  return 0;
}

ul_status ul_air_pockets(ul_air *air, const double up[3], double void_ok_mm3, size_t most,
                         ul_pocket *pocket, size_t *count) {
  *count = 0;
  ul_status status = look(air, up, void_ok_mm3);
  if (status != UL_OK) return status;
  air->ask_trapped = false;
  status = sweep(air);
  for (uint32_t i = 0; status == UL_OK && i < air->item_count; i++) {
    if (air->above[i] != i) continue;
    double volume = whole_air(air, i);
    if (volume >= air->least_mm3) status = add_pocket(air, air->region[i].leaf, NAN, volume);
  }
  if (status != UL_OK) return status;
  if (air->pocket_count) /* a speck has none, nor room for any */
    qsort(air->pocket, air->pocket_count, sizeof *air->pocket, highest_first);
  *count = air->pocket_count;
  for (size_t i = 0; i < *count && i < most; i++) pocket[i] = air->pocket[i];
  return UL_OK;
}

static ul_status hang_vent(ul_air *air, const double at[3]) {
  if (!ul_grow((void **)&air->vent, &air->vent_room, air->vent_count + 1, sizeof *air->vent))
    return UL_E_MEMORY;
  ul_air_vent hung;
  ul_status status = air->kind->hang(air, at, &hung);
  if (status != UL_OK) return status;
  size_t i = air->vent_count++;
  for (; i > 0 && air->vent[i - 1].level < hung.level; i--) air->vent[i] = air->vent[i - 1];
  air->vent[i] = hung;
  return UL_OK;
}

ul_status ul_air_trapped_mm3(ul_air *air, const double up[3], const double (*vent_mm)[3],
                             size_t vent_count, double *trapped_mm3) {
  ul_status status = look(air, up, 0);
  if (status != UL_OK) return status;
  air->ask_trapped = true;
  memset(air->vented, 0, air->item_count * sizeof *air->vented);
  for (size_t i = 0; status == UL_OK && i < vent_count; i++) status = hang_vent(air, vent_mm[i]);
  if (status == UL_OK) status = sweep(air);
  if (status != UL_OK) return status;
  for (uint32_t i = 0; i < air->item_count; i++) {
    if (air->above[i] != i || air->vented[i]) continue;
    double volume = whole_air(air, i);
    if (volume >= air->least_mm3) count_trapped(air, volume);
  }
  *trapped_mm3 = air->trapped_mm3;
  return UL_OK;
}

double ul_air_largest_mm3(const ul_air *air) {
  return air->largest_mm3;
}
