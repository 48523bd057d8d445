#include "blocks.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void demand(bool holds, const char *what) {
  if (holds) return;
  fprintf(stderr, "make_cavities: %s\n", what);
  exit(4);
}

void blocks_from(blocks *b, int axis, double from) {
  b->n[axis] = 0;
  b->line[axis][0] = from;
}

void blocks_to(blocks *b, int axis, double to, int cells) {
  double from = b->line[axis][b->n[axis]];
  demand(b->n[axis] + cells < BLOCK_LINES, "too many lines");
  for (int i = 1; i < cells; i++) b->line[axis][b->n[axis] + i] = from + (to - from) * i / cells;
  b->line[axis][b->n[axis] += cells] = to;
}

static bool cell_solid(const blocks *b, const int at[3]) {
  int cell[3] = {at[0], at[1], at[2]};
  if (b->ring) cell[0] = (cell[0] + b->n[0]) % b->n[0];
  double middle[3];
  for (int a = 0; a < 3; a++) {
    if (cell[a] < 0 || cell[a] >= b->n[a]) return false;
    middle[a] = (b->line[a][cell[a]] + b->line[a][cell[a] + 1]) / 2;
  }
  return b->solid(middle);
}

static uint32_t node_number(const blocks *b, const int node[3]) {
  return (uint32_t)((node[2] * (b->n[1] + 1) + node[1]) * (b->n[0] + 1) + node[0]);
}

static uint8_t part_number(surface *s, const char *name) {
  if (!name) name = "";
  for (size_t p = 0; p < s->part_count; p++)
    if (!strcmp(s->part_name[p], name)) return (uint8_t)p;
  demand(s->part_count < BLOCK_FACES, "too many named faces");
  s->part_name[s->part_count] = name;
  return (uint8_t)s->part_count++;
}

static void add_triangle(surface *s, uint32_t a, uint32_t b, uint32_t c, uint8_t part) {
  s->part[s->triangle_count] = part;
  uint32_t *corner = s->triangle[s->triangle_count++];
  corner[0] = a, corner[1] = b, corner[2] = c;
}

/* The face of cell `at` that looks along `axis` to its low or high side, unless it is covered. */
static void add_face(surface *s, const blocks *b, const int at[3], int axis, int side) {
  int beyond[3] = {at[0], at[1], at[2]}, u = (axis + 1) % 3, v = (axis + 2) % 3;
  beyond[axis] += side ? 1 : -1;
  if (cell_solid(b, beyond)) return;
  uint32_t corner[4];
  double middle[3];
  for (int k = 0; k < 4; k++) {
    int node[3] = {at[0], at[1], at[2]};
    node[axis] += side;
    node[u] += k == 1 || k == 2;
    node[v] += k >= 2;
    corner[k] = node_number(b, node);
  }
  for (int a = 0; a < 3; a++) middle[a] = (b->line[a][at[a]] + b->line[a][at[a] + 1]) / 2;
  uint8_t part = part_number(s, b->face ? b->face(middle, axis, side) : NULL);
  add_triangle(s, corner[0], corner[side ? 1 : 2], corner[side ? 2 : 1], part);
  add_triangle(s, corner[0], corner[side ? 2 : 3], corner[side ? 3 : 2], part);
}

static void place_nodes(surface *s, const blocks *b) {
  int node[3];
  for (node[2] = 0; node[2] <= b->n[2]; node[2]++)
    for (node[1] = 0; node[1] <= b->n[1]; node[1]++)
      for (node[0] = 0; node[0] <= b->n[0]; node[0]++) {
        double uvw[3], *at = s->vertex_mm[node_number(b, node)];
        for (int a = 0; a < 3; a++) uvw[a] = b->line[a][node[a]];
        b->map(uvw, at);
        for (int a = 0; a < 3; a++) at[a] = rint(at[a] * 1024) / 1024 + 0.0; /* no -0 */
      }
}

static int by_place(const void *left, const void *right) {
  const double *const a = *(double *const *)left, *const b = *(double *const *)right;
  for (int c = 0; c < 3; c++)
    if (a[c] != b[c]) return a[c] < b[c] ? -1 : 1;
  return (a > b) - (a < b); /* qsort is not stable */
}

/* For each vertex, the lowest-numbered one at its place. */
static uint32_t *same_place(const surface *s) {
  double **order = malloc(s->vertex_count * sizeof *order);
  uint32_t *first = malloc(s->vertex_count * sizeof *first);
  demand(order && first, "out of memory");
  for (size_t v = 0; v < s->vertex_count; v++) order[v] = s->vertex_mm[v];
  qsort(order, s->vertex_count, sizeof *order, by_place);
  uint32_t keep = 0;
  for (size_t k = 0; k < s->vertex_count; k++) {
    if (k == 0 || memcmp(order[k], order[k - 1], sizeof *s->vertex_mm))
      keep = (uint32_t)((order[k] - s->vertex_mm[0]) / 3);
    first[(order[k] - s->vertex_mm[0]) / 3] = keep;
  }
  free(order);
  return first;
}

/* Lets vertices at one place be one and drops triangles that shrank. */
static void merge(surface *s) {
  uint32_t *first = same_place(s);
  size_t kept = 0;
  for (size_t t = 0; t < s->triangle_count; t++) {
    uint32_t c[3];
    for (int k = 0; k < 3; k++) c[k] = first[s->triangle[t][k]];
    if (c[0] == c[1] || c[1] == c[2] || c[2] == c[0]) continue;
    memcpy(s->triangle[kept], c, sizeof c);
    s->part[kept++] = s->part[t];
  }
  s->triangle_count = kept;
  free(first);
}

/* Drops vertices that no triangle uses; the others are numbered as the triangles meet them. */
static void renumber(surface *s) {
  uint32_t *number = calloc(s->vertex_count, sizeof *number), used = 0;
  double(*place)[3] = malloc(s->vertex_count * sizeof *place);
  demand(number && place, "out of memory");
  for (size_t t = 0; t < s->triangle_count; t++)
    for (int c = 0; c < 3; c++) {
      uint32_t *corner = &s->triangle[t][c];
      if (!number[*corner]) {
        memcpy(place[used], s->vertex_mm[*corner], sizeof *place);
        number[*corner] = ++used;
      }
      *corner = number[*corner] - 1;
    }
  free(number);
  free(s->vertex_mm);
  s->vertex_mm = place;
  s->vertex_count = used;
}

surface blocks_surface(const blocks *b) {
  size_t cells = (size_t)b->n[0] * (size_t)b->n[1] * (size_t)b->n[2];
  surface s = {.vertex_count =
                   (size_t)(b->n[0] + 1) * (size_t)(b->n[1] + 1) * (size_t)(b->n[2] + 1)};
  s.vertex_mm = malloc(s.vertex_count * sizeof *s.vertex_mm);
  s.triangle = malloc(cells * 12 * sizeof *s.triangle);
  s.part = malloc(cells * 12);
  demand(s.vertex_mm && s.triangle && s.part, "out of memory");
  place_nodes(&s, b);
  int at[3];
  for (at[2] = 0; at[2] < b->n[2]; at[2]++)
    for (at[1] = 0; at[1] < b->n[1]; at[1]++)
      for (at[0] = 0; at[0] < b->n[0]; at[0]++)
        for (int face = 0; face < 6 && cell_solid(b, at); face++)
          add_face(&s, b, at, face / 2, face % 2);
  merge(&s);
  renumber(&s);
  return s;
}

void surface_free(surface *s) {
  free(s->vertex_mm);
  free(s->triangle);
  free(s->part);
}
