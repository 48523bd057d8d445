#include "main/options.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "main/show.h"
#include "main/values.h"

typedef ul_status (*read_fn)(const char *value, options *o, ul_error *err);

typedef struct {
  const char *name;  /* without the dashes */
  const char *value; /* what it takes, as help shows it; NULL: nothing */
  int verbs;
  read_fn read;
  const char *help;
} option;

/* --- one small reader an option --- */

static ul_status read_unit(const char *v, options *o, ul_error *err) {
  for (int u = UL_UNIT_MM; u <= UL_UNIT_IN; u++)
    if (strcmp(v, ul_unit_name((ul_unit)u)) == 0) {
      o->unit = (ul_unit)u;
      return UL_OK;
    }
  return ul_fail(err, UL_E_USAGE, "--unit %s is not known: use mm, cm, m or in", v);
}

#define TEXT(reader, field)                                                                        \
  static ul_status reader(const char *v, options *o, ul_error *err) {                              \
    (void)err;                                                                                     \
    o->field = v;                                                                                  \
    return UL_OK;                                                                                  \
  }
TEXT(read_tool, tool_file)
TEXT(read_foam, foam)
TEXT(read_series, series_file)
TEXT(read_field, field_file)

static ul_status read_drawn(const char *v, options *o, ul_error *err) {
  if (strcmp(v, "part") == 0)
    o->drawn = UL_DRAWN_PART;
  else if (strcmp(v, "block") == 0)
    o->drawn = UL_DRAWN_BLOCK;
  else
    return ul_fail(err, UL_E_USAGE, "--drawn %s is not known: use part or block", v);
  return UL_OK;
}

static ul_status read_grow(const char *v, options *o, ul_error *err) {
  return value_number("--grow", v, -50, 100, &o->grow_percent, err);
}

static ul_status read_patch(const char *v, options *o, ul_error *err) {
  return value_number("--patch", v, 0, 1e6, &o->patch_mm, err);
}

static ul_status read_part(const char *v, options *o, ul_error *err) {
  if (o->part_count == PARTS_MOST)
    return ul_fail(err, UL_E_USAGE, "--part is given more than %d times", PARTS_MOST);
  if (!*v) return ul_fail(err, UL_E_USAGE, "--part needs a part's name");
  o->part[o->part_count++] = v;
  return UL_OK;
}

static ul_status read_cavity(const char *v, options *o, ul_error *err) {
  return value_count("--cavity", v, 1, 1000000, &o->cavity, err);
}

static ul_status read_up(const char *v, options *o, ul_error *err) {
  double given[3];
  ul_status status = value_numbers("--up", v, 3, given, err);
  if (status == UL_OK) status = ul_up_normalise(given, o->up, err);
  o->has_up = status == UL_OK;
  return status;
}

static ul_status read_raise(const char *v, options *o, ul_error *err) {
  if (o->raise)
    return ul_fail(err, UL_E_USAGE, "--raise is given twice: write both in one, as +x=15,-y=5");
  o->raise = v;
  return UL_OK;
}

static ul_status read_compare(const char *v, options *o, ul_error *err) {
  if (!*v) return ul_fail(err, UL_E_USAGE, "--compare names no attitude: write \"+x=0;+x=15\"");
  o->compare = v;
  return UL_OK;
}

static ul_status read_side(const char *v, options *o, ul_error *err) {
  int side = value_side(v);
  if (side < 0 || v[2] != '=' || !v[3])
    return ul_fail(err, UL_E_USAGE, "--side %s is not a side and its name: write +x=hinge", v);
  int same = value_named_side(v + 3, strlen(v + 3), o->side_name);
  if (same >= 0 && same != side)
    return ul_fail(err, UL_E_USAGE, "--side %s: another side has that name: give each its own", v);
  o->side_name[side] = v + 3;
  return UL_OK;
}

static ul_status read_wall(const char *v, options *o, ul_error *err) {
  o->has_wall = true;
  return value_number("--wall", v, 0, 1e5, &o->wall_mm, err);
}

