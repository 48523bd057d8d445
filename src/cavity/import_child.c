/* The child's work: bytes to triangles, checked once here, where a triangle still has the number it
 * has in the file. */
#include "cavity/wire.h"

#include "base/fail.h"
#include "cavity/mesh_parts.h"

#include <errno.h>
#include <math.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* Farther out no part is cast; a float that far out is a damaged one. */
static const double FARTHEST = 1e10;

static bool is_sane(const double at[3]) {
  return fabs(at[0]) <= FARTHEST && fabs(at[1]) <= FARTHEST && fabs(at[2]) <= FARTHEST;
}

static ul_status bad_corner(ul_draft *d, size_t t, const double at[3]) {
  int c = 0;
  while (c < 2 && fabs(at[c]) <= FARTHEST) c++;
  ul_fail(&d->err, UL_E_NUMBER,
          "triangle %zu (the first is 0) has a corner with %c = %g: export it again", t, "xyz"[c],
          at[c]);
  d->err.triangle = (long)t;
  return UL_E_NUMBER;
}

/* A bad vertex that no triangle uses does no harm. */
static ul_status check(ul_draft *d) {
  const ul_mesh *m = d->mesh;
  for (size_t t = 0; t < m->triangle_count; t++)
    for (int c = 0; c < 3; c++) {
      uint32_t v = m->triangle[t][c];
      if (v >= m->vertex_count) {
        d->err.triangle = (long)t;
        return ul_fail(&d->err, UL_E_FORMAT,
                       "triangle %zu (the first is 0) uses vertex %u, but there are %zu: export "
                       "it again",
                       t, v, m->vertex_count);
      }
      if (!is_sane(m->vertex_mm[v])) return bad_corner(d, t, m->vertex_mm[v]);
    }
  return UL_OK;
}

static ul_status read_as(ul_draft *d, ul_format format) {
  if (format == UL_FORMAT_STL) return ul_read_stl(d);
  if (format == UL_FORMAT_OBJ) return ul_read_obj(d);
  if (format == UL_FORMAT_OFF) return ul_read_off(d);
  if (format == UL_FORMAT_PLY) return ul_read_ply(d);
  if (format == UL_FORMAT_3MF) return ul_read_3mf(d);
  if (format == UL_FORMAT_STEP) return ul_read_step(d);
  return ul_read_assimp(d, ul_format_extension(format));
}

static ul_status read_and_check(ul_draft *d, const ul_import_task *task) {
  if (ul_mesh_new_parts(0, 0, 0, &d->mesh, NULL) != UL_OK) return ul_draft_no_memory(d);
  void *bytes = mmap(NULL, task->input_bytes, PROT_READ, MAP_PRIVATE, task->input_fd, 0);
  if (bytes == MAP_FAILED)
    return ul_fail(&d->err, UL_E_READ, "cannot be read (%s)", strerror(errno));
  d->bytes = bytes;
  d->size = task->input_bytes;
  ul_status status = read_as(d, task->format);
  return status == UL_OK ? check(d) : status;
}

static bool put(int fd, uint64_t *at, const void *data, size_t bytes) {
  const char *from = data;
  while (bytes) {
    ssize_t n = pwrite(fd, from, bytes, (off_t)*at);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return false;
    from += n, bytes -= (size_t)n, *at += (uint64_t)n;
  }
  return true;
}

static bool put_mesh(int fd, ul_wire_head *head, const ul_mesh *m) {
  uint64_t at = sizeof *head;
  head->vertices = m->vertex_count;
  head->triangles = m->triangle_count;
  head->parts = m->part_count;
  bool ok = put(fd, &at, m->vertex_mm, m->vertex_count * sizeof *m->vertex_mm) &&
            put(fd, &at, m->triangle, m->triangle_count * sizeof *m->triangle) &&
            put(fd, &at, m->part, m->triangle_count * sizeof *m->part);
  uint64_t names = at;
  for (size_t p = 0; p < m->part_count && ok; p++)
    ok = put(fd, &at, m->part_name[p], strlen(m->part_name[p]) + 1);
  head->name_bytes = at - names;
  head->bytes = at;
  return ok;
}

void ul_import_prepare(void *task) {
  if (((const ul_import_task *)task)->format == UL_FORMAT_STEP) ul_prepare_step();
}

void ul_import_child(void *task, int output_fd) {
  static ul_draft d = {.up = 'z'};
  static ul_wire_head head;
  ul_status status = read_and_check(&d, task);
  head.vertices_merged = d.vertices_merged;
  head.mm_per_unit = d.mm_per_unit;
  head.up = (uint32_t)d.up;
  head.note_count = (uint32_t)d.note_count;
  memcpy(head.note, d.note, sizeof head.note);
  memcpy(head.format, d.format, sizeof head.format);
  head.bytes = sizeof head;
  if (status == UL_OK && !put_mesh(output_fd, &head, d.mesh)) status = ul_draft_no_memory(&d);
  head.err = d.err;
  uint64_t start = 0;
  if (!put(output_fd, &start, &head, sizeof head)) _exit(1);
}
