#include "ullage/foam.h"

#include <math.h>

static const double gas_constant = 8.3145; /* as the published constants were fitted with */

static ul_kinetics_state rates(const ul_kinetics *k, const ul_kinetics_state *s) {
  double nco = k->c_nco / k->c_oh - 2 * (k->c_w / k->c_oh) * s->x_w - s->x_oh;
  double inverse = 1 / (gas_constant * s->t_k);
  ul_kinetics_state r;
  r.x_oh = k->a_oh * exp(-k->e_oh * inverse) * k->c_oh * (1 - s->x_oh) * nco;
  r.x_w = k->a_w * exp(-k->e_w * inverse) * (1 - s->x_w);
  r.t_k =
      (k->dh_oh * k->c_oh * r.x_oh + k->dh_w * k->c_w * r.x_w) / (k->liquid_kg_m3 * k->c_j_kg_k);
  return r;
}

static ul_kinetics_state moved(const ul_kinetics_state *s, double dt, const ul_kinetics_state *r) {
  return (ul_kinetics_state){s->x_oh + dt * r->x_oh, s->x_w + dt * r->x_w, s->t_k + dt * r->t_k};
}

ul_kinetics_state ul_kinetics_run(const ul_kinetics *k, double until_s, double step_s) {
  ul_kinetics_state s = {0, 0, k->start_k};
  long steps = (long)ceil(until_s / step_s);
  double dt = steps ? until_s / (double)steps : 0;
  for (long i = 0; i < steps; i++) {
    ul_kinetics_state a = rates(k, &s), at = moved(&s, dt / 2, &a);
    ul_kinetics_state b = rates(k, &at);
    at = moved(&s, dt / 2, &b);
    ul_kinetics_state c = rates(k, &at);
    at = moved(&s, dt, &c);
    ul_kinetics_state d = rates(k, &at);
    s = moved(&s, dt / 6, &a);
    s = moved(&s, dt / 3, &b);
    s = moved(&s, dt / 3, &c);
    s = moved(&s, dt / 6, &d);
  }
  return s;
}

double ul_kinetics_density(const ul_kinetics *k, const ul_kinetics_state *s) {
  return k->liquid_kg_m3 / (1 + k->c_w * s->x_w * gas_constant * s->t_k / k->pressure_pa);
}
