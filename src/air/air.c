/* air.c - the air of one attitude, fast: regions are born at the highest runs, grow and meet as the
 * level falls past the run graph.
 *
 * Runs come in the order of their heights, cut to 24 bits: two passes of a radix sort, and heights
 * that differ by rounding alone are a tie, settled by the run's number. Two questions are answered
 * by the same sweep; they differ in which of two meeting regions lives on, and whether the other's
 * air is counted. */
#include "air/climb.h"
#include "air/heights.h"
#include "base/fail.h"
#include "base/forest.h"
#include "base/memory.h"
#include "base/vec.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NONE UINT32_MAX

enum { DIGIT_BITS = 12, BUCKETS = 1 << DIGIT_BITS };

typedef struct {
  uint32_t key; /* rises as the height falls */
  uint32_t id;  /* a run; from run_count on, a low join */
} card;

/* What a region's root knows of it. A region is a list of runs that starts at its root. */
typedef struct {
  uint32_t leaf;  /* its highest run */
  uint32_t last;  /* its last run */
  uint32_t place; /* when the level passed the root's upper end: 0 first */
} region;

/* A vent hangs on its run like a leaf, at its own height. */
typedef struct {
  uint32_t run;
  double level;
} vent;

struct ul_air {
  const ul_heights *heights;
  size_t room; /* runs and low joins of the largest graph */
  card *cards, *other;
  uint32_t (*start)[BUCKETS];
  double *height;  /* per run, then the level of each low join */
  uint32_t *above; /* per run: union-find over regions; NONE below the level. By itself, to be
                      small: nine of ten looks at a neighbour end here */
  uint32_t *next;  /* per run: the next one of its region */
  region *region;  /* per root */
  bool *vented;    /* per root: its region has an open vent */
  ul_pocket *pocket;
  size_t pocket_count, pocket_room;
  vent *vent; /* highest first */
  size_t vent_count, vent_room, vents_open;
  /* of the sweep under way */
  const ul_run_graph *graph;
  double up[3];
  bool ask_trapped;
  double least_mm3;
  double trapped_mm3, largest_mm3;
};

ul_status ul_air_new(const ul_heights *heights, ul_air **scratch, ul_error *err) {
  ul_air *air = *scratch = ul_new(1, sizeof *air);
  if (!air) return ul_fail_memory(err);
  air->heights = heights;
  for (int i = 0; i < 6; i++) {
    const ul_run_graph *g = &heights->graph[i / 2][i % 2];
    size_t items = g->bundle->run_count + g->low_count;
    if (items > air->room) air->room = items;
  }
  air->cards = ul_new_raw(air->room, sizeof *air->cards);
  air->other = ul_new_raw(air->room, sizeof *air->other);
  air->start = ul_new_raw(2, sizeof *air->start);
  air->height = ul_new_raw(air->room, sizeof *air->height);
  air->above = ul_new_raw(air->room, sizeof *air->above);
  air->next = ul_new_raw(air->room, sizeof *air->next);
  air->region = ul_new_raw(air->room, sizeof *air->region);
  air->vented = ul_new_raw(air->room, sizeof *air->vented);
  if (air->cards && air->other && air->start && air->height && air->above && air->next &&
      air->region && air->vented)
    return UL_OK;
  ul_air_free(air);
  *scratch = NULL;
  return ul_fail_memory(err);
}

void ul_air_free(ul_air *air) {
  if (!air) return;
  free(air->cards);
  free(air->other);
  free(air->start);
  free(air->height);
  free(air->above);
  free(air->next);
  free(air->region);
  free(air->vented);
  free(air->pocket);
  free(air->vent);
  free(air);
}

/* --- heights and their order --- */

static void measure_runs(ul_air *air) {
  const ul_run_graph *g = air->graph;
  const ul_lattice *l = &air->heights->columns->lattice;
  int u = (g->axis + 1) % 3, v = (g->axis + 2) % 3;
  size_t ray = 0;
  for (int32_t iv = 0; iv < l->n[v]; iv++) {
    double row = air->up[v] * ul_centre(l, v, iv);
    for (int32_t iu = 0; iu < l->n[u]; iu++, ray++) {
      double foot = row + air->up[u] * ul_centre(l, u, iu);
      for (uint32_t r = g->bundle->first[ray]; r < g->bundle->first[ray + 1]; r++)
        air->height[r] = foot + air->up[g->axis] * ul_upper_end(g, r);
    }
  }
}

