#include "rise/rise_result.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"

const char *ul_rise_event_word(ul_rise_event_kind kind) {
#define AS_WORD(name, word) [name] = word,
  static const char *const words[] = {UL_RISE_EVENT_LIST(AS_WORD)};
  return (unsigned)kind < UL_RISE_EVENT_END ? words[kind] : "?";
}

ul_status ul_rise_new(const ul_cubes *all, const ul_rise_opts *opts, ul_rise **out, ul_error *err) {
  const ul_grid *grid = all->grid;
  ul_rise *rise = *out = ul_new(1, sizeof *rise);
  if (!rise) return ul_fail_memory(err);
  rise->cavity_count = all->cavity_count;
  rise->vent_count = opts->vent_count;
  rise->arrival_s = ul_new_raw(grid->cube_count, sizeof *rise->arrival_s);
  rise->pressure_kpa = ul_new_raw(grid->cube_count, sizeof *rise->pressure_kpa);
  rise->void_id = ul_new(grid->cube_count, sizeof *rise->void_id);
  rise->cavity = ul_new(rise->cavity_count, sizeof *rise->cavity);
  rise->vent = ul_new(rise->vent_count, sizeof *rise->vent);
  if (!rise->arrival_s || !rise->pressure_kpa || !rise->void_id || !rise->cavity || !rise->vent)
    return ul_fail_memory(err);
  for (size_t i = 0; i < grid->cube_count; i++) {
    rise->arrival_s[i] = grid->inside[i] ? INFINITY : NAN;
    rise->pressure_kpa[i] = NAN;
  }
  for (size_t i = 0; i < rise->vent_count; i++)
    rise->vent[i] = (ul_rise_vent_seen){.foam_shows_s = NAN, .clogs_s = NAN};
  return UL_OK;
}

void ul_rise_free(ul_rise *rise) {
  if (!rise) return;
  for (size_t v = 0; rise->cavity && v < rise->cavity_count; v++) free(rise->cavity[v].voids);
  free(rise->arrival_s);
  free(rise->pressure_kpa);
  free(rise->void_id);
  free(rise->cavity);
  free(rise->vent);
  free(rise->event);
  free(rise->sample);
  free(rise);
}

/* ---- events ---- */

/* Before the later ones of the cavities that rose first. */
static ul_status add_event(ul_recorder *r, ul_rise_event event, ul_error *err) {
  ul_rise *rise = r->rise;
  if (!ul_grow((void **)&rise->event, &r->event_room, rise->event_count + 1, sizeof event))
    return ul_fail_memory(err);
  event.cavity = r->cavity;
  size_t at = rise->event_count++;
  for (; at && rise->event[at - 1].s > event.s; at--) rise->event[at] = rise->event[at - 1];
  rise->event[at] = event;
  return UL_OK;
}

static ul_rise_event plain_event(double s, ul_rise_event_kind kind) {
  return (ul_rise_event){.s = s, .kind = kind, .vent = UINT32_MAX};
}

static ul_rise_event placed_event(const ul_filling *f, double s, ul_rise_event_kind kind,
                                  size_t cube) {
  ul_rise_event event = plain_event(s, kind);
  event.has_place = true;
  ul_cube_centre_mm(f->cubes, cube, event.at_mm);
  return event;
}

/* At the first of its cubes that foam has come to. */
static ul_status note_seam(ul_recorder *r, const ul_filling *f, const ul_mouth *m, ul_error *err) {
  size_t k = 0;
  while (k + 1 < m->count && !f->full[m->cube[k]]) k++;
  return add_event(r, placed_event(f, f->t, UL_RISE_SEAM, m->cube[k]), err);
}

static ul_status note_mouths(ul_recorder *r, const ul_filling *f, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t i = 0; i < f->mouth_count && status == UL_OK; i++) {
    const ul_mouth *m = &f->mouth[i];
    ul_rise_event event = placed_event(f, f->t, UL_RISE_SHOWS, m->cube[0]);
    if (m->seam) {
      if (m->shows_s == f->t) status = note_seam(r, f, m, err);
      continue;
    }
    event.vent = (uint32_t)m->given;
    if (m->shows_s == f->t) status = add_event(r, event, err);
    event.kind = UL_RISE_CLOGS;
    if (status == UL_OK && m->clogs_s == f->t) status = add_event(r, event, err);
  }
  return status;
}

