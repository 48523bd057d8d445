/* Any triangles at all through weld, audit, measures and columns. The first bytes: how many
 * vertices, how far apart, options; then three bytes a vertex, then three a triangle. */
#include "fuzz/fuzz.h"

#include "cavity/fill.h"
#include "ullage/columns.h"

#include <math.h>

enum { CUBES_ALONG = 10 };

static const ul_job alone = {.threads = 1}; /* waiting for helpers costs more than they help */

static ul_mesh *soup(const uint8_t *data, size_t size) {
  size_t vertices = 3 + data[0] % 64;
  double scale = ldexp(1, (int8_t)data[1] / 6), off = data[2] % 4 ? 0 : ldexp(1, data[2] % 32);
  if (size < 4 + 3 * vertices + 3) return NULL;
  size_t triangles = (size - 4 - 3 * vertices) / 3;
  ul_mesh *mesh;
  if (ul_mesh_new(vertices, triangles, &mesh, NULL) != UL_OK) return NULL;
  for (size_t v = 0; v < vertices; v++)
    for (int c = 0; c < 3; c++)
      mesh->vertex_mm[v][c] = off + scale * (int8_t)data[4 + 3 * v + (size_t)c];
  for (size_t t = 0; t < triangles; t++)
    for (int c = 0; c < 3; c++)
      mesh->triangle[t][c] = data[4 + 3 * vertices + 3 * t + (size_t)c] % (uint32_t)vertices;
  return mesh;
}

static void rise_along(const ul_solid *solid) {
  double box[2][3], longest = 0, sum;
  ul_lattice lattice;
  ul_columns *columns;
  ul_error err = {0};
  ul_mesh_box_mm(solid->mesh, box);
  for (int c = 0; c < 3; c++) longest = fmax(longest, box[1][c] - box[0][c]);
  if (ul_lattice_for_box((const double(*)[3])box, longest / CUBES_ALONG, &lattice, &err) != UL_OK)
    return;
  must(ul_columns_build(solid, NULL, 0, &lattice, &alone, &columns, &err) == UL_OK);
  for (int axis = 0; axis < 3; axis++) must(columns->bundle[axis].odd_rays == 0);
  ul_columns_free(columns);
  float *fill =
      malloc((size_t)lattice.n[0] * (size_t)lattice.n[1] * (size_t)lattice.n[2] * sizeof *fill);
  if (!fill) abort();
  must(ul_fill(solid, NULL, 0, &lattice, &alone, fill, &sum, &err) == UL_OK);
  must(isfinite(sum));
  free(fill);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  if (size < 4 || size > 2000) return 0;
  ul_mesh *mesh = soup(data, size);
  ul_solid_opts opts = ul_solid_opts_default();
  ul_audit *audit;
  ul_solid *solid;
  ul_error err = {0};
  if (!mesh) return 0;
  opts.drawn = (ul_drawn)(data[3] % 3);
  opts.patch_mm = data[3] / 3 % 3 ? 0 : 1e3;
  if (ul_mesh_weld(mesh, -1, NULL, &err) == UL_OK &&
      ul_audit_mesh(mesh, &opts, &alone, &audit, &solid, &err) == UL_OK) {
    must(audit->usable == (solid != NULL));
    if (solid) must(solid->cavity_count > 0);
    for (size_t i = 0; solid && i < solid->cavity_count; i++) {
      must(isfinite(solid->cavity[i].volume_mm3) && isfinite(solid->cavity[i].area_mm2));
      ul_solid *one;
      must(ul_solid_pick(solid, i, &one, &err) == UL_OK);
      ul_solid_free(one);
    }
    if (solid) rise_along(solid);
    if (!solid) must(ul_audit_verdict(audit, &err) != UL_OK && err.text[0]);
    ul_audit_free(audit);
    ul_solid_free(solid);
  }
  ul_mesh_free(mesh);
  return 0;
}
