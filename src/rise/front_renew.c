#include "rise/front_renew.h"

#include "base/fail.h"
#include "base/memory.h"

static ul_status add(ul_step *s, uint32_t cube, uint8_t what, ul_error *err) {
  const bool listed = s->renew[cube] != UL_AS_IT_WAS;
  if (what > s->renew[cube]) s->renew[cube] = what;
  if (listed) return UL_OK;
  if (!ul_grow((void **)&s->renewed, &s->renewed_room, s->renewed_count + 1, sizeof *s->renewed))
    return ul_fail_memory(err);
  s->renewed[s->renewed_count++] = cube;
  return UL_OK;
}

/* A cube that filled up or fell back changes the sums of those around it. */
static ul_status add_moved(ul_step *s, uint32_t cube, ul_error *err) {
  const int32_t *next = s->f->cubes->next[cube];
  ul_status status = add(s, cube, UL_RENEW_LAW, err);
  for (int side = 0; side < UL_SIDES && status == UL_OK; side++)
    if (next[side] != UL_NO_CUBE) status = add(s, (uint32_t)next[side], UL_RENEW_SUM, err);
  return status;
}

static ul_status add_all_moved(ul_step *s, ul_error *err) {
  ul_status status = UL_OK;
  for (; s->joined_solved < s->joined_count && status == UL_OK; s->joined_solved++)
    status = add_moved(s, s->joined[s->joined_solved], err);
  for (; s->fallen_solved < s->fallen_count && status == UL_OK; s->fallen_solved++)
    status = add_moved(s, s->fallen[s->fallen_solved].cube, err);
  return status;
}

static ul_status add_mouths(ul_step *s, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t m = 0; m < s->f->mouth_count; m++)
    for (size_t k = 0; k < s->f->mouth[m].count && status == UL_OK; k++)
      status = add(s, s->f->mouth[m].cube[k], UL_RENEW_SUM, err);
  return status;
}

ul_status ul_renew_front(ul_step *s, ul_error *err) {
  ul_status status = UL_OK;
  for (size_t i = 0; i < s->front_count && !s->whole && status == UL_OK; i++)
    status = add(s, s->front[i].cube, UL_RENEW_SUM, err);
  return status;
}

ul_status ul_renew_begin(ul_step *s, ul_error *err) {
  for (size_t i = 0; i < s->renewed_count; i++) s->renew[s->renewed[i]] = UL_AS_IT_WAS;
  s->renewed_count = 0;
  if (s->whole) {
    s->joined_solved = s->joined_count;
    s->fallen_solved = s->fallen_count;
    return UL_OK;
  }
  ul_status status = add_all_moved(s, err);
  if (status == UL_OK) status = add_mouths(s, err);
  return status == UL_OK ? ul_renew_front(s, err) : status;
}
