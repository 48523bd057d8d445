#include "rise/air.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"

typedef struct {
  int32_t *label;  /* per cube, the new part */
  uint32_t *queue; /* per cube, scratch */
  double *total;   /* per old part: its volume now, over all its cubes */
} relabel;

static double air_in(const ul_filling *f, const ul_foam_now *now, size_t cube, double gauge) {
  return fmax(0, f->volume[cube] - f->mass[cube] * ul_volume_at(now, gauge));
}

static void meet(const ul_filling *f, relabel *r, uint32_t cube, int32_t part, size_t *count) {
  if (f->full[cube] || r->label[cube] != UL_NO_PART) return;
  r->label[cube] = part;
  r->queue[(*count)++] = cube;
}

/* Over faces, and along slanting walls. */
static void spread(const ul_filling *f, relabel *r, uint32_t from, int32_t part) {
  const ul_stairs *stairs = &f->stairs;
  size_t count = 0;
  meet(f, r, from, part, &count);
  for (size_t i = 0; i < count; i++) {
    const uint32_t cube = r->queue[i];
    const int32_t *next = f->cubes->next[cube];
    for (int s = 0; s < UL_SIDES; s++)
      if (next[s] != UL_NO_CUBE) meet(f, r, (uint32_t)next[s], part, &count);
    for (size_t k = stairs->first[cube]; k < stairs->first[cube + 1]; k++)
      meet(f, r, stairs->to[k], part, &count);
  }
}

/* Numbers the parts by their lowest cube. */
static ul_status find_parts(ul_filling *f, relabel *r, ul_part **part, size_t *count,
                            ul_error *err) {
  size_t room = 0;
  for (size_t i = 0; i < f->count; i++) r->label[i] = UL_NO_PART;
  for (size_t i = 0; i < f->count; i++) {
    if (f->full[i] || r->label[i] != UL_NO_PART) continue;
    if (!ul_grow((void **)part, &room, *count + 1, sizeof **part)) return ul_fail_memory(err);
    (*part)[*count] = (ul_part){.first = (uint32_t)i, .cut_off_s = NAN};
    spread(f, r, (uint32_t)i, (int32_t)(*count)++);
  }
  return UL_OK;
}

static void measure_old(const ul_filling *f, relabel *r, const ul_foam_now *now) {
  for (size_t i = 0; i < f->count; i++) {
    if (f->air[i] == UL_NO_PART || r->label[i] == UL_NO_PART) continue;
    r->total[f->air[i]] += air_in(f, now, i, f->part[f->air[i]].gauge_pa);
  }
}

/* Each new part gets of an old one's moles what it got of its volume, and of several the pressure
 * they come to together; a part that left no room gives its moles to the foam. */
static void share(ul_filling *f, relabel *r, const ul_foam_now *now, ul_part *part) {
  for (size_t i = 0; i < f->count; i++) {
    if (f->air[i] == UL_NO_PART || r->label[i] == UL_NO_PART) continue;
    const ul_part *old = &f->part[f->air[i]];
    double volume = air_in(f, now, i, old->gauge_pa);
    ul_part *new = &part[r->label[i]];
    new->volume_m3 += volume;
    if (r->total[f->air[i]] <= 0) continue;
    double piece = volume / r->total[f->air[i]];
    new->content_j += old->content_j *piece;
    new->shrink_m3_s += old->shrink_m3_s *piece;
    if (new->volume_m3 <= volume)
      new->gauge_pa = old->gauge_pa;
    else
      new->gauge_pa += (old->gauge_pa - new->gauge_pa) * volume / new->volume_m3;
    new->climb_pa_s = old->climb_pa_s;
    new->grows = old->grows;
    new->cut_off_s = old->cut_off_s;
    new->cut_off_m3 += isnan(old->cut_off_s) ? 0 : old->cut_off_m3 *piece;
  }
  for (size_t a = 0; a < f->part_count; a++)
    if (r->total[a] <= 0) f->absorbed_j += f->part[a].content_j;
}

/* How much of each mouth is covered, and since when. */
static void note_covered(ul_filling *f) {
  for (size_t i = 0; i < f->mouth_count; i++) {
    ul_mouth *m = &f->mouth[i];
    size_t covered = 0;
    m->covered = 0;
    for (size_t k = 0; k < m->count; k++) {
      covered += f->full[m->cube[k]];
      m->covered += f->full[m->cube[k]] ? ul_mouth_share(m, k) : 0;
    }
    if (covered && isnan(m->shows_s)) m->shows_s = f->t;
    if (covered == m->count && isnan(m->clogs_s)) m->clogs_s = f->t;
  }
}

