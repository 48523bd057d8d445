#include "cavity/wire.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/printable.h"
#include "cavity/mesh_parts.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool take(int fd, uint64_t *at, void *data, size_t bytes) {
  char *to = data;
  while (bytes) {
    ssize_t n = pread(fd, to, bytes, (off_t)*at);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return false;
    to += n, bytes -= (size_t)n, *at += (uint64_t)n;
  }
  return true;
}

static bool head_is_sane(ul_wire_head *h, uint64_t bytes) {
  const uint64_t most = UINT32_MAX;
  if (h->bytes != bytes || h->vertices > most || h->triangles > most || h->parts > most ||
      h->name_bytes > bytes || h->name_bytes < h->parts || h->note_count > UL_IMPORT_NOTES)
    return false;
  if (h->err.code == UL_OK &&
      bytes != sizeof *h + 24 * h->vertices + 16 * h->triangles + h->name_bytes)
    return false;
  if (!(h->mm_per_unit >= 0 && h->mm_per_unit <= 1e9) || h->up < 'x' || h->up > 'z') return false;
  h->format[sizeof h->format - 1] = h->err.text[sizeof h->err.text - 1] = 0;
  ul_make_printable(h->format);
  ul_make_printable(h->err.text);
  for (uint32_t i = 0; i < h->note_count; i++) {
    h->note[i][sizeof h->note[i] - 1] = 0;
    ul_make_printable(h->note[i]);
  }
  return (unsigned)h->err.code < UL_STATUS_END;
}

/* UL_E_MEMORY, or UL_E_FORMAT for what are no names. */
static ul_status take_names(int fd, uint64_t *at, const ul_wire_head *h, ul_mesh *m) {
  char *names = ul_new_raw(h->name_bytes + 1, 1), *name = names;
  bool ok = names && take(fd, at, names, h->name_bytes), memory = names != NULL;
  for (size_t p = 0; p < h->parts && ok; p++) {
    size_t left = (size_t)(names + h->name_bytes - name);
    char *stop = memchr(name, 0, left);
    m->part_name[p] = stop ? ul_mesh_copy_name(name, (size_t)(stop - name)) : NULL;
    ok = m->part_name[p] != NULL;
    memory = ok || !stop;
    if (!ok) break;
    ul_make_printable(m->part_name[p]);
    name = stop + 1;
  }
  free(names);
  return ok ? UL_OK : memory ? UL_E_FORMAT : UL_E_MEMORY;
}

static bool mesh_is_sane(const ul_mesh *m) {
  for (size_t v = 0; v < m->vertex_count; v++)
    for (int c = 0; c < 3; c++)
      if (!isfinite(m->vertex_mm[v][c])) return false;
  for (size_t t = 0; t < m->triangle_count; t++) {
    const uint32_t *c = m->triangle[t];
    if (c[0] >= m->vertex_count || c[1] >= m->vertex_count || c[2] >= m->vertex_count ||
        m->part[t] >= m->part_count)
      return false;
  }
  return true;
}

static ul_status nonsense(ul_error *err) {
  return ul_fail(err, UL_E_FORMAT,
                 "the file made its reader hand back nonsense: it is damaged: export it again");
}

ul_status ul_wire_receive(int fd, ul_wire_head *head, ul_mesh **mesh, ul_error *err) {
  struct stat file;
  uint64_t at = 0;
  *mesh = NULL;
  if (fstat(fd, &file) != 0 || !take(fd, &at, head, sizeof *head) ||
      !head_is_sane(head, (uint64_t)file.st_size))
    return nonsense(err);
  if (head->err.code != UL_OK) {
    if (err) *err = head->err;
    return head->err.code;
  }
  ul_mesh *m;
  ul_status status = ul_mesh_new_parts(head->vertices, head->triangles, head->parts, &m, err);
  if (status != UL_OK) return status;
  bool ok = take(fd, &at, m->vertex_mm, m->vertex_count * sizeof *m->vertex_mm) &&
            take(fd, &at, m->triangle, m->triangle_count * sizeof *m->triangle) &&
            take(fd, &at, m->part, m->triangle_count * sizeof *m->part);
  status = ok ? take_names(fd, &at, head, m) : UL_E_FORMAT;
  if (status == UL_OK && !mesh_is_sane(m)) status = UL_E_FORMAT;
  if (status == UL_OK)
    *mesh = m;
  else
    ul_mesh_free(m);
  return status == UL_OK ? UL_OK : status == UL_E_MEMORY ? ul_fail_memory(err) : nonsense(err);
}