static ul_status read_draw(const char *v, options *o, ul_error *err) {
  double given[3];
  ul_status status = value_numbers("--draw", v, 3, given, err);
  if (status != UL_OK) return status;
  o->has_draw = true;
  if (ul_up_normalise(given, o->draw, NULL) == UL_OK) return UL_OK;
  return ul_fail(err, UL_E_USAGE, "--draw %s has no length: give a direction such as 0,0,1", v);
}

static ul_status read_parting(const char *v, options *o, ul_error *err) {
  o->has_parting = true;
  return value_plane("--parting", v, o->parting_mm, o->parting_normal, err);
}

/* Six numbers are a box, anything else is a name. */
static ul_status read_keep_off(const char *v, options *o, ul_error *err) {
  if (o->keep_part_count == KEEP_OFF_MOST || o->keep_box_count == KEEP_OFF_MOST)
    return ul_fail(err, UL_E_USAGE, "--keep-off is given more than %d times", KEEP_OFF_MOST);
  double given[16];
  size_t numbers = 0;
  if (!*v) return ul_fail(err, UL_E_USAGE, "--keep-off needs a part's name or a box x,y,z,x,y,z");
  bool named = value_number_list("--keep-off", v, 2, 16, given, &numbers, NULL) != UL_OK;
  if (named) {
    o->keep_part[o->keep_part_count++] = v;
    return UL_OK;
  }
  if (numbers != 6)
    return ul_fail(err, UL_E_USAGE,
                   "--keep-off %s has %zu numbers: a box is two corners, x,y,z,x,y,z", v, numbers);
  ul_status status = value_within_mm("--keep-off", v, given, 6, err);
  if (status != UL_OK) return status;
  double(*box)[3] = o->keep_box[o->keep_box_count++];
  for (int c = 0; c < 3; c++) {
    box[0][c] = fmin(given[c], given[c + 3]);
    box[1][c] = fmax(given[c], given[c + 3]);
  }
  return UL_OK;
}

static ul_status read_show_side(const char *v, options *o, ul_error *err) {
  if (o->show_side_count == KEEP_OFF_MOST)
    return ul_fail(err, UL_E_USAGE, "--show-side is given more than %d times", KEEP_OFF_MOST);
  o->show_side[o->show_side_count++] = v;
  return UL_OK;
}

static ul_status read_drill_along(const char *v, options *o, ul_error *err) {
  for (int a = 0; a < UL_DRILL_ALONG_END; a++)
    if (strcmp(v, ul_drill_along_word((ul_drill_along)a)) == 0) {
      o->along = (ul_drill_along)a;
      return UL_OK;
    }
  return ul_fail(err, UL_E_USAGE, "--drill-along %s is not known: use draw, normal or up", v);
}

static ul_status read_insert(const char *v, options *o, ul_error *err) {
  if (o->insert_count == INSERTS_MOST)
    return ul_fail(err, UL_E_USAGE, "--insert is given more than %d times", INSERTS_MOST);
  o->insert[o->insert_count++] = v;
  return UL_OK;
}

static ul_status read_pour(const char *v, options *o, ul_error *err) {
  if (strcmp(v, "auto") == 0) return UL_OK;
  if (o->pour_count == POURS_MOST)
    return ul_fail(err, UL_E_USAGE, "--pour is given more than %d times", POURS_MOST);
  double *from = o->pour_mm[o->pour_count], *to = o->pour_end_mm[o->pour_count++];
  char first[128];
  const char *rest = strchr(v, ';');
  snprintf(first, sizeof first, "%.*s", (int)(rest ? rest - v : (long)strlen(v)), v);
  ul_status status = value_place("--pour", first, 3, from, err);
  to[0] = to[1] = to[2] = NAN;
  return status == UL_OK && rest ? value_place("--pour", rest + 1, 3, to, err) : status;
}

/* "leave" or "plug" after the last comma, if there is one; the numbers before it into `numbers`. */
static bool split_then(const char *v, char numbers[128], bool *plug) {
  const char *last = strrchr(v, ',');
  bool word = last && (strcmp(last, ",plug") == 0 || strcmp(last, ",leave") == 0);
  *plug = word && last[1] == 'p';
  snprintf(numbers, 128, "%.*s", (int)(word ? last - v : (long)strlen(v)), v);
  return strlen(v) < 120;
}

