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

typedef struct {
  ul_grid *grid;
  float *mobility;
  ul_rise_opts opts;
  ul_cubes *all, *cubes;
  ul_filling *f;
} cave_bed;

static void make_cave(cave_bed *b, bool whole, double smallest_m3) {
  const double size[3] = {SIDE, SIDE, SIDE};
  ul_error err = {0};
  *b = (cave_bed){.grid = mask_grid(size, 1, cave, &whole), .opts = ul_rise_opts_default()};
  cut_walls(b->grid);
  b->mobility = calloc(b->grid->cube_count, sizeof *b->mobility);
  b->opts.mobility_mm2 = b->mobility;
  assert_ok(ul_cubes_new(b->grid, NULL, &b->all, &err), &err);
  assert_ok(ul_cubes_pick(b->all, 0, &b->cubes, &err), &err);
  assert_ok(ul_filling_new(b->cubes, &b->opts, (const double[3]){0, 0, 1}, NULL, &b->f, &err),
            &err);
  assert_ok(ul_air_begin(b->f, &err), &err);
  b->f->smallest_m3 = smallest_m3;
}

static void free_cave(cave_bed *b) {
  ul_filling_free(b->f);
  ul_cubes_free(b->cubes);
  ul_cubes_free(b->all);
  free(b->mobility);
  mask_free(b->grid);
}

static void fill_a_cave(bool whole) {
  cave_bed b;
  ul_error err = {0};
  uint32_t joined[A_STEP];
  size_t count;
  make_cave(&b, whole, 1e-12);
  const ul_foam_now now = ul_foam_at(b.f, b.f->t);
  while (b.f->part_count) {
    double air = fill_some(b.f, joined, &count);
    assert_ok(ul_air_follow(b.f, &now, joined, count, false, &err), &err);
    assert_parts_are_right(b.f, air);
  }
  free_cave(&b);
}

static void air_followed_from_step_to_step_is_air_found_anew(void **state) {
  (void)state;
  for (int i = 0; i < CAVES; i++) fill_a_cave(i % 2);
}

/* ---- cubes that fall back ---- */

/* Some full cubes beside air become air of that part, as a step has it. */
static void empty_some(ul_filling *f) {
  for (int tries = 0; tries < A_STEP; tries++) {
    const uint32_t i = dice((uint32_t)f->count);
    const int32_t n = f->cubes->next[i][dice(UL_SIDES)];
    if (!f->full[i] || n == UL_NO_CUBE || f->full[n]) continue;
    ul_part *p = &f->part[f->air[n]];
    f->full[i] = 0;
    f->air[i] = f->air[n];
    p->cube_count++;
    p->cubes_m3 += f->volume[i];
    p->volume_m3 += f->volume[i];
  }
}

/* Every part at a pressure of its own, by its gas law. */
static void press(ul_filling *f) {
  f->started_j = f->absorbed_j;
  for (size_t a = 0; a < f->part_count; a++) {
    f->part[a].gauge_pa = 1000.0 * dice(200);
    f->part[a].content_j = (UL_ATMOSPHERE_PA + f->part[a].gauge_pa) * f->part[a].volume_m3;
    f->started_j += f->part[a].content_j;
  }
}

/* Adds up what the old parts bring to the new ones. Returns how many joined another. */
static size_t demand_sums(const ul_filling *f, const ul_part *old, size_t old_count) {
  double *content = calloc(f->part_count, sizeof *content);
  size_t *brought = calloc(f->part_count, sizeof *brought), joined = 0;
  for (size_t a = 0; a < old_count; a++) {
    content[f->air[old[a].first]] += old[a].content_j;
    brought[f->air[old[a].first]]++;
  }
  for (size_t a = 0; a < f->part_count; a++) {
    const ul_part *p = &f->part[a];
    assert_true(brought[a] > 0);
    joined += brought[a] - 1;
    assert_rel(p->content_j, content[a], 1e-12);
    assert_rel((UL_ATMOSPHERE_PA + p->gauge_pa) * p->volume_m3, content[a], 1e-9);
  }
  free(content);
  free(brought);
  return joined;
}

