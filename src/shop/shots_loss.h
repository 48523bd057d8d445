/* shots_loss.h - what a shot loses on its way, and what it cannot have lost. */
#ifndef UL_SHOP_SHOTS_LOSS_H
#define UL_SHOP_SHOTS_LOSS_H

#include "ullage/shots.h"

/* The middle loss of the shots that lost no more than cup, bleed and flash take, g; NAN when there
 * are fewer than three. UL_OK or UL_E_MEMORY. */
ul_status ul_shots_usual_loss(const ul_shots *shots, double *usual_g, ul_error *err);

#endif