/* A hole as x,y,z,MM,plug; its diameter may be left out where `least` is 3. */
static ul_status read_hole(const char *name, const char *v, size_t least, ul_vent_at *hole,
                           bool *plug, ul_error *err) {
  char numbers[128];
  double given[4];
  size_t n = 0;
  if (!split_then(v, numbers, plug))
    return ul_fail(err, UL_E_USAGE, "%s: write x,y,z,MM,plug", name);
  ul_status status = value_number_list(name, numbers, least, 4, given, &n, err);
  if (status == UL_OK) status = value_within_mm(name, v, given, n, err);
  if (status != UL_OK) return status;
  for (int c = 0; c < 3; c++) hole->at_mm[c] = given[c];
  hole->diameter_mm = n == 4 ? given[3] : 3;
  if (hole->diameter_mm > 0) return UL_OK;
  return ul_fail(err, UL_E_USAGE, "%s %s has a diameter of %g mm: give one above 0", name, v,
                 given[3]);
}

static ul_status read_vent(const char *v, options *o, ul_error *err) {
  if (o->vent_count == VENTS_MOST)
    return ul_fail(err, UL_E_USAGE, "--vent is given more than %d times", VENTS_MOST);
  size_t i = o->vent_count++;
  return read_hole("--vent", v, 3, &o->vent[i], &o->vent_plug[i], err);
}

static ul_status read_pour_hole(const char *v, options *o, ul_error *err) {
  if (o->hole_count == POURS_MOST)
    return ul_fail(err, UL_E_USAGE, "--pour-hole is given more than %d times", POURS_MOST);
  size_t i = o->hole_count++;
  return read_hole("--pour-hole", v, 4, &o->hole[i], &o->hole_plug[i], err);
}

static ul_status read_poured_up(const char *v, options *o, ul_error *err) {
  double given[3];
  ul_status status = value_numbers("--poured-up", v, 3, given, err);
  if (status != UL_OK) return status;
  o->has_poured_up = true;
  if (ul_up_normalise(given, o->poured_up, NULL) == UL_OK) return UL_OK;
  return ul_fail(err, UL_E_USAGE, "--poured-up %s has no length: give a direction such as 0,0,1",
                 v);
}

/* --- the foam and the hands --- */

static ul_status read_pack(const char *v, options *o, ul_error *err) {
  return value_number("--pack", v, 0.1, 10, &o->pack, err);
}

static ul_status read_want_density(const char *v, options *o, ul_error *err) {
  return value_number("--want-density", v, 1, 2000, &o->want_density_kg_m3, err);
}

static ul_status read_cup_test(const char *v, options *o, ul_error *err) {
  double cup[2];
  ul_status status = value_numbers("--cup-test", v, 2, cup, err);
  if (status != UL_OK) return status;
  if (!(cup[0] > 0 && cup[1] > 0 && cup[0] <= 1e6 && cup[1] <= 1e6))
    return ul_fail(err, UL_E_USAGE,
                   "--cup-test %s: give grams and millilitres above 0, at most 1e+06", v);
  o->cup_g = cup[0];
  o->cup_ml = cup[1];
  return UL_OK;
}

static ul_status read_liquids_c(const char *v, options *o, ul_error *err) {
  o->has_liquids_c = true;
  return value_number("--liquids-c", v, -20, 80, &o->liquids_c, err);
}

static ul_status read_hand(const char *option, const char *v, double *seconds, options *o,
                           ul_error *err) {
  o->hands_given = true;
  return value_number(option, v, 0, 3600, seconds, err);
}

static ul_status read_mix_s(const char *v, options *o, ul_error *err) {
  return read_hand("--mix-s", v, &o->mix_s, o, err);
}

static ul_status read_pour_s(const char *v, options *o, ul_error *err) {
  return read_hand("--pour-s", v, &o->pour_s, o, err);
}

static ul_status read_close_s(const char *v, options *o, ul_error *err) {
  return read_hand("--close-s", v, &o->close_s, o, err);
}

static ul_status read_turn_s(const char *v, options *o, ul_error *err) {
  return read_hand("--turn-s", v, &o->turn_s, o, err);
}

