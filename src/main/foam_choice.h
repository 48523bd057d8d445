/* foam_choice.h - which foam the options mean, as it is today. */
#ifndef UL_MAIN_FOAM_CHOICE_H
#define UL_MAIN_FOAM_CHOICE_H

#include "main/options.h"
#include "ullage/foam.h"

/* The card that --foam names, with today's cup and liquids; the middling foam when none is named.
 * *pack is the charge as a multiple of free rise. */
ul_status foam_choose(const options *opts, ul_foam *foam, double *pack, ul_error *err);

#endif
