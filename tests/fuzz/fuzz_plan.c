/* plan.json, read back and its vents made into cutters. */
#define _GNU_SOURCE /* memfd_create() */
#include "fuzz/fuzz.h"

#include "report/plan_read.h"

#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  char path[40];
  int fd = memfd_create("fuzz", 0);
  if (fd < 0 || write(fd, data, size) != (ssize_t)size) abort();
  snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
  ul_plan_vents plan;
  ul_error err = {0};
  ul_status status = ul_plan_read(path, &plan, &err);
  must((status == UL_OK) == (plan.vents != NULL));
  if (status == UL_OK) {
    ul_mesh *mesh = NULL;
    ul_markers_cutters(plan.vents, &mesh, &err);
    ul_mesh_free(mesh);
    mesh = NULL;
    ul_markers_flags(plan.vents, 10, &mesh, &err);
    ul_mesh_free(mesh);
    ul_vents_free(plan.vents);
  } else {
    must(memchr(err.text, 0, sizeof err.text) && err.text[0]);
  }
  close(fd);
  return 0;
}
