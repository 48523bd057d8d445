#include "rise/foam_keys.h"

#define AT(field) offsetof(ul_foam, field)
#define TEXT(name, meaning, field, needed)                                                         \
  { name, meaning, UL_KEY_TEXT, UL_PLAIN, AT(field), sizeof(((ul_foam *)0)->field), needed }
#define SPAN(name, meaning, dimension, field, needed)                                              \
  { name, meaning, UL_KEY_SPAN, dimension, AT(field), 0, needed }
#define NUMBER(name, meaning, dimension, field)                                                    \
  { name, meaning, UL_KEY_NUMBER, dimension, AT(field), 0, false }

const ul_foam_key ul_foam_keys[] = {
    TEXT("name", "what the shop calls it", name, true),
    TEXT("note", "", note, false),
    {"class", "rigid, cushion or self-skinning", UL_KEY_CLASS, UL_PLAIN, AT(foam_class), 0, true},
    SPAN("liquid density", "of the mixed liquid", UL_DENSITY, liquid_kg_m3, true),
    SPAN("free-rise density", "overall, of a free rise in the open", UL_DENSITY, free_kg_m3, true),
    SPAN("viscosity", "of the mix, before it reacts", UL_VISCOSITY, viscosity_pa_s, true),
    SPAN("a to b", "by mass, as 52:100", UL_PARTS, a_parts, true),
    SPAN("cream", "from the start of mixing, like all times", UL_TIME, cream_s, true),
    SPAN("gel", "a stick draws strings", UL_TIME, gel_s, true),
    SPAN("rise", "the foam stops rising", UL_TIME, rise_s, true),
    SPAN("tack-free", "a finger no longer sticks", UL_TIME, tack_free_s, false),
    SPAN("demould", "the mould may be opened", UL_TIME, demould_s, false),
    SPAN("crush", "cushion: crush it this long after demoulding", UL_TIME, crush_s, false),
    SPAN("pack", "charge, times that of a free rise", UL_PLAIN, pack, false),
    NUMBER("temperature", "of the liquids, at which the times hold", UL_TEMPERATURE, temperature_c),
    {"rise curve", "a CSV file: time in s, then height or volume", UL_KEY_CURVE, UL_PLAIN, 0, 0,
     false},
    NUMBER("set", "gas expands until then; 0: the rise time", UL_TIME, set_s),
    NUMBER("rise progress", "share of the expansion done at the rise time", UL_PLAIN,
           rise_progress),
    NUMBER("rise shape", "exponent of the S-curve", UL_PLAIN, rise_shape),
    NUMBER("cure a", "Castro-Macosko exponent a", UL_PLAIN, cm_a),
    NUMBER("cure b", "Castro-Macosko exponent b", UL_PLAIN, cm_b),
    NUMBER("gel conversion", "Castro-Macosko conversion at gel", UL_PLAIN, cm_gel),
    NUMBER("gel cap", "viscosity from gel on, times that of the mix", UL_PLAIN, gel_cap),
    NUMBER("gas power", "gas thickens by (liquid share)^-this", UL_PLAIN, gas_power),
    NUMBER("gas cap", "at most this much", UL_PLAIN, gas_cap),
    NUMBER("cream per 10 K", "times faster", UL_PLAIN, cream_per_10k),
    NUMBER("gel per 10 K", "times faster", UL_PLAIN, gel_per_10k),
    NUMBER("viscosity energy", "J/mol", UL_PLAIN, viscosity_j_mol),
};
const size_t ul_foam_key_count = sizeof ul_foam_keys / sizeof *ul_foam_keys;

const ul_card_unit ul_card_units[] = {
    {UL_DENSITY, "kg/m3", 1, 0},
    {UL_DENSITY, "g/l", 1, 0},
    {UL_DENSITY, "g/cm3", 1000, 0},
    {UL_DENSITY, "pcf", 0.45359237 / (0.3048 * 0.3048 * 0.3048), 0},
    {UL_DENSITY, "lb/ft3", 0.45359237 / (0.3048 * 0.3048 * 0.3048), 0},
    {UL_VISCOSITY, "Pa s", 1, 0},
    {UL_VISCOSITY, "mPa s", 1e-3, 0},
    {UL_VISCOSITY, "cP", 1e-3, 0},
    {UL_TIME, "s", 1, 0},
    {UL_TIME, "min", 60, 0},
    {UL_TIME, "h", 3600, 0},
    {UL_TEMPERATURE, "C", 1, 0},
    {UL_TEMPERATURE, "F", 5.0 / 9, -160.0 / 9},
    {UL_PARTS, ":100", 1, 0},
    {UL_PLAIN, "", 1, 0},
};
const size_t ul_card_unit_count = sizeof ul_card_units / sizeof *ul_card_units;
