/* peaks.c - the high points of one attitude. */
#include "ullage/peaks.h"

#include "air/flat.h"
#include "air/heights.h"
#include "air/skin_tree.h"
#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NONE UINT32_MAX

enum { OPTS_COOKIE = 0x70656b73 };

/* Lower than this below a top, along the air, is the same top: common practice has no finer word.
 */
static const double same_top_mm = 0.25;
static const double same_top_slope = 0.008726867790758; /* tan 0.5 degrees, over the extent */

ul_peaks_opts ul_peaks_opts_default(void) {
  return (ul_peaks_opts){.cookie = OPTS_COOKIE, .void_ok_mm3 = 50};
}

/* A leaf of the air tree on its way to become a peak. */
typedef struct {
  uint32_t node;
  uint32_t arc; /* the last one it is the highest of */
  size_t in;    /* the candidate that is the higher where this one is cut off; or itself */
  bool listed;
  ul_peak peak;
} candidate;

typedef struct {
  const ul_heights *heights;
  double up[3];
  double least_mm3;
  ul_skin_tree *skin;
  ul_flat_scratch scratch;
  size_t count;
  candidate *candidate; /* highest first */
  uint32_t *top_of;     /* per node: the listed candidate whose level top holds it, or NONE */
  ul_peaks *out;
  size_t room, note_room;
} finder;

/* --- candidates --- */

static int highest_leaf_first(const void *a, const void *b) {
  const candidate *x = a, *y = b;
  if (x->peak.height_mm != y->peak.height_mm) return x->peak.height_mm > y->peak.height_mm ? -1 : 1;
  return (x->node > y->node) - (x->node < y->node);
}

static void measure_candidate(const finder *f, uint32_t arc, candidate *c) {
  const ul_surface *surface = f->heights->surface;
  const ul_arc *a = &f->skin->tree->arc[arc];
  bool root = a->parent == NONE;
  *c = (candidate){.node = a->leaf, .arc = arc};
  c->peak.height_mm = f->skin->view.height[a->leaf];
  c->peak.cut_off_mm = root ? NAN : a->bottom;
  c->peak.pocket_mm3 = f->skin->volume_mm3[arc];
  c->peak.cavity = f->heights->solid->cavity_of[surface->fan[surface->fan_first[a->leaf]] / 3];
}

/* One candidate a leaf: at the last arc whose highest it is. */
static ul_status list_candidates(finder *f) {
  const ul_tree *tree = f->skin->tree;
  uint32_t *of_node = ul_new_raw(f->heights->surface->node_count, sizeof *of_node);
  f->candidate = ul_new_raw(tree->leaf_count, sizeof *f->candidate);
  if (!of_node || !f->candidate) {
    free(of_node);
    return UL_E_MEMORY;
  }
  for (uint32_t a = 0; a < tree->arc_count; a++) {
    const ul_arc *arc = &tree->arc[a];
    if (arc->parent != NONE && tree->arc[arc->parent].leaf == arc->leaf) continue;
    measure_candidate(f, a, &f->candidate[f->count++]);
  }
  qsort(f->candidate, f->count, sizeof *f->candidate, highest_leaf_first);
  for (size_t i = 0; i < f->count; i++) of_node[f->candidate[i].node] = (uint32_t)i;
  for (size_t i = 0; i < f->count; i++) {
    uint32_t below = tree->arc[f->candidate[i].arc].parent;
    f->candidate[i].in = below == NONE ? i : of_node[tree->arc[below].leaf];
  }
  free(of_node);
  return UL_OK;
}

/* --- which of them are peaks --- */

/* A candidate hardly cut off from a higher one belongs to that one's top. Across a level top as
 * much as half a degree makes may part the two; but behind a rib, however low, it is on a top of
 * its own. Higher ones are settled when their turn comes before. */
static ul_status settle(finder *f, size_t i) {
  candidate *c = &f->candidate[i];
  if (c->in != i) {
    if (c->peak.pocket_mm3 < f->least_mm3) return UL_OK;
    while (f->candidate[c->in].in != c->in && !f->candidate[c->in].listed)
      c->in = f->candidate[c->in].in;
    const candidate *host = &f->candidate[c->in];
    double band = same_top_mm;
    if (f->top_of[c->node] == c->in) band = fmax(band, host->peak.extent_mm * same_top_slope);
    if (f->skin->view.height[host->node] - c->peak.cut_off_mm <= band) return UL_OK;
  }
  c->listed = true;
  ul_status status = ul_flat_describe(&f->scratch, &f->skin->view, c->node, &c->peak);
  if (status != UL_OK) return status;
  return ul_flat_mark(&f->scratch, &f->skin->view, c->node, (uint32_t)i, f->top_of);
}

