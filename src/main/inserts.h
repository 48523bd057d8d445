/* inserts.h - what is cast in, as the case sees it. */
#ifndef UL_MAIN_INSERTS_H
#define UL_MAIN_INSERTS_H

#include <jansson.h>

#include "main/cavity_case.h"

/* Imports and audits every --insert and cuts them out of the cavity, or, where no clean skin comes
 * of it, takes what they fill off its measures. UL_E_OUTSIDE for one that does not reach into it,
 * UL_E_FLAT when nothing is left. */
ul_status inserts_open(cavity_case *c, ul_error *err);
void inserts_close(cavity_case *c);
/* The error when nothing is left of the cavity. */
ul_status inserts_fill_it(const cavity_case *c, ul_error *err);
/* What cutting the cavity into cubes of that size failed with, in *err: when the inserts leave only
 * a slit, over which no fitting cube can be spread, it is that which is the matter. A cube that
 * somebody asked for is theirs to change. */
ul_status inserts_all_but_fill_it(const cavity_case *c, double cube_mm, ul_status status,
                                  ul_error *err);

/* What each displaces, and what `up` and foam pressure do to it. */
ul_status inserts_show(const cavity_case *c, const double up[3], ul_error *err);
json_t *inserts_json(const cavity_case *c, const double up[3]);

#endif