/* --- what the shop has --- */

#define NUMBER(reader, name, least, most, field)                                                   \
  static ul_status reader(const char *v, options *o, ul_error *err) {                              \
    return value_number(name, v, least, most, &o->field, err);                                     \
  }
NUMBER(read_pigment, "--pigment", 0, 20, charge.pigment_percent)
NUMBER(read_cup_max, "--cup-max", 1, 1e6, charge.cup_max_g)
NUMBER(read_left, "--left-in-cup", 0, 1e4, charge.left_g)
NUMBER(read_scale, "--scale-g", 1e-3, 1000, charge.scale_g)
NUMBER(read_seam_gap, "--seam-gap", 0, 10, seam_gap_mm)
NUMBER(read_litres, "--litres", 1e-6, 1e6, litres)

static ul_status read_lid(const char *v, options *o, ul_error *err) {
  double *mm = o->hold.lid_mm;
  ul_status status = value_place("--lid", v, 3, mm, err);
  if (status != UL_OK || (mm[0] > 0 && mm[1] > 0 && mm[2] > 0)) return status;
  return ul_fail(err, UL_E_USAGE,
                 "--lid %s: a lid of %g x %g x %g mm: give sides and thickness above 0", v, mm[0],
                 mm[1], mm[2]);
}

/* `v` is none of the words: says which there are, and which one was probably meant. */
static ul_status not_among(const char *name, const char *v, const char *const *known, size_t count,
                           ul_error *err) {
  char list[200] = "";
  for (size_t i = 0, used = 0; i < count && used < sizeof list; i++)
    used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", known[i]);
  const char *near = nearest_word(v, known, count);
  return ul_fail(err, UL_E_USAGE, "%s %s is not known%s%s: use one of %s", name, v,
                 near ? ", perhaps " : "", near ? near : "", list);
}

static ul_status read_mobility(const char *v, options *o, ul_error *err) {
  static const char *const known[] = {"whole", "wet"};
  o->wet_mobility = strcmp(v, "wet") == 0;
  if (o->wet_mobility || strcmp(v, "whole") == 0) return UL_OK;
  return not_among("--mobility", v, known, 2, err);
}

static ul_status read_mould(const char *v, options *o, ul_error *err) {
  enum { MOST = 32 };
  const char *known[MOST];
  size_t count = 0;
  for (; count < ul_material_count() && count < MOST; count++)
    known[count] = ul_material_get(count)->name;
  o->hold.material = ul_material_find(v);
  return o->hold.material ? UL_OK : not_among("--mould", v, known, count, err);
}

static ul_status read_drills(const char *v, options *o, ul_error *err) {
  const char *known[UL_DRILL_SET_END];
  for (int i = 0; i < UL_DRILL_SET_END; i++) {
    known[i] = ul_drill_set_word((ul_drill_set)i);
    o->drills = (ul_drill_set)i;
    if (strcmp(v, known[i]) == 0) return UL_OK;
  }
  return not_among("--drills", v, known, UL_DRILL_SET_END, err);
}

static ul_status read_paper(const char *v, options *o, ul_error *err) {
  if (strcmp(v, "a4") != 0 && strcmp(v, "letter") != 0)
    return ul_fail(err, UL_E_USAGE, "--paper %s is not known: use a4 or letter", v);
  o->paper = *v == 'l' ? UL_PAPER_LETTER : UL_PAPER_A4;
  return UL_OK;
}

static ul_status read_datum(const char *v, options *o, ul_error *err) {
  o->has_datum = true;
  return value_place("--datum", v, 3, o->datum.at_mm, err);
}

static ul_status read_datum_axes(const char *v, options *o, ul_error *err) {
  (void)err;
  o->has_datum = true;
  o->datum_axes = v;
  return UL_OK;
}

static ul_status read_keep(const char *v, options *o, ul_error *err) {
  o->keep_file = v;
  return *v ? UL_OK : ul_fail(err, UL_E_USAGE, "--keep needs a plan: DIR/plan.json");
}

static ul_status read_void_ok(const char *v, options *o, ul_error *err) {
  return value_number("--void-ok", v, 0, 1e9, &o->void_ok_cm3, err);
}