/* Half of the run along `axis` that passes the place within a cube, on its own ray or, beside a
 * wall where that one misses the cavity, on the nearest of the eight round it; INFINITY where none
 * does. */
static double half_run_near(const ul_columns *columns, int axis, const double x[3]) {
  static const int8_t round[9][2] = {{0, 0},   {-1, 0}, {1, 0},  {0, -1}, {0, 1},
                                     {-1, -1}, {1, -1}, {-1, 1}, {1, 1}};
  const ul_lattice *l = &columns->lattice;
  const ul_bundle *b = &columns->bundle[axis];
  const int u = (axis + 1) % 3, v = (axis + 2) % 3;
  for (int k = 0; k < 9; k++) {
    double iu = floor((x[u] - l->origin_mm[u]) / l->cube_mm) + round[k][0];
    double iv = floor((x[v] - l->origin_mm[v]) / l->cube_mm) + round[k][1];
    if (iu < 0 || iv < 0 || iu >= l->n[u] || iv >= l->n[v]) continue;
    size_t ray = ul_ray(l, axis, (int32_t)iu, (int32_t)iv);
    double best = INFINITY;
    for (uint32_t r = b->first[ray]; r < b->first[ray + 1]; r++)
      if (b->run[r].lo <= x[axis] + l->cube_mm && b->run[r].hi >= x[axis] - l->cube_mm)
        best = fmin(best, 0.5 * (b->run[r].hi - b->run[r].lo));
    if (isfinite(best)) return best;
  }
  return INFINITY;
}

/* Half of the shortest run, of the three past the place `cubes` below the top; 0 where no run
 * passes, as in air too thin for the columns to meet. */
static double half_gap_below(const finder *f, const double at[3], double cubes) {
  const ul_columns *columns = f->heights->columns;
  double below[3], best = INFINITY;
  ul_add_scaled(at, -cubes * columns->lattice.cube_mm, f->up, below);
  for (int axis = 0; axis < 3; axis++) best = fmin(best, half_run_near(columns, axis, below));
  return isfinite(best) ? best : 0;
}

static ul_status find_on_skin(finder *f) {
  const size_t nodes = f->heights->surface->node_count;
  f->top_of = ul_new_raw(nodes, sizeof *f->top_of);
  if (!f->top_of) return UL_E_MEMORY;
  memset(f->top_of, 0xff, nodes * sizeof *f->top_of); /* NONE */
  ul_status status = ul_skin_tree_new(f->heights->surface, f->up, &f->skin);
  if (status == UL_OK) status = ul_flat_init(&f->scratch, f->heights->surface);
  if (status == UL_OK) status = list_candidates(f);
  for (size_t i = 0; status == UL_OK && i < f->count; i++) {
    candidate *c = &f->candidate[i];
    status = settle(f, i);
    if (status != UL_OK || !c->listed) continue;
    if (!ul_grow((void **)&f->out->peak, &f->room, f->out->count + 1, sizeof *f->out->peak))
      return UL_E_MEMORY;
    f->out->peak[f->out->count++] = c->peak;
  }
  return status;
}

/* --- where the mesh is not the wall: inserts, overlapping shells --- */

static ul_status find_in_columns(finder *f) {
  ul_air *air = NULL;
  ul_pocket *pocket = NULL;
  size_t count = 0;
  ul_status status = ul_air_new(f->heights, &air, NULL);
  if (status == UL_OK) status = ul_air_pockets(air, f->up, f->least_mm3, 0, NULL, &count);
  if (status == UL_OK) {
    pocket = ul_new_raw(count, sizeof *pocket);
    f->out->peak = ul_new(count, sizeof *f->out->peak);
    if (!pocket || !f->out->peak) status = UL_E_MEMORY;
  }
  if (status == UL_OK) status = ul_air_pockets(air, f->up, f->least_mm3, count, pocket, &count);
  for (size_t i = 0; status == UL_OK && i < count; i++) {
    ul_peak *p = &f->out->peak[f->out->count++];
    *p = (ul_peak){.cavity = pocket[i].cavity,
                   .cut_off_mm = pocket[i].cut_off_mm,
                   .pocket_mm3 = pocket[i].pocket_mm3,
                   .end_count = 1};
    ul_copy3(pocket[i].top_mm, p->at_mm);
    ul_copy3(pocket[i].top_mm, p->end_mm[0]);
  }
  free(pocket);
  ul_air_free(air);
  return status;
}

/* --- notes --- */

static ul_status add_note(finder *f, const char *format, ...) UL_PRINTF(2, 3);

