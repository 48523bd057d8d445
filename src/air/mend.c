/* mend.c - a sheet much thinner than a cube may fall apart into runs that do not see each other.
 * Then the air in it would seem shut in for good. Loose pieces are hung on their nearest neighbour,
 * and the place is named. */
#include "air/heights.h"
#include "base/forest.h"
#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

#define NONE UINT32_MAX

typedef struct {
  const ul_heights *heights;
  const ul_lattice *lattice;
  ul_run_graph *graph;
  uint32_t *up;      /* runs that are joined */
  double *length;    /* per representative: of all its runs together */
  uint32_t *largest; /* per cavity: the representative of its largest piece */
  uint32_t *order;   /* runs, piece by piece */
  uint32_t *start;   /* per representative: where its piece begins in order, then where it ends */
  size_t low_room;
} mender;

static void unite(uint32_t *up, uint32_t a, uint32_t b) {
  uint32_t ra = ul_root(up, a), rb = ul_root(up, b);
  if (ra < rb)
    up[rb] = ra;
  else
    up[ra] = rb;
}

static void find_pieces(mender *m) {
  const ul_run_graph *g = m->graph;
  size_t runs = g->bundle->run_count;
  for (uint32_t r = 0; r < runs; r++) m->up[r] = r;
  for (uint32_t r = 0; r < runs; r++)
    for (uint32_t n = g->open_first[r]; n < g->open_first[r + 1]; n++)
      if (g->open[n] < r) unite(m->up, r, g->open[n]);
  for (size_t i = 0; i < g->low_count; i++) unite(m->up, g->low[i].a, g->low[i].b);
}

/* A run between two inserts belongs where the runs it is joined to belong. */
static void name_cavities(const mender *m) {
  const ul_bundle *b = m->graph->bundle;
  const uint32_t *of = m->heights->solid->cavity_of;
  uint32_t *cavity = m->graph->cavity;
  for (uint32_t r = 0; r < b->run_count; r++) {
    uint32_t t = b->hi_triangle[r] != NONE ? b->hi_triangle[r] : b->lo_triangle[r];
    cavity[r] = t == NONE ? NONE : of[t];
  }
  for (uint32_t r = 0; r < b->run_count; r++) {
    uint32_t root = ul_root(m->up, r);
    if (cavity[root] == NONE) cavity[root] = cavity[r];
  }
  for (uint32_t r = 0; r < b->run_count; r++) {
    if (cavity[r] == NONE) cavity[r] = cavity[ul_root(m->up, r)];
    if (cavity[r] == NONE) cavity[r] = 0;
  }
}

static void sort_by_piece(mender *m) {
  const ul_bundle *b = m->graph->bundle;
  size_t runs = b->run_count;
  for (uint32_t r = 0; r < runs; r++) m->length[r] = m->start[r] = 0;
  for (size_t c = 0; c < m->heights->solid->cavity_count; c++) m->largest[c] = NONE;
  for (uint32_t r = 0; r < runs; r++) {
    uint32_t root = ul_root(m->up, r);
    m->length[root] += b->run[r].hi - b->run[r].lo;
    m->start[root]++;
  }
  uint32_t sum = 0;
  for (uint32_t r = 0; r < runs; r++) {
    uint32_t here = m->start[r];
    m->start[r] = sum;
    sum += here;
    uint32_t *largest = &m->largest[m->graph->cavity[r]];
    if (here && (*largest == NONE || m->length[r] > m->length[*largest])) *largest = r;
  }
  for (uint32_t r = 0; r < runs; r++) m->order[m->start[ul_root(m->up, r)]++] = r;
}

/* The run nearest along the axis to run `a`, in the columns round its own, of another piece. */
static uint32_t nearest_stranger(const mender *m, uint32_t a, double *gap) {
  const ul_run_graph *g = m->graph;
  const ul_bundle *b = g->bundle;
  int32_t nu = m->lattice->n[(g->axis + 1) % 3], nv = m->lattice->n[(g->axis + 2) % 3];
  int32_t iu = (int32_t)(g->column[a] % (uint32_t)nu), iv = (int32_t)(g->column[a] / (uint32_t)nu);
  uint32_t best = NONE;
  for (int32_t v = iv > 0 ? iv - 1 : 0; v <= iv + 1 && v < nv; v++)
    for (int32_t u = iu > 0 ? iu - 1 : 0; u <= iu + 1 && u < nu; u++) {
      size_t ray = ul_ray(m->lattice, g->axis, u, v);
      for (uint32_t r = b->first[ray]; r < b->first[ray + 1]; r++) {
        double apart = fmax(b->run[r].lo - b->run[a].hi, b->run[a].lo - b->run[r].hi);
        if (apart >= *gap || g->cavity[r] != g->cavity[a]) continue;
        if (ul_root(m->up, r) == ul_root(m->up, a)) continue;
        *gap = apart;
        best = r;
      }
    }
  return best;
}

