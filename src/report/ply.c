/* ply.c - a mesh as PLY 1.0: binary, coordinates with all their figures, a colour a vertex. */
#include <string.h>

#include "base/fail.h"
#include "report/atomic_file.h"
#include "report/little_endian.h"
#include "report/slices.h"
#include "report/text.h"
#include "ullage/mesh_files.h"

enum { VERTEX_BYTES = 3 * 8 + 4, FACE_BYTES = 1 + 3 * 4 };

typedef struct ply_job {
  const ul_slices *slices;
  const uint32_t *part_rgba;
} ply_job;

/* The format has no parts: comments say which triangles are whose. */
static void put_header(FILE *file, const ply_job *job) {
  const ul_slices *s = job->slices;
  size_t vertices = 0, triangles = 0;
  fputs("ply\nformat binary_little_endian 1.0\ncomment millimetres\n", file);
  for (size_t i = 0; i < s->count; i++) {
    const char *name = s->slice[i].name;
    fprintf(file, "comment faces from %zu on: ", triangles);
    for (uint32_t c; (c = ul_next_character(&name));) ul_put_character(file, c);
    fputc('\n', file);
    vertices += s->slice[i].vertex_count;
    triangles += s->slice[i].triangle_count;
  }
  fprintf(file, "element vertex %zu\nproperty double x\nproperty double y\nproperty double z\n",
          vertices);
  if (job->part_rgba)
    fputs("property uchar red\nproperty uchar green\nproperty uchar blue\nproperty uchar alpha\n",
          file);
  fprintf(file, "element face %zu\nproperty list uchar int vertex_indices\nend_header\n",
          triangles);
}

static unsigned char *put_double(unsigned char *to, double value) {
  uint64_t bits;
  memcpy(&bits, &value, sizeof bits);
  return ul_put_u32(ul_put_u32(to, (uint32_t)bits), (uint32_t)(bits >> 32));
}

static void put_vertices(FILE *file, const ply_job *job, const ul_slice *slice) {
  for (size_t v = 0; v < slice->vertex_count; v++) {
    unsigned char record[VERTEX_BYTES], *to = record;
    for (int c = 0; c < 3; c++)
      to = put_double(to, job->slices->mesh->vertex_mm[slice->vertex[v]][c]);
    for (int c = 0; job->part_rgba && c < 4; c++)
      *to++ = (unsigned char)(job->part_rgba[slice->part] >> (24 - 8 * c));
    fwrite(record, 1, (size_t)(to - record), file);
  }
}

static bool write_ply(FILE *file, void *context) {
  const ply_job *job = context;
  const ul_slices *s = job->slices;
  put_header(file, job);
  for (size_t i = 0; i < s->count; i++) put_vertices(file, job, &s->slice[i]);
  uint32_t before = 0;
  for (size_t i = 0; i < s->count; i++) {
    for (size_t t = 0; t < s->slice[i].triangle_count; t++) {
      unsigned char record[FACE_BYTES] = {3}, *to = record + 1;
      for (int k = 0; k < 3; k++) to = ul_put_u32(to, before + s->slice[i].triangle[t][k]);
      fwrite(record, 1, sizeof record, file);
    }
    before += (uint32_t)s->slice[i].vertex_count;
  }
  return true;
}

ul_status ul_write_ply(const ul_mesh *mesh, const uint32_t *part_rgba, const char *path,
                       ul_error *err) {
  ul_slices slices;
  ul_status status = ul_slices_make(mesh, path, &slices, err);
  size_t vertices = 0;
  for (size_t i = 0; status == UL_OK && i < slices.count; i++)
    vertices += slices.slice[i].vertex_count;
  if (vertices > INT32_MAX)
    status = ul_fail(err, UL_E_LIMIT, "%.250s: %zu vertices, most readers of PLY take 2147483647",
                     path, vertices);
  ply_job job = {&slices, part_rgba};
  if (status == UL_OK) status = ul_write_whole(path, write_ply, &job, err);
  ul_slices_free(&slices);
  return status;
}