/* A low join stands at the lower of the two columns' heights there. */
static void measure_low_joins(ul_air *air) {
  const ul_run_graph *g = air->graph;
  const ul_lattice *l = &air->heights->columns->lattice;
  for (size_t i = 0; i < g->low_count; i++) {
    double a[3], b[3];
    ul_column_point(g, l, g->low[i].a, g->low[i].at, a);
    ul_column_point(g, l, g->low[i].b, g->low[i].at, b);
    air->height[g->bundle->run_count + i] = fmin(ul_dot(air->up, a), ul_dot(air->up, b));
  }
}

static void deal(const card *from, card *to, size_t count, uint32_t *start, int shift) {
  uint32_t sum = 0;
  for (int b = 0; b < BUCKETS; b++) {
    uint32_t here = start[b];
    start[b] = sum;
    sum += here;
  }
  for (size_t i = 0; i < count; i++) to[start[from[i].key >> shift & (BUCKETS - 1)]++] = from[i];
}

/* Leaves the order in `cards`. A run comes before a low join of its height: both ends are there. */
static void sort_by_height(ul_air *air, size_t count) {
  double high = -DBL_MAX, low = DBL_MAX;
  for (size_t i = 0; i < count; i++) {
    high = air->height[i] > high ? air->height[i] : high;
    low = air->height[i] < low ? air->height[i] : low;
  }
  double scale = high > low ? ((1 << 2 * DIGIT_BITS) - 1) / (high - low) : 0;
  memset(air->start, 0, 2 * sizeof *air->start);
  for (size_t i = 0; i < count; i++) {
    uint32_t key = (uint32_t)((high - air->height[i]) * scale + 0.5);
    air->cards[i] = (card){key, (uint32_t)i};
    air->start[0][key & (BUCKETS - 1)]++;
    air->start[1][key >> DIGIT_BITS]++;
  }
  deal(air->cards, air->other, count, air->start[0], 0);
  deal(air->other, air->cards, count, air->start[1], DIGIT_BITS);
}

/* --- regions --- */

/* Of the region's air, what lies above `level`: each run from its upper end down, exactly. */
static double air_above(const ul_air *air, uint32_t root, double level) {
  const ul_run *run = air->graph->bundle->run;
  double slope = fabs(air->up[air->graph->axis]), h = air->heights->columns->lattice.cube_mm;
  double sum = 0;
  for (uint32_t r = root; r != NONE; r = air->next[r]) {
    double above = (air->height[r] - level) / slope, all = run[r].hi - run[r].lo;
    if (above > 0) sum += above < all ? above : all;
  }
  return sum * h * h;
}

/* All air of a part of the cavity; what the mesh encloses is known exactly. */
static double whole_air(const ul_air *air, uint32_t root) {
  if (!air->heights->skin_is_wall) return air_above(air, root, -INFINITY);
  return air->heights->solid->cavity[air->graph->cavity[root]].volume_mm3;
}

static bool is_single(const ul_air *air, uint32_t root) {
  return air->next[root] == NONE;
}

static ul_status add_pocket(ul_air *air, uint32_t root, double cut_off, double volume) {
  if (!ul_grow((void **)&air->pocket, &air->pocket_room, air->pocket_count + 1,
               sizeof *air->pocket))
    return UL_E_MEMORY;
  ul_pocket *p = &air->pocket[air->pocket_count++];
  *p = (ul_pocket){.cavity = air->graph->cavity[root],
                   .height_mm = air->height[root],
                   .cut_off_mm = cut_off,
                   .pocket_mm3 = volume};
  ul_column_point(air->graph, &air->heights->columns->lattice, root, ul_upper_end(air->graph, root),
                  p->top_mm);
  return UL_OK;
}

/* Columns see a ridge that runs askew as a row of little tops. They are told from real ones by the
 * skin: from both, the ascent ends at one place. */
static bool is_one_top(const ul_air *air, uint32_t a, uint32_t b) {
  const ul_run_graph *g = air->graph;
  const uint32_t *triangle = g->sense > 0 ? g->bundle->hi_triangle : g->bundle->lo_triangle;
  const ul_surface *skin = air->heights->surface;
  return air->heights->skin_is_wall &&
         ul_climb(skin, air->up, triangle[a]) == ul_climb(skin, air->up, triangle[b]);
}

static void count_trapped(ul_air *air, double volume) {
  air->trapped_mm3 += volume;
  air->largest_mm3 = fmax(air->largest_mm3, volume);
}

