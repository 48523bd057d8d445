/* stl.c - triangles as binary STL. */
#include "base/fail.h"
#include "base/vec.h"
#include "report/atomic_file.h"
#include "report/little_endian.h"
#include "report/slices.h"
#include "ullage/mesh_files.h"

enum { HEADER_BYTES = 80, RECORD_BYTES = 50 };

static unsigned char *put_floats(unsigned char *to, const double v[3]) {
  for (int c = 0; c < 3; c++) to = ul_put_float(to, (float)v[c]);
  return to;
}

static void unit_normal(const double *const corner[3], double out[3]) {
  double a[3], b[3];
  ul_sub(corner[1], corner[0], a);
  ul_sub(corner[2], corner[0], b);
  ul_cross(a, b, out);
  double length = ul_norm(out);
  for (int c = 0; c < 3; c++) out[c] = length > 0 ? out[c] / length : 0;
}

static bool write_triangles(FILE *file, void *context) {
  const ul_mesh *mesh = context;
  /* "solid" at the start would have it taken for the text kind; a date would change the bytes */
  unsigned char header[HEADER_BYTES + 4] = "binary STL, mm";
  ul_put_u32(header + HEADER_BYTES, (uint32_t)mesh->triangle_count);
  fwrite(header, 1, sizeof header, file);
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const double *corner[3];
    double normal[3];
    for (int k = 0; k < 3; k++) corner[k] = mesh->vertex_mm[mesh->triangle[t][k]];
    unit_normal(corner, normal);
    unsigned char record[RECORD_BYTES] = {0}, *to = put_floats(record, normal);
    for (int k = 0; k < 3; k++) to = put_floats(to, corner[k]);
    fwrite(record, 1, sizeof record, file);
  }
  return true;
}

ul_status ul_write_stl(const ul_mesh *mesh, const char *path, ul_error *err) {
  if (mesh->triangle_count > UINT32_MAX)
    return ul_fail(err, UL_E_LIMIT, "%.250s: %zu triangles, an STL file holds at most 4294967295",
                   path, mesh->triangle_count);
  ul_status status = ul_coordinates_fit(mesh, path, err);
  if (status != UL_OK) return status;
  return ul_write_whole(path, write_triangles, (void *)mesh, err);
}
