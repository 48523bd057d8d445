/* ullage markers - the vents of a plan again, in other places or from another datum. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/mesh_parts.h"
#include "main/show.h"
#include "main/vent_files.h"
#include "main/verbs.h"
#include "report/atomic_file.h"
#include "report/datum_words.h"
#include "report/plan_read.h"

/* The folder of `path`, to be released with free(). */
static char *folder_of(const char *path) {
  const char *slash = strrchr(path, '/');
  size_t length = slash ? (size_t)(slash - path) : 0;
  char *folder = ul_new(length + 2, 1);
  if (!folder) return NULL;
  memcpy(folder, slash ? path : ".", slash ? length : 1);
  return slash && !length ? strcpy(folder, "/") : folder;
}

/* --- the cavity, which a plan.json does not hold --- */

/* Numbers the parts that are no flags from 1; flags get 0. They come first in the file: a later
 * part that has the very name of one is the cavity's own. */
static size_t number_parts(const ul_mesh *mesh, const ul_vents *vents, uint32_t *number) {
  size_t parts = 0;
  for (size_t p = 0; p < mesh->part_count; p++) number[p] = 1;
  for (size_t v = 0; v < vents->count; v++) {
    char name[UL_MARKER_NAME];
    ul_marker_name(&vents->vent[v], name);
    size_t p = 0;
    while (p < mesh->part_count && strcmp(mesh->part_name[p], name) != 0) p++;
    if (p < mesh->part_count) number[p] = 0;
  }
  for (size_t p = 0; p < mesh->part_count; p++)
    if (number[p]) number[p] = (uint32_t)++parts;
  return parts;
}

/* What is not a flag of those vents, as a mesh of its own; *out is NULL where there is nothing
 * else. */
static ul_status without_flags(const ul_mesh *mesh, const ul_vents *vents, ul_mesh **out,
                               ul_error *err) {
  *out = NULL;
  uint32_t *number = ul_new(mesh->part_count, sizeof *number);
  if (!number) return ul_fail_memory(err);
  size_t parts = number_parts(mesh, vents, number), triangles = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) triangles += number[mesh->part[t]] > 0;
  ul_status status = UL_OK;
  if (triangles) status = ul_mesh_new_parts(mesh->vertex_count, triangles, parts, out, err);
  for (size_t p = 0; *out && p < mesh->part_count && status == UL_OK; p++) {
    const char *name = mesh->part_name[p];
    if (!number[p]) continue;
    (*out)->part_name[number[p] - 1] = ul_mesh_copy_name(name, strlen(name));
    if (!(*out)->part_name[number[p] - 1]) status = ul_fail_memory(err);
  }
  if (*out && status == UL_OK) {
    memcpy((*out)->vertex_mm, mesh->vertex_mm, mesh->vertex_count * sizeof *mesh->vertex_mm);
    size_t n = 0;
    for (size_t t = 0; t < mesh->triangle_count; t++) {
      if (!number[mesh->part[t]]) continue;
      memcpy((*out)->triangle[n], mesh->triangle[t], sizeof *mesh->triangle);
      (*out)->part[n++] = number[mesh->part[t]] - 1;
    }
  }
  free(number);
  if (status == UL_OK) return UL_OK;
  ul_mesh_free(*out);
  *out = NULL;
  return status;
}

static bool is_same_folder(const char *a, const char *b) {
  struct stat p, q;
  return stat(a, &p) == 0 && stat(b, &q) == 0 && p.st_dev == q.st_dev && p.st_ino == q.st_ino;
}

/* From the flags that the plan itself wrote, and that are about to be written over; *out is NULL
 * where they have none, or are not there or not sound. */
static ul_status cavity_of_flags(const char *dir, const ul_vents *vents, ul_mesh **out,
                                 ul_error *err) {
  static const char name[] = "vent-flags.3mf";
  *out = NULL;
  size_t room = strlen(dir) + sizeof name + 1;
  char *path = ul_new(room, 1);
  if (!path) return ul_fail_memory(err);
  snprintf(path, room, "%s/%s", dir, name);
  ul_import_opts opts = ul_import_opts_default();
  ul_import_info info;
  ul_mesh *flags;
  ul_status status = ul_import(path, &opts, NULL, &flags, &info, err);
  free(path);
  if (status != UL_OK) return status == UL_E_MEMORY ? status : UL_OK;
  status = without_flags(flags, vents, out, err);
  ul_mesh_free(flags);
  return status;
}

/* --- the files --- */

typedef struct {
  const vent_files *files;
  const char *dir;
} handed_over;

static ul_status write_all(void *what, ul_error *err) {
  const handed_over *h = what;
  return vent_files_write(h->files, h->dir, err);
}

/* Into a folder that is there. */
static ul_status write_into(const char *dir, const options *opts, const char *plans_own,
                            ul_plan_vents *plan, ul_error *err) {
  ul_mesh *cavity = NULL;
  ul_status status = UL_OK;
  if (is_same_folder(dir, plans_own)) status = cavity_of_flags(dir, plan->vents, &cavity, err);
  if (status != UL_OK) return status;
  vent_files files = {.vents = plan->vents, .cavity = cavity, .layout = plan->layout};
  if (opts->has_datum) files.layout.datum = opts->datum;
  status = ul_write_together(write_all, &(handed_over){&files, dir}, err);
  ul_mesh_free(cavity);
  if (status != UL_OK) return status;
  char words[UL_WORDS];
  show_line("vents", "%zu, measured from %s", plan->vents->count,
            ul_datum_words(&files.layout.datum, words));
  show_line("files", "in %s: %s", dir, VENT_FILE_NAMES);
  if (plan->vents->count && !cavity)
    show_line("", "(the flags are without the cavity, which a plan.json does not hold: those that "
                  "plan itself wrote have it)");
  return UL_OK;
}

static ul_status write_again(const options *opts, const char *plans_own, ul_plan_vents *plan,
                             ul_error *err) {
  const char *dir = opts->out_dir ? opts->out_dir : plans_own;
  size_t folder;
  ul_status status = make_folder(dir, &folder, err);
  if (status != UL_OK) return status;
  status = write_into(dir, opts, plans_own, plan, err);
  if (status != UL_OK) unmake_folder(dir, folder);
  return status;
}

int verb_markers(const options *opts) {
  ul_error err = {0};
  ul_plan_vents plan;
  ul_status status = ul_plan_read(opts->cavity_file, &plan, &err);
  char *folder = folder_of(opts->cavity_file);
  if (status == UL_OK)
    status = folder ? write_again(opts, folder, &plan, &err) : ul_fail_memory(&err);
  free(folder);
  ul_vents_free(plan.vents);
  return status == UL_OK ? 0 : verb_failed(opts, &err);
}
