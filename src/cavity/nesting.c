#include "cavity/nesting.h"

#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "cavity/exact.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Rounds asking a vertex each, then rounds asking the middle of a triangle each (of a shell all of
 * whose vertices lie on the other). */
enum { VERTEX_ROUNDS = 16, ROUNDS = 32, TRIANGLES_A_BLOCK = 16384 };

/* A point of shell `inner`, from which a ray goes up. */
typedef struct {
  double at[3];
  uint32_t inner;
} question;

/* What one triangle of `outer` says to it. */
typedef struct {
  ul_inside pair;
  int crossing; /* +1, -1: the ray goes out or in; 0: the point lies on the triangle */
} answer;

typedef struct {
  answer *item;
  size_t count, room;
} answer_list;

typedef struct {
  const ul_shell_set *shells;
  question *question; /* by x */
  size_t count;
  double touch_mm;
  answer_list *list; /* per block */
} asking;

static int compare_pairs(ul_inside a, ul_inside b) {
  if (a.inner != b.inner) return a.inner < b.inner ? -1 : 1;
  return a.outer < b.outer ? -1 : a.outer > b.outer;
}

static int by_pair(const void *left, const void *right) {
  return compare_pairs(((const answer *)left)->pair, ((const answer *)right)->pair);
}

static int by_x(const void *left, const void *right) {
  const question *a = left, *b = right;
  if (a->at[0] != b->at[0]) return a->at[0] < b->at[0] ? -1 : 1;
  return a->inner < b->inner ? -1 : a->inner > b->inner;
}

/* -- one ray and one triangle -- */

/* Side of the line through two vertices on which p is, seen from above, as if p were moved by
 * (e, e^2): a ray through an edge or a vertex is then settled alike by all triangles there
 * (Edelsbrunner and Mucke 1990, ACM Trans. Graphics 9(1)). 0: the edge is vertical. */
static int turn_moved(const double a[3], const double b[3], const double p[3]) {
  int turn = ul_turn(a, b, p, 0, 1);
  if (turn != 0) return turn;
  if (a[1] != b[1]) return a[1] > b[1] ? 1 : -1;
  return a[0] == b[0] ? 0 : b[0] > a[0] ? 1 : -1;
}

static int ray_crosses(const double *v[3], const double p[3]) {
  int turn = turn_moved(v[0], v[1], p);
  if (turn == 0 || turn_moved(v[1], v[2], p) != turn || turn_moved(v[2], v[0], p) != turn) return 0;
  return ul_side(v[0], v[1], v[2], p) == -turn ? turn : 0;
}

/* Distance from p to the segment ab. */
static double segment_distance(const double a[3], const double b[3], const double p[3]) {
  double ab[3], ap[3], near[3];
  ul_sub(b, a, ab);
  ul_sub(p, a, ap);
  double length2 = ul_dot(ab, ab), along = length2 > 0 ? ul_dot(ap, ab) / length2 : 0;
  ul_add_scaled(a, fmin(1, fmax(0, along)), ab, near);
  return ul_distance(near, p);
}

static bool lies_on(const double *v[3], const double p[3], double touch_mm) {
  double ab[3], ac[3], ap[3], normal[3], across[3];
  ul_sub(v[1], v[0], ab);
  ul_sub(v[2], v[0], ac);
  ul_sub(p, v[0], ap);
  ul_cross(ab, ac, normal);
  double area = ul_norm(normal);
  if (fabs(ul_dot(ap, normal)) > touch_mm * area) return false;
  bool within = area > 0;
  for (int k = 0; k < 3; k++) {
    const double *a = v[k], *b = v[(k + 1) % 3];
    if (segment_distance(a, b, p) <= touch_mm) return true;
    ul_sub(b, a, ab);
    ul_sub(p, a, ap);
    ul_cross(ab, ap, across);
    within = within && ul_dot(across, normal) >= 0;
  }
  return within;
}