static ul_status read_vents_at_most(const char *v, options *o, ul_error *err) {
  return value_count("--vents-at-most", v, 1, VENTS_MOST, &o->vents_at_most, err);
}

static ul_status read_tries(const char *v, options *o, ul_error *err) {
  return value_count("--tries", v, 1, 1000000, &o->tries, err);
}

static ul_status read_scatter(const char *v, options *o, ul_error *err) {
  return value_count("--scatter", v, 1, 100000, &o->scatter, err);
}

static ul_status read_cube(const char *v, options *o, ul_error *err) {
  return value_number("--cube", v, 1e-9, 1e6, &o->cube_mm, err);
}

static ul_status read_cubes(const char *v, options *o, ul_error *err) {
  return value_number("--cubes", v, 100, 2e9, &o->cubes, err);
}

static ul_status read_threads(const char *v, options *o, ul_error *err) {
  return value_count("--threads", v, 1, 256, &o->threads, err);
}

static ul_status read_out(const char *v, options *o, ul_error *err) {
  if (!*v) return ul_fail(err, UL_E_USAGE, "-o needs a folder's name");
  o->out_dir = v;
  return UL_OK;
}

#define FLAG(name)                                                                                 \
  static ul_status read_##name(const char *v, options *o, ul_error *err) {                         \
    (void)v, (void)err;                                                                            \
    o->name = true;                                                                                \
    return UL_OK;                                                                                  \
  }
FLAG(level)
FLAG(inch)
FLAG(quiet)
FLAG(json)
FLAG(help)

enum {
  WITH_TILT = VERB_PEAKS | VERB_RISE | VERB_PLAN,
  WITH_VENTS = VERB_TILTS | VERB_PLAN,
  WITH_SHOP = VERB_CHARGE | VERB_PLAN,
  WITH_FOAM = VERB_RISE | VERB_PLAN | VERB_CHARGE,
};

