/* options.h - the command line: one table of options feeds the parser, --help and the manual. */
#ifndef UL_MAIN_OPTIONS_H
#define UL_MAIN_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include "ullage/ullage.h"

/* Verbs, as bits, so that an option can say which of them take it. */
enum {
  VERB_CHECK = 1,
  VERB_PEAKS = 2,
  VERB_TILTS = 4,
  VERB_RISE = 8,
  VERB_PLAN = 16,
  VERB_CHARGE = 32,
  VERB_ALL = 63,      /* those that take a cavity */
  VERB_SHOTS = 64,    /* takes a table */
  VERB_FOAMS = 128,   /* takes a foam's name, or nothing */
  VERB_MARKERS = 256, /* takes a plan */
};

enum {
  VENTS_MOST = 64,
  SIDES_MOST = 6,
  COMPARE_MOST = 64,
  POURS_MOST = 16,
  INSERTS_MOST = 32,
  PARTS_MOST = 32,
  KEEP_OFF_MOST = 32,
};

typedef struct options {
  const char *cavity_file; /* or the one thing a verb works on: a table of shots, a foam's name */
  const char *out_dir;
  const char *keep_file; /* a plan.json whose vents exist; NULL: none do */
  ul_unit unit;
  ul_drawn drawn;
  double grow_percent;
  double patch_mm;
  const char *part[PARTS_MOST];
  size_t part_count; /* 0: all */
  long cavity;       /* 1-based; 0: all */
  bool has_up;
  double up[3];
  const char *raise;   /* as given, resolved into `up` once the sides' names are known */
  const char *compare; /* likewise */
  double compare_up[COMPARE_MOST][3];
  size_t compare_count;
  const char *side_name[SIDES_MOST]; /* of -x +x -y +y -z +z; NULL: none given */
  bool has_wall;
  double wall_mm;
  const char *tool_file;
  bool has_draw, has_parting;
  double draw[3];
  double parting_mm[3], parting_normal[3];
  double seam_gap_mm; /* 0: tight */
  bool wet_mobility;
  const char *insert[INSERTS_MOST];
  size_t insert_count;
  const char *keep_part[KEEP_OFF_MOST];
  size_t keep_part_count;
  double keep_box[KEEP_OFF_MOST][2][3];
  size_t keep_box_count;
  const char *show_side[KEEP_OFF_MOST]; /* as given, resolved into `show_sides` likewise */
  size_t show_side_count;
  unsigned show_sides; /* one bit a side, as value_side() numbers them */
  ul_drill_along along;
  double pour_mm[POURS_MOST][3], pour_end_mm[POURS_MOST][3]; /* the end NAN: a point */
  size_t pour_count;
  ul_vent_at hole[POURS_MOST]; /* poured through */
  bool hole_plug[POURS_MOST];
  size_t hole_count;
  bool has_poured_up; /* else as `up` */
  double poured_up[3];
  ul_vent_at vent[VENTS_MOST];
  bool vent_plug[VENTS_MOST]; /* plugged when foam shows; else left */
  size_t vent_count;
  const char *foam; /* a card's name or file; NULL: none, so no grams, no clock, no pressure */
  double pack;      /* 0: the card's */
  double want_density_kg_m3; /* 0: not given */
  double cup_g, cup_ml;      /* today's cup; 0: none */
  bool has_liquids_c;
  double liquids_c;
  double mix_s, pour_s, close_s, turn_s;
  bool hands_given;      /* any of the four was */
  ul_charge_opts charge; /* pigment, cups and scale; pack and density are above */
  ul_hold_opts hold;
  ul_drill_set drills;
  double litres; /* of a cavity; 0: not said */
  const char *series_file, *field_file;
  double void_ok_cm3;
  long vents_at_most;
  long tries;
  long scatter;
  double cube_mm;         /* 0: chosen */
  double cubes;           /* 0: chosen */
  bool inch;              /* the bench card in inches, ounces, psi and F */
  ul_paper paper;         /* of the bench card */
  const char *datum_axes; /* as given, resolved into `datum` likewise */
  bool has_datum;
  ul_datum datum;
  long threads;
  bool level, quiet, json, help;
  char of_foam[160]; /* those given that say nothing without a foam card, as "--pack, --mix-s" */
} options;

/* Parses everything after the verb. UL_E_USAGE with what is wrong and what to write instead. */
ul_status options_parse(int verb, int argc, char **argv, options *out, ul_error *err);

/* UL_E_USAGE for options that cannot both be meant. */
ul_status options_contradict(int verb, const options *o, ul_error *err);

/* What hangs on the names of sides, which may be given after it: raise, compare, show_side and
 * datum_axes, as they were typed. UL_E_USAGE as above. */
ul_status options_resolve(options *o, ul_error *err);

/* The list of the options that `verb` takes, to stdout. */
void options_print(int verb);

/* The known word nearest to `word` by edit distance, NULL when none is near. */
const char *nearest_word(const char *word, const char *const *known, size_t count);

#endif
