#include "cavity/reading.h"

#include "base/memory.h"
#include "cavity/nesting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What is worked out per shell on the way. */
typedef struct {
  ul_survey *s;
  ul_reading *r;
  size_t count;
  ul_inside *inside; /* (inner, outer), by inner */
  size_t inside_count;
  uint32_t *by_depth; /* shells, outermost first */
  int *sense;         /* +1: solid within; -1: none within; 0: dropped (a block's outside) */
  int *around;        /* winding number just outside the shell */
  uint8_t *crosses;   /* 1: passes through or overlaps another shell */
  uint32_t *group;    /* union-find: shells that bound one cavity */
} reader;

static ul_status begin(reader *d) {
  size_t n = d->count;
  d->r->shell = ul_new(n, sizeof *d->r->shell);
  d->r->turn = ul_new(n, sizeof *d->r->turn);
  d->by_depth = ul_new_raw(n, sizeof *d->by_depth);
  d->sense = ul_new(n, sizeof *d->sense);
  d->around = ul_new(n, sizeof *d->around);
  d->crosses = ul_new(n, sizeof *d->crosses);
  d->group = ul_new_raw(n, sizeof *d->group);
  if (!d->r->shell || !d->r->turn || !d->by_depth || !d->sense || !d->around || !d->crosses ||
      !d->group)
    return UL_E_MEMORY;
  for (size_t i = 0; i < n; i++) {
    d->group[i] = (uint32_t)i;
    d->r->shell[i] = (ul_shell){.triangle_count = d->s->member_start[i + 1] - d->s->member_start[i],
                                .first_triangle = d->s->member[d->s->member_start[i]],
                                .volume_mm3 = d->s->measure[i].volume_mm3,
                                .parent = -1,
                                .cavity = UINT32_MAX};
  }
  return UL_OK;
}

static void end(reader *d) {
  free(d->inside);
  free(d->by_depth);
  free(d->sense);
  free(d->around);
  free(d->crosses);
  free(d->group);
}

/* -- overlaps -- */

/* It bounds nothing, and nothing counts as in it: where it has volume after all, that goes round
 * as often one way as the other. */
static bool is_flat(const reader *d, size_t shell) {
  return ul_shell_is_flat(&d->s->measure[shell]);
}

static void leave_flat_shells_out(reader *d) {
  size_t kept = 0;
  for (size_t i = 0; i < d->inside_count; i++)
    if (!is_flat(d, d->inside[i].outer)) d->inside[kept++] = d->inside[i];
  d->inside_count = kept;
}

static bool is_inside(const reader *d, uint32_t inner, uint32_t outer) {
  for (size_t i = 0; i < d->inside_count; i++)
    if (d->inside[i].inner == inner && d->inside[i].outer == outer) return true;
  return false;
}

/* Shells that lie on one another with their solids on one side overlap, unless one is in the other.
 */
static bool overlap(const reader *d, const ul_shell_meeting *m) {
  return m->cross ||
         (!is_inside(d, m->shell[0], m->shell[1]) && !is_inside(d, m->shell[1], m->shell[0]));
}

/* Of shells that pass through one another neither is inside the other. */
static void find_overlaps(reader *d) {
  const ul_crossings *x = &d->s->crossings;
  for (size_t m = 0; m < x->meeting_count; m++) {
    const ul_shell_meeting *meeting = &x->meeting[m];
    if (!overlap(d, meeting)) continue;
    uint32_t a = meeting->shell[0], b = meeting->shell[1];
    d->crosses[a] = d->crosses[b] = 1;
    size_t kept = 0;
    for (size_t i = 0; i < d->inside_count; i++) {
      ul_inside p = d->inside[i];
      if (!(p.inner == a && p.outer == b) && !(p.inner == b && p.outer == a)) d->inside[kept++] = p;
    }
    d->inside_count = kept;
  }
}

/* -- parents -- */

