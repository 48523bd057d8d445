#include "main/vent_files.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/fail.h"
#include "base/memory.h"
#include "report/atomic_file.h"

/* The look's own: teal for a vent, rust for one that cannot be made, ink seen through for the
 * cavity. */
static const uint32_t teal = 0x0F6E6EFF, rust = 0xA8421AFF, ink = 0x2B3A4A50;

const char VENT_FILE_NAMES[] =
    "vents.csv, vent-layout.dxf (to drill by), vent-cutters.stl .3mf "
    ".obj (subtract from the tool), vent-flags.stl .ply .3mf .glb (to look at)";

static bool is_folder(const char *path) {
  struct stat is;
  return stat(path, &is) == 0 && S_ISDIR(is.st_mode);
}

/* Why one that could not be made is none: what mkdir() said, but for a file that is in the way. */
static int why_none(const char *path, int mkdir_said) {
  struct stat is;
  return stat(path, &is) == 0 ? ENOTDIR : mkdir_said;
}

ul_status make_folder(const char *dir, size_t *made, ul_error *err) {
  const size_t length = strlen(dir) + 1;
  int failed = 0;
  char *path = ul_new(length, 1);
  *made = 0;
  if (!path) return ul_fail_memory(err);
  for (size_t i = 1; i < length && !failed; i++) {
    if (dir[i] != '/' && dir[i]) continue;
    memcpy(path, dir, i);
    if (mkdir(path, 0777) == 0) {
      if (!*made) *made = i;
    } else {
      const int said = errno;
      if (!is_folder(path)) failed = why_none(path, said);
    }
  }
  free(path);
  if (!failed) return UL_OK;
  unmake_folder(dir, *made);
  return ul_fail(err, UL_E_WRITE, "%s: cannot be made a folder: %s: name another with -o", dir,
                 strerror(failed));
}

void unmake_folder(const char *dir, size_t made) {
  char path[4096]; /* no longer one can be made */
  const size_t length = strlen(dir);
  if (!made || length >= sizeof path) return;
  memcpy(path, dir, length + 1);
  for (size_t i = length; i >= made; i--)
    if (!dir[i] || dir[i] == '/') {
      path[i] = 0;
      rmdir(path); /* one that is not empty stays */
    }
}

ul_status write_in(const char *dir, const char *name, write_file_fn write, const void *what,
                   ul_error *err) {
  size_t room = strlen(dir) + strlen(name) + 2;
  char *path = ul_new(room, 1);
  if (!path) return ul_fail_memory(err);
  snprintf(path, room, "%s/%s", dir, name);
  ul_status status = write(what, path, err);
  if (status == UL_E_EMPTY) status = ul_remove_whole(path, err);
  free(path);
  return status;
}

/* --- one writer a file --- */

typedef struct {
  const vent_files *files;
  ul_mesh *cutters, *flags, *scene; /* scene: the flags, and the cavity where it is at hand */
  uint32_t *rgba;
} markers;

static ul_status write_table(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return ul_write_vents_csv(m->files->vents, &m->files->layout.datum, path, err);
}

static ul_status write_layout(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return ul_write_vents_dxf(m->files->vents, &m->files->layout, path, err);
}

static ul_status write_cutters_stl(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->cutters ? ul_write_stl(m->cutters, path, err) : UL_E_EMPTY;
}

static ul_status write_cutters_3mf(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->cutters ? ul_write_3mf(m->cutters, NULL, path, err) : UL_E_EMPTY;
}

static ul_status write_cutters_obj(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->cutters ? ul_write_obj(m->cutters, path, err) : UL_E_EMPTY;
}

static ul_status write_flags_stl(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->flags ? ul_write_stl(m->flags, path, err) : UL_E_EMPTY;
}

static ul_status write_flags_ply(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->scene ? ul_write_ply(m->scene, m->rgba, path, err) : UL_E_EMPTY;
}

static ul_status write_flags_3mf(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->scene ? ul_write_3mf(m->scene, m->rgba, path, err) : UL_E_EMPTY;
}

static ul_status write_flags_glb(const void *what, const char *path, ul_error *err) {
  const markers *m = what;
  return m->scene ? ul_write_glb(m->scene, m->rgba, path, err) : UL_E_EMPTY;
}

/* --- the meshes --- */

static double flag_size(const vent_files *f) {
  double size = 0;
  for (int c = 0; c < 3; c++) size = fmax(size, f->layout.box_mm[1][c] - f->layout.box_mm[0][c]);
  return size / 8;
}

/* Flags come first, then the cavity's parts: those without a name get one. */
static ul_status make_scene(markers *m, ul_error *err) {
  const vent_files *f = m->files;
  static const ul_mesh nothing = {0};
  ul_status status = ul_mesh_join(m->flags, f->cavity ? f->cavity : &nothing, &m->scene, err);
  if (status != UL_OK) return status;
  m->rgba = ul_new(m->scene->part_count, sizeof *m->rgba);
  if (!m->rgba) return ul_fail_memory(err);
  for (size_t p = 0; p < m->scene->part_count; p++) {
    bool vent = p < f->vents->count;
    m->rgba[p] = !vent ? ink : f->vents->vent[p].ok ? teal : rust;
    if (m->scene->part_name[p][0]) continue;
    free(m->scene->part_name[p]);
    m->scene->part_name[p] = strdup("cavity");
    if (!m->scene->part_name[p]) return ul_fail_memory(err);
  }
  return UL_OK;
}

/* A mesh that there is no vent for stays NULL. */
static ul_status make_meshes(markers *m, ul_error *err) {
  ul_status status = ul_markers_cutters(m->files->vents, &m->cutters, err);
  if (status != UL_OK && status != UL_E_EMPTY) return status;
  status = ul_markers_flags(m->files->vents, flag_size(m->files), &m->flags, err);
  if (status == UL_E_EMPTY) return UL_OK;
  return status == UL_OK ? make_scene(m, err) : status;
}

static const struct {
  const char *name;
  write_file_fn write;
} kinds[] = {
    {"vents.csv", write_table},
    {"vent-layout.dxf", write_layout},
    {"vent-cutters.stl", write_cutters_stl},
    {"vent-cutters.3mf", write_cutters_3mf},
    {"vent-cutters.obj", write_cutters_obj},
    {"vent-flags.stl", write_flags_stl},
    {"vent-flags.ply", write_flags_ply},
    {"vent-flags.3mf", write_flags_3mf},
    {"vent-flags.glb", write_flags_glb},
};
enum { KINDS = sizeof kinds / sizeof kinds[0] };

const char *vent_file_name(size_t i) {
  return i < KINDS ? kinds[i].name : NULL;
}

ul_status vent_files_write(const vent_files *files, const char *dir, ul_error *err) {
  markers m = {.files = files};
  ul_status status = make_meshes(&m, err);
  for (size_t i = 0; i < KINDS && status == UL_OK; i++)
    status = write_in(dir, kinds[i].name, kinds[i].write, &m, err);
  ul_mesh_free(m.cutters);
  ul_mesh_free(m.flags);
  ul_mesh_free(m.scene);
  free(m.rgba);
  return status;
}
