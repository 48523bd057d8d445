#include "ullage/meets.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/forest.h"
#include "base/memory.h"
#include "base/vec.h"
#include "rise/cubes.h"

enum { GRAIN_FACES = 9 };

typedef struct {
  ul_cubes *cubes;
  const float *arrival;
  double latest;
  double (
      *way)[3]; /* per cube: unit vector along which foam came; zeros where it began or never was */
  uint32_t *seam; /* per cube: union-find over cubes at a seam */
  uint8_t *at_seam;
} finder;

/* A seam as it is gathered from its faces. */
typedef struct {
  size_t faces;
  double cosine_sum;
  size_t first; /* the cube at its earliest face */
  double earliest;
} gather;

static double arrival_of(const finder *f, int32_t cube) {
  if (cube == UL_NO_CUBE) return INFINITY;
  double t = (double)f->arrival[f->cubes->at[cube]];
  return t <= f->latest ? t : INFINITY; /* NAN goes the same way */
}

/* Along each axis the earlier neighbour, if it is earlier than the cube itself, is where foam came
 * from. */
static void find_way(const finder *f, size_t cube, double way[3]) {
  double here = arrival_of(f, (int32_t)cube);
  for (int a = 0; a < 3; a++) {
    double before = arrival_of(f, f->cubes->next[cube][2 * a]);
    double after = arrival_of(f, f->cubes->next[cube][2 * a + 1]);
    double earlier = fmin(before, after);
    way[a] = isfinite(here) && earlier < here ? (before <= after ? 1 : -1) * (here - earlier) : 0;
  }
  double length = ul_norm(way);
  for (int a = 0; a < 3; a++) way[a] = length > 0 ? way[a] / length : 0;
}

/* Do the ways into the two cubes at the face across `axis` lead against each other? */
static bool is_seam(const finder *f, size_t lower, size_t upper, int axis, double *cosine) {
  const double *a = f->way[lower], *b = f->way[upper];
  *cosine = ul_dot(a, b);
  return *cosine < 0 && a[axis] > 0 && b[axis] < 0;
}

static void mark(finder *f) {
  double cosine;
  for (size_t i = 0; i < f->cubes->count; i++)
    for (int a = 0; a < 3; a++) {
      int32_t next = f->cubes->next[i][2 * a + 1];
      if (next == UL_NO_CUBE || !is_seam(f, i, (size_t)next, a, &cosine)) continue;
      f->at_seam[i] = f->at_seam[next] = 1;
    }
}

/* Cubes at a seam that are neighbours, also across an edge between two cubes, lie at one seam: a
 * seam askew to the lattice is a stair. */
static void join(finder *f) {
  for (size_t i = 0; i < f->cubes->count; i++) {
    if (!f->at_seam[i]) continue;
    for (int s = 0; s < UL_SIDES; s++) {
      int32_t next = f->cubes->next[i][s];
      if (next == UL_NO_CUBE) continue;
      if (f->at_seam[next])
        f->seam[ul_root(f->seam, (uint32_t)i)] = ul_root(f->seam, (uint32_t)next);
      for (int t = 0; t < UL_SIDES; t++) {
        int32_t over = f->cubes->next[next][t];
        if (over != UL_NO_CUBE && f->at_seam[over])
          f->seam[ul_root(f->seam, (uint32_t)i)] = ul_root(f->seam, (uint32_t)over);
      }
    }
  }
}

static void add_face(const finder *f, gather *seam, size_t lower, size_t upper, double cosine) {
  double t = fmax(arrival_of(f, (int32_t)lower), arrival_of(f, (int32_t)upper));
  gather *g = &seam[ul_root(f->seam, (uint32_t)lower)];
  if (!g->faces || t < g->earliest) g->earliest = t, g->first = lower;
  g->faces++;
  g->cosine_sum += cosine;
}

static void gather_faces(const finder *f, gather *seam) {
  double cosine;
  for (size_t i = 0; i < f->cubes->count; i++)
    for (int a = 0; a < 3; a++) {
      int32_t next = f->cubes->next[i][2 * a + 1];
      if (next != UL_NO_CUBE && is_seam(f, i, (size_t)next, a, &cosine))
        add_face(f, seam, i, (size_t)next, cosine);
    }
}

static int earliest_first(const void *a, const void *b) {
  const ul_meet *x = a, *y = b;
  if (x->arrival != y->arrival) return x->arrival < y->arrival ? -1 : 1;
  for (int c = 0; c < 3; c++)
    if (x->at_mm[c] != y->at_mm[c]) return x->at_mm[c] < y->at_mm[c] ? -1 : 1;
  return 0;
}

static bool list(const finder *f, const gather *seam, ul_meet **out, size_t *count) {
  size_t room = 0;
  double cube = f->cubes->grid->lattice.cube_mm;
  for (size_t i = 0; i < f->cubes->count; i++) {
    const gather *g = &seam[i];
    if (g->faces < GRAIN_FACES) continue;
    if (!ul_grow((void **)out, &room, *count + 1, sizeof **out)) return false;
    ul_meet *m = &(*out)[(*count)++];
    *m = (ul_meet){.cavity = ul_cube_cavity(f->cubes, g->first),
                   .arrival = g->earliest,
                   .angle_deg = acos(fmax(-1, g->cosine_sum / (double)g->faces)) * 180 / M_PI,
                   .area_mm2 = (double)g->faces * cube * cube};
    ul_cube_centre_mm(f->cubes, g->first, m->at_mm);
  }
  if (*count) qsort(*out, *count, sizeof **out, earliest_first);
  return true;
}

static bool find(finder *f, ul_meet **out, size_t *count) {
  size_t n = f->cubes->count;
  f->way = ul_new(n, sizeof *f->way);
  f->seam = ul_new_raw(n, sizeof *f->seam);
  f->at_seam = ul_new(n, 1);
  gather *seam = ul_new(n, sizeof *seam);
  bool sound = f->way && f->seam && f->at_seam && seam;
  for (size_t i = 0; sound && i < n; i++) {
    f->seam[i] = (uint32_t)i;
    find_way(f, i, f->way[i]);
  }
  if (sound) {
    mark(f);
    join(f);
    gather_faces(f, seam);
    sound = list(f, seam, out, count);
  }
  free(seam);
  free(f->way);
  free(f->seam);
  free(f->at_seam);
  return sound;
}

ul_status ul_meets_find(const ul_grid *grid, const ul_columns *columns, const float *arrival,
                        double latest, ul_meet **out, size_t *count, ul_error *err) {
  *out = NULL;
  *count = 0;
  finder f = {.arrival = arrival, .latest = latest};
  ul_status status = ul_cubes_new(grid, columns, &f.cubes, err);
  if (status != UL_OK) return status;
  bool sound = find(&f, out, count);
  ul_cubes_free(f.cubes);
  if (sound) return UL_OK;
  free(*out);
  *out = NULL;
  *count = 0;
  return ul_fail_memory(err);
}