static ul_status note_air(ul_recorder *r, const ul_filling *f, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t a = 0; a < f->part_count && status == UL_OK; a++) {
    if (f->part[a].cut_off_s != f->t) continue;
    ul_rise_event event = placed_event(f, f->t, UL_RISE_CUT_OFF, f->part[a].first);
    event.air_mm3 = f->part[a].cut_off_m3 * 1e9;
    status = add_event(r, event, err);
  }
  return status;
}

/* ---- the run ---- */

/* What a step leaves undone of a cube's mass comes in with the next one: in one halved again and
 * again, that is a blow of the foam to itself, shorter than anything the rise can tell of. Such a
 * step has the pressure of the one before, as long as they come to less than one step together. */
static const double BLOW_SHARE = 0.2;

static bool is_blow(const ul_recorder *r, const ul_filling *f, const ul_step *step) {
  return step && step->dt < BLOW_SHARE * step->may_s && f->t - r->pressed_s < step->may_s;
}

/* `step` NULL: before the first. */
static ul_status add_sample(ul_recorder *r, const ul_filling *f, const ul_step *step,
                            ul_error *err) {
  ul_rise *rise = r->rise;
  if (!ul_grow((void **)&rise->sample, &r->sample_room, rise->sample_count + 1,
               sizeof *rise->sample))
    return ul_fail_memory(err);
  ul_rise_sample s = {.s = f->t, .cavity = r->cavity};
  for (size_t a = 0; a < f->part_count; a++) {
    s.air_mm3 += f->part[a].volume_m3 * 1e9;
    if (!(f->part[a].mouth_area > 0)) s.sealed_mm3 += f->part[a].volume_m3 * 1e9;
  }
  s.filled_fraction = 1 - s.air_mm3 / (f->volume_m3 * 1e9);
  if (is_blow(r, f, step)) {
    s.peak_kpa = rise->sample[rise->sample_count - 1].peak_kpa;
  } else {
    s.peak_kpa = f->peak_pa * 1e-3;
    r->pressed_s = f->t;
  }
  rise->sample[rise->sample_count++] = s;
  ul_rise_cavity *c = &rise->cavity[r->cavity];
  if (s.peak_kpa <= c->peak_kpa) return UL_OK;
  c->peak_kpa = s.peak_kpa;
  c->peak_s = s.s;
  return UL_OK;
}

static void take_pour(const ul_filling *f, const ul_rise_opts *opts, const ul_pour *pour,
                      size_t cavity, ul_rise_cavity *c) {
  const double *at = opts->pour_mm ? opts->pour_mm[cavity] : NULL;
  const double *end = opts->pour_end_mm ? opts->pour_end_mm[cavity] : NULL;
  const double *up = ul_norm(opts->poured_up) > 0 ? opts->poured_up : opts->up;
  if (at && !isnan(at[0]))
    ul_copy3(at, c->pour_mm);
  else
    ul_cube_extreme_mm(f->cubes, pour->cube[0], (double[]){-up[0], -up[1], -up[2]}, c->pour_mm);
  for (int a = 0; a < 3; a++) c->pour_end_mm[a] = end ? end[a] : NAN;
}

/* What the liquid stood over, and the worst of it for the vent or the rim. */
static ul_status note_wets(ul_recorder *r, const ul_wets *wets, ul_error *err) {
  ul_rise_cavity *c = &r->rise->cavity[r->cavity];
  ul_status status = UL_OK;
  for (size_t i = 0; i < wets->count && status == UL_OK; i++) {
    const ul_wet *w = &wets->wet[i];
    ul_rise_event event = plain_event(w->s, UL_RISE_LIQUID);
    event.vent = w->vent;
    event.has_place = true;
    ul_copy3(w->at_mm, event.at_mm);
    if (w->vent == UINT32_MAX) {
      c->rim_over_mm = w->over_mm;
      ul_copy3(w->at_mm, c->rim_at_mm);
    } else {
      r->rise->vent[w->vent].liquid_over_mm = w->over_mm;
    }
    status = add_event(r, event, err);
  }
  return status;
}