/* The innermost shell around another is the one of least volume. */
static void find_parents(reader *d) {
  ul_shell *shell = d->r->shell;
  for (size_t i = 0; i < d->inside_count; i++) {
    ul_shell *inner = &shell[d->inside[i].inner];
    uint32_t outer = d->inside[i].outer;
    if (inner->depth++ == 0 ||
        fabs(shell[outer].volume_mm3) < fabs(shell[inner->parent].volume_mm3))
      inner->parent = (int32_t)outer;
  }
  int32_t deepest = 0;
  for (size_t i = 0; i < d->count; i++)
    if (shell[i].depth > deepest) deepest = shell[i].depth;
  size_t n = 0;
  for (int32_t depth = 0; depth <= deepest; depth++)
    for (size_t i = 0; i < d->count; i++)
      if (shell[i].depth == depth) d->by_depth[n++] = (uint32_t)i;
}

/* -- senses -- */

/* A shell whose winding had to be mended, or lies in one like that, says nothing by its sense. */
static bool drawn_alike(const reader *d, size_t shell, size_t parent) {
  const ul_flood *f = &d->s->flood;
  return f->turned[shell] == 0 && f->turned[parent] == 0 &&
         (d->s->measure[shell].volume_mm3 > 0) == (d->s->measure[parent].volume_mm3 > 0);
}

static void note_shell(reader *d, ul_fault_kind kind, size_t shell) {
  ul_note_triangle(d->s, kind, 1, d->s->member[d->s->member_start[shell]]);
}

static void choose_sense(reader *d, size_t i) {
  const ul_shell *shell = &d->r->shell[i];
  bool inside_out = shell->volume_mm3 < 0;
  int32_t root_depth = d->r->as_block ? 1 : 0;
  if (shell->depth < root_depth || is_flat(d, i)) return;
  if (shell->depth == root_depth) {
    d->sense[i] = 1;
    if (!d->r->as_block && inside_out && d->s->flood.turned[i] == 0)
      note_shell(d, UL_FAULT_INSIDE_OUT, i);
  } else if (drawn_alike(d, i, (size_t)shell->parent)) {
    d->sense[i] = d->sense[shell->parent];
    note_shell(d, UL_FAULT_SAME_SENSE, i);
  } else {
    d->sense[i] = -d->sense[shell->parent];
  }
  d->r->turn[i] = inside_out != (d->sense[i] < 0);
  if (d->r->turn[i]) d->r->shell[i].volume_mm3 = -shell->volume_mm3;
}

static void choose_senses(reader *d) {
  for (size_t i = 0; i < d->count; i++) choose_sense(d, d->by_depth[i]);
  for (size_t i = 0; i < d->inside_count; i++)
    d->around[d->inside[i].inner] += d->sense[d->inside[i].outer];
}

/* A shell bounds a cavity where the winding number turns positive across it. */
static bool bounds(const reader *d, size_t i) {
  bool outside = d->around[i] > 0, within = d->around[i] + d->sense[i] > 0;
  return d->sense[i] != 0 && (d->crosses[i] || outside != within);
}

/* -- cavities -- */

static uint32_t root_of(uint32_t *group, uint32_t i) {
  while (group[i] != i) i = group[i] = group[group[i]];
  return i;
}

/* The lower number becomes the root, so that a root is its cavity's first shell. */
static void unite(uint32_t *group, uint32_t a, uint32_t b) {
  a = root_of(group, a);
  b = root_of(group, b);
  if (a < b)
    group[b] = a;
  else
    group[a] = b;
}

/* A core, or what is buried but crosses others, goes with the nearest shell around it that has
 * solid within. */
static void unite_inner(reader *d, size_t i) {
  int32_t p = d->r->shell[i].parent;
  while (p >= 0 && !(bounds(d, (size_t)p) && d->sense[p] > 0)) p = d->r->shell[p].parent;
  if (p >= 0) unite(d->group, (uint32_t)i, (uint32_t)p);
}

