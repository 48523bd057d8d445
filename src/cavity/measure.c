#include "cavity/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"

enum { BLOCK = 8192, VOLUME = 0, FIRST = 1, SECOND = 4, AREA = 10, SUM_COUNT = 11 };

/* Sums over a block, each with what rounding took from it (Knuth's two-sum, The Art of Computer
 * Programming 2, 4.2.2: without a branch, so that it runs on vectors). */
typedef struct {
  double sum[SUM_COUNT], lost[SUM_COUNT];
} moments;

typedef struct {
  const ul_mesh *mesh;
  const uint32_t *id; /* NULL: all */
  size_t count;
  double origin[3];
  moments *block;
} set;

static void add(moments *m, const double x[SUM_COUNT]) {
  for (int k = 0; k < SUM_COUNT; k++) {
    double sum = m->sum[k] + x[k], part = sum - m->sum[k];
    m->lost[k] += (m->sum[k] - (sum - part)) + (x[k] - part);
    m->sum[k] = sum;
  }
}

static const uint32_t *corners(const set *s, size_t i) {
  return s->mesh->triangle[s->id ? s->id[i] : i];
}

/* The tetrahedron from the origin to one triangle: its volume, first and second moments. */
static void add_triangle(moments *m, const double a[3], const double b[3], const double c[3]) {
  double ab[3], ac[3], normal[3], bc[3], s[3], x[SUM_COUNT];
  ul_sub(b, a, ab);
  ul_sub(c, a, ac);
  ul_cross(ab, ac, normal);
  ul_cross(b, c, bc);
  double volume = ul_dot(a, bc) / 6;
  x[AREA] = ul_norm(normal) / 2;
  x[VOLUME] = volume;
  for (int i = 0; i < 3; i++) {
    s[i] = a[i] + b[i] + c[i];
    x[FIRST + i] = volume * s[i] / 4;
  }
  int k = SECOND;
  for (int i = 0; i < 3; i++)
    for (int j = i; j < 3; j++)
      x[k++] = volume * (a[i] * a[j] + b[i] * b[j] + c[i] * c[j] + s[i] * s[j]) / 20;
  add(m, x);
}

static void sum_block(const set *s, size_t block, moments *m) {
  memset(m, 0, sizeof *m);
  size_t end = (block + 1) * BLOCK < s->count ? (block + 1) * BLOCK : s->count;
  for (size_t i = block * BLOCK; i < end; i++) {
    const uint32_t *t = corners(s, i);
    double p[3][3];
    for (int c = 0; c < 3; c++) ul_sub(s->mesh->vertex_mm[t[c]], s->origin, p[c]);
    add_triangle(m, p[0], p[1], p[2]);
  }
}

static void add_moments(moments *total, const moments *m) {
  add(total, m->sum);
  for (int k = 0; k < SUM_COUNT; k++) total->lost[k] += m->lost[k];
}

static void measure_box(const set *s, double box[2][3]) {
  for (int c = 0; c < 3; c++) box[0][c] = INFINITY, box[1][c] = -INFINITY;
  for (size_t i = 0; i < s->count; i++)
    for (int k = 0; k < 3; k++) {
      const double *p = s->mesh->vertex_mm[corners(s, i)[k]];
      for (int c = 0; c < 3; c++) {
        box[0][c] = p[c] < box[0][c] ? p[c] : box[0][c];
        box[1][c] = p[c] > box[1][c] ? p[c] : box[1][c];
      }
    }
}

/* Second moments about the centroid make the inertia (parallel axes). */
static void finish(const set *s, const moments *total, ul_measure *out) {
  double q[SUM_COUNT], g[3] = {0}, p[3][3];
  for (int k = 0; k < SUM_COUNT; k++) q[k] = total->sum[k] + total->lost[k];
  out->volume_mm3 = q[VOLUME];
  out->area_mm2 = q[AREA];
  if (q[VOLUME] != 0)
    for (int c = 0; c < 3; c++) g[c] = q[FIRST + c] / q[VOLUME];
  for (int c = 0; c < 3; c++) out->centroid_mm[c] = s->origin[c] + g[c];
  int k = SECOND;
  for (int i = 0; i < 3; i++)
    for (int j = i; j < 3; j++) p[i][j] = p[j][i] = q[k++] - q[VOLUME] * g[i] * g[j];
  double trace = p[0][0] + p[1][1] + p[2][2];
  for (int i = 0; i < 3; i++)
    for (int j = 0; j < 3; j++) out->inertia_mm5[i][j] = (i == j ? trace : 0) - p[i][j];
}

