/* Heights tree: ms an attitude, 2,000 attitudes over the sphere, 128 columns a side. Every
 * hundredth is first checked against the plain merge tree of the same run graph; a wrong tree is
 * not timed. */
#include "air/air.h"
#include "air/skin_tree.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "cavity/by_hand.h"
#include "shapes/shapes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { TRIES = 2000, A_BLOCK = 20, MOST = 256, COLUMNS = 128 };

typedef struct {
  const ul_heights *heights;
  const ul_air_kind *kind;
  double (*up)[3];
  ul_air *air[256];
  size_t *pockets; /* per attitude */
} search;

static double now_s(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Evenly over the sphere: a spiral of golden turns. */
static void spread(double (*up)[3], size_t count) {
  for (size_t i = 0; i < count; i++) {
    double z = 1 - (2 * (double)i + 1) / (double)count, turn = M_PI * (3 - sqrt(5)) * (double)i;
    up[i][0] = sqrt(1 - z * z) * cos(turn);
    up[i][1] = sqrt(1 - z * z) * sin(turn);
    up[i][2] = z;
  }
}

/* --- the plain tree --- */

static ul_status plain_tree(const ul_heights *heights, const double up[3], ul_tree **tree) {
  const ul_run_graph *g = ul_graph_for(heights, up);
  const ul_lattice *l = &heights->columns->lattice;
  size_t runs = g->bundle->run_count, edges = 0, most = g->open_first[runs] + g->low_count;
  double *height = ul_new_raw(runs, sizeof *height), *level = ul_new_raw(most, sizeof *level);
  double *weight = ul_new(runs, sizeof *weight);
  uint32_t(*edge)[2] = ul_new_raw(most, sizeof *edge);
  for (uint32_t r = 0; r < runs; r++) {
    double end[3];
    ul_column_point(g, l, r, ul_upper_end(g, r), end);
    height[r] = ul_dot(up, end);
  }
  for (uint32_t r = 0; r < runs; r++)
    for (uint32_t n = g->open_first[r]; n < g->open_first[r + 1]; n++) {
      edge[edges][0] = r;
      edge[edges][1] = g->open[n];
      level[edges++] = fmin(height[r], height[g->open[n]]);
    }
  for (size_t i = 0; i < g->low_count; i++) {
    double a[3], b[3];
    ul_column_point(g, l, g->low[i].a, g->low[i].at, a);
    ul_column_point(g, l, g->low[i].b, g->low[i].at, b);
    edge[edges][0] = g->low[i].a;
    edge[edges][1] = g->low[i].b;
    level[edges++] = fmin(ul_dot(up, a), ul_dot(up, b));
  }
  const ul_tree_input in = {runs, height, weight, edges, (const uint32_t(*)[2])edge, level};
  ul_error err;
  ul_status status = ul_tree_build(&in, tree, &err);
  free(height);
  free(level);
  free(weight);
  free(edge);
  return status;
}

/* Every pocket found is a leaf of the plain tree, cut off where that one's highest is. */
static int pockets_are_in(const ul_tree *tree, const ul_pocket *pocket, size_t count) {
  for (size_t i = 0; i < count; i++) {
    int found = isnan(pocket[i].cut_off_mm);
    for (size_t a = 0; a < tree->arc_count && !found; a++) {
      const ul_arc *arc = &tree->arc[a];
      if (arc->parent == UINT32_MAX || tree->arc[arc->parent].leaf == arc->leaf) continue;
      found = fabs(arc->bottom - pocket[i].cut_off_mm) < 1e-4;
    }
    if (!found) return 0;
  }
  return 1;
}

static int agree(const search *s, size_t attitude) {
  ul_pocket pocket[MOST];
  size_t count;
  ul_tree *tree = NULL;
  ul_skin_tree *skin = NULL;
  const double *up = s->up[attitude];
  if (ul_air_pockets(s->air[0], up, 50, MOST, pocket, &count) != UL_OK || count > MOST) return 0;
  ul_status status = s->kind == &ul_air_skin ? ul_skin_tree_new(s->heights->surface, up, &skin)
                                             : plain_tree(s->heights, up, &tree);
  int good = status == UL_OK && pockets_are_in(skin ? skin->tree : tree, pocket, count);
  ul_tree_free(tree);
  ul_skin_tree_free(skin);
  return good;
}

/* --- the run --- */

static ul_status look(void *context, size_t block, int worker) {
  search *s = context;
  ul_pocket pocket[MOST];
  ul_status status = UL_OK;
  for (size_t i = block * A_BLOCK; status == UL_OK && i < (block + 1) * A_BLOCK; i++)
    status = ul_air_pockets(s->air[worker], s->up[i], 50, MOST, pocket, &s->pockets[i]);
  return status;
}

static int time_kind(const char *name, const char *graph, const ul_heights *heights,
                     const ul_air_kind *kind, size_t items) {
  const ul_job job = {.threads = 2};
  search s = {.heights = heights,
              .kind = kind,
              .up = ul_new(TRIES, sizeof *s.up),
              .pockets = ul_new(TRIES, sizeof *s.pockets)};
  double best_s = INFINITY, pockets = 0;
  spread(s.up, TRIES);
  for (int w = 0; w < 2; w++)
    if (ul_air_new_of(heights, kind, &s.air[w], NULL)) return 1;
  for (size_t i = 0; i < TRIES; i += 100)
    if (!agree(&s, i)) return fprintf(stderr, "%s, %s: wrong in attitude %zu\n", name, graph, i), 1;
  for (int again = 0; again < 3; again++) {
    double t0 = now_s();
    if (ul_parallel(&job, NULL, TRIES / A_BLOCK, look, &s)) return 1;
    best_s = fmin(best_s, now_s() - t0);
  }
  for (size_t i = 0; i < TRIES; i++) pockets += (double)s.pockets[i] / TRIES;
  printf("%s,%s,%zu,%.3f,%.2f,%.1f\n", name, graph, items, 1e3 * best_s / TRIES, best_s, pockets);
  for (int w = 0; w < 2; w++) ul_air_free(s.air[w]);
  free(s.up);
  free(s.pockets);
  return 0;
}

static int measure(const char *name, ul_mesh *mesh) {
  ul_solid *solid = by_hand(mesh, false);
  double box[2][3], longest = 0;
  ul_lattice lattice;
  ul_columns *columns;
  ul_heights *heights;
  ul_mesh_box_mm(mesh, box);
  for (int c = 0; c < 3; c++) longest = fmax(longest, box[1][c] - box[0][c]);
  if (ul_lattice_for_box((const double(*)[3])box, longest / COLUMNS, &lattice, NULL) ||
      ul_columns_build(solid, NULL, 0, &lattice, NULL, &columns, NULL) ||
      ul_heights_new(solid, columns, NULL, &heights, NULL))
    return 1;
  size_t runs = 0;
  for (int axis = 0; axis < 3; axis++) runs += columns->bundle[axis].run_count / 3;
  int wrong = time_kind(name, "columns", heights, &ul_air_columns, runs) ||
              time_kind(name, "skin", heights, &ul_air_skin, heights->surface->node_count);
  ul_heights_free(heights);
  ul_columns_free(columns);
  by_hand_free(solid);
  return wrong;
}

int main(void) {
  setvbuf(stdout, NULL, _IOLBF, 0);
  printf("shape,graph,runs an axis or vertices,ms an attitude (2 threads),s for %d,pockets\n",
         TRIES);
  return measure("ball with a core", shape_box_in_sphere(60, 40, 96, 48)) ||
         measure("cube", shape_box(60, 60, 60)) ||
         measure("comb", shape_comb(8, 5, 3, 20, 40, 60)) ||
         measure("ring", shape_torus(45, 15, 192, 96));
}
