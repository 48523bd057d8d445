/* plan_moments.c - the level rise as the few moments at which something happens. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_air.h"
#include "main/plan_page.h"

/* Foam at two vents within this filled share of each other is one moment. */
static const double TOGETHER = 0.003;
/* A quarter's fill is told only when nothing else happens within this share of it. */
static const double APART = 0.06;
enum { NEAR_CUBES = 3 };

/* --- where a place is among the cubes --- */

static double cube_height(const ul_lattice *l, size_t cube, const double up[3]) {
  size_t nx = (size_t)l->n[0], ny = (size_t)l->n[1];
  const size_t at[3] = {cube % nx, cube / nx % ny, cube / (nx * ny)};
  double height = 0;
  for (int a = 0; a < 3; a++)
    height += up[a] * (l->origin_mm[a] + ((double)at[a] + 0.5) * l->cube_mm);
  return height;
}

/* The nearest cube inside, looked for within NEAR_CUBES; SIZE_MAX if there is none. */
static size_t cube_at(const ul_grid *g, const double at_mm[3]) {
  const ul_lattice *l = &g->lattice;
  double place[3], nearest = INFINITY;
  size_t best = SIZE_MAX;
  long base[3];
  for (int a = 0; a < 3; a++) {
    place[a] = (at_mm[a] - l->origin_mm[a]) / l->cube_mm - 0.5;
    base[a] = lround(place[a]);
  }
  const int wide = 2 * NEAR_CUBES + 1;
  for (int i = 0; i < wide * wide * wide; i++) {
    const long at[3] = {base[0] + i % wide - NEAR_CUBES, base[1] + i / wide % wide - NEAR_CUBES,
                        base[2] + i / (wide * wide) - NEAR_CUBES};
    bool there = true;
    double far = 0;
    for (int a = 0; a < 3; a++) {
      there = there && at[a] >= 0 && at[a] < l->n[a];
      far += (place[a] - (double)at[a]) * (place[a] - (double)at[a]);
    }
    if (!there || far >= nearest) continue;
    size_t cube =
        ((size_t)at[2] * (size_t)l->n[1] + (size_t)at[1]) * (size_t)l->n[0] + (size_t)at[0];
    if (!g->inside[cube]) continue;
    nearest = far;
    best = cube;
  }
  return best;
}

/* --- when a pocket is cut off: the earliest arrival above its cut-off level, in it --- */

static void spread(const ul_grid *g, size_t cube, uint8_t *seen, size_t *stack, size_t *top) {
  const int32_t *n = g->lattice.n;
  size_t nx = (size_t)n[0], row[3] = {1, nx, nx * (size_t)n[1]};
  for (int side = 0; side < 6; side++) {
    /* the lattice has an empty rim, so a neighbour of a cube inside is in it */
    size_t next = side & 1 ? cube + row[side / 2] : cube - row[side / 2];
    if (!g->inside[next] || seen[next]) continue;
    seen[next] = 1;
    stack[(*top)++] = next;
  }
}

/* NAN when it cannot be told. `seen` is all zero and is left so; `stack` holds every cube inside,
 * as does `visited`. */
static double cut_off_share(const cavity_case *c, const plan *p, const ul_peak *peak, uint8_t *seen,
                            size_t *stack, size_t *visited) {
  const ul_grid *g = c->grid;
  size_t start = cube_at(g, peak->at_mm), top = 0, count = 0;
  if (start == SIZE_MAX) return NAN;
  double first = INFINITY;
  stack[top++] = start;
  seen[start] = 1;
  while (top) {
    size_t cube = stack[--top];
    visited[count++] = cube;
    if (cube_height(&g->lattice, cube, p->up) <= peak->cut_off_mm) continue;
    first = fmin(first, (double)p->level->arrival[cube]);
    spread(g, cube, seen, stack, &top);
  }
  for (size_t i = 0; i < count; i++) seen[visited[i]] = 0;
  return first <= 1 ? first : NAN;
}

/* --- the moments --- */

static void set_place(ul_page_event *e, const double at_mm[3]) {
  e->has_place = true;
  ul_copy3(at_mm, e->at_mm);
}

static const ul_vent *vent_of(const ul_vents *vents, uint32_t peak) {
  for (size_t i = 0; i < vents->count; i++)
    for (size_t k = 0; k < vents->vent[i].serves_count; k++)
      if (vents->vent[i].ok && vents->vent[i].serves[k] == peak) return &vents->vent[i];
  return NULL;
}

static void poured(const plan *p, ul_page_event *e) {
  char place[UL_WORDS];
  e->reached = 0;
  snprintf(e->text, sizeof e->text, "Poured in, and lies at the bottom: pour at %s.",
           ul_words_place(p->level->pour_mm[0], place));
  set_place(e, p->level->pour_mm[0]);
}

static bool cut_off(const plan *p, const ul_peak *peak, double share, ul_page_event *e) {
  const ul_vent *vent = vent_of(p->vents, peak->id);
  if (!vent || isnan(share)) return false;
  char volume[UL_WORDS];
  e->reached = share;
  e->vent = vent->id;
  snprintf(e->text, sizeof e->text,
           "Foam closes off the pocket under hole %u: the %s of air in it can leave only there.",
           vent->id, ul_words_volume(peak->pocket_mm3, volume));
  set_place(e, peak->at_mm);
  return true;
}

static bool at_vent(const cavity_case *c, const plan *p, const ul_vent *vent, ul_page_event *e) {
  size_t cube = vent->ok ? cube_at(c->grid, vent->at_mm) : SIZE_MAX;
  if (cube == SIZE_MAX || p->level->arrival[cube] > 1) return false;
  e->reached = (double)p->level->arrival[cube];
  e->vent = vent->id;
  set_place(e, vent->at_mm);
  return true;
}