static ul_status hang(mender *m, const uint32_t *piece, size_t count) {
  ul_run_graph *g = m->graph;
  double gap = INFINITY;
  uint32_t a = NONE, b = NONE;
  for (size_t i = 0; i < count; i++) {
    uint32_t stranger = nearest_stranger(m, piece[i], &gap);
    if (stranger == NONE) continue;
    a = piece[i];
    b = stranger;
  }
  if (a == NONE) return UL_OK;
  if (!ul_grow((void **)&g->low, &m->low_room, g->low_count + 1, sizeof *g->low))
    return UL_E_MEMORY;
  double at = g->sense > 0 ? fmin(ul_upper_end(g, a), ul_upper_end(g, b))
                           : fmax(ul_upper_end(g, a), ul_upper_end(g, b));
  g->low[g->low_count++] = (ul_low_join){a, b, at};
  unite(m->up, a, b);
  return UL_OK;
}

/* Names the longest loose run of each cavity, if all of them together are worth a word: under two
 * cubes they are a ragged edge. */
static ul_status name_coarse_places(const mender *m, const uint32_t *loose, size_t count) {
  ul_run_graph *g = m->graph;
  size_t cavities = m->heights->solid->cavity_count;
  g->coarse = ul_new(cavities, sizeof *g->coarse);
  if (!g->coarse) return UL_E_MEMORY;
  for (uint32_t c = 0; c < cavities; c++) {
    double sum = 0, longest = 0;
    uint32_t worst = NONE;
    for (size_t i = 0; i < count; i++) {
      const ul_run *run = &g->bundle->run[loose[i]];
      if (g->cavity[loose[i]] != c) continue;
      sum += run->hi - run->lo;
      if (run->hi - run->lo > longest) worst = loose[i];
      longest = fmax(longest, run->hi - run->lo);
    }
    if (sum < 2 * m->lattice->cube_mm) continue;
    ul_coarse_place *place = &g->coarse[g->coarse_count++];
    const ul_run *run = &g->bundle->run[worst];
    ul_column_point(g, m->lattice, worst, 0.5 * (run->lo + run->hi), place->at_mm);
    place->thick_mm = longest;
  }
  return UL_OK;
}

/* Loose runs are gathered at the front of `order`: a run is read before its place is reused. */
static ul_status hang_loose_pieces(mender *m) {
  size_t loose = 0, runs = m->graph->bundle->run_count;
  ul_status status = UL_OK;
  sort_by_piece(m);
  for (size_t begin = 0, end; status == UL_OK && begin < runs; begin = end) {
    uint32_t root = ul_root(m->up, m->order[begin]), cavity = m->graph->cavity[m->order[begin]];
    end = m->start[root];
    if (root != m->largest[cavity]) {
      for (size_t i = begin; i < end; i++) m->order[loose++] = m->order[i];
    }
  }
  for (size_t begin = 0, end; status == UL_OK && begin < loose; begin = end) {
    uint32_t root = ul_root(m->up, m->order[begin]);
    for (end = begin + 1; end < loose && ul_root(m->up, m->order[end]) == root;) end++;
    status = hang(m, m->order + begin, end - begin);
  }
  return status == UL_OK ? name_coarse_places(m, m->order, loose) : status;
}

ul_status ul_mend_graph(const ul_heights *heights, ul_run_graph *graph) {
  size_t runs = graph->bundle->run_count;
  mender m = {.heights = heights, .lattice = &heights->columns->lattice, .graph = graph};
  m.low_room = graph->low_count;
  m.up = ul_new_raw(runs, sizeof *m.up);
  m.length = ul_new_raw(runs, sizeof *m.length);
  m.largest = ul_new_raw(heights->solid->cavity_count, sizeof *m.largest);
  m.order = ul_new_raw(runs, sizeof *m.order);
  m.start = ul_new_raw(runs, sizeof *m.start);
  graph->cavity = ul_new_raw(runs, sizeof *graph->cavity);
  ul_status status = UL_E_MEMORY;
  if (m.up && m.length && m.largest && m.order && m.start && graph->cavity) {
    find_pieces(&m);
    name_cavities(&m);
    status = heights->skin_is_wall ? hang_loose_pieces(&m) : UL_OK;
  }
  free(m.up);
  free(m.length);
  free(m.largest);
  free(m.order);
  free(m.start);
  return status;
}
