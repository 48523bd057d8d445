#include "cavity/mesh_parts.h"

#include "base/fail.h"
#include "base/memory.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The first names, as many as fit a line. */
static void list_names(const ul_mesh *mesh, char *list, size_t room) {
  size_t used = 0, named = 0, shown = 0;
  *list = 0;
  for (size_t p = 0; p < mesh->part_count; p++) {
    const char *name = mesh->part_name[p];
    if (!*name) continue;
    named++;
    if (named != shown + 1 || used + strlen(name) + 16 > room) continue;
    used += (size_t)snprintf(list + used, room - used, "%s\"%s\"", shown ? ", " : "", name);
    shown++;
  }
  if (named > shown) snprintf(list + used, room - used, " and %zu more", named - shown);
}

static ul_status no_such_part(const ul_mesh *mesh, const char *name, ul_error *err) {
  char list[100];
  list_names(mesh, list, sizeof list);
  if (!*list)
    return ul_fail(err, UL_E_USAGE, "--part %.40s: its parts have no names: leave --part out",
                   name);
  return ul_fail(err, UL_E_USAGE, "--part %.40s: it has %s: name one of these", name, list);
}

ul_status ul_mesh_keep_parts(ul_mesh *mesh, const char *const *name, size_t count, ul_error *err) {
  bool *keep = ul_new(mesh->part_count, sizeof *keep);
  if (!keep) return ul_fail_memory(err);
  ul_status status = UL_OK;
  for (size_t i = 0; i < count && status == UL_OK; i++) {
    bool found = false;
    for (size_t p = 0; p < mesh->part_count; p++)
      if (strcmp(mesh->part_name[p], name[i]) == 0) keep[p] = found = true;
    if (!found) status = no_such_part(mesh, name[i], err);
  }
  size_t kept = 0;
  for (size_t t = 0; t < mesh->triangle_count && status == UL_OK; t++) {
    if (!keep[mesh->part[t]]) continue;
    memmove(mesh->triangle[kept], mesh->triangle[t], sizeof *mesh->triangle);
    mesh->part[kept++] = mesh->part[t];
  }
  if (status == UL_OK) mesh->triangle_count = kept;
  free(keep);
  return status;
}
