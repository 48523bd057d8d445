/* foam_choice.h - which foam the options mean, as it is today. */
#ifndef UL_MAIN_FOAM_CHOICE_H
#define UL_MAIN_FOAM_CHOICE_H

#include "main/options.h"
#include "ullage/foam.h"

/* A card by name or file; an error says which card it is about, and the nearest name. */
ul_status foam_load(const char *name_or_path, ul_foam *foam, ul_error *err);

/* Whether something is there that cannot be opened, which is another fault than a wrong name. */
bool foam_is_locked(const char *name_or_path);

/* The card that --foam names, with today's cup and liquids; the middling foam when none is named.
 * *pack is the charge as a multiple of free rise. */
ul_status foam_choose(const options *opts, ul_foam *foam, double *pack, ul_error *err);

#endif
