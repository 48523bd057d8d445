/* repeats.c - a shot repeated with the shop's scatter. */
#include "ullage/repeats.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"

enum { COOKIE = 0x74727973, AT_ONCE = 4 };

ul_repeats_opts ul_repeats_opts_default(void) {
  return (ul_repeats_opts){.cookie = COOKIE,
                           .tries = 20,
                           .seed = 20,
                           .off_deg = 2,
                           .charge_share = 0.05,
                           .pour_mm = 10,
                           .void_ok_mm3 = 50};
}

void ul_repeats_free(ul_repeats *tries) {
  if (!tries) return;
  free(tries->list);
  free(tries->vent);
  free(tries);
}

typedef struct {
  const ul_grid *grid;
  const ul_rise_opts *nominal;
  const ul_repeats_opts *opts;
  size_t cavities;
  ul_rise_opts *rise;           /* one a try */
  double (*pour)[3], (*end)[3]; /* one a try and cavity */
  ul_rise **made;
  ul_repeats *out;
} batch;

/* ---- what differs ---- */

/* splitmix64 (Steele, Lea & Flood 2014), uniform in [0,1). */
static double draw(uint64_t *state) {
  uint64_t z = *state += 0x9e3779b97f4a7c15u;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return (double)((z ^ (z >> 31)) >> 11) * 0x1p-53;
}

/* A place of the disc of radius 1 across `axis`, evenly. */
static void on_disc(const double axis[3], uint64_t *state, double out[3]) {
  double x[3], y[3], radius = sqrt(draw(state)), round = 2 * M_PI * draw(state);
  ul_across(axis, x, y);
  for (int c = 0; c < 3; c++) out[c] = radius * (cos(round) * x[c] + sin(round) * y[c]);
}

static ul_span at_share(ul_span span, double share) {
  double value = span.lo + share * (span.hi - span.lo);
  return (ul_span){value, value};
}

/* All times of the card at one share of their spans; a set time and a measured curve, which have
 * none, go with the rise time. */
static void set_times(ul_foam *f, double share) {
  double before = ul_mid(f->rise_s);
  ul_span *const time[] = {&f->cream_s, &f->gel_s, &f->rise_s, &f->tack_free_s, &f->demould_s};
  for (size_t i = 0; i < sizeof time / sizeof *time; i++) *time[i] = at_share(*time[i], share);
  double factor = ul_mid(f->rise_s) / before;
  f->set_s *= factor;
  for (size_t i = 0; i < f->curve_count; i++) f->curve_s[i] *= factor;
}

/* The centre of the cavity's cube nearest to `at`. */
static void nearest_cube(const ul_grid *g, uint32_t cavity, const double at[3], double out[3]) {
  const ul_lattice *l = &g->lattice;
  double least = INFINITY;
  size_t i = 0;
  ul_copy3(at, out);
  for (int32_t z = 0; z < l->n[2]; z++)
    for (int32_t y = 0; y < l->n[1]; y++)
      for (int32_t x = 0; x < l->n[0]; x++, i++) {
        if (!g->inside[i] || g->cavity[i] != cavity) continue;
        const int32_t cube[3] = {x, y, z};
        double centre[3];
        for (int c = 0; c < 3; c++) centre[c] = l->origin_mm[c] + (cube[c] + 0.5) * l->cube_mm;
        double far = ul_distance(centre, at);
        if (far >= least) continue;
        least = far;
        ul_copy3(centre, out);
      }
}

/* A line's other end goes with it; there is none where it is NAN. */
static void move_ends(const batch *b, const ul_repeat *t, ul_rise_opts *o, double (*end)[3]) {
  for (size_t v = 0; v < b->cavities; v++) {
    double at[3];
    ul_add_scaled(b->nominal->pour_end_mm[v], 1, t->pour_off_mm, at);
    ul_copy3(at, end[v]);
    if (isfinite(at[0])) nearest_cube(b->grid, (uint32_t)v, at, end[v]);
  }
  o->pour_end_mm = (const double(*)[3])end;
}

