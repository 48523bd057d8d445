/* options_check.c - options that cannot both be meant. */
#include <stdio.h>
#include <string.h>

#include "base/fail.h"
#include "main/options.h"

static bool plugs_any(const options *o) {
  for (size_t i = 0; i < o->vent_count; i++)
    if (o->vent_plug[i]) return true;
  for (size_t i = 0; i < o->hole_count; i++)
    if (o->hole_plug[i]) return true;
  return false;
}

/* A thin liquid has no card, charge or clock, is not turned, and shows at no vent before it is
 * full: what says such things would be silently without effect. */
static ul_status level_takes(const options *o, ul_error *err) {
  if (o->series_file)
    return ul_fail(err, UL_E_USAGE,
                   "--series is of a foam that expands, --level of none: leave one out");
  if (o->field_file)
    return ul_fail(err, UL_E_USAGE, "--level rises no foam: leave out --field and --series");
  const char *idle = o->foam            ? "--foam"
                     : *o->of_foam      ? o->of_foam
                     : o->has_poured_up ? "--poured-up"
                     : plugs_any(o)     ? "the plug of a vent or hole"
                                        : NULL;
  if (!idle) return UL_OK;
  return ul_fail(err, UL_E_USAGE,
                 "--level rises no foam, so nothing is made of %s: leave out that, or --level",
                 idle);
}

ul_status options_contradict(int verb, const options *o, ul_error *err) {
  ul_status status = UL_OK;
  if (o->has_up && o->raise)
    return ul_fail(err, UL_E_USAGE, "--up and --raise both say how the mould lies: give one");
  if (o->cube_mm > 0 && o->cubes > 0)
    return ul_fail(err, UL_E_USAGE, "--cube and --cubes both set the resolution: give one");
  if (o->pack > 0 && o->want_density_kg_m3 > 0)
    return ul_fail(err, UL_E_USAGE, "--pack and --want-density both set the charge: give one");
  if (!o->foam && (o->want_density_kg_m3 > 0 || o->cup_g > 0 || o->has_liquids_c))
    return ul_fail(err, UL_E_USAGE,
                   "--want-density, --cup-test and --liquids-c change a foam card: name it with "
                   "--foam (ullage foams lists some)");
  if (o->seam_gap_mm > 0 && !o->has_parting)
    return ul_fail(err, UL_E_USAGE,
                   "--seam-gap %g: where is the seam? say it with --parting, as z=12",
                   o->seam_gap_mm);
  if (o->level) status = level_takes(o, err);
  if (status != UL_OK) return status;
  if (o->has_wall && o->tool_file)
    return ul_fail(err, UL_E_USAGE, "--wall and --tool both say what the tool is: give one");
  if (verb == VERB_PLAN && o->has_wall && o->drawn == UL_DRAWN_BLOCK)
    return ul_fail(err, UL_E_USAGE,
                   "--wall %g and --drawn block both say where the tool ends: leave out --wall, "
                   "the block's own outside is drilled to",
                   o->wall_mm);
  return UL_OK;
}