static ul_status note_unreached(const ul_filling *f, const ul_pour *pour, ul_rise_cavity *c,
                                ul_error *err) {
  size_t cube = 0;
  ul_status status = ul_pour_unreached(f->cubes, pour, &c->unreached_mm3, &cube, err);
  if (status == UL_OK && c->unreached_mm3 > 0)
    ul_cube_centre_mm(f->cubes, cube, c->unreached_at_mm);
  return status;
}

ul_status ul_record_begin(ul_recorder *r, ul_filling *f, const ul_rise_opts *opts,
                          const ul_lying *lying, const ul_pour *pour, ul_error *err) {
  ul_rise_cavity *c = &r->rise->cavity[r->cavity];
  c->puddle_mm = lying->reach_m * 1e3;
  c->mass_in_g = f->charge_kg * 1e3;
  take_pour(f, opts, pour, r->cavity, c);
  const double cream = ul_mid(f->foam->cream_s), poured = fmin(opts->poured_s, cream);
  size_t middle = pour->cube[pour->count / 2];
  ul_status status = note_unreached(f, pour, c, err);
  if (status == UL_OK) status = add_event(r, placed_event(f, poured, UL_RISE_POURED, middle), err);
  if (status == UL_OK) status = note_wets(r, &lying->wets, err);
  if (status == UL_OK && f->turn_end_s > 0 && f->turn_end_s <= cream)
    status = add_event(r, plain_event(f->turn_end_s, UL_RISE_TURNED), err);
  if (status == UL_OK) status = add_event(r, plain_event(cream, UL_RISE_CREAM), err);
  if (status == UL_OK && f->turn_end_s > cream && f->turn_end_s <= f->t)
    status = add_event(r, plain_event(f->turn_end_s, UL_RISE_TURNED), err);
  if (status == UL_OK) status = note_mouths(r, f, err);
  if (status == UL_OK) status = note_air(r, f, err);
  return status == UL_OK ? add_sample(r, f, NULL, err) : status;
}

/* Was that moment passed in the step? */
static bool passed(const ul_filling *f, const ul_step *step, double moment) {
  return f->t - step->dt < moment * (1 - 1e-9) && f->t >= moment * (1 - 1e-9);
}

ul_status ul_record_step(ul_recorder *r, const ul_filling *f, const ul_step *step, ul_error *err) {
  bool was_full = r->rise->sample[r->rise->sample_count - 1].air_mm3 == 0;
  ul_status status = note_mouths(r, f, err);
  if (status == UL_OK) status = note_air(r, f, err);
  if (status == UL_OK && f->part_count == 0 && !was_full)
    status = add_event(r, plain_event(f->t, UL_RISE_FULL), err);
  if (status == UL_OK && passed(f, step, f->turn_end_s))
    status = add_event(r, plain_event(f->t, UL_RISE_TURNED), err);
  if (status == UL_OK && passed(f, step, ul_mid(f->foam->gel_s)))
    status = add_event(r, plain_event(f->t, UL_RISE_GEL), err);
  return status == UL_OK ? add_sample(r, f, step, err) : status;
}

/* ---- the end ---- */

static void weigh(const ul_filling *f, ul_rise_cavity *c) {
  double held = 0, full_kg = 0, full_m3 = 0, pressure = 0, air_j = 0;
  c->density_min = INFINITY;
  for (size_t i = 0; i < f->count; i++) {
    held += f->mass[i];
    if (!f->full[i]) continue;
    double density = f->mass[i] / f->volume[i];
    c->density_min = fmin(c->density_min, density);
    c->density_max = fmax(c->density_max, density);
    full_kg += f->mass[i];
    full_m3 += f->volume[i];
    pressure += f->pressure[i] * f->volume[i];
  }
  for (size_t i = 0; i < f->mouth_count; i++) c->mass_out_g += f->mouth[i].bled_kg * 1e3;
  for (size_t a = 0; a < f->part_count; a++) air_j += f->part[a].content_j;
  c->mass_error = 1 - (c->mass_out_g * 1e-3 + held) / f->charge_kg;
  if (!f->open && f->started_j > 0) {
    c->air_error = 1 - (air_j + f->vented_j + f->absorbed_j) / f->started_j;
    c->air_there_mm3 = f->started_j / UL_ATMOSPHERE_PA * 1e9;
    c->air_vented_mm3 = f->vented_j / UL_ATMOSPHERE_PA * 1e9;
    c->air_taken_mm3 = f->absorbed_j / UL_ATMOSPHERE_PA * 1e9;
  }
  c->density_mean = full_m3 > 0 ? full_kg / full_m3 : NAN;
  c->end_kpa = full_m3 > 0 ? pressure / full_m3 * 1e-3 : 0;
}

