/* keep_off.h - the faces of a cavity on which no mouth may be. */
#ifndef UL_AIR_KEEP_OFF_H
#define UL_AIR_KEEP_OFF_H

#include <stdbool.h>

#include "ullage/vents.h"

typedef struct ul_keep_off {
  unsigned char *kept; /* per triangle; NULL: none is */
  ul_mesh *mesh;       /* those triangles alone, an open surface; NULL: none */
} ul_keep_off;

/* The named parts and the sides that show. UL_E_USAGE for a name that no part has, with those there
 * are. ul_keep_off_clear() either way. */
ul_status ul_keep_off_make(const ul_mesh *cavity, const ul_vents_opts *opts, ul_keep_off *out,
                           ul_error *err);
void ul_keep_off_clear(ul_keep_off *keep);

/* Whether the triangle looks within 45 degrees along one of the sides: bit 0 -x, 1 +x, ... 5 +z. */
bool ul_shows(const ul_mesh *mesh, size_t triangle, unsigned sides);

#endif
