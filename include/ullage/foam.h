/* foam.h - the foam: what a card says of it, and how it grows and thickens. SI inside: kg/m3, Pa s,
 * s, degrees C. */
#ifndef ULLAGE_FOAM_H
#define ULLAGE_FOAM_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/status.h"

/* X(name, word on a card) */
#define UL_FOAM_CLASS_LIST(X)                                                                      \
  X(UL_FOAM_RIGID, "rigid")                                                                        \
  X(UL_FOAM_CUSHION, "cushion")                                                                    \
  X(UL_FOAM_SELF_SKINNING, "self-skinning")
#define UL_FOAM_CLASS_AS_ENUM(name, word) name,
typedef enum { UL_FOAM_CLASS_LIST(UL_FOAM_CLASS_AS_ENUM) UL_FOAM_CLASS_END } ul_foam_class;
const char *ul_foam_class_word(ul_foam_class foam_class);

/* Cup tests scatter: a value is a span, and the model takes its middle. */
typedef struct ul_span {
  double lo, hi;
} ul_span;
static inline double ul_mid(ul_span span) {
  return (span.lo + span.hi) / 2;
}

enum { UL_FOAM_CURVE = 128 };

/* Reaction rates (Baser & Khakhar 1994, Polym. Eng. Sci. 34:632 and 642): urethane second order,
 * water first order, adiabatic. */
typedef struct ul_kinetics {
  double a_oh;                   /* m3/(mol s) */
  double e_oh;                   /* J/mol */
  double a_w, e_w;               /* 1/s, J/mol */
  double c_oh, c_nco, c_w;       /* mol/m3 at the start */
  double dh_oh, dh_w;            /* heat given off, J/mol */
  double liquid_kg_m3, c_j_kg_k; /* density and heat capacity of the mix */
  double start_k, pressure_pa;
} ul_kinetics;

typedef struct ul_kinetics_state {
  double x_oh, x_w; /* conversions */
  double t_k;
} ul_kinetics_state;

/* Fourth-order Runge-Kutta from the start of mixing to `until_s` in steps of at most `step_s`. */
ul_kinetics_state ul_kinetics_run(const ul_kinetics *kinetics, double until_s, double step_s);
/* Density of the foam at that state when all the carbon dioxide is gas at `pressure_pa`. */
double ul_kinetics_density(const ul_kinetics *kinetics, const ul_kinetics_state *state);

/* Castro & Macosko 1982 (AIChE J. 28:250): factor on the viscosity at conversion x, of a resin that
 * gels at x_gel; infinite from there on. */
double ul_castro_macosko(double x, double x_gel, double a, double b);

/* A foam as a card gives it. Times run from the start of mixing. */
typedef struct ul_foam {
  char name[64];
  char note[160];
  ul_foam_class foam_class;
  ul_span liquid_kg_m3;   /* of the mixed liquid */
  ul_span free_kg_m3;     /* free rise, overall, at 101 325 Pa */
  ul_span card_kg_m3;     /* the card's own, where a cup has replaced that; 0 0: none has */
  ul_span viscosity_pa_s; /* mixed, at temperature_c */
  ul_span a_parts;        /* by mass, to 100 of B */
  ul_span cream_s, gel_s, rise_s, tack_free_s, demould_s;
  ul_span crush_s; /* cushion: crushed between these times after demoulding; 0 0: not crushed */
  ul_span pack;    /* charge as a multiple of free rise: lowest and highest advised */
  double temperature_c; /* of the liquids, at which the times hold */

  /* The model's own constants, each settable by name on a card. */
  double set_s;              /* gas expands until then; 0: the rise time */
  double rise_progress;      /* progress at the rise time */
  double rise_shape;         /* exponent of the S-curve */
  double cm_a, cm_b, cm_gel; /* Castro-Macosko; conversion grows in proportion to time */
  double gel_cap;            /* viscosity at gel and after, as a multiple of the mixed liquid's */
  double gas_power;          /* gas thickens the foam by (1 - gas fraction)^-power */
  double gas_cap;            /* at most this */
  double cream_per_10k, gel_per_10k; /* times faster per 10 K: common practice, no source */
  double viscosity_j_mol;            /* how the liquid's viscosity falls with temperature */

  size_t curve_count; /* measured progress against time, rising; 0: the S-curve */
  double curve_s[UL_FOAM_CURVE], curve_progress[UL_FOAM_CURVE];
} ul_foam;

/* The middling foam the rise runs on when no card is given: places and litres only. */
ul_foam ul_foam_middling(void);
/* Everything in bounds, gel after cream, and so on: UL_E_CARD with what is wrong and what to do. */
ul_status ul_foam_check(const ul_foam *foam, ul_error *err);

/* Today's cup: `grams` of mix rose to `ml`: that is the free-rise density from now on; card_kg_m3
 * keeps the card's. */
ul_status ul_foam_cup_test(ul_foam *foam, double grams, double ml, ul_error *err);
/* A cup is more than a fifth off the card's span: cups of one foam scatter by some percent (common
 * practice, no source), a fifth is the program's own choice. */
bool ul_foam_cup_is_far(ul_span card_kg_m3, double cup_kg_m3);
/* Liquids at `celsius` instead of the card's: cream and gel scaled separately (rise, set, tack-free
 * and demould go with gel), viscosity by its activation energy. */
ul_status ul_foam_at_temperature(ul_foam *foam, double celsius, ul_error *err);

double ul_foam_set_s(const ul_foam *foam);
/* Progress of the expansion, 0 to 1: 0 to cream, then 1 - (1 - rise_progress)^(s^shape) with s from
 * cream 0 to rise 1, or the measured curve; frozen at set. */
double ul_foam_progress(const ul_foam *foam, double t_s);
/* m3 per kg at the absolute pressure: (1/rho_l)(1 + (rho_l/rho_f - 1) e p0/p). */
double ul_foam_volume_m3_kg(const ul_foam *foam, double progress, double pressure_pa);
/* Viscosity of the mix without gas, Pa s, at time t; constant from gel on. */
double ul_foam_liquid_viscosity(const ul_foam *foam, double t_s);
/* Factor for the gas in foam of the specific volume v. */
double ul_foam_gas_factor(const ul_foam *foam, double volume_m3_kg);

#define UL_ATMOSPHERE_PA 101325.0

#endif
