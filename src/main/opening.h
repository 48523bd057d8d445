/* opening.h - what the tool's parting and draw mean for the part: shown, and as JSON. */
#ifndef UL_MAIN_OPENING_H
#define UL_MAIN_OPENING_H

#include <jansson.h>

#include "main/cavity_case.h"

typedef struct opening {
  ul_parting parting; /* draw zeros: nobody said how the tool opens, and the rest is empty */
  double projected_mm2;
  size_t undercut_count;
  ul_undercut *undercut;
  size_t drag_count;
  ul_drag *drag;
} opening;

/* For an opened and resolved case. Release with opening_free() whatever came back. */
ul_status opening_find(const cavity_case *c, opening *o, ul_error *err);
void opening_free(opening *o);

void opening_show(const opening *o);
/* NULL when nobody said how the tool opens, or without memory. */
json_t *opening_json(const opening *o);

#endif