static double air_of(const ul_filling *f) {
  double air = 0;
  for (size_t i = 0; i < f->count; i++) air += f->full[i] ? 0 : f->volume[i];
  return air;
}

/* Caves fill and empty in turn. A cube that falls back between two bodies of air makes them one,
 * with both their moles, at the pressure that these come to in both their rooms. */
static void bodies_of_air_that_meet_add_their_moles(void **state) {
  (void)state;
  size_t joined = 0;
  for (int c = 0; c < CAVES; c++) {
    cave_bed b;
    ul_error err = {0};
    uint32_t taken[A_STEP];
    size_t count;
    make_cave(&b, c % 2, 1e-12);
    const ul_foam_now now = ul_foam_at(b.f, b.f->t);
    for (int turn = 0; turn < 60 && b.f->part_count; turn++) {
      fill_some(b.f, taken, &count);
      assert_ok(ul_air_follow(b.f, &now, taken, count, false, &err), &err);
      if (!b.f->part_count) break;
      empty_some(b.f);
      press(b.f);
      ul_part *old = malloc(b.f->part_count * sizeof *old);
      const size_t old_count = b.f->part_count;
      memcpy(old, b.f->part, old_count * sizeof *old);
      assert_ok(ul_air_follow(b.f, &now, NULL, 0, true, &err), &err);
      assert_parts_are_right(b.f, air_of(b.f));
      joined += demand_sums(b.f, old, old_count);
      free(old);
    }
    free_cave(&b);
  }
  assert_true(joined > 300);
}

/* ---- bodies too small to matter ---- */

/* Under 2.5 cubes: brute force says which cubes those are. They are foam from then on, come to at
 * that moment, and their moles are booked. */
static size_t demand_taken(const ul_filling *f, const uint8_t *full_before, const uint32_t *label,
                           const double *room_m3, double content_j, double absorbed_before) {
  size_t taken = 0;
  double kept = 0;
  for (size_t i = 0; i < f->count; i++) {
    if (full_before[i]) continue;
    const bool small = room_m3[label[i]] < f->smallest_m3;
    assert_int_equal(f->full[i], small);
    assert_int_equal(f->air[i] == UL_NO_PART, small);
    if (small) assert_near((double)f->arrival_s[i], f->t, 0);
    taken += small;
  }
  for (size_t a = 0; a < f->part_count; a++) kept += f->part[a].content_j;
  assert_near(f->absorbed_j - absorbed_before, content_j - kept, 1e-9 * f->started_j);
  return taken;
}

static void bodies_under_the_smallest_become_foam(void **state) {
  (void)state;
  size_t taken = 0;
  for (int c = 0; c < CAVES; c++) {
    cave_bed b;
    ul_error err = {0};
    uint32_t joined[A_STEP];
    size_t count;
    const size_t before = taken;
    make_cave(&b, c % 2, 2.5e-9);
    ul_filling *f = b.f;
    const ul_foam_now now = ul_foam_at(f, f->t);
    uint32_t *label = malloc(f->count * sizeof *label);
    uint8_t *full = malloc(f->count);
    double *room = malloc(f->count * sizeof *room);
    while (f->part_count) {
      const double absorbed = f->absorbed_j;
      double content = 0;
      fill_some(f, joined, &count);
      f->t += 1;
      for (size_t a = 0; a < f->part_count; a++) content += f->part[a].content_j;
      memcpy(full, f->full, f->count);
      label_slowly(f, label);
      memset(room, 0, f->count * sizeof *room);
      for (size_t i = 0; i < f->count; i++) room[label[i]] += full[i] ? 0 : f->volume[i];
      assert_ok(ul_air_follow(f, &now, joined, count, false, &err), &err);
      taken += demand_taken(f, full, label, room, content, absorbed);
      assert_parts_are_right(f, air_of(f));
      assert_int_equal(f->absorbed_cubes, taken - before);
    }
    assert_rel(f->absorbed_j, f->started_j, 1e-9);
    free(label);
    free(full);
    free(room);
    free_cave(&b);
  }
  assert_true(taken > 1000);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(air_followed_from_step_to_step_is_air_found_anew),
      cmocka_unit_test(bodies_of_air_that_meet_add_their_moles),
      cmocka_unit_test(bodies_under_the_smallest_become_foam),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