static void find_mouths(ul_filling *f, const int32_t *label, ul_part *part, size_t parts) {
  for (size_t a = 0; f->open && a < parts; a++) part[a].mouth_area = 1;
  note_covered(f);
  for (size_t i = 0; i < f->mouth_count; i++) {
    const ul_mouth *m = &f->mouth[i];
    if (m->plug && !isnan(m->shows_s)) continue;
    for (size_t k = 0; k < m->count; k++)
      if (label[m->cube[k]] != UL_NO_PART)
        part[label[m->cube[k]]].mouth_area += ul_mouth_area_m2(m) * ul_mouth_share(m, k);
  }
}

static void note_cut_offs(ul_filling *f, ul_part *part, size_t count) {
  for (size_t a = 0; a < count; a++) {
    if (part[a].mouth_area > 0) {
      part[a].cut_off_s = NAN;
      part[a].cut_off_m3 = 0;
    } else if (isnan(part[a].cut_off_s)) {
      part[a].cut_off_s = f->t;
      part[a].cut_off_m3 = part[a].volume_m3;
    }
  }
}

/* Parts too small to matter become foam: their cubes count as full from now on. `to` is scratch. */
static void absorb(ul_filling *f, int32_t *label, int32_t *to, ul_part *part, size_t *count) {
  size_t kept = 0;
  for (size_t i = 0; i < f->count; i++) {
    if (label[i] == UL_NO_PART || part[label[i]].volume_m3 >= f->smallest_m3) continue;
    f->full[i] = 1;
    f->absorbed_cubes++;
    if (f->arrival_s[i] == INFINITY) f->arrival_s[i] = (float)f->t;
    f->pressure[i] = part[label[i]].gauge_pa;
    label[i] = UL_NO_PART;
  }
  for (size_t a = 0; a < *count; a++) {
    to[a] = (int32_t)kept;
    if (part[a].volume_m3 >= f->smallest_m3)
      part[kept++] = part[a];
    else
      f->absorbed_j += part[a].content_j;
  }
  for (size_t i = 0; i < f->count; i++)
    if (label[i] != UL_NO_PART) label[i] = to[label[i]];
  *count = kept;
}

static bool room_to_relabel(const ul_filling *f, relabel *r) {
  r->label = ul_new_raw(f->count, sizeof *r->label);
  r->queue = ul_new_raw(f->count, sizeof *r->queue);
  r->total = ul_new(f->part_count, sizeof *r->total);
  return r->label && r->queue && r->total;
}

static void count_cubes(const ul_filling *f, const int32_t *label, ul_part *part) {
  for (size_t i = 0; i < f->count; i++) {
    if (label[i] == UL_NO_PART) continue;
    part[label[i]].cube_count++;
    part[label[i]].cubes_m3 += f->volume[i];
    part[label[i]].held_kg += f->mass[i];
  }
}

static ul_status relabel_into(ul_filling *f, relabel *r, const ul_foam_now *now, ul_part **part,
                              size_t *count, ul_error *err) {
  ul_status status = find_parts(f, r, part, count, err);
  if (status != UL_OK) return status;
  measure_old(f, r, now);
  share(f, r, now, *part);
  find_mouths(f, r->label, *part, *count);
  note_cut_offs(f, *part, *count);
  absorb(f, r->label, (int32_t *)r->queue, *part, count);
  note_covered(f); /* by what was taken into the foam, too */
  count_cubes(f, r->label, *part);
  return UL_OK;
}

static ul_status find_anew(ul_filling *f, const ul_foam_now *now, ul_error *err) {
  relabel r = {0};
  ul_part *part = NULL;
  size_t count = 0;
  ul_status status =
      room_to_relabel(f, &r) ? relabel_into(f, &r, now, &part, &count, err) : ul_fail_memory(err);
  if (status == UL_OK) {
    int32_t *old = f->air;
    f->air = r.label;
    r.label = old;
    free(f->part);
    f->part = part;
    f->part_count = count;
    part = NULL;
  }
  free(part);
  free(r.label);
  free(r.queue);
  free(r.total);
  return status;
}

/* ---- when nothing was cut ---- */

static bool is_air(const ul_filling *f, int32_t cube) {
  return cube != UL_NO_CUBE && f->air[cube] != UL_NO_PART;
}