static ul_status add_note(finder *f, const char *format, ...) {
  ul_peaks *out = f->out;
  if (!ul_grow((void **)&out->note, &f->note_room, out->note_count + 1, sizeof *out->note))
    return UL_E_MEMORY;
  va_list args;
  va_start(args, format);
  vsnprintf(out->note[out->note_count++], sizeof *out->note, format, args);
  va_end(args);
  return UL_OK;
}

static ul_status write_notes(finder *f) {
  const double h = f->heights->columns->lattice.cube_mm;
  const ul_run_graph *g = ul_graph_for(f->heights, f->up);
  ul_status status = UL_OK;
  /* The skin loses sight of nothing; what is thin there ul_thin_places() tells. */
  const size_t lost = f->heights->skin_is_wall ? 0 : g->coarse_count;
  if (!f->heights->skin_is_wall)
    status = add_note(f,
                      "inserts or overlapping shells: places and levels are good to a cube of "
                      "%.3g mm only",
                      h);
  for (size_t i = 0; status == UL_OK && i < lost; i++) {
    const ul_coarse_place *p = &g->coarse[i];
    status = add_note(f,
                      "the air near x %.1f y %.1f z %.1f mm is %.2g mm thick along %c: cubes of "
                      "%.2g mm lose sight of it, cubes of %.2g mm would not",
                      p->at_mm[0], p->at_mm[1], p->at_mm[2], p->thick_mm, "xyz"[g->axis], h,
                      p -> thick_mm / 2);
  }
  for (size_t i = 0; status == UL_OK && i < f->out->count; i++) {
    const ul_peak *p = &f->out->peak[i];
    /* A ridge is thin at the top only, a sheet further down as well. */
    if (!(p->half_gap_mm < h && half_gap_below(f, p->at_mm, 3) < h)) continue;
    status = add_note(f,
                      "peak %u, near x %.1f y %.1f z %.1f mm: the air is %.2g mm thick, under two "
                      "cubes of %.2g mm",
                      p->id, p->at_mm[0], p->at_mm[1], p->at_mm[2], 2 * p->half_gap_mm, h);
  }
  return status;
}

/* --- the door --- */

static int highest_first(const void *a, const void *b) {
  const ul_peak *x = a, *y = b;
  if (x->height_mm != y->height_mm) return x->height_mm > y->height_mm ? -1 : 1;
  if (isnan(x->cut_off_mm) != isnan(y->cut_off_mm)) return isnan(x->cut_off_mm) ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (x->at_mm[c] != y->at_mm[c]) return x->at_mm[c] < y->at_mm[c] ? -1 : 1;
  return 0;
}

static ul_status finish(finder *f) {
  for (size_t i = 0; i < f->out->count; i++) {
    ul_peak *p = &f->out->peak[i];
    p->height_mm = ul_dot(f->up, p->at_mm);
    p->half_gap_mm = half_gap_below(f, p->at_mm, 1);
  }
  if (f->out->count) qsort(f->out->peak, f->out->count, sizeof *f->out->peak, highest_first);
  for (size_t i = 0; i < f->out->count; i++) f->out->peak[i].id = (uint32_t)i + 1;
  return write_notes(f);
}

ul_status ul_peaks_find(const ul_heights *heights, const double up[3], const ul_peaks_opts *opts,
                        ul_peaks **out, ul_error *err) {
  *out = NULL;
  ul_peaks_opts o = opts ? *opts : ul_peaks_opts_default();
  double h = heights->columns->lattice.cube_mm;
  if (o.cookie != OPTS_COOKIE || !(o.void_ok_mm3 >= 0))
    return ul_fail(err, UL_E_USAGE,
                   "peaks asked for with voids up to %g mm3 let be: start from "
                   "ul_peaks_opts_default() and give 0 or more",
                   o.void_ok_mm3);
  finder f = {.heights = heights, .least_mm3 = fmax(o.void_ok_mm3, h * h * h)};
  ul_status status = ul_up_settle(up, f.up, err);
  if (status != UL_OK) return status;
  f.out = ul_new(1, sizeof *f.out);
  if (!f.out) return ul_fail_memory(err);
  ul_copy3(f.up, f.out->up);
  status = heights->skin_is_wall ? find_on_skin(&f) : find_in_columns(&f);
  if (status == UL_OK) status = finish(&f);
  ul_skin_tree_free(f.skin);
  ul_flat_clear(&f.scratch);
  free(f.candidate);
  free(f.top_of);
  if (status == UL_OK) {
    *out = f.out;
    return UL_OK;
  }
  ul_peaks_free(f.out);
  return status == UL_E_MEMORY ? ul_fail_memory(err)
                               : ul_fail(err, status, "%s", ul_status_text(status));
}

void ul_peaks_free(ul_peaks *peaks) {
  if (!peaks) return;
  free(peaks->peak);
  free(peaks->note);
  free(peaks);
}