/* False, with everything zero, when there is nothing to measure. */
static bool begin(set *s, const ul_mesh *mesh, const uint32_t *ids, size_t count, ul_measure *out) {
  memset(out, 0, sizeof *out);
  *s = (set){.mesh = mesh, .id = ids, .count = count};
  if (count == 0) return false;
  measure_box(s, out->box_mm);
  for (int c = 0; c < 3; c++) s->origin[c] = (out->box_mm[0][c] + out->box_mm[1][c]) / 2;
  return true;
}

void ul_measure_triangles(const ul_mesh *mesh, const uint32_t *triangle_ids, size_t count,
                          ul_measure *out) {
  set s;
  moments total = {0}, m;
  if (!begin(&s, mesh, triangle_ids, count, out)) return;
  for (size_t block = 0; block * BLOCK < count; block++) {
    sum_block(&s, block, &m);
    add_moments(&total, &m);
  }
  finish(&s, &total, out);
}

static ul_status do_block(void *context, size_t block, int worker) {
  (void)worker;
  set *s = context;
  sum_block(s, block, &s->block[block]);
  return UL_OK;
}

ul_status ul_measure_parallel(const ul_mesh *mesh, const uint32_t *triangle_ids, size_t count,
                              const ul_job *job, ul_measure *out) {
  set s;
  moments total = {0};
  if (!begin(&s, mesh, triangle_ids, count, out)) return UL_OK;
  size_t blocks = (count + BLOCK - 1) / BLOCK;
  s.block = ul_new_raw(blocks, sizeof *s.block);
  if (!s.block) return UL_E_MEMORY;
  ul_status status = ul_parallel(job, NULL, blocks, do_block, &s);
  for (size_t block = 0; status == UL_OK && block < blocks; block++)
    add_moments(&total, &s.block[block]);
  free(s.block);
  if (status == UL_OK) finish(&s, &total, out);
  return status;
}

/* The integral of the height s over the part of a triangle where s < 0, by its area seen along the
 * height. `area` is that of the whole, s its corners' heights. */
static double sunk(double area, const double s[3]) {
  double sum = s[0] + s[1] + s[2];
  int below = (s[0] < 0) + (s[1] < 0) + (s[2] < 0);
  if (below == 0) return 0;
  if (below == 3) return area * sum / 3;
  int k = 0; /* the corner that is alone on its side */
  while ((s[k] < 0) != (below == 1)) k++;
  double a = s[k], b = s[(k + 1) % 3], c = s[(k + 2) % 3];
  double tip = area * (a / (a - b)) * (a / (a - c)) * a / 3;
  return below == 1 ? tip : area * sum / 3 - tip;
}

/* Divergence theorem with the field s up, which is nothing on the level plane itself. */
double ul_solid_below_mm3(const ul_solid *solid, uint32_t cavity, const double up[3],
                          double height_mm) {
  const ul_mesh *m = solid->mesh;
  double volume = 0;
  for (size_t t = 0; t < m->triangle_count; t++) {
    if (solid->cavity_of[t] != cavity) continue;
    const double *p[3];
    double s[3], ab[3], ac[3], normal[3];
    for (int k = 0; k < 3; k++) {
      p[k] = m->vertex_mm[m->triangle[t][k]];
      s[k] = ul_dot(up, p[k]) - height_mm;
    }
    ul_sub(p[1], p[0], ab);
    ul_sub(p[2], p[0], ac);
    ul_cross(ab, ac, normal);
    volume += sunk(ul_dot(normal, up) / 2, s);
  }
  return volume;
}
