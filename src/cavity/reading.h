/* reading.h - what the shells of a closed mesh mean: cavity, core, or the outside of a block. */
#ifndef UL_CAVITY_READING_H
#define UL_CAVITY_READING_H

#include "cavity/audit.h"

typedef struct ul_reading {
  ul_shell *shell; /* per shell of the survey; cavity UINT32_MAX: it bounds nothing */
  uint8_t *turn;   /* per shell: 1 if its triangles must be turned */
  size_t cavity_count;
  bool overlapping, as_block, doubtful;
} ul_reading;

/* Reads the shells of `s` as opts->drawn says and notes the faults of nesting. UL_OK, UL_E_MEMORY;
 * release with ul_reading_free() either way. */
ul_status ul_reading_make(ul_survey *s, ul_reading *reading);
void ul_reading_free(ul_reading *reading);

/* The solid that the reading says. UL_OK: *out is the caller's. */
ul_status ul_solid_make(const ul_survey *s, const ul_reading *reading, ul_solid **out,
                        ul_error *err);

#endif
