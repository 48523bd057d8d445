#include "main/foam_choice.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "base/fail.h"
#include "ullage/foam_card.h"

/* A name that is neither a file nor a generic card: which of those was meant? */
static ul_status no_such_card(const char *name, ul_error *err) {
  enum { MOST = 16 };
  const char *known[MOST];
  size_t count = 0;
  for (; count < ul_foam_generic_count() && count < MOST; count++)
    known[count] = ul_foam_generic(count)->name;
  const char *near = nearest_word(name, known, count);
  return ul_fail(err, UL_E_CARD,
                 "foam card %.100s is neither a file nor a generic card%s%s: `ullage foams` lists "
                 "those",
                 name, near ? "; did you mean " : "", near ? near : "");
}

/* Why a card that is there cannot be opened; 0: it can, or nothing is there, or a folder. */
static int why_unreadable(const char *path) {
  const int file = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (file < 0) return errno == ENOENT || errno == ENOTDIR || errno == ENAMETOOLONG ? 0 : errno;
  close(file);
  return 0;
}

bool foam_is_locked(const char *name_or_path) {
  return why_unreadable(name_or_path) != 0;
}

ul_status foam_load(const char *name_or_path, ul_foam *foam, ul_error *err) {
  ul_error why = {0};
  ul_status status = ul_foam_load(name_or_path, foam, &why);
  const int reason = status == UL_E_READ ? why_unreadable(name_or_path) : 0;
  if (reason)
    return ul_fail(
        err, UL_E_CARD,
        "foam card %.200s cannot be opened: %s: check your rights to it, or name another",
        name_or_path, strerror(reason));
  if (status == UL_E_READ) return no_such_card(name_or_path, err);
  if (status == UL_OK) return UL_OK;
  return ul_fail(err, status, "foam card %.80s: %.300s", name_or_path, why.text);
}

/* With no card the rise still needs a charge: the middle of the trade's 1.15 to 1.30 (common
 * practice, no source), which is also the middling foam's. */
ul_status foam_choose(const options *opts, ul_foam *foam, double *pack, ul_error *err) {
  *foam = ul_foam_middling();
  ul_status status = opts->foam ? foam_load(opts->foam, foam, err) : UL_OK;
  if (status == UL_OK && opts->cup_g > 0)
    status = ul_foam_cup_test(foam, opts->cup_g, opts->cup_ml, err);
  if (status == UL_OK && opts->has_liquids_c)
    status = ul_foam_at_temperature(foam, opts->liquids_c, err);
  if (status != UL_OK) return status;
  double free_rise = ul_mid(foam->free_kg_m3);
  *pack = ul_mid(foam->pack);
  if (opts->pack > 0) *pack = opts->pack;
  if (opts->want_density_kg_m3 > 0) *pack = opts->want_density_kg_m3 / free_rise;
  const double most = ul_mid(foam->liquid_kg_m3) / free_rise;
  if (*pack < most) return UL_OK;
  if (opts->foam && !(opts->pack > 0 || opts->want_density_kg_m3 > 0 || opts->cup_g > 0))
    return ul_fail(err, UL_E_CARD,
                   "foam card %.80s: a pack of %.3g times free rise is more than the cavity holds "
                   "as liquid (%.3g): check pack and both densities",
                   opts->foam, *pack, most);
  return ul_fail(err, UL_E_USAGE,
                 "a charge of %.3g times free rise is more than the cavity holds as liquid (%.3g): "
                 "weigh less",
                 *pack, most);
}