static void vary(batch *b, size_t i) {
  uint64_t state = b->opts->seed * 0x2545f4914f6cdd1du + i;
  ul_repeat *t = &b->out->list[i];
  ul_rise_opts *o = &b->rise[i];
  const ul_repeats_opts *by = b->opts;
  double off[3], up[3], length = ul_norm(b->nominal->up);
  draw(&state); /* neighbouring states begin alike */
  for (int c = 0; c < 3; c++) up[c] = b->nominal->up[c] / length;
  on_disc(up, &state, off);
  ul_add_scaled(up, tan(by->off_deg * M_PI / 180), off, t->up);
  length = ul_norm(t->up);
  for (int c = 0; c < 3; c++) t->up[c] /= length;
  double pack = b->nominal->pack > 0 ? b->nominal->pack : ul_mid(b->nominal->foam.pack);
  t->pack = pack * (1 + by->charge_share * (2 * draw(&state) - 1));
  t->slow = draw(&state);
  on_disc(t->up, &state, t->pour_off_mm);
  for (int c = 0; c < 3; c++) t->pour_off_mm[c] *= by->pour_mm;
  *o = *b->nominal;
  ul_copy3(t->up, o->up);
  o->pack = t->pack;
  set_times(&o->foam, t->slow);
  double(*pour)[3] = b->pour + i * b->cavities;
  for (size_t v = 0; v < b->cavities; v++) {
    double at[3];
    ul_add_scaled(b->nominal->pour_mm[v], 1, t->pour_off_mm, at);
    nearest_cube(b->grid, (uint32_t)v, at, pour[v]);
  }
  o->pour_mm = (const double(*)[3])pour;
  if (b->nominal->pour_end_mm) move_ends(b, t, o, b->end + i * b->cavities);
}

/* ---- what comes of it ---- */

static size_t nearest_vent(const batch *b, const ul_rise *rise, uint32_t cavity,
                           const double at[3]) {
  size_t best = SIZE_MAX;
  double least = INFINITY;
  for (size_t v = 0; v < rise->vent_count; v++) {
    double far = ul_distance(b->nominal->vent[v].at_mm, at);
    if (rise->vent[v].cavity != cavity || far >= least) continue;
    least = far;
    best = v;
  }
  return best;
}

/* A void over the limit, and the vent that it is left nearest to. */
typedef struct {
  size_t try, vent;
  double at_mm[3];
} miss;

typedef struct {
  miss *list;
  size_t count, room;
} misses;

static ul_status gather(const batch *b, size_t try, misses *m, ul_error *err) {
  const ul_rise *rise = b->made[try];
  for (uint32_t c = 0; c < rise->cavity_count; c++)
    for (size_t k = 0; k < rise->cavity[c].void_count; k++) {
      const ul_rise_void *hole = &rise->cavity[c].voids[k];
      if (hole->void_mm3 <= b->opts->void_ok_mm3) break; /* largest first */
      size_t vent = nearest_vent(b, rise, c, hole->at_mm);
      if (vent == SIZE_MAX) continue;
      if (!ul_grow((void **)&m->list, &m->room, m->count + 1, sizeof *m->list))
        return ul_fail_memory(err);
      m->list[m->count] = (miss){try, vent, {0}};
      ul_copy3(hole->at_mm, m->list[m->count++].at_mm);
    }
  return UL_OK;
}

static void look_at_vent(const misses *m, size_t tries, size_t v, ul_repeat_vent *vent) {
  size_t count = 0, last = SIZE_MAX;
  vent->there = tries;
  for (size_t i = 0; i < m->count; i++) {
    const miss *here = &m->list[i];
    if (here->vent != v) continue;
    ul_add_scaled(vent->middle_mm, 1, here->at_mm, vent->middle_mm);
    vent->there -= here->try != last;
    last = here->try;
    count++;
  }
  for (int c = 0; c < 3; c++)
    vent->middle_mm[c] = vent->else_mm[c] = vent->middle_mm[c] / (double)count; /* of none NAN */
  double nearest = INFINITY;
  for (size_t i = 0; i < m->count; i++) {
    const double far = ul_distance(vent->middle_mm, m->list[i].at_mm);
    if (m->list[i].vent != v || far >= nearest) continue;
    nearest = far;
    ul_copy3(m->list[i].at_mm, vent->else_mm);
  }
  for (size_t i = 0; i < m->count; i++)
    if (m->list[i].vent == v)
      vent->wanders_mm = fmax(vent->wanders_mm, ul_distance(vent->else_mm, m->list[i].at_mm));
}

static ul_status look_at_vents(const batch *b, ul_error *err) {
  misses m = {0};
  ul_status status = UL_OK;
  for (size_t i = 0; i < b->out->count && status == UL_OK; i++) status = gather(b, i, &m, err);
  for (size_t v = 0; v < b->out->vent_count && status == UL_OK; v++)
    look_at_vent(&m, b->out->count, v, &b->out->vent[v]);
  free(m.list);
  return status;
}