static const option table[] = {
    {"unit", "mm|cm|m|in", VERB_ALL, read_unit, "unit of a file that carries none (mm)"},
    {"drawn", "part|block", VERB_ALL, read_drawn,
     "the mesh is the part, or the tool with the cavity as a void (part)"},
    {"grow", "PCT", VERB_ALL, read_grow, "enlarge a part file to the cavity that will be cut (0)"},
    {"patch", "MM", VERB_ALL, read_patch, "close holes in the mesh up to this far across (none)"},
    {"part", "NAME", VERB_ALL, read_part,
     "only what has this name in the file; may be repeated (all)"},
    {"cavity", "N", VERB_ALL, read_cavity, "only this one of several (all)"},
    {"up", "x,y,z", WITH_TILT | VERB_CHARGE, read_up,
     "the direction that points up, in the file's axes (0,0,1)"},
    {"raise", "+x=A,+y=B", WITH_TILT | VERB_CHARGE, read_raise,
     "what a level reads along the mould's x and y edges, degrees; 90 is on edge"},
    {"compare", "\"+x=0;+x=15\"", VERB_TILTS, read_compare, "judge only these attitudes"},
    {"side", "+x=NAME", VERB_ALL | VERB_MARKERS, read_side,
     "a name for a side, used in every sentence"},
    {"wall", "MM", WITH_VENTS | VERB_RISE | VERB_CHARGE, read_wall,
     "thickness of the tool round the cavity (25, assumed)"},
    {"tool", "FILE", WITH_VENTS, read_tool, "the tool itself, as a mesh in the same axes"},
    {"insert", "FILE", VERB_ALL, read_insert,
     "taken out of the cavity: what is cast in; may be repeated"},
    {"parting", "z=MM", VERB_CHECK | VERB_RISE | VERB_PLAN | VERB_CHARGE, read_parting,
     "where the halves meet; or a point and a normal: x,y,z;nx,ny,nz (not known)"},
    {"draw", "x,y,z", VERB_CHECK | VERB_PLAN | VERB_CHARGE, read_draw,
     "direction in which the halves open (the parting plane's normal)"},
    {"seam-gap", "MM", VERB_RISE | VERB_PLAN, read_seam_gap,
     "the halves stand so far apart: air and foam leave along the parting line (tight)"},
    {"keep-off", "NAME|box", VERB_PLAN, read_keep_off,
     "no vent on this named part, or in this box x,y,z,x,y,z; may be repeated"},
    {"show-side", "-z", VERB_PLAN, read_show_side,
     "faces that show, by side or its name: no vent there; may be repeated"},
    {"drill-along", "draw|normal|up", VERB_PLAN, read_drill_along, "what holes follow (draw)"},
    {"pour", "x,y,z[;x,y,z]", VERB_RISE | VERB_PLAN, read_pour,
     "where the charge lands: a point, or a line that it is spread along (auto: the middle of "
     "the lowest floor or edge); once a cavity"},
    {"pour-hole", "x,y,z,MM[,plug]", WITH_FOAM, read_pour_hole,
     "poured into the shut mould through this hole; it lets air out like a vent, and is left open "
     "or plugged when foam shows; once a cavity"},
    {"poured-up", "x,y,z", WITH_FOAM, read_poured_up,
     "poured and shut with this direction up, then turned to the tilt (the tilt)"},
    {"vent", "x,y,z[,MM[,plug]]", VERB_RISE, read_vent,
     "a vent that exists (3 mm, left open); may be repeated"},
    {"foam", "CARD", WITH_FOAM | VERB_SHOTS, read_foam,
     "a foam card, by name or file: see ullage foams"},
    {"pack", "F", WITH_FOAM | VERB_SHOTS, read_pack,
     "charge as a multiple of free rise (the card's)"},
    {"want-density", "KG/M3", WITH_FOAM | VERB_SHOTS, read_want_density,
     "the moulded density wanted"},
    {"cup-test", "G,ML", WITH_FOAM, read_cup_test, "today's cup: grams, and the volume it rose to"},
    {"liquids-c", "T", WITH_FOAM, read_liquids_c, "temperature of the liquids (the card's)"},
    {"mix-s", "S", WITH_FOAM, read_mix_s, "how long the hands mix (25, assumed)"},
    {"pour-s", "S", WITH_FOAM, read_pour_s, "how long they pour (10, assumed)"},
    {"close-s", "S", WITH_FOAM, read_close_s, "how long they take to shut it (10, assumed)"},
    {"turn-s", "S", WITH_FOAM, read_turn_s, "how long they take to turn it (5, assumed)"},
    {"pigment", "PCT", WITH_SHOP, read_pigment, "of the total mass, into the B side (1.5)"},
    {"cup-max", "G", WITH_SHOP, read_cup_max, "most that one person mixes in time (no limit)"},
    {"left-in-cup", "G", WITH_SHOP, read_left, "what stays in each cup (5, assumed)"},
    {"scale-g", "G", WITH_SHOP, read_scale, "step of the scale (1; 0.1 for cups under 200 g)"},
    {"mould", "MATERIAL", WITH_SHOP, read_mould,
     "what it is made of: aluminium, cast-epoxy, cast-urethane, glass-laminate, plaster, "
     "silicone, printed or wood"},
    {"lid", "W,H,T", WITH_SHOP, read_lid, "a flat lid of that material to check, mm"},
    {"drills", "SET", WITH_SHOP, read_drills, "shop, metric, inch or number (shop)"},
    {"litres", "L", VERB_SHOTS, read_litres, "volume of the cavity, as ullage check gives it"},
    {"series", "FILE.csv", VERB_RISE, read_series, "time, filled, pressure and air, step by step"},
    {"field", "FILE.vti", VERB_RISE, read_field,
     "arrival, pressure, half-gap and voids cube by cube, as VTK image data"},
    {"mobility", "whole|wet", VERB_RISE | VERB_PLAN, read_mobility,
     "how easily foam moves: as if the cavity were full, or as far as it has come, found anew as "
     "it "
     "grows (whole)"},
    {"void-ok", "CM3", VERB_PEAKS | VERB_TILTS | VERB_RISE | VERB_PLAN, read_void_ok,
     "voids smaller than this are let be (0.05)"},
    {"vents-at-most", "N", WITH_VENTS, read_vents_at_most, "no more vents than this (8)"},
    {"tries", "N", WITH_VENTS, read_tries, "attitudes searched over the whole sphere (2000)"},
    {"scatter", "N", VERB_PLAN, read_scatter, "repeats with the shop's scatter (20)"},
    {"level", NULL, VERB_RISE, read_level, "a level rise, as a thin liquid would"},
    {"keep", "PLAN.json", VERB_PLAN, read_keep,
     "the vents of this plan exist: they stay, or are plugged for good, and one new one at most is "
     "proposed"},
    {"datum", "x,y,z", VERB_PLAN | VERB_MARKERS, read_datum,
     "where the mould maker measures from, in the file's axes (0,0,0)"},
    {"datum-axes", "\"+y;-x\"", VERB_PLAN | VERB_MARKERS, read_datum_axes,
     "his x and y in the file's axes: a side, its name, or x,y,z each (+x;+y)"},
    {"paper", "a4|letter", VERB_PLAN, read_paper, "of the bench card (a4)"},
    {"inch", NULL, VERB_PLAN, read_inch, "the bench card in inches, ounces and F"},
    {"cube", "MM", VERB_ALL, read_cube, "resolution: the size of a cube"},
    {"cubes", "N", VERB_ALL, read_cubes,
     "resolution: how many cubes in the cavity (250000; in the rise of a foam 20000, and up to "
     "60000 where it is thin)"},
    {"threads", "N", VERB_ALL, read_threads, "never changes a result (all cores)"},
    {"quiet", NULL, VERB_ALL, read_quiet, "no progress"},
    {"json", NULL, VERB_ALL | VERB_SHOTS | VERB_FOAMS, read_json,
     "the result as JSON to stdout, and nothing else there"},
    {"o", "DIR", VERB_PLAN | VERB_MARKERS, read_out,
     "folder for the files; made if missing (markers: the plan's own)"},
    {"help", NULL, VERB_ALL | VERB_SHOTS | VERB_FOAMS | VERB_MARKERS, read_help, "this text"},
};
enum { TABLE = sizeof table / sizeof table[0], OPTION_COLUMN = 27 };

