/* What the import child hands back, were it taken over by the file: the parent's checks of it. */
#define _GNU_SOURCE /* memfd_create() */
#include "fuzz/fuzz.h"

#include "cavity/wire.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* A head that is right, so that what follows it is looked at too. */
static void set_right(ul_wire_head *head, const uint8_t *data, size_t size) {
  memset(head, 0, sizeof *head);
  head->bytes = sizeof *head + size - 4;
  head->vertices = data[1];
  head->triangles = data[2];
  head->parts = data[3] % 8;
  uint64_t mesh = 24 * head->vertices + 16 * head->triangles;
  head->name_bytes = head->bytes - sizeof *head > mesh ? head->bytes - sizeof *head - mesh : 0;
  head->mm_per_unit = 1;
  head->up = 'z';
  head->err.code = UL_OK;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  int fd = memfd_create("fuzz", 0);
  ul_wire_head head;
  ul_mesh *mesh = NULL;
  ul_error err = {0};
  if (fd < 0) abort();
  if (size > 4 && data[0] % 2) {
    set_right(&head, data, size);
    if (write(fd, &head, sizeof head) != sizeof head) abort();
    data += 4, size -= 4;
  }
  if (write(fd, data, size) != (ssize_t)size) abort();
  ul_status status = ul_wire_receive(fd, &head, &mesh, &err);
  must((status == UL_OK) == (mesh != NULL));
  must(status == UL_OK || memchr(err.text, 0, sizeof err.text));
  for (size_t v = 0; mesh && v < mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) must(isfinite(mesh->vertex_mm[v][c]));
  for (size_t t = 0; mesh && t < mesh->triangle_count; t++) {
    must(mesh->part[t] < mesh->part_count);
    for (int c = 0; c < 3; c++) must(mesh->triangle[t][c] < mesh->vertex_count);
  }
  ul_mesh_free(mesh);
  close(fd);
  return 0;
}