static void shut_in(const plan_air *air, ul_page_event *e) {
  char volume[UL_WORDS], place[UL_WORDS];
  e->reached = air->cut_off;
  e->air = air->id;
  snprintf(e->text, sizeof e->text, "Air %u is shut in at %s: %s stay.", air->id,
           ul_words_place(air->at_mm, place), ul_words_volume(air->void_mm3, volume));
  set_place(e, air->at_mm);
}

double plan_stands_mm(const plan *p, const ul_grid *grid, const float *arrival, double reached) {
  double highest = -INFINITY, bench = INFINITY;
  for (size_t i = 0; i < grid->cube_count; i++)
    if (grid->inside[i] && (double)arrival[i] <= reached)
      highest = fmax(highest, cube_height(&grid->lattice, i, p->up));
  for (int i = 0; i < 4; i++) bench = fmin(bench, ul_dot(p->up, p->props.corner_mm[i]));
  return highest - bench;
}

static void quarter(const cavity_case *c, const plan *p, int quarters, ul_page_event *e) {
  static const char *const word[] = {"", "A quarter full", "Half full", "Three quarters full"};
  e->reached = quarters / 4.0;
  snprintf(e->text, sizeof e->text, "%s: foam stands %.0f mm above the bench.", word[quarters],
           plan_stands_mm(p, c->grid, p->level->arrival, e->reached));
}

/* Whether another moment tells of that time already. */
static bool is_told(const ul_page_event *list, size_t count, double share) {
  for (size_t i = 0; i < count; i++)
    if (fabs(list[i].reached - share) < APART) return true;
  return false;
}

/* The level rise ends when its fullest cavity does. */
static double filled_most(const cavity_case *c, const plan *p) {
  double most = 0;
  for (size_t i = 0; i < c->solid->cavity_count; i++) most = fmax(most, p->level->filled[i]);
  return most;
}

static void ended(const cavity_case *c, const plan *p, ul_page_event *e) {
  char place[UL_WORDS];
  e->reached = filled_most(c, p);
  snprintf(e->text, sizeof e->text, "%s The place reached last is %s.",
           p->level->void_count ? "It rises no further." : "Full.",
           ul_words_place(p->level->last_mm[0], place));
  set_place(e, p->level->last_mm[0]);
}

static int by_share(const void *a, const void *b) {
  const ul_page_event *x = a, *y = b;
  if (x->reached != y->reached) return x->reached < y->reached ? -1 : 1;
  return x->vent < y->vent ? -1 : x->vent > y->vent;
}

/* Vents that foam reaches together become one moment, with words. */
static size_t join_vents(const plan *p, ul_page_event *e, size_t count) {
  qsort(e, count, sizeof *e, by_share);
  size_t kept = 0;
  for (size_t i = 0; i < count;) {
    uint32_t id[VENTS_MOST];
    size_t together = 0;
    double last = e[i].reached;
    ul_page_event first = e[i];
    for (; i < count && together < VENTS_MOST && e[i].reached - first.reached <= TOGETHER; i++) {
      last = e[i].reached;
      id[together++] = e[i].vent;
    }
    e[kept] = first;
    plan_say_shows(p, id, together, e[kept].text);
    e[kept++].reached = last;
  }
  return kept;
}

/* Appends the pockets' cut-offs. False: no memory. */
static bool list_pockets(const cavity_case *c, const plan *p, ul_page_event *list, size_t *count) {
  uint8_t *seen = ul_new(c->grid->cube_count, 1);
  size_t *stack = ul_new_raw(c->grid->inside_count, sizeof *stack);
  size_t *visited = ul_new_raw(c->grid->inside_count, sizeof *visited);
  bool good = seen && stack && visited;
  for (size_t i = 0; good && i < p->peaks->count; i++) {
    const ul_peak *peak = &p->peaks->peak[i];
    if (isnan(peak->cut_off_mm) || !vent_of(p->vents, peak->id)) continue;
    double share = cut_off_share(c, p, peak, seen, stack, visited);
    *count += cut_off(p, peak, share, &list[*count]);
  }
  free(seen);
  free(stack);
  free(visited);
  return good;
}

ul_page_event *plan_level_moments(const cavity_case *c, const plan *p, size_t *count) {
  size_t most = 5 + p->peaks->count + p->vents->count + p->level->void_count, air_count = 0;
  ul_page_event *list = ul_new(most, sizeof *list);
  plan_air *air = list ? plan_air_list(c, p, &air_count) : NULL;
  *count = 0;
  if (air) poured(p, &list[(*count)++]);
  if (!air || !list_pockets(c, p, list, count)) {
    free(list);
    free(air);
    return NULL;
  }
  size_t vents = 0, first = *count;
  for (size_t i = 0; i < p->vents->count; i++)
    vents += at_vent(c, p, &p->vents->vent[i], &list[first + vents]);
  *count += join_vents(p, list + first, vents);
  for (size_t i = 0; i < air_count; i++) {
    memset(&list[*count], 0, sizeof *list);
    shut_in(&air[i], &list[(*count)++]);
  }
  free(air);
  for (int i = 1; i < 4; i++)
    if (i / 4.0 < filled_most(c, p) - APART && !is_told(list, *count, i / 4.0)) {
      memset(&list[*count], 0, sizeof *list);
      quarter(c, p, i, &list[(*count)++]);
    }
  memset(&list[*count], 0, sizeof *list);
  qsort(list, *count, sizeof *list, by_share);
  ended(c, p, &list[(*count)++]);
  for (size_t i = 0; i < *count; i++)
    snprintf(list[i].mark, sizeof list[i].mark, "%ld %%", lround(100 * list[i].reached));
  return list;
}