static const char *dashes(const option *o) {
  return o->name[1] ? "--" : "-";
}

void options_print(int verb) {
  for (size_t i = 0; i < TABLE; i++) {
    if (!(table[i].verbs & verb)) continue;
    char left[48];
    snprintf(left, sizeof left, "  %s%s%s%s", dashes(&table[i]), table[i].name,
             table[i].value ? " " : "", table[i].value ? table[i].value : "");
    show_wrapped(OPTION_COLUMN, left, table[i].help);
  }
}

/* Levenshtein 1966; words are short, so one row on the stack will do. */
static int edit_distance(const char *a, const char *b) {
  int row[64], n = (int)strlen(b);
  if (n > 60 || strlen(a) > 60) return 99;
  for (int j = 0; j <= n; j++) row[j] = j;
  for (int i = 1; a[i - 1]; i++) {
    int diagonal = row[0];
    row[0] = i;
    for (int j = 1; j <= n; j++) {
      int change = diagonal + (a[i - 1] != b[j - 1]);
      diagonal = row[j];
      int least = change < row[j] + 1 ? change : row[j] + 1;
      row[j] = least < row[j - 1] + 1 ? least : row[j - 1] + 1;
    }
  }
  return row[n];
}

const char *nearest_word(const char *word, const char *const *known, size_t count) {
  const char *best = NULL;
  int best_distance = (int)strlen(word) / 2 + 1;
  for (size_t i = 0; i < count; i++) {
    int d = edit_distance(word, known[i]);
    if (d < best_distance) best = known[i], best_distance = d;
  }
  return best;
}

static ul_status unknown_option(const char *name, int verb, ul_error *err) {
  const char *known[TABLE];
  size_t count = 0;
  for (size_t i = 0; i < TABLE; i++) {
    if (strcmp(table[i].name, name) == 0)
      return ul_fail(err, UL_E_USAGE, "--%s is not for this verb: see --help", name);
    if (table[i].verbs & verb) known[count++] = table[i].name;
  }
  const char *near = nearest_word(name, known, count);
  if (near) return ul_fail(err, UL_E_USAGE, "--%s is not known: did you mean --%s?", name, near);
  return ul_fail(err, UL_E_USAGE, "--%s is not known: see --help", name);
}

