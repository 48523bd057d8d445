#include "air/lie.h"

#include "cavity/by_hand.h"

#include <math.h>

lie lie_make(ul_mesh *mesh, double cubes) {
  lie l = {.solid = by_hand(mesh, false)};
  double box[2][3], longest = 0;
  ul_lattice lattice;
  ul_error err;
  ul_mesh_box_mm(mesh, box);
  for (int c = 0; c < 3; c++) longest = fmax(longest, box[1][c] - box[0][c]);
  l.cube_mm = longest / cubes;
  assert_ok(ul_lattice_for_box((const double(*)[3])box, l.cube_mm, &lattice, &err), &err);
  assert_ok(ul_columns_build(l.solid, NULL, 0, &lattice, NULL, &l.columns, &err), &err);
  assert_ok(ul_heights_new(l.solid, l.columns, NULL, &l.heights, &err), &err);
  return l;
}

void lie_free(lie *l) {
  ul_heights_free(l->heights);
  ul_columns_free(l->columns);
  by_hand_free(l->solid);
}

double lie_random(uint64_t *dice) {
  *dice = *dice * 6364136223846793005u + 1442695040888963407u;
  return (double)(*dice >> 11) * 0x1p-53;
}

void lie_random_up(uint64_t *dice, double up[3]) {
  double z = 2 * lie_random(dice) - 1, turn = 2 * M_PI * lie_random(dice);
  up[0] = sqrt(1 - z * z) * cos(turn);
  up[1] = sqrt(1 - z * z) * sin(turn);
  up[2] = z;
}

ul_mesh *lie_shape(int n) {
  switch (n) {
  case 0:
    return shape_gable(60, 40, 20, 35);
  case 1:
    return shape_torus(30, 10, 48, 24);
  case 2:
    return shape_comb(4, 8, 6, 10, 20, 15);
  case 3:
    return shape_u(10, 20, 10, 50, 40, 12);
  case 4:
    return shape_arch(20, 30, 15, 24);
  case 5:
    return shape_rib_box(60, 40, 30, 30, 2, 20);
  case 6:
    return shape_horn_and_dome();
  case 7:
    return shape_steps(4, 15, 8, 20);
  case 8:
    return shape_box_in_sphere(30, 20, 24, 12);
  default:
    return shape_chambers(20, 6, 12);
  }
}