static void unite_overlaps(reader *d) {
  const ul_crossings *x = &d->s->crossings;
  for (size_t m = 0; m < x->meeting_count; m++) {
    const ul_shell_meeting *meeting = &x->meeting[m];
    uint32_t a = meeting->shell[0], b = meeting->shell[1];
    if (!bounds(d, a) || !bounds(d, b) || !overlap(d, meeting)) continue;
    unite(d->group, a, b);
    d->r->overlapping = true;
    ul_note(d->s, UL_FAULT_OVERLAPPING, 1, meeting->at_mm, (long)meeting->triangle);
  }
}

/* Shells are numbered by their first triangle, so cavities numbered by first shell are too. */
static void number_cavities(reader *d) {
  for (size_t i = 0; i < d->count; i++)
    if (bounds(d, i) && (d->sense[i] < 0 || d->around[i] > 0)) unite_inner(d, i);
  unite_overlaps(d);
  for (size_t i = 0; i < d->count; i++) {
    if (!bounds(d, i)) continue;
    uint32_t root = root_of(d->group, (uint32_t)i);
    d->r->shell[i].cavity = root == i ? (uint32_t)d->r->cavity_count++ : d->r->shell[root].cavity;
  }
}

/* -- part or block -- */

/* A tool block fills its box, or is a plain box at an angle. */
static bool looks_like_block(const reader *d, size_t shell) {
  const ul_measure *m = &d->s->measure[shell];
  double box = 1;
  for (int c = 0; c < 3; c++) box *= m->box_mm[1][c] - m->box_mm[0][c];
  return d->r->shell[shell].triangle_count <= 12 || fabs(m->volume_mm3) > 0.9 * box;
}

static bool could_be_block(const reader *d) {
  size_t outer = 0, voids = 0, first = 0;
  for (size_t i = d->count; i-- > 0;)
    if (d->r->shell[i].depth == 0 && !is_flat(d, i)) outer++, first = i;
  for (size_t i = 0; i < d->count; i++)
    voids += d->r->shell[i].depth == 1 && !is_flat(d, i) && !drawn_alike(d, i, first);
  return outer == 1 && voids > 0 && looks_like_block(d, first);
}

static void choose_reading(reader *d) {
  d->r->as_block = d->s->opts->drawn == UL_DRAWN_BLOCK;
  d->r->doubtful = d->s->opts->drawn == UL_DRAWN_ASK && could_be_block(d);
  if (!d->r->as_block) return;
  for (size_t i = 0; i < d->count; i++)
    if (d->r->shell[i].depth > 0 && !is_flat(d, i)) return;
  note_shell(d, UL_FAULT_NO_VOID, 0);
}

ul_status ul_reading_make(ul_survey *s, ul_reading *reading) {
  memset(reading, 0, sizeof *reading);
  reader d = {.s = s, .r = reading, .count = s->flood.shell_count};
  ul_shell_set set = {s->mesh,         s->flood.shell_of, d.count,    s->measure,
                      s->member_start, s->member,         s->touch_mm};
  ul_status status = begin(&d);
  if (status == UL_OK) status = ul_nesting_find(&set, s->job, &d.inside, &d.inside_count);
  if (status == UL_OK) {
    leave_flat_shells_out(&d);
    find_overlaps(&d);
    find_parents(&d);
    choose_reading(&d);
    choose_senses(&d);
    number_cavities(&d);
    if (reading->cavity_count == 0 && s->fault[UL_FAULT_NO_VOID].count == 0)
      note_shell(&d, reading->as_block ? UL_FAULT_NO_VOID : UL_FAULT_ALL_FLAT, 0);
  }
  end(&d);
  return status;
}

void ul_reading_free(ul_reading *reading) {
  free(reading->shell);
  free(reading->turn);
  memset(reading, 0, sizeof *reading);
}