static const option *find(const char *name, size_t length, int verb) {
  for (size_t i = 0; i < TABLE; i++)
    if ((table[i].verbs & verb) && strlen(table[i].name) == length &&
        memcmp(table[i].name, name, length) == 0)
      return &table[i];
  return NULL;
}

/* Without a foam card these change nothing: a plan says so. */
static void note_of_foam(const char *name, options *o) {
  static const char *const of_foam[] = {"pack",    "mobility",    "seam-gap", "mix-s",
                                        "pour-s",  "close-s",     "turn-s",   "pigment",
                                        "cup-max", "left-in-cup", "scale-g",  "lid"};
  const size_t used = strlen(o->of_foam);
  char word[40];
  snprintf(word, sizeof word, "--%s", name);
  if (strstr(o->of_foam, word)) return; /* given twice; none of them begins like another */
  for (size_t i = 0; i < sizeof of_foam / sizeof *of_foam; i++)
    if (strcmp(name, of_foam[i]) == 0)
      snprintf(o->of_foam + used, sizeof o->of_foam - used, "%s%s", used ? ", " : "", word);
}

/* Takes argv[*at], and the one after it where the option wants a value. */
static ul_status take_option(int verb, int argc, char **argv, int *at, options *o, ul_error *err) {
  const char *name = argv[*at] + 1;
  if (*name == '-') name++;
  if (strcmp(name, "h") == 0) name = "help";
  const char *equals = strchr(name, '=');
  size_t length = equals ? (size_t)(equals - name) : strlen(name);
  const option *found = find(name, length, verb);
  if (!found) {
    char word[64];
    snprintf(word, sizeof word, "%.*s", (int)(length < 60 ? length : 60), name);
    return unknown_option(word, verb, err);
  }
  note_of_foam(found->name, o);
  if (!found->value) {
    if (equals) return ul_fail(err, UL_E_USAGE, "--%s takes no value", found->name);
    return found->read(NULL, o, err);
  }
  if (equals) return found->read(equals + 1, o, err);
  if (*at + 1 >= argc)
    return ul_fail(err, UL_E_USAGE, "%s%s needs a value: %s%s %s", dashes(found), found->name,
                   dashes(found), found->name, found->value);
  return found->read(argv[++*at], o, err);
}

ul_status options_parse(int verb, int argc, char **argv, options *out, ul_error *err) {
  *out = (options){.up = {0, 0, 1},
                   .datum = ul_datum_default(),
                   .void_ok_cm3 = 0.05,
                   .vents_at_most = 8,
                   .tries = 2000,
                   .scatter = 20,
                   .mix_s = 25,
                   .pour_s = 10,
                   .close_s = 10,
                   .turn_s = 5,
                   .charge = ul_charge_opts_default(),
                   .hold = ul_hold_opts_default(),
                   .wall_mm = 25};
  bool only_files = false;
  for (int i = 0; i < argc; i++) {
    ul_status status = UL_OK;
    if (!only_files && strcmp(argv[i], "--") == 0) {
      only_files = true;
    } else if (!only_files && argv[i][0] == '-' && argv[i][1]) {
      status = take_option(verb, argc, argv, &i, out, err);
    } else if (out->cavity_file) {
      status = ul_fail(err, UL_E_USAGE, "%s and %s: one file at a time", out->cavity_file, argv[i]);
    } else {
      out->cavity_file = argv[i];
    }
    if (status != UL_OK) return status;
  }
  if (out->help) return UL_OK;
  if (!out->cavity_file && verb != VERB_FOAMS)
    return ul_fail(err, UL_E_USAGE, "no file named: give %s",
                   verb == VERB_MARKERS ? "a plan.json"
                   : verb == VERB_SHOTS ? "the table of shots"
                                        : "the cavity's mesh");
  if (verb == VERB_PLAN && !out->out_dir)
    return ul_fail(err, UL_E_USAGE, "plan needs a folder for its files: -o DIR");
  ul_status status = options_contradict(verb, out, err);
  return status == UL_OK ? options_resolve(out, err) : status;
}
