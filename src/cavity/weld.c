#include "ullage/mesh.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/hash_grid.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Renames the corners and closes the gaps that degenerate triangles leave. */
static size_t drop_degenerate(ul_mesh *mesh, const uint32_t *becomes) {
  size_t left = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    uint32_t a = becomes[mesh->triangle[t][0]], b = becomes[mesh->triangle[t][1]];
    uint32_t c = becomes[mesh->triangle[t][2]];
    if (a == b || b == c || c == a) continue;
    mesh->triangle[left][0] = a, mesh->triangle[left][1] = b, mesh->triangle[left][2] = c;
    mesh->part[left++] = mesh->part[t];
  }
  size_t dropped = mesh->triangle_count - left;
  mesh->triangle_count = left;
  return dropped;
}

/* A vertex no triangle uses would only enlarge the box. `number` is scratch, one per vertex. */
static void drop_unused(ul_mesh *mesh, uint32_t *number) {
  memset(number, 0xff, mesh->vertex_count * sizeof *number);
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int c = 0; c < 3; c++) number[mesh->triangle[t][c]] = 0;
  uint32_t left = 0;
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    if (number[v] == UINT32_MAX) continue;
    memmove(mesh->vertex_mm[left], mesh->vertex_mm[v], sizeof mesh->vertex_mm[v]);
    number[v] = left++;
  }
  if (left == mesh->vertex_count) return;
  mesh->vertex_count = left;
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int c = 0; c < 3; c++) mesh->triangle[t][c] = number[mesh->triangle[t][c]];
}

/* Where a float file rounds the farthest coordinate, two copies of a vertex computed along
 * different ways lie an ulp or two apart per axis: four cover it (2 um at 5 m, 0.12 um at 0.3 m). A
 * millionth of the box's diagonal is for files written with six digits; both stay far below a
 * 0.01 mm feature of a 300 mm part. */
static double default_tolerance_mm(double box[2][3], double farthest) {
  int exponent = 0;
  frexp(farthest, &exponent);
  return fmax(4 * ldexp(1.0, exponent - FLT_MANT_DIG), 1e-6 * ul_distance(box[0], box[1]));
}

static bool start(ul_hash_grid *grid, const ul_mesh *mesh, double tolerance_mm) {
  double box[2][3], farthest = 0;
  size_t n = mesh->vertex_count;
  if (tolerance_mm != 0) {
    ul_mesh_box_mm(mesh, box);
    for (int c = 0; c < 3; c++) farthest = fmax(farthest, fmax(fabs(box[0][c]), fabs(box[1][c])));
  }
  if (tolerance_mm < 0) tolerance_mm = default_tolerance_mm(box, farthest);
  return ul_hash_grid_start(grid, mesh->vertex_mm, n, n, tolerance_mm, farthest);
}

ul_status ul_mesh_weld(ul_mesh *mesh, double tolerance_mm, ul_weld_result *result, ul_error *err) {
  if (!isfinite(tolerance_mm))
    return ul_fail(err, UL_E_USAGE, "weld tolerance %g mm: give a finite one", tolerance_mm);
  size_t before = mesh->vertex_count;
  ul_hash_grid grid;
  uint32_t *becomes = NULL;
  if (start(&grid, mesh, tolerance_mm)) becomes = ul_new_raw(before, sizeof *becomes);
  if (becomes) {
    ul_hash_grid_take(&grid, 0, before, becomes);
    mesh->vertex_count = grid.kept_count;
    size_t dropped = drop_degenerate(mesh, becomes);
    drop_unused(mesh, becomes);
    if (result) *result = (ul_weld_result){grid.tolerance, before - grid.kept_count, dropped};
  }
  free(becomes);
  ul_hash_grid_end(&grid);
  return becomes ? UL_OK : ul_fail_memory(err);
}
