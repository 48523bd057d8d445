#include "main/foam_choice.h"

#include "base/fail.h"
#include "ullage/foam_card.h"

/* With no card the rise still needs a charge: the middle of the trade's 1.15 to 1.30 (common
 * practice, no source), which is also the middling foam's. */
ul_status foam_choose(const options *opts, ul_foam *foam, double *pack, ul_error *err) {
  *foam = ul_foam_middling();
  ul_status status = opts->foam ? ul_foam_load(opts->foam, foam, err) : UL_OK;
  if (status == UL_OK && opts->cup_g > 0)
    status = ul_foam_cup_test(foam, opts->cup_g, opts->cup_ml, err);
  if (status == UL_OK && opts->has_liquids_c)
    status = ul_foam_at_temperature(foam, opts->liquids_c, err);
  if (status != UL_OK) return status;
  double free_rise = ul_mid(foam->free_kg_m3);
  *pack = ul_mid(foam->pack);
  if (opts->pack > 0) *pack = opts->pack;
  if (opts->want_density_kg_m3 > 0) *pack = opts->want_density_kg_m3 / free_rise;
  if (*pack >= ul_mid(foam->liquid_kg_m3) / free_rise)
    return ul_fail(
        err, UL_E_USAGE,
        "a charge of %.3g times free rise is more than the cavity holds as liquid (%.3g): "
        "weigh less",
        *pack, ul_mid(foam->liquid_kg_m3) / free_rise);
  return UL_OK;
}
