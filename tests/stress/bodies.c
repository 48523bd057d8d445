#include "stress/bodies.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

double body_random(uint64_t *dice) {
  *dice = *dice * 6364136223846793005u + 1442695040888963407u;
  return (double)(*dice >> 11) * 0x1p-53;
}

static double within(uint64_t *dice, double lo, double hi) {
  return lo + (hi - lo) * body_random(dice);
}

static int whole(uint64_t *dice, int lo, int hi) {
  return lo + (int)(body_random(dice) * (hi - lo + 1));
}

static void turn(ul_mesh *mesh, uint64_t *dice) {
  for (int axis = 0; axis < 3; axis++) shape_rotate(mesh, axis, within(dice, 0, 360));
}

static void join(ul_mesh **mesh, ul_mesh *other) {
  if (*mesh)
    shape_append(*mesh, other);
  else
    *mesh = other;
}

/* Every vertex on its own ray from the origin: the surface cannot cross itself. */
static ul_mesh *star(uint64_t *dice, double radius) {
  ul_mesh *mesh = shape_icosphere(1, whole(dice, 1, 2));
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double r = radius * within(dice, 0.55, 1);
    for (int c = 0; c < 3; c++) mesh->vertex_mm[v][c] *= r;
  }
  return mesh;
}

static ul_mesh *sliver(uint64_t *dice) {
  double thin = pow(10, within(dice, -5, -2));
  if (body_random(dice) < 0.5) return shape_box(100, within(dice, 1, 100), 100 * thin);
  ul_mesh *mesh = star(dice, 50);
  for (size_t v = 0; v < mesh->vertex_count; v++) mesh->vertex_mm[v][2] *= thin;
  return mesh;
}

static ul_mesh *cored(uint64_t *dice) {
  ul_mesh *core = star(dice, 24), *mesh = star(dice, 50); /* 27.5 at least, less in a face */
  shape_scale(core, 0.8);
  turn(core, dice);
  shape_reverse(core);
  shape_append(mesh, core);
  return mesh;
}

/* Solid where at least two of the cell's numbers are even: nodes and the beams between them. */
static ul_mesh *lattice(uint64_t *dice) {
  enum { MOST = 7 };
  double at[3][MOST + 1];
  int n[3];
  unsigned char solid[MOST * MOST * MOST];
  for (int c = 0; c < 3; c++) {
    n[c] = 2 * whole(dice, 1, 3) + 1;
    at[c][0] = whole(dice, -5, 5);
    for (int i = 1; i <= n[c]; i++) at[c][i] = at[c][i - 1] + whole(dice, 1, 3);
  }
  for (int k = 0; k < n[2]; k++)
    for (int j = 0; j < n[1]; j++)
      for (int i = 0; i < n[0]; i++)
        solid[(k * n[1] + j) * n[0] + i] = (i % 2 == 0) + (j % 2 == 0) + (k % 2 == 0) >= 2;
  return shape_cells(at[0], n[0], at[1], n[1], at[2], n[2], solid);
}

static ul_mesh *cells(uint64_t *dice) {
  ul_mesh *mesh = NULL;
  for (int i = whole(dice, 2, 6); i > 0; i--) {
    ul_mesh *box = shape_box(whole(dice, 1, 8), whole(dice, 1, 8), whole(dice, 1, 8));
    shape_move(box, whole(dice, 0, 8), whole(dice, 0, 8), whole(dice, 0, 8));
    join(&mesh, box);
  }
  return mesh;
}

static ul_mesh *boxes(uint64_t *dice) {
  ul_mesh *mesh = NULL;
  for (int i = whole(dice, 1, 5); i > 0; i--) {
    ul_mesh *box = shape_box(within(dice, 10, 60), within(dice, 10, 60), within(dice, 10, 60));
    turn(box, dice);
    shape_move(box, within(dice, -20, 20), within(dice, -20, 20), within(dice, -20, 20));
    join(&mesh, box);
  }
  return mesh;
}

static ul_mesh *balls(uint64_t *dice) {
  ul_mesh *mesh = NULL;
  for (int i = whole(dice, 1, 4); i > 0; i--) {
    ul_mesh *ball = body_random(dice) < 0.5
                        ? shape_icosphere(within(dice, 10, 30), 2)
                        : shape_sphere(within(dice, 10, 30), whole(dice, 5, 20), whole(dice, 3, 9));
    if (body_random(dice) < 0.5) turn(ball, dice); /* else poles and rings stay on the axes */
    shape_move(ball, whole(dice, -20, 20), whole(dice, -20, 20), whole(dice, -20, 20));
    join(&mesh, ball);
  }
  return mesh;
}

static ul_mesh *handmade(uint64_t *dice) {
  ul_mesh *mesh;
  switch (whole(dice, 0, 5)) {
  case 0:
    mesh = shape_comb(whole(dice, 2, 6), 8, within(dice, 0.01, 6), 10, 20, 15);
    break;
  case 1:
    mesh = shape_torus(30, within(dice, 2, 25), whole(dice, 5, 30), whole(dice, 4, 12));
    break;
  case 2:
    mesh = shape_tube(within(dice, 5, 29.9), 30, within(dice, 1, 60), whole(dice, 5, 40));
    break;
  case 3:
    mesh = shape_arch(20, within(dice, 20.5, 40), 15, 2 * whole(dice, 3, 12));
    break;
  case 4:
    mesh = shape_chambers(20, within(dice, 0.05, 15), within(dice, 0.1, 30));
    break;
  default:
    mesh = shape_rib_box(60, 40, 30, 30, within(dice, 0.01, 10), within(dice, 1, 29));
  }
  if (body_random(dice) < 0.7) turn(mesh, dice);
  return mesh;
}

static ul_mesh *make(body_kind kind, uint64_t *dice) {
  switch (kind) {
  case BODY_STAR:
    return star(dice, 50);
  case BODY_SLIVER:
    return sliver(dice);
  case BODY_CORED:
    return cored(dice);
  case BODY_LATTICE:
    return lattice(dice);
  case BODY_CELLS:
    return cells(dice);
  case BODY_BOXES:
    return boxes(dice);
  case BODY_BALLS:
    return balls(dice);
  default:
    return handmade(dice);
  }
}

body body_make(int number) {
  uint64_t dice = (uint64_t)number * 0x9e3779b97f4a7c15u + 1;
  body_random(&dice);
  body_kind kind = (body_kind)(number % BODY_KINDS);
  body b = {.mesh = make(kind, &dice),
            .whole = kind == BODY_LATTICE || kind == BODY_CELLS,
            .overlaps = kind == BODY_CELLS || kind == BODY_BOXES || kind == BODY_BALLS};
  int power = number / BODY_KINDS % 3 ? 0 : whole(&dice, -6, 6);
  b.scale = b.whole ? ldexp(1, (int)round(power * 3.32)) : pow(10, power);
  shape_scale(b.mesh, b.scale);
  double box[2][3];
  ul_mesh_box_mm(b.mesh, box);
  for (int c = 0; c < 3; c++) b.size = fmax(b.size, fmax(-box[0][c], box[1][c]));
  return b;
}
