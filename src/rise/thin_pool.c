#include "rise/thin_pool.h"

#include <math.h>

static const double DEEP = 2;      /* cubes */
static const double SHARE = 0.25;  /* of the cavity */
static const double GROWTH = 0.05; /* of the foam in a step */

/* The end of a step in which the foam grows by that much, or of what is left to gel. */
static double next_time(const ul_filling *f) {
  double low = f->t, high = ul_mid(f->foam->gel_s),
         want = ul_foam_at(f, f->t).density / (1 + GROWTH);
  if (ul_foam_at(f, high).density >= want) return high;
  for (int i = 0; i < 40; i++) {
    double middle = (low + high) / 2;
    *(ul_foam_at(f, middle).density > want ? &low : &high) = middle;
  }
  return high;
}

static bool air_can_leave(const ul_filling *f) {
  for (size_t m = 0; m < f->mouth_count; m++)
    for (size_t k = 0; k < f->mouth[m].count; k++)
      if (f->mass[f->mouth[m].cube[k]] <= 0) return true;
  return f->open;
}

/* Between floor and lid it is a flow of another kind, and the cubes' own. */
static bool is_under_a_lid(const ul_filling *f) {
  int up = 0;
  for (int s = 1; s < UL_SIDES; s++)
    if (f->rise[s] > f->rise[up]) up = s;
  for (size_t i = 0; i < f->count; i++)
    if (f->mass[i] > 0 && f->cubes->next[i][up] == UL_NO_CUBE) return true;
  return false;
}

static bool goes_on(const ul_filling *f, const ul_lying *lying) {
  const ul_pool *p = &lying->pool;
  double volume = f->charge_kg / ul_foam_at(f, f->t).density;
  return p->reach_m > 0 && (lying->turned || f->turn_end_s <= f->t) &&
         f->t < ul_mid(f->foam->gel_s) && air_can_leave(f) && !is_under_a_lid(f) &&
         volume < SHARE * f->volume_m3 && ul_pool_depth_m(f) < DEEP * f->cube_m;
}

/* Half full, as in the steps of the rise. */
static void note_arrivals(ul_filling *f, double density) {
  for (size_t i = 0; i < f->count; i++)
    if (f->arrival_s[i] == INFINITY && f->mass[i] >= 0.5 * density * f->volume[i])
      f->arrival_s[i] = (float)f->t;
}

ul_status ul_thin_pool_spread(ul_filling *f, ul_lying *lying, double *displaced_m3, ul_error *err) {
  ul_pool *p = &lying->pool;
  const ul_pool begun = *p;
  const ul_foam_now cream = ul_foam_at(f, f->t);
  ul_status status = UL_OK;
  *displaced_m3 = 0;
  while (status == UL_OK && goes_on(f, lying)) {
    double before = f->t;
    f->t = next_time(f);
    ul_foam_now now = ul_foam_at(f, f->t);
    double thinner = cream.density / now.density;
    double nu = now.viscosity / now.density * cream.density / cream.viscosity;
    ul_pool_spread(p, &begun, thinner, nu, lying->time_s, f->t - before);
    status = ul_pool_lay(f, p, now.density, err);
    if (status == UL_OK) note_arrivals(f, now.density);
    *displaced_m3 = f->charge_kg * (1 / now.density - 1 / cream.density);
  }
  return status;
}
