#include "shop/shots_loss.h"

#include <math.h>
#include <stdlib.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/order.h"

/* What two cups keep, and what vents, a pour hole and flash take of the charge; and by how much a
 * shot may lose more than the usual one. The program's own choice, no source. */
static const double cups_g = 10, way_share = 0.25, off_g = 5, off_share = 0.1;
/* Of two that differ nobody knows which is wrong. */
enum { ENOUGH_TO_COMPARE = 3 };

static double loss_g(const ul_shot *shot) {
  return shot->charge_g - shot->part_g;
}

static bool is_too_much(const ul_shot *shot) {
  return loss_g(shot) > cups_g + way_share * shot->charge_g;
}

bool ul_shot_loss_is_doubted(const ul_shot *shot, const ul_shots_said *said) {
  /* false of a NAN */
  const bool far_off = loss_g(shot) - said->usual_loss_g > off_g + off_share * shot->charge_g;
  return is_too_much(shot) || far_off;
}

ul_status ul_shots_usual_loss(const ul_shots *shots, double *usual_g, ul_error *err) {
  *usual_g = NAN;
  double *loss = ul_new_raw(shots->count, sizeof *loss);
  uint32_t *order = ul_new_raw(shots->count, sizeof *order);
  size_t n = 0;
  ul_status status = loss && order ? UL_OK : ul_fail_memory(err);
  for (size_t i = 0; status == UL_OK && i < shots->count; i++)
    if (!is_too_much(&shots->shot[i])) loss[n++] = loss_g(&shots->shot[i]);
  if (status == UL_OK && n >= ENOUGH_TO_COMPARE) {
    status = ul_order_descending(loss, n, order);
    if (status == UL_OK)
      *usual_g = (loss[order[(n - 1) / 2]] + loss[order[n / 2]]) / 2;
    else
      ul_fail_memory(err);
  }
  free(order);
  free(loss);
  return status;
}
