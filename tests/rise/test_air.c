/* Following the air from step to step against finding its connected parts anew, on caves of random
 * cubes that fill up in random order. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rise/air.h"
#include "rise/mask.h"
#include "shapes/check.h"

enum { SIDE = 9, CAVES = 60, A_STEP = 12 };

static uint32_t state_of_dice = 1;

static uint32_t dice(uint32_t sides) {
  state_of_dice = state_of_dice * 1664525u + 1013904223u;
  return (state_of_dice >> 8) % sides;
}

/* Three of four cubes, or all of them. */
static bool cave(const double at[3], const void *context) {
  (void)at;
  return *(const bool *)context || dice(4) > 0;
}

/* Half of the cubes outside are cut by the wall, so that there are stair steps. */
static void cut_walls(ul_grid *g) {
  for (size_t i = 0; i < g->cube_count; i++)
    if (!g->inside[i] && dice(2)) g->fill[i] = 0.4F;
}

/* Parts by brute force: the lowest number spreads until nothing changes. */
static void label_slowly(const ul_filling *f, uint32_t *label) {
  for (uint32_t i = 0; i < f->count; i++) label[i] = i;
  for (bool changed = true; changed;) {
    changed = false;
    for (uint32_t i = 0; i < f->count; i++) {
      uint32_t lowest = label[i];
      for (int s = 0; s < UL_SIDES; s++) {
        int32_t n = f->cubes->next[i][s];
        if (n != UL_NO_CUBE && !f->full[n] && label[n] < lowest) lowest = label[n];
      }
      for (size_t k = f->stairs.first[i]; k < f->stairs.first[i + 1]; k++)
        if (!f->full[f->stairs.to[k]] && label[f->stairs.to[k]] < lowest)
          lowest = label[f->stairs.to[k]];
      if (f->full[i] || lowest == label[i]) continue;
      label[i] = lowest;
      changed = true;
    }
  }
}

static void assert_parts_are_right(const ul_filling *f, double volume_m3) {
  uint32_t *label = malloc(f->count * sizeof *label);
  size_t *count = calloc(f->part_count + 1, sizeof *count);
  double content = 0, volume = 0;
  label_slowly(f, label);
  for (size_t i = 0; i < f->count; i++) {
    if (f->full[i]) {
      assert_int_equal(f->air[i], UL_NO_PART);
      continue;
    }
    assert_in_range(f->air[i], 0, f->part_count - 1);
    assert_int_equal(f->air[i], f->air[label[i]]);
    assert_int_equal(f->part[f->air[i]].first, label[i]);
    count[f->air[i]]++;
  }
  for (size_t a = 0; a < f->part_count; a++) {
    assert_int_equal(f->part[a].cube_count, count[a]);
    content += f->part[a].content_j;
    volume += f->part[a].volume_m3;
  }
  assert_near(content + f->absorbed_j, f->started_j, 1e-9 * f->started_j);
  assert_near(volume, volume_m3, 1e-12 + 1e-9 * volume_m3);
  free(count);
  free(label);
}

/* Fills some cubes, as a step does: the parts' books are those of its end, the labels are not. */
static double fill_some(ul_filling *f, uint32_t *joined, size_t *count) {
  double air = 0;
  *count = 0;
  for (int tries = 0; tries < A_STEP; tries++) {
    uint32_t i = dice((uint32_t)f->count);
    if (f->full[i]) continue;
    ul_part *p = &f->part[f->air[i]];
    f->full[i] = 1;
    p->cube_count--;
    p->cubes_m3 -= f->volume[i];
    p->volume_m3 -= f->volume[i];
    if (!p->cube_count) p->volume_m3 = 0;
    joined[(*count)++] = i;
  }
  for (size_t i = 0; i < f->count; i++)
    if (!f->full[i]) air += f->volume[i];
  return air;
}

static void fill_a_cave(bool whole) {
  const double size[3] = {SIDE, SIDE, SIDE};
  ul_grid *g = mask_grid(size, 1, cave, &whole);
  cut_walls(g);
  ul_rise_opts o = ul_rise_opts_default();
  float *k = calloc(g->cube_count, sizeof *k);
  o.mobility_mm2 = k;
  ul_error err = {0};
  ul_cubes *all, *c;
  ul_filling *f;
  uint32_t joined[A_STEP];
  size_t count;
  assert_ok(ul_cubes_new(g, NULL, &all, &err), &err);
  assert_ok(ul_cubes_pick(all, 0, &c, &err), &err);
  assert_ok(ul_filling_new(c, &o, (const double[3]){0, 0, 1}, NULL, &f, &err), &err);
  assert_ok(ul_air_begin(f, &err), &err);
  f->smallest_m3 = 1e-12;
  const ul_foam_now now = ul_foam_at(f, f->t);
  while (f->part_count) {
    double air = fill_some(f, joined, &count);
    assert_ok(ul_air_follow(f, &now, joined, count, false, &err), &err);
    assert_parts_are_right(f, air);
  }
  ul_filling_free(f);
  ul_cubes_free(c);
  ul_cubes_free(all);
  free(k);
  mask_free(g);
}

static void air_followed_from_step_to_step_is_air_found_anew(void **state) {
  (void)state;
  for (int i = 0; i < CAVES; i++) fill_a_cave(i % 2);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(air_followed_from_step_to_step_is_air_found_anew),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