/* Do the air beside the cube on these two sides meet around its edge? */
static bool meet_around(const ul_filling *f, const int32_t *next, int a, int b) {
  if (a / 2 == b / 2) return false;
  int32_t edge = f->cubes->next[next[a]][b];
  return is_air(f, edge) && f->cubes->next[next[b]][a] == edge;
}

/* Does a cube that is reached along a slanting wall also touch air beside the cube? */
static bool touches_beside(const ul_filling *f, uint32_t far, const int32_t *next) {
  for (int s = 0; s < UL_SIDES; s++)
    for (int t = 0; is_air(f, next[s]) && t < UL_SIDES; t++)
      if (f->cubes->next[far][t] == next[s]) return true;
  return false;
}

/* Without this cube, is the air around it still one piece, as far as the cubes at its edges tell?
 */
static bool is_spare(const ul_filling *f, uint32_t cube) {
  const int32_t *next = f->cubes->next[cube];
  const ul_stairs *stairs = &f->stairs;
  for (size_t k = stairs->first[cube]; k < stairs->first[cube + 1]; k++)
    if (is_air(f, (int32_t)stairs->to[k]) && !touches_beside(f, stairs->to[k], next)) return false;
  unsigned air = 0, known = 0;
  for (int s = 0; s < UL_SIDES; s++)
    if (is_air(f, next[s])) air |= 1u << s;
  unsigned fresh = air & (0u - air);
  while (fresh) {
    known |= fresh;
    unsigned reached = 0;
    for (int a = 0; a < UL_SIDES; a++)
      for (int b = 0; fresh >> a & 1 && b < UL_SIDES; b++)
        if ((air & ~known) >> b & 1 && meet_around(f, next, a, b)) reached |= 1u << b;
    fresh = reached;
  }
  return known == air;
}

/* Takes the cubes out of their parts, one after the other, as long as none is what holds a part
 * together. */
static bool take_out(ul_filling *f, const uint32_t *joined, size_t count) {
  for (size_t k = 0; k < count; k++) {
    if (!is_spare(f, joined[k])) return false;
    f->air[joined[k]] = UL_NO_PART;
  }
  for (size_t a = 0; a < f->part_count; a++) {
    ul_part *p = &f->part[a];
    if (p->volume_m3 < f->smallest_m3) return false;
    while (f->air[p->first] != (int32_t)a) p->first++;
  }
  return true;
}

ul_status ul_air_follow(ul_filling *f, const ul_foam_now *now, const uint32_t *joined,
                        size_t joined_count, bool fell, ul_error *err) {
  if (fell || !take_out(f, joined, joined_count)) return find_anew(f, now, err);
  for (size_t a = 0; a < f->part_count; a++) f->part[a].mouth_area = 0;
  find_mouths(f, f->air, f->part, f->part_count);
  note_cut_offs(f, f->part, f->part_count);
  return UL_OK;
}

/* Before anything rises there is one part, all cubes, at atmospheric pressure; relabelling then
 * sorts out what the pool has cut off. */
ul_status ul_air_begin(ul_filling *f, ul_error *err) {
  ul_foam_now now = ul_foam_at(f, f->t);
  ul_part all = {.cut_off_s = NAN};
  for (size_t i = 0; i < f->count; i++) {
    f->air[i] = f->full[i] ? UL_NO_PART : 0;
    if (!f->full[i]) all.volume_m3 += air_in(f, &now, i, 0);
  }
  f->started_j = all.content_j = all.volume_m3 * UL_ATMOSPHERE_PA;
  f->part = ul_new(1, sizeof *f->part);
  if (!f->part) return ul_fail_memory(err);
  *f->part = all;
  f->part_count = 1;
  return find_anew(f, &now, err);
}

double ul_air_vent_w(const ul_filling *f, int32_t part, double gauge_pa) {
  double flow = 0;
  for (size_t i = 0; i < f->mouth_count; i++) {
    const ul_mouth *m = &f->mouth[i];
    if (m->plug && !isnan(m->shows_s)) continue;
    double open = 0;
    for (size_t k = 0; k < m->count; k++)
      if (f->air[m->cube[k]] == part) open += ul_mouth_share(m, k);
    if (open > 0) flow += ul_mouth_air_kg_s(m, gauge_pa) * UL_AIR_J_KG_K * UL_AIR_K * open;
  }
  return flow;
}
