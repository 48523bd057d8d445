/* page_loops.c - loose directed pieces become closed outlines; outlines of a level on a grid. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/page_parts.h"

bool ul_page_piece_add(ul_page_pieces *pieces, const ul_page_piece *piece) {
  if (!ul_grow((void **)&pieces->piece, &pieces->room, pieces->count + 1, sizeof *piece))
    return false;
  pieces->piece[pieces->count++] = *piece;
  return true;
}

double ul_page_area(const ul_page_pieces *pieces) {
  double twice = 0;
  for (size_t i = 0; i < pieces->count; i++) {
    const ul_page_piece *p = &pieces->piece[i];
    twice += p->a[0] * p->b[1] - p->a[1] * p->b[0];
  }
  return twice / 2;
}

static int by_start(const void *a, const void *b) {
  const ul_page_piece *x = a, *y = b;
  if (x->from != y->from) return x->from < y->from ? -1 : 1;
  return x->to < y->to ? -1 : x->to > y->to;
}

/* An unused piece that begins at `key`, or `count`. */
static size_t next_piece(const ul_page_pieces *p, const bool *used, uint64_t key) {
  size_t low = 0, high = p->count;
  while (low < high) {
    size_t middle = low + (high - low) / 2;
    if (p->piece[middle].from < key)
      low = middle + 1;
    else
      high = middle;
  }
  while (low < p->count && p->piece[low].from == key && used[low]) low++;
  return low < p->count && p->piece[low].from == key ? low : p->count;
}

static void put_loop(FILE *file, const ul_page_pieces *p, const ul_page_view *view, bool *used,
                     size_t first) {
  long last[2] = {0, 0};
  char command = 'M';
  for (size_t i = first; i < p->count; i = next_piece(p, used, p->piece[i].to)) {
    used[i] = true;
    long at[2] = {lround(view->x0 + view->scale * p->piece[i].a[0]),
                  lround(view->y0 - view->scale * p->piece[i].a[1])};
    if (command == 'l' && at[0] == last[0] && at[1] == last[1]) continue;
    fprintf(file, "%c%ld %ld", command, at[0] - (command == 'l' ? last[0] : 0),
            at[1] - (command == 'l' ? last[1] : 0));
    memcpy(last, at, sizeof at);
    command = 'l';
  }
  fputc('z', file);
}

bool ul_page_outline(FILE *file, ul_page_pieces *pieces, const ul_page_view *view) {
  bool *used = ul_new(pieces->count, sizeof *used);
  if (!used) return false;
  if (pieces->count) qsort(pieces->piece, pieces->count, sizeof *pieces->piece, by_start);
  for (size_t i = 0; i < pieces->count; i++)
    if (!used[i]) put_loop(file, pieces, view, used, i);
  free(used);
  return true;
}

/* --- marching squares --- */

typedef struct ul_page_levels {
  const float *value;
  const int *n;
  const double *from;
  double step, level;
} ul_page_levels;

/* How far above the level a node is; the rim and what is unknown is far above. */
static double above(const ul_page_levels *l, int x, int y) {
  if (x <= 0 || y <= 0 || x >= l->n[0] - 1 || y >= l->n[1] - 1) return 1e9;
  double v = (double)l->value[(size_t)y * (size_t)l->n[0] + (size_t)x] - l->level;
  return isnan(v) ? 1e9 : v;
}

/* Where the level crosses side `side` (0 bottom, 1 right, 2 top, 3 left) of a square, and the
 * number of that side on the whole grid. */
static uint64_t crossing(const ul_page_levels *l, int x, int y, int side, double out[2]) {
  int ax = x + (side == 1), ay = y + (side == 2), upright = side & 1;
  double low = above(l, ax, ay), high = above(l, ax + !upright, ay + upright);
  double t = fmax(0, fmin(1, low / (low - high)));
  out[0] = l->from[0] + l->step * (ax + (upright ? 0 : t));
  out[1] = l->from[1] + l->step * (ay + (upright ? t : 0));
  return 2 * ((uint64_t)ay * (uint64_t)l->n[0] + (uint64_t)ax) + (uint64_t)upright;
}

static bool square(const ul_page_levels *l, int x, int y, ul_page_pieces *out) {
  static const int corner[4][2] = {{0, 0}, {1, 0}, {1, 1}, {0, 1}};
  bool in[4];
  for (int i = 0; i < 4; i++) in[i] = above(l, x + corner[i][0], y + corner[i][1]) <= 0;
  /* Going round counter-clockwise, the outline leaves through a side that goes from in to out and
   * comes back through the next one that goes from out to in: what is inside stays on its left. */
  for (int i = 0; i < 4; i++) {
    if (!in[i] || in[(i + 1) % 4]) continue;
    int j = (i + 1) % 4;
    while (in[j] || !in[(j + 1) % 4]) j = (j + 1) % 4;
    ul_page_piece p;
    p.from = crossing(l, x, y, i, p.a);
    p.to = crossing(l, x, y, j, p.b);
    if (!ul_page_piece_add(out, &p)) return false;
  }
  return true;
}

bool ul_page_contour(const float *value, const int n[2], const double from[2], double step,
                     double level, ul_page_pieces *out) {
  ul_page_levels l = {value, n, from, step, level};
  for (int y = 0; y + 1 < n[1]; y++)
    for (int x = 0; x + 1 < n[0]; x++)
      if (!square(&l, x, y, out)) return false;
  return true;
}