/* The region's air above `level` is cut off, unless it is too little to count. `other` is the
 * region it meets there, or NONE. */
static ul_status cut_off(ul_air *air, uint32_t root, uint32_t other, double level) {
  double h = air->heights->columns->lattice.cube_mm;
  uint32_t leaf = air->region[root].leaf;
  double depth = air->height[leaf] - level;
  if (is_single(air, root) && depth * h * h < air->least_mm3) return UL_OK;
  double volume = air_above(air, root, level);
  if (volume < air->least_mm3) return UL_OK;
  if (other != NONE && depth < 2 * h && is_one_top(air, leaf, air->region[other].leaf))
    return UL_OK;
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
  region *to = &air->region[keep], *from = &air->region[lose];
  if (air->region[from->leaf].place < air->region[to->leaf].place) to->leaf = from->leaf;
  air->above[lose] = keep;
  air->next[to->last] = lose;
  to->last = from->last;
  return status;
}

static ul_status pass_run(ul_air *air, uint32_t run, uint32_t place) {
  const ul_run_graph *g = air->graph;
  ul_status status = UL_OK;
  air->above[run] = run;
  air->next[run] = NONE;
  air->region[run] = (region){run, run, place};
  for (uint32_t n = g->open_first[run]; status == UL_OK && n < g->open_first[run + 1]; n++)
    if (air->above[g->open[n]] != NONE) status = meet(air, g->open[n], run, air->height[run]);
  return status;
}

/* Opens the vents above `level` whose runs have been passed. */
static void pass_vents(ul_air *air, double level) {
  for (; air->vents_open < air->vent_count; air->vents_open++) {
    const vent *v = &air->vent[air->vents_open];
    if (!(v->level > level) || air->above[v->run] == NONE) return;
    uint32_t root = ul_root(air->above, v->run);
    if (!air->vented[root]) cut_off(air, root, NONE, v->level);
    air->vented[root] = true;
  }
}

/* Runs of one height lie anywhere in memory, and waiting for them is most of the work: what will be
 * wanted is called for in time, step by step. */
static void look_ahead(const ul_air *air, size_t i, size_t items, size_t runs) {
  const ul_run_graph *g = air->graph;
  const card *c = air->cards;
  if (i + 24 >= items) return;
  uint32_t far = c[i + 24].id, near = c[i + 16].id, next = c[i + 8].id;
  __builtin_prefetch(&air->height[far]);
  if (far < runs) __builtin_prefetch(&g->open_first[far]);
  if (near < runs) __builtin_prefetch(&g->open[g->open_first[near]]);
  if (next < runs)
    for (uint32_t n = g->open_first[next]; n < g->open_first[next + 1]; n++)
      __builtin_prefetch(&air->above[g->open[n]]);
}

/* Lets the level fall past everything. */
static ul_status sweep(ul_air *air) {
  const ul_run_graph *g = air->graph;
  size_t runs = g->bundle->run_count, items = runs + g->low_count;
  measure_runs(air);
  measure_low_joins(air);
  sort_by_height(air, items);
  for (size_t r = 0; r < runs; r++) air->above[r] = NONE;
  air->trapped_mm3 = air->largest_mm3 = 0;
  air->pocket_count = air->vents_open = 0;
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < items; i++) {
    uint32_t id = air->cards[i].id;
    look_ahead(air, i, items, runs);
    pass_vents(air, air->height[id]);
    if (id < runs)
      status = pass_run(air, id, (uint32_t)i);
    else
      status = meet(air, g->low[id - runs].a, g->low[id - runs].b, air->height[id]);
  }
  pass_vents(air, -INFINITY);
  return status;
}

/* Smaller than two cubes is the lattice's own grain: a lone run on a ridge that runs askew. */
static ul_status look(ul_air *air, const double up[3], double void_ok_mm3) {
  double h = air->heights->columns->lattice.cube_mm;
  ul_status status = ul_up_settle(up, air->up, NULL);
  if (status != UL_OK) return status;
  air->graph = ul_graph_for(air->heights, air->up);
  air->least_mm3 = fmax(void_ok_mm3, 2 * h * h * h);
  return UL_OK;
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
  air->vent_count = 0;
  status = sweep(air);
  for (uint32_t r = 0; status == UL_OK && r < air->graph->bundle->run_count; r++) {
    if (air->above[r] != r) continue;
    double volume = whole_air(air, r);
    if (volume >= air->least_mm3) status = add_pocket(air, r, NAN, volume);
  }
  if (status != UL_OK) return status;
  qsort(air->pocket, air->pocket_count, sizeof *air->pocket, highest_first);
  *count = air->pocket_count;
  for (size_t i = 0; i < *count && i < most; i++) pocket[i] = air->pocket[i];
  return UL_OK;
}

