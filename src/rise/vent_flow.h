/* vent_flow.h - how fast air leaves through a vent. */
#ifndef UL_RISE_VENT_FLOW_H
#define UL_RISE_VENT_FLOW_H

#define UL_AIR_K         293.15   /* the shop's air */
#define UL_AIR_J_KG_K    287.053  /* ISO 2533, from memory */
#define UL_AIR_VISCOSITY 1.813e-5 /* Pa s at 20 C */

/* A round hole of that diameter through `length_m` of tool. */
typedef struct ul_bore {
  double diameter_m, length_m;
  double discharge; /* of the hole as an orifice: 0.61 for a sharp edge, 0.816 (a loss of 1.5
                       velocity heads at entry and exit) once it is longer than wide; from memory */
} ul_bore;

ul_bore ul_bore_of(double diameter_m, double length_m);

/* The gap between two flat faces: so high, so long along the seam, and so far through the tool. */
typedef struct ul_slot {
  double gap_m, length_m, land_m;
  double discharge; /* as that of a bore */
} ul_slot;

ul_slot ul_slot_of(double gap_m, double length_m, double land_m);

/* kg/s of air at `kelvin` from pressure `inside_pa` to `outside_pa` (absolute); negative when it
 * flows in. Isentropic flow through an orifice, choked where it must be, in series with laminar
 * flow in the bore; proportional to the difference below 1 Pa, where a square root would have no
 * slope. */
double ul_bore_air_kg_s(const ul_bore *bore, double inside_pa, double outside_pa, double kelvin,
                        double air_viscosity);

/* m3/(Pa s) of a liquid of that viscosity: Hagen-Poiseuille. */
double ul_bore_conductance(const ul_bore *bore, double viscosity);

/* The same two of a slot; its laminar part is plane Poiseuille flow, gap^3 length / (12 viscosity
 * land). */
double ul_slot_air_kg_s(const ul_slot *slot, double inside_pa, double outside_pa, double kelvin,
                        double air_viscosity);
double ul_slot_conductance(const ul_slot *slot, double viscosity);

#endif
