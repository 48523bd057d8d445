#include "main/tilt_pours.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/vec.h"
#include "main/pack_choice.h"
#include "main/rise_verdict.h"

/* A mould that is brimful as planned runs over when a shop weighs a little more: common practice,
 * no source. */
static const double AND_MORE = 1.05;
/* Of a cavity: an opening with less of it below lies low. */
static const double MOST_OF_IT = 0.5;

ul_status tilt_liquid_find(const cavity_case *c, tilt_liquid *out, ul_error *err) {
  pack_choice choice;
  *out = (tilt_liquid){c, NAN, c->opts->has_poured_up};
  if (!c->opts->foam) return UL_OK;
  ul_status status = pack_plain(c->opts, &choice, err);
  if (status == UL_OK)
    out->share = choice.pack * ul_mid(choice.foam.free_kg_m3) / ul_mid(choice.foam.liquid_kg_m3);
  return status;
}

static ul_status look_at_mouths(const tilt_liquid *l, const double up[3], tilt_pour *out,
                                ul_error *err) {
  mouth *m;
  ul_status status = mouths_find(l->c, up, &m, err);
  for (size_t i = 0; status == UL_OK && i < l->c->solid->cavity_count; i++) {
    if (m[i].opening == UL_OPENING_UNKNOWN || (l->turned && m[i].opening == UL_OPENING_RIM))
      continue;
    const double over =
        isnan(l->share) ? 0 : mouth_liquid_over_mm(l->c, i, up, &m[i], AND_MORE * l->share);
    const bool low = isnan(l->share) && !l->turned && m[i].share_below < MOST_OF_IT;
    const bool lowest =
        low && (out->pours == UL_TILT_HOLDS || m[i].share_below < out->at.share_below);
    if (!lowest && !(over > out->over_mm)) continue;
    *out = (tilt_pour){low ? UL_TILT_OPENS_LOW : UL_TILT_RUNS_OUT, m[i], over};
  }
  free(m);
  return status;
}

ul_status tilt_pour_look(const tilt_liquid *l, const double up[3], tilt_pour *out, ul_error *err) {
  *out = (tilt_pour){.pours = UL_TILT_HOLDS};
  return look_at_mouths(l, up, out, err);
}

ul_status tilt_pours(const void *liquid, const double up[3], ul_tilt_pours *out) {
  tilt_pour look;
  ul_status status = tilt_pour_look(liquid, up, &look, NULL);
  *out = look.pours;
  return status;
}

/* ---- plain attitudes ---- */

/* Common practice, no source. */
static const double RAISED = 5 * M_PI / 180;

static int draw_axis(const double draw[3]) {
  int axis = 2; /* of equals z, as ul_props_for() has it */
  for (int a = 1; a >= 0; a--)
    if (fabs(draw[a]) > fabs(draw[axis]) + 1e-9) axis = a;
  return axis;
}

void tilts_plain(const cavity_case *c, double up[TILTS_PLAIN][3]) {
  const int axis = draw_axis(c->parting.draw);
  const double first = c->parting.draw[axis] < 0 ? -1 : 1;
  for (int i = 0; i < TILTS_PLAIN; i++) {
    const bool level = i < 2;
    const double way = (level ? i == 0 : i < 6) ? first : -first;
    const int side = (i - 2) % 4;
    up[i][0] = up[i][1] = up[i][2] = 0;
    up[i][axis] = way * (level ? 1 : cos(RAISED));
    if (!level) up[i][(axis + 1 + side / 2) % 3] = (side & 1 ? 1 : -1) * sin(RAISED);
  }
}

ul_status tilt_level_that_holds(const tilt_liquid *l, double up[3], bool *found, ul_error *err) {
  double plain[TILTS_PLAIN][3];
  ul_status status = UL_OK;
  *found = false;
  tilts_plain(l->c, plain);
  for (size_t i = 0; i < 2 && status == UL_OK && !*found; i++) {
    tilt_pour look;
    status = tilt_pour_look(l, plain[i], &look, err);
    *found = status == UL_OK && look.pours == UL_TILT_HOLDS;
    ul_copy3(plain[i], up);
  }
  return status;
}

/* ---- told ---- */

/* Less is not seen in a mould. */
static const double SEEN_MM = 0.1;

const char *tilt_share_over(const tilt_pour *look, char out[UL_WORDS]) {
  const double over = 100 * (1 - look->at.share_below);
  if (over > 99.5)
    snprintf(out, UL_WORDS, "all");
  else
    snprintf(out, UL_WORDS, "%.0f %%", over);
  return out;
}

void tilt_pour_words(const options *opts, const tilt_pour *look, char *out, size_t room) {
  char name[40] = "the rim", figure[UL_WORDS];
  *out = 0;
  if (look->pours != UL_TILT_HOLDS && look->at.opening == UL_OPENING_HOLE)
    rise_vent_name(opts, look->at.hole, 0, name);
  if (look->pours == UL_TILT_RUNS_OUT && look->over_mm > SEEN_MM)
    snprintf(out, room, "; but poured so, its liquid stands %.20s mm over %s",
             ul_words_figure(look->over_mm, figure), name);
  else if (look->pours == UL_TILT_OPENS_LOW)
    snprintf(out, room, "; but poured so, %.20s of the cavity stands over %s",
             tilt_share_over(look, figure), name);
}
