#include "rise/front_masses.h"

#include <math.h>

#include "rise/front_assemble.h"
#include "rise/front_cubes.h"
#include "rise/front_faces.h"

/* By the links of the last solve, as its equations had it: what those miss of the law at the
 * pressures found is in the next step's equation. */
static ul_status outflow_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const ul_filling *f = s->f;
  const double weight = s->now.density * UL_GRAVITY;
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i++) {
    s->hold[i] = 0;
    for (int side = 0; f->full[i] && side < UL_SIDES; side++) {
      int32_t n = f->cubes->next[i][side];
      if (n == UL_NO_CUBE || !f->full[n]) continue;
      double conduct = s->link[side / 2][side % 2 ? i : (size_t)n];
      s->hold[i] += conduct * (s->value[i] - s->value[n] - weight * f->rise[side]);
    }
  }
  return UL_OK;
}

static ul_status worst_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  const ul_filling *f = s->f;
  double worst = 0;
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i++) {
    if (!f->full[i]) continue;
    const double stays = f->mass[i] - s->dt * s->hold[i];
    worst = fmax(worst, fabs(stays * ul_volume_at(&s->now, s->value[i]) - f->volume[i]));
  }
  s->sum[block] = worst;
  return UL_OK;
}

/* To all sides and through vents. */
double ul_masses_find(ul_step *s) {
  const ul_filling *f = s->f;
  ul_cubes_for_all(s, outflow_block);
  for (size_t i = 0; i < s->front_count; i++)
    s->hold[s->front[i].cube] += ul_front_flux(s, &s->front[i]);
  for (size_t i = 0; i < f->mouth_count; i++)
    for (size_t k = 0; k < f->mouth[i].count; k++) {
      uint32_t cube = f->mouth[i].cube[k];
      s->hold[cube] += ul_bleed_conduct(s, &f->mouth[i], k) * s->value[cube];
    }
  double worst = 0;
  ul_cubes_for_all(s, worst_block);
  for (size_t b = 0; b * UL_CUBES_BLOCK < f->count; b++) worst = fmax(worst, s->sum[b]);
  return worst / pow(f->cube_m, 3);
}

/* Sums: mass, mass times pressure; and the highest pressure. */
static ul_status move_block(void *context, size_t block, int worker) {
  ul_step *s = context;
  ul_filling *f = s->f;
  double mass = 0, weighed = 0, peak = 0;
  (void)worker;
  for (size_t i = block * UL_CUBES_BLOCK; i < ul_cubes_end(s, block); i++) {
    if (f->full[i]) {
      f->mass[i] -= s->dt * s->hold[i];
      f->pressure[i] = s->value[i];
      weighed += f->mass[i] * f->pressure[i];
      if (f->pressure[i] > peak) peak = f->pressure[i];
    } else if (s->in_rim[i]) {
      f->mass[i] += s->gain[i];
    }
    mass += f->mass[i];
  }
  s->sum[3 * block] = mass;
  s->sum[3 * block + 1] = weighed;
  s->sum[3 * block + 2] = peak;
  return UL_OK;
}

static double front_bleed(const ul_step *s, size_t mouth) {
  const ul_mouth *m = &s->f->mouth[mouth];
  double kg_s = 0;
  for (size_t k = 0; k < m->count; k++) kg_s += ul_bleed_conduct(s, m, k) * s->value[m->cube[k]];
  return kg_s;
}

void ul_masses_move(ul_step *s) {
  ul_filling *f = s->f;
  double mass = 0, weighed = 0;
  ul_cubes_for_all(s, move_block);
  f->peak_pa = 0;
  for (size_t b = 0; b * UL_CUBES_BLOCK < f->count; b++) {
    mass += s->sum[3 * b];
    weighed += s->sum[3 * b + 1];
    f->peak_pa = fmax(f->peak_pa, s->sum[3 * b + 2]);
  }
  f->mean_pa = UL_ATMOSPHERE_PA + (mass > 0 ? weighed / mass : 0);
  for (size_t m = 0; m < f->mouth_count; m++) f->mouth[m].bled_kg += s->dt * front_bleed(s, m);
}