static void take_vents(const ul_filling *f, ul_rise *rise, uint32_t cavity) {
  rise->cavity[cavity].seam_shows_s = NAN;
  for (size_t i = 0; i < f->mouth_count; i++) {
    const ul_mouth *m = &f->mouth[i];
    if (m->seam) {
      rise->cavity[cavity].seam_mm = m->slot.length_m * 1e3;
      rise->cavity[cavity].seam_shows_s = m->shows_s;
      rise->cavity[cavity].seam_bled_g = m->bled_kg * 1e3;
      continue;
    }
    ul_rise_vent_seen *seen = &rise->vent[m->given]; /* what liquid did there is in it already */
    seen->cavity = cavity;
    seen->foam_shows_s = m->shows_s;
    seen->clogs_s = m->clogs_s;
    seen->bled_g = m->bled_kg * 1e3;
  }
}

static void take_arrivals(const ul_filling *f, ul_rise *rise, ul_rise_cavity *c) {
  c->last_reached_s = -INFINITY;
  for (size_t i = 0; i < f->count; i++) {
    rise->arrival_s[f->cubes->at[i]] = f->arrival_s[i];
    if (f->arrival_s[i] == INFINITY || (double)f->arrival_s[i] <= c->last_reached_s) continue;
    c->last_reached_s = (double)f->arrival_s[i];
    ul_cube_centre_mm(f->cubes, i, c->last_reached_mm);
  }
}

/* The cubes of a part that are mostly air; all of them when none is. */
static size_t mostly_air(const ul_filling *f, int32_t part, uint32_t *member) {
  ul_foam_now now = ul_foam_at(f, f->t);
  size_t count = 0;
  for (int all = 0; all < 2 && !count; all++)
    for (size_t i = 0; i < f->count; i++)
      if (f->air[i] == part &&
          (all || f->mass[i] * ul_volume_at(&now, f->part[part].gauge_pa) < 0.5 * f->volume[i]))
        member[count++] = (uint32_t)i;
  return count;
}

typedef struct {
  ul_rise_void told;
  int32_t part;
} found_void;

static int larger_first(const void *a, const void *b) {
  const ul_rise_void *x = &((const found_void *)a)->told, *y = &((const found_void *)b)->told;
  if (x->void_mm3 != y->void_mm3) return x->void_mm3 < y->void_mm3 ? 1 : -1;
  return memcmp(x->at_mm, y->at_mm, sizeof x->at_mm);
}

/* The parts of air that no vent lets out, as voids; the others' volume goes to c->short_mm3, and
 * their pressure's mean over it to c->short_kpa. */
static size_t find_voids(const ul_filling *f, const double up[3], ul_rise_cavity *c,
                         uint32_t *member, found_void *found) {
  size_t voids = 0;
  double work_j = 0;
  for (size_t a = 0; a < f->part_count; a++) {
    const ul_part *p = &f->part[a];
    if (p->mouth_area > 0) {
      c->short_mm3 += p->volume_m3 * 1e9;
      work_j += p->volume_m3 * p->gauge_pa;
      continue;
    }
    size_t count = mostly_air(f, (int32_t)a, member);
    ul_rise_void *v = &found[voids].told;
    found[voids++].part = (int32_t)a;
    *v = (ul_rise_void){.air_mm3 = p->cut_off_m3 * 1e9,
                        .void_mm3 = p->volume_m3 * 1e9,
                        .kept_mm3 = p->content_j / UL_ATMOSPHERE_PA * 1e9,
                        .cut_off_s = p->cut_off_s,
                        .across_mm = ul_cubes_across_mm(f->cubes, member, count),
                        .pressure_kpa = p->gauge_pa * 1e-3};
    ul_cubes_highest_mm(f->cubes, member, count, up, v->at_mm);
  }
  if (c->short_mm3 > 0) c->short_kpa = work_j / c->short_mm3 * 1e6;
  if (voids) qsort(found, voids, sizeof *found, larger_first);
  return voids;
}