/* -- all rays and a block of triangles -- */

static bool box_within(const ul_measure *inner, const ul_measure *outer) {
  for (int c = 0; c < 3; c++)
    if (inner->box_mm[0][c] < outer->box_mm[0][c] || inner->box_mm[1][c] > outer->box_mm[1][c])
      return false;
  return true;
}

static ul_status ask(const asking *a, const question *q, const double *v[3], uint32_t outer,
                     answer_list *list) {
  answer said = {{q->inner, outer}, 0};
  if (q->inner == outer || !box_within(&a->shells->measure[q->inner], &a->shells->measure[outer]))
    return UL_OK;
  if (!lies_on(v, q->at, a->touch_mm)) {
    said.crossing = ray_crosses(v, q->at);
    if (said.crossing == 0) return UL_OK;
  }
  if (!ul_grow((void **)&list->item, &list->room, list->count + 1, sizeof said)) return UL_E_MEMORY;
  list->item[list->count++] = said;
  return UL_OK;
}

static ul_status ask_triangle(const asking *a, size_t t, answer_list *list) {
  const ul_mesh *mesh = a->shells->mesh;
  const double *v[3];
  double low[3], high[3];
  for (int k = 0; k < 3; k++) v[k] = mesh->vertex_mm[mesh->triangle[t][k]];
  for (int c = 0; c < 3; c++) {
    low[c] = fmin(v[0][c], fmin(v[1][c], v[2][c])) - a->touch_mm;
    high[c] = fmax(v[0][c], fmax(v[1][c], v[2][c])) + a->touch_mm;
  }
  size_t first = 0, last = a->count;
  while (first < last) {
    size_t mid = (first + last) / 2;
    if (a->question[mid].at[0] < low[0])
      first = mid + 1;
    else
      last = mid;
  }
  for (; first < a->count && a->question[first].at[0] <= high[0]; first++) {
    const question *q = &a->question[first];
    if (q->at[1] < low[1] || q->at[1] > high[1] || q->at[2] > high[2]) continue;
    ul_status status = ask(a, q, v, a->shells->shell_of[t], list);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

static ul_status ask_block(void *context, size_t block, int worker) {
  (void)worker;
  const asking *a = context;
  size_t t = block * TRIANGLES_A_BLOCK, end = t + TRIANGLES_A_BLOCK;
  if (end > a->shells->mesh->triangle_count) end = a->shells->mesh->triangle_count;
  ul_status status = UL_OK;
  for (; status == UL_OK && t < end; t++) status = ask_triangle(a, t, &a->list[block]);
  return status;
}

/* Every answer to the round's questions, by pair; *all is the caller's. */
static ul_status ask_all(asking *a, const ul_job *job, answer_list *all) {
  size_t blocks = (a->shells->mesh->triangle_count + TRIANGLES_A_BLOCK - 1) / TRIANGLES_A_BLOCK;
  *all = (answer_list){0};
  a->list = ul_new(blocks, sizeof *a->list);
  if (!a->list) return UL_E_MEMORY;
  ul_status status = ul_parallel(job, NULL, blocks, ask_block, a);
  for (size_t b = 0; b < blocks; b++) {
    size_t need = all->count + a->list[b].count;
    if (status == UL_OK && !ul_grow((void **)&all->item, &all->room, need, sizeof *all->item))
      status = UL_E_MEMORY;
    for (size_t i = 0; status == UL_OK && i < a->list[b].count; i++)
      all->item[all->count++] = a->list[b].item[i];
    free(a->list[b].item);
  }
  free(a->list);
  if (all->count) qsort(all->item, all->count, sizeof *all->item, by_pair);
  return status;
}

/* -- rounds -- */

typedef struct {
  ul_inside *pair;
  size_t count, room;
} pair_list;

static bool add_pair(pair_list *list, ul_inside pair) {
  if (!ul_grow((void **)&list->pair, &list->room, list->count + 1, sizeof pair)) return false;
  list->pair[list->count++] = pair;
  return true;
}

static void choose_point(const ul_shell_set *s, uint32_t shell, int round, double at[3]) {
  size_t first = s->member_start[shell], size = s->member_start[shell + 1] - first;
  size_t step = (size_t)(round % VERTEX_ROUNDS);
  const uint32_t *corner = s->mesh->triangle[s->member[first + size * step / VERTEX_ROUNDS]];
  const double(*v)[3] = (const double(*)[3])s->mesh->vertex_mm;
  for (int c = 0; c < 3; c++)
    at[c] = round < VERTEX_ROUNDS ? v[corner[0]][c]
                                  : (v[corner[0]][c] + v[corner[1]][c] + v[corner[2]][c]) / 3;
}

/* In the first round all shells are asked, then those with an open pair. */
static void pose(asking *a, int round, const pair_list *open) {
  a->count = 0;
  for (size_t i = 0; i < (round == 0 ? a->shells->count : open->count); i++) {
    if (round > 0 && i > 0 && open->pair[i].inner == open->pair[i - 1].inner) continue;
    question *q = &a->question[a->count++];
    q->inner = round == 0 ? (uint32_t)i : open->pair[i].inner;
    choose_point(a->shells, q->inner, round, q->at);
  }
  qsort(a->question, a->count, sizeof *a->question, by_x);
}

static bool was_open(const pair_list *open, ul_inside pair) {
  size_t first = 0, last = open->count;
  while (first < last) {
    size_t mid = (first + last) / 2;
    if (compare_pairs(open->pair[mid], pair) < 0)
      first = mid + 1;
    else
      last = mid;
  }
  return first < open->count && compare_pairs(open->pair[first], pair) == 0;
}

/* Settles what a round's answers settle; the rest is open in the next. */
static ul_status settle(const answer_list *all, int round, pair_list *open, pair_list *inside) {
  pair_list still = {0};
  ul_status status = UL_OK;
  for (size_t i = 0, next; status == UL_OK && i < all->count; i = next) {
    ul_inside pair = all->item[i].pair;
    long winding = 0;
    bool touches = false;
    for (next = i; next < all->count && compare_pairs(all->item[next].pair, pair) == 0; next++) {
      winding += all->item[next].crossing;
      touches = touches || all->item[next].crossing == 0;
    }
    if (round > 0 && !was_open(open, pair)) continue;
    if (touches ? !add_pair(&still, pair) : winding != 0 && !add_pair(inside, pair))
      status = UL_E_MEMORY;
  }
  free(open->pair);
  *open = still;
  return status;
}

static int by_inside(const void *left, const void *right) {
  return compare_pairs(*(const ul_inside *)left, *(const ul_inside *)right);
}

ul_status ul_nesting_find(const ul_shell_set *shells, const ul_job *job, ul_inside **list,
                          size_t *count) {
  *list = NULL;
  *count = 0;
  if (shells->count < 2) return UL_OK;
  asking a = {.shells = shells, .touch_mm = shells->touch_mm};
  a.question = ul_new_raw(shells->count, sizeof *a.question);
  pair_list open = {0}, inside = {0};
  ul_status status = a.question ? UL_OK : UL_E_MEMORY;
  for (int round = 0; status == UL_OK && round < ROUNDS; round++) {
    if (round > 0 && open.count == 0) break;
    answer_list all;
    pose(&a, round, &open);
    status = ask_all(&a, job, &all);
    if (status == UL_OK) status = settle(&all, round, &open, &inside);
    free(all.item);
  }
  free(a.question);
  free(open.pair);
  if (status == UL_OK && inside.count)
    qsort(inside.pair, inside.count, sizeof *inside.pair, by_inside);
  *list = inside.pair;
  *count = inside.count;
  if (status != UL_OK) {
    free(inside.pair);
    *list = NULL;
    *count = 0;
  }
  return status;
}