static void judge(const ul_rise *rise, double void_ok_mm3, ul_repeat *t) {
  for (uint32_t c = 0; c < rise->cavity_count; c++) {
    const ul_rise_cavity *r = &rise->cavity[c];
    t->short_mm3 = fmax(t->short_mm3, r->short_mm3);
    t->peak_kpa = fmax(t->peak_kpa, r->peak_kpa);
    if (!r->void_count || r->voids[0].void_mm3 <= t->worst_mm3) continue;
    t->worst_mm3 = r->voids[0].void_mm3;
    t->worst_cavity = c;
    ul_copy3(r->voids[0].at_mm, t->worst_at_mm);
  }
  t->good = fmax(t->worst_mm3, t->short_mm3) <= void_ok_mm3;
}

static size_t count_cavities(const ul_grid *g) {
  uint32_t count = 0;
  for (size_t i = 0; i < g->cube_count; i++)
    if (g->inside[i] && g->cavity[i] >= count) count = g->cavity[i] + 1;
  return count;
}

/* A job's progress, of a part of the work. */
typedef struct {
  const ul_job *job;
  double from, share;
} part;

static bool tell_part(void *user, const char *stage, double done) {
  const part *p = user;
  return ul_job_tell(p->job, stage, p->from + p->share * done);
}

/* Rises the tries [from, to). */
static ul_status run_some(batch *b, const ul_columns *columns, const ul_job *job, size_t from,
                          size_t to, ul_error *err) {
  const double all = (double)b->opts->tries;
  part p = {job, (double)from / all, (double)(to - from) / all};
  const ul_job scaled = {.threads = ul_job_threads(job), .progress = tell_part, .user = &p};
  for (size_t i = from; i < to; i++) vary(b, i);
  ul_status status = ul_rises_run(b->grid, columns, b->rise + from, to - from, &scaled, "repeating",
                                  b->made + from, err);
  if (status != UL_OK) return status;
  for (size_t i = from; i < to; i++) {
    judge(b->made[i], b->opts->void_ok_mm3, &b->out->list[i]);
    b->out->good += b->out->list[i].good;
  }
  b->out->count = to;
  return UL_OK;
}

static bool can_be_reached(const batch *b) {
  return b->out->good + (b->opts->tries - b->out->count) >= b->opts->good_wanted;
}

/* All at once where all are wanted: then no thread waits for the others of its four. */
static ul_status run(batch *b, const ul_columns *columns, const ul_job *job, ul_error *err) {
  const size_t tries = b->opts->tries, at_once = b->opts->good_wanted ? AT_ONCE : tries;
  ul_status status = UL_OK;
  while (status == UL_OK && b->out->count < tries && can_be_reached(b)) {
    const size_t from = b->out->count, left = tries - from;
    status = run_some(b, columns, job, from, from + (left < at_once ? left : at_once), err);
  }
  if (status == UL_OK) status = look_at_vents(b, err);
  for (size_t i = 0; i < b->out->count; i++) ul_rise_free(b->made[i]);
  return status;
}

static ul_status check(const batch *b, ul_error *err) {
  if (b->opts->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "options of tries not made by ul_repeats_opts_default()");
  if (b->opts->tries < 1) return ul_fail(err, UL_E_USAGE, "0 tries: ask for 1 or more");
  for (size_t v = 0; v < b->cavities; v++)
    if (!b->nominal->pour_mm || !isfinite(b->nominal->pour_mm[v][0]))
      return ul_fail(err, UL_E_USAGE, "cavity %zu has no pour to scatter: give one", v + 1);
  return UL_OK;
}

ul_status ul_repeats_run(const ul_grid *grid, const ul_columns *columns,
                         const ul_rise_opts *nominal, const ul_repeats_opts *opts,
                         const ul_job *job, ul_repeats **out, ul_error *err) {
  *out = NULL;
  batch b = {.grid = grid, .nominal = nominal, .opts = opts, .cavities = count_cavities(grid)};
  ul_status status = check(&b, err);
  if (status != UL_OK) return status;
  ul_repeats *tries = b.out = ul_new(1, sizeof *tries);
  b.rise = ul_new(opts->tries, sizeof *b.rise);
  b.pour = ul_new(opts->tries * b.cavities, sizeof *b.pour);
  b.end = ul_new(opts->tries * b.cavities, sizeof *b.end);
  b.made = ul_new(opts->tries, sizeof *b.made);
  if (tries) {
    *tries = (ul_repeats){.vent_count = nominal->vent_count};
    tries->list = ul_new(opts->tries, sizeof *tries->list);
    tries->vent = ul_new(tries->vent_count, sizeof *tries->vent);
  }
  if (!tries || !b.rise || !b.pour || !b.end || !b.made || !tries->list || !tries->vent)
    status = ul_fail_memory(err);
  if (status == UL_OK) status = run(&b, columns, job, err);
  free(b.rise);
  free(b.pour);
  free(b.end);
  free(b.made);
  if (status == UL_OK)
    *out = tries;
  else
    ul_repeats_free(tries);
  return status;
}
