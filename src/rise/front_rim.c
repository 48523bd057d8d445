#include "rise/front_rim.h"

#include <string.h>

#include "base/fail.h"
#include "base/memory.h"

static ul_status add(ul_step *s, uint32_t cube, ul_error *err) {
  if (s->in_rim[cube] || s->f->full[cube]) return UL_OK;
  if (!ul_grow((void **)&s->rim, &s->rim_room, s->rim_count + 1, sizeof *s->rim))
    return ul_fail_memory(err);
  s->in_rim[cube] = 1;
  s->gain[cube] = 0;
  s->begun[cube] = s->reached[cube] = 0;
  s->rim[s->rim_count++] = cube;
  return UL_OK;
}

static bool touches_full(const ul_filling *f, size_t cube) {
  const int32_t *next = f->cubes->next[cube];
  for (int side = 0; side < UL_SIDES; side++)
    if (next[side] != UL_NO_CUBE && f->full[next[side]]) return true;
  return false;
}

static bool belongs(const ul_filling *f, size_t cube) {
  return !f->full[cube] && (f->mass[cube] > 0 || touches_full(f, cube));
}

/* From nothing, or after air was taken into the foam, which may fill cubes anywhere. */
static ul_status from_scratch(ul_step *s, ul_error *err) {
  ul_filling *f = s->f;
  ul_status status = UL_OK;
  s->rim_count = 0;
  memset(s->in_rim, 0, f->count);
  memcpy(s->was_full, f->full, f->count);
  for (size_t i = 0; i < f->count && status == UL_OK; i++) {
    if (belongs(f, i)) status = add(s, (uint32_t)i, err);
  }
  return status;
}

static void keep_what_belongs(ul_step *s) {
  size_t kept = 0;
  for (size_t k = 0; k < s->rim_count; k++) {
    uint32_t i = s->rim[k];
    s->reached[i] = 0;
    s->left[i] = s->barred[i] = 0;
    s->was_full[i] = s->f->full[i];
    s->in_rim[i] = belongs(s->f, i);
    if (s->in_rim[i]) s->rim[kept++] = i;
  }
  s->rim_count = kept;
}

ul_status ul_rim_begin(ul_step *s, ul_error *err) {
  bool new = !s->rim || s->absorbed != s->f->absorbed_cubes;
  s->absorbed = s->f->absorbed_cubes;
  keep_what_belongs(s);
  s->joined_count = s->fallen_count = 0;
  return new ? from_scratch(s, err) : UL_OK;
}

ul_status ul_rim_join(ul_step *s, uint32_t cube, ul_error *err) {
  const int32_t *next = s->f->cubes->next[cube];
  if (!ul_grow((void **)&s->joined, &s->joined_room, s->joined_count + 1, sizeof *s->joined))
    return ul_fail_memory(err);
  s->joined[s->joined_count++] = cube;
  s->f->full[cube] = 1;
  ul_status status = UL_OK;
  for (int side = 0; side < UL_SIDES && status == UL_OK; side++)
    if (next[side] != UL_NO_CUBE) status = add(s, (uint32_t)next[side], err);
  return status;
}

ul_status ul_rim_leave(ul_step *s, uint32_t cube, int32_t part, ul_error *err) {
  if (!ul_grow((void **)&s->fallen, &s->fallen_room, s->fallen_count + 1, sizeof *s->fallen))
    return ul_fail_memory(err);
  s->fallen[s->fallen_count++] = (ul_fallen){cube, s->f->air[cube]};
  s->f->full[cube] = 0;
  s->f->air[cube] = part;
  s->left[cube] = 1;
  ul_status status = add(s, cube, err);
  s->begun[cube] = 1;
  return status;
}

/* A cube may have fallen back and filled up again within the step, or the other way round. */
void ul_rim_undo(ul_step *s) {
  for (size_t k = s->fallen_count; k-- > 0;) {
    uint32_t cube = s->fallen[k].cube;
    s->f->air[cube] = s->fallen[k].air;
    s->f->full[cube] = s->was_full[cube];
  }
  for (size_t k = 0; k < s->joined_count; k++) s->f->full[s->joined[k]] = s->was_full[s->joined[k]];
}
