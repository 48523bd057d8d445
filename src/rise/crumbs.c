#include "rise/crumbs.h"

#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"

typedef struct {
  const ul_cubes *cubes;
  uint32_t *part;   /* per cube */
  uint32_t *size;   /* per part: cubes */
  uint8_t *is_main; /* per part: the largest of its cavity */
  uint32_t *queue;
  size_t count;
} parts;

static void number_part(parts *p, size_t from) {
  size_t count = 0;
  p->queue[count++] = (uint32_t)from;
  p->part[from] = (uint32_t)p->count;
  for (size_t k = 0; k < count; k++)
    for (int s = 0; s < UL_SIDES; s++) {
      const int32_t n = p->cubes->next[p->queue[k]][s];
      if (n == UL_NO_CUBE || p->part[n] != UINT32_MAX) continue;
      p->part[n] = (uint32_t)p->count;
      p->queue[count++] = (uint32_t)n;
    }
  p->size[p->count++] = (uint32_t)count;
}

/* Of equals the one with the lowest cube. */
static void find_main(parts *p, uint32_t *largest) {
  const ul_cubes *c = p->cubes;
  for (size_t v = 0; v < c->cavity_count; v++) largest[v] = UINT32_MAX;
  for (size_t i = 0; i < c->count; i++) {
    uint32_t *most = &largest[ul_cube_cavity(c, i)];
    if (*most == UINT32_MAX || p->size[p->part[i]] > p->size[*most]) *most = p->part[i];
  }
  for (size_t v = 0; v < c->cavity_count; v++)
    if (largest[v] != UINT32_MAX) p->is_main[largest[v]] = 1;
}

/* ---- what a cube meets through cut ones ---- */

/* The steps that are left of `to`, along each axis one or none, lead through cut cubes only. */
static bool leads_there(const ul_grid *g, const int32_t at[3], const int32_t to[3]) {
  int left = 0;
  for (int a = 0; a < 3; a++) left += at[a] != to[a];
  if (left == 1) return true;
  for (int a = 0; a < 3; a++) {
    int32_t next[3] = {at[0], at[1], at[2]};
    if (at[a] == to[a]) continue;
    next[a] = to[a];
    if (ul_lattice_cut(g, next) && leads_there(g, next, to)) return true;
  }
  return false;
}

static bool meets_main(const parts *p, size_t cube) {
  const ul_cubes *c = p->cubes;
  const ul_lattice *l = &c->grid->lattice;
  int32_t at[3];
  ul_lattice_place(l, c->at[cube], at);
  for (int step = 0; step < 27; step++) {
    const int32_t d[3] = {step % 3 - 1, step / 3 % 3 - 1, step / 9 - 1};
    const int32_t to[3] = {at[0] + d[0], at[1] + d[1], at[2] + d[2]};
    bool holds = abs(d[0]) + abs(d[1]) + abs(d[2]) >= 2;
    for (int a = 0; a < 3; a++) holds = holds && to[a] >= 0 && to[a] < l->n[a];
    if (!holds) continue;
    const int32_t n = c->of_lattice[ul_lattice_cube(l, to)];
    if (n == UL_NO_CUBE || !p->is_main[p->part[n]]) continue;
    if (ul_cube_cavity(c, (size_t)n) == ul_cube_cavity(c, cube) && leads_there(c->grid, at, to))
      return true;
  }
  return false;
}

/* ---- the crumbs ---- */

static void mark(parts *p, uint8_t *crumb, size_t *count) {
  const size_t cubes = p->cubes->count;
  *count = 0;
  for (size_t i = 0; i < cubes; i++) /* a part with a cube that meets none is one by itself */
    if (!p->is_main[p->part[i]] && !meets_main(p, i)) p->size[p->part[i]] = 0;
  for (size_t i = 0; i < cubes; i++) {
    crumb[i] = !p->is_main[p->part[i]] && p->size[p->part[i]] > 0;
    *count += crumb[i];
  }
}

ul_status ul_crumbs_find(const ul_cubes *c, uint8_t *crumb, size_t *count, ul_error *err) {
  parts p = {.cubes = c};
  *count = 0;
  if (!c->columns) return UL_OK;
  uint32_t *largest = ul_new_raw(c->cavity_count, sizeof *largest);
  p.part = ul_new_raw(c->count, sizeof *p.part);
  p.size = ul_new_raw(c->count, sizeof *p.size);
  p.queue = ul_new_raw(c->count, sizeof *p.queue);
  p.is_main = ul_new(c->count, 1);
  const bool made = largest && p.part && p.size && p.queue && p.is_main;
  if (made) {
    for (size_t i = 0; i < c->count; i++) p.part[i] = UINT32_MAX;
    for (size_t i = 0; i < c->count; i++)
      if (p.part[i] == UINT32_MAX) number_part(&p, i);
    find_main(&p, largest);
    if (p.count > c->cavity_count) mark(&p, crumb, count);
  }
  free(largest);
  free(p.part);
  free(p.size);
  free(p.queue);
  free(p.is_main);
  return made ? UL_OK : ul_fail_memory(err);
}