static double distance_to_run(const ul_air *air, uint32_t run, const double at[3]) {
  const ul_run_graph *g = air->graph;
  const ul_run *r = &g->bundle->run[run];
  double point[3];
  ul_column_point(g, &air->heights->columns->lattice, run, fmin(fmax(at[g->axis], r->lo), r->hi),
                  point);
  return ul_distance(point, at);
}

/* The run nearest to a vent, in columns up to `reach` cubes away; NONE if there is none. */
static uint32_t nearest_run(const ul_air *air, const double at[3], int32_t reach, double *least) {
  const ul_run_graph *g = air->graph;
  const ul_lattice *l = &air->heights->columns->lattice;
  int axes[2] = {(g->axis + 1) % 3, (g->axis + 2) % 3};
  int32_t from[2], to[2];
  for (int c = 0; c < 2; c++) {
    double i = floor((at[axes[c]] - l->origin_mm[axes[c]]) / l->cube_mm);
    from[c] = (int32_t)fmin(fmax(i - reach, 0), l->n[axes[c]]);
    to[c] = (int32_t)fmin(fmax(i + reach + 1, 0), l->n[axes[c]]);
  }
  uint32_t best = NONE;
  *least = INFINITY;
  for (int32_t v = from[1]; v < to[1]; v++)
    for (int32_t u = from[0]; u < to[0]; u++) {
      size_t ray = ul_ray(l, g->axis, u, v);
      for (uint32_t r = g->bundle->first[ray]; r < g->bundle->first[ray + 1]; r++) {
        double d = distance_to_run(air, r, at);
        if (d >= *least) continue;
        *least = d;
        best = r;
      }
    }
  return best;
}

/* A vent within a cube of its run's upper end is at the end: it lies on a top that the lattice does
 * not see closer. */
static ul_status hang_vent(ul_air *air, const double at[3]) {
  /* A place on a wall may lie in the next column over, which can end far below: a run counts once
   * no column that was not looked at could be nearer. */
  uint32_t run = NONE;
  double cube = air->heights->columns->lattice.cube_mm, far = INFINITY;
  for (int32_t reach = 1; far > (reach - 1) * cube && reach <= 5; reach++)
    run = nearest_run(air, at, reach, &far);
  if (far > 4 * cube) return UL_E_OUTSIDE;
  if (!ul_grow((void **)&air->vent, &air->vent_room, air->vent_count + 1, sizeof *air->vent))
    return UL_E_MEMORY;
  double level = ul_dot(air->up, at), end[3];
  ul_column_point(air->graph, &air->heights->columns->lattice, run, ul_upper_end(air->graph, run),
                  end);
  double top = ul_dot(air->up, end);
  if (level > top - cube) level = top;
  size_t i = air->vent_count++;
  for (; i > 0 && air->vent[i - 1].level < level; i--) air->vent[i] = air->vent[i - 1];
  air->vent[i] = (vent){run, level};
  return UL_OK;
}

ul_status ul_air_trapped_mm3(ul_air *air, const double up[3], const double (*vent_mm)[3],
                             size_t vent_count, double *trapped_mm3) {
  ul_status status = look(air, up, 0);
  if (status != UL_OK) return status;
  air->ask_trapped = true;
  air->vent_count = 0;
  memset(air->vented, 0, air->graph->bundle->run_count * sizeof *air->vented);
  for (size_t i = 0; status == UL_OK && i < vent_count; i++) status = hang_vent(air, vent_mm[i]);
  if (status == UL_OK) status = sweep(air);
  if (status != UL_OK) return status;
  for (uint32_t r = 0; r < air->graph->bundle->run_count; r++) {
    if (air->above[r] != r || air->vented[r]) continue;
    double volume = whole_air(air, r);
    if (volume >= air->least_mm3) count_trapped(air, volume);
  }
  *trapped_mm3 = air->trapped_mm3;
  return UL_OK;
}

double ul_air_largest_mm3(const ul_air *air) {
  return air->largest_mm3;
}