/* What each cube holds at set. */
static void take_fields(const ul_filling *f, const found_void *found, size_t voids, ul_rise *rise) {
  for (size_t i = 0; i < f->count; i++) {
    size_t at = f->cubes->at[i], k = 0;
    rise->pressure_kpa[at] =
        (float)((f->full[i] ? f->pressure[i] : f->part[f->air[i]].gauge_pa) * 1e-3);
    while (!f->full[i] && k < voids && found[k].part != f->air[i]) k++;
    if (!f->full[i]) rise->void_id[at] = k < voids ? (int32_t)k + 1 : -1;
  }
}

static ul_status take_voids(const ul_filling *f, const double up[3], ul_rise *rise,
                            ul_rise_cavity *c, ul_error *err) {
  uint32_t *member = ul_new_raw(f->count, sizeof *member);
  found_void *found = ul_new(f->part_count, sizeof *found);
  c->voids = ul_new(f->part_count, sizeof *c->voids);
  ul_status status = member && found && c->voids ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) {
    c->void_count = find_voids(f, up, c, member, found);
    for (size_t k = 0; k < c->void_count; k++) c->voids[k] = found[k].told;
    take_fields(f, found, c->void_count, rise);
  }
  free(member);
  free(found);
  return status;
}

/* When foam is at the parting plane in a cube that it cuts: between the cube's own arrival, at its
 * centre, and that of the one beyond the plane; its own where none is beyond. */
static double at_plane(const ul_filling *f, const ul_rise_opts *opts, size_t cube) {
  double centre[3], to[3];
  const double *n = opts->parting_normal;
  ul_cube_centre_mm(f->cubes, cube, centre);
  ul_sub(opts->parting_mm, centre, to);
  const double off = ul_dot(to, n);
  int axis = 0;
  for (int a = 1; a < 3; a++)
    if (fabs(n[a]) > fabs(n[axis])) axis = a;
  const int32_t beyond = f->cubes->next[cube][2 * axis + (off * n[axis] > 0)];
  const double own = (double)f->arrival_s[cube];
  if (beyond == UL_NO_CUBE) return own;
  const double share = fmin(1, fabs(off) / (fabs(n[axis]) * f->cube_m * 1e3));
  return share > 0 ? own + share * ((double)f->arrival_s[beyond] - own) : own;
}

/* Liquid that stands over the rim is there when it is poured; what lay below an open one is not
 * over it before it creams. */
static void take_rim(const ul_filling *f, const ul_rise_opts *opts, ul_rise_cavity *c) {
  const bool shut = opts->poured_shut && opts->poured_shut[ul_cube_cavity(f->cubes, 0)];
  const double soonest = shut || c->rim_over_mm > 0 ? 0 : ul_mid(f->foam->cream_s);
  c->rim_s = c->rim_over_mm > 0 ? opts->poured_s : NAN;
  for (size_t i = 0; opts->has_parting && i < f->count; i++) {
    if (!(f->arrival_s[i] < INFINITY) || !ul_on_rim(f, opts, i)) continue;
    const double s = at_plane(f, opts, i);
    if (s < INFINITY) c->rim_s = fmin(c->rim_s, fmax(soonest, s));
  }
}

ul_status ul_record_end(ul_recorder *r, const ul_filling *f, const ul_rise_opts *opts,
                        const double up[3], ul_error *err) {
  ul_rise_cavity *c = &r->rise->cavity[r->cavity];
  c->end_s = f->t;
  c->filled_fraction = r->rise->sample[r->rise->sample_count - 1].filled_fraction;
  weigh(f, c);
  take_vents(f, r->rise, r->cavity);
  take_arrivals(f, r->rise, c);
  take_rim(f, opts, c);
  ul_status status = take_voids(f, up, r->rise, c, err);
  return status == UL_OK ? add_event(r, plain_event(f->t, UL_RISE_SET), err) : status;
}
