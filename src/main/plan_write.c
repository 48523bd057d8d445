/* The plan as files. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/fail.h"
#include "base/memory.h"
#include "main/inserts.h"
#include "main/plan.h"
#include "report/atomic_file.h"
#include "report/json.h"

/* check's cavities, each with its outcome. */
static json_t *cavities(const cavity_case *c, const plan *p) {
  json_t *list = ul_json_cavities(c->solid, c->grid);
  for (size_t i = 0; list && i < c->solid->cavity_count; i++)
    ul_json_put(json_array_get(list, i), "outcome", ul_json_outcome(p->level, i));
  return list;
}

static json_t *notes(const ul_peaks *peaks) {
  json_t *list = json_array();
  for (size_t i = 0; i < peaks->note_count; i++)
    json_array_append_new(list, json_string(peaks->note[i]));
  return list;
}

json_t *plan_json(const cavity_case *c, const plan *p) {
  json_t *root = json_object();
  json_t *given = p->given ? ul_json_tilts(p->given) : NULL;
  ul_json_put(root, "version", json_string(UL_VERSION));
  ul_json_put(root, "verdict", json_string(p->verdict));
  ul_json_put(root, "good", json_boolean(p->sound));
  ul_json_put(root, "fills_in",
              json_pack("{s:I,s:I}", "tries", (json_int_t)p->tries, "good", (json_int_t)p->good));
  ul_json_put(root, "rise", json_string("level"));
  ul_json_put(root, "file", ul_json_file(&c->info, c->audit));
  ul_json_put(root, "cube_mm", json_real(c->grid->lattice.cube_mm));
  ul_json_put(root, "thin", ul_json_thin(c->thin, c->thin_count));
  ul_json_put(root, "cavities", cavities(c, p));
  ul_json_put(root, "tilt", ul_json_tilt(p->up));
  ul_json_take(root, ul_json_tilts(p->tilts));
  if (p->given)
    ul_json_put(root, "tilt_given",
                json_incref(json_array_get(json_object_get(given, "tilts"), 0)));
  ul_json_put(root, "peaks", ul_json_peaks(p->peaks));
  ul_json_put(root, "notes", notes(p->peaks));
  ul_json_put(root, "vents", ul_json_vents(p->vents));
  ul_json_put(root, "props", ul_json_props(&p->props));
  ul_json_put(root, "tool",
              json_pack("{s:o,s:f,s:b}", "box_mm",
                        json_pack("[o,o]", ul_json_vector(c->tool.box_mm[0]),
                                  ul_json_vector(c->tool.box_mm[1])),
                        "wall_mm", c->tool.wall_mm, "assumed", c->tool.assumed));
  if (c->in.count) ul_json_put(root, "inserts", inserts_json(c, p->up));
  json_t *opens = opening_json(&p->opens);
  if (opens) ul_json_put(root, "opening", opens);
  json_decref(given);
  return root;
}

/* With the folders above it. */
static ul_status make_folder(const char *dir, ul_error *err) {
  struct stat is;
  size_t length = strlen(dir) + 1;
  char *path = ul_new(length, 1);
  if (!path) return ul_fail_memory(err);
  for (size_t i = 1; i < length; i++)
    if (dir[i] == '/' || !dir[i]) {
      memcpy(path, dir, i);
      mkdir(path, 0777); /* one that is there already is as good */
    }
  int failed = stat(path, &is) != 0 ? errno : S_ISDIR(is.st_mode) ? 0 : ENOTDIR;
  free(path);
  if (!failed) return UL_OK;
  return ul_fail(err, UL_E_WRITE, "%s: cannot be made a folder: %s: name another with -o", dir,
                 strerror(failed));
}

/* --- one writer a file --- */

static bool write_json(FILE *file, void *context) {
  char *text = ul_json_text(context);
  if (!text) return false;
  fputs(text, file);
  free(text);
  return true;
}

static ul_status write_plan_json(const cavity_case *c, const plan *p, const char *path,
                                 ul_error *err) {
  json_t *root = plan_json(c, p);
  ul_status status = root ? ul_write_whole(path, write_json, root, err) : ul_fail_memory(err);
  json_decref(root);
  return status;
}

static ul_status write_table(const cavity_case *c, const plan *p, const char *path, ul_error *err) {
  (void)c;
  return ul_write_vents_csv(p->vents, path, err);
}

/* Writes and frees `mesh`. */
static ul_status write_mesh(ul_mesh *mesh, const char *path, ul_error *err) {
  ul_status status = ul_write_stl(mesh, path, err);
  ul_mesh_free(mesh);
  return status;
}

static ul_status write_cutters(const cavity_case *c, const plan *p, const char *path,
                               ul_error *err) {
  (void)c;
  ul_mesh *mesh;
  ul_status status = ul_markers_cutters(p->vents, &mesh, err);
  return status == UL_OK ? write_mesh(mesh, path, err) : status;
}

static ul_status write_flags(const cavity_case *c, const plan *p, const char *path, ul_error *err) {
  double size = 0;
  for (int a = 0; a < 3; a++) size = fmax(size, c->tool.box_mm[1][a] - c->tool.box_mm[0][a]);
  ul_mesh *mesh;
  ul_status status = ul_markers_flags(p->vents, size / 8, &mesh, err);
  return status == UL_OK ? write_mesh(mesh, path, err) : status;
}

ul_status plan_write(const cavity_case *c, const plan *p, const char *dir, ul_error *err) {
  static const struct {
    const char *name;
    ul_status (*write)(const cavity_case *c, const plan *p, const char *path, ul_error *err);
  } files[] = {{"vents.csv", write_table},
               {"vent-cutters.stl", write_cutters},
               {"vent-flags.stl", write_flags},
               {"plan.json", write_plan_json}}; /* last: when it is there, all of them are */
  ul_status status = make_folder(dir, err);
  for (size_t i = 0; i < sizeof files / sizeof files[0] && status == UL_OK; i++) {
    size_t room = strlen(dir) + strlen(files[i].name) + 2;
    char *path = ul_new(room, 1);
    if (!path) return ul_fail_memory(err);
    snprintf(path, room, "%s/%s", dir, files[i].name);
    status = files[i].write(c, p, path, err);
    if (status == UL_E_EMPTY) { /* no hole can be made; one of an older plan must not be cut */
      remove(path);
      status = UL_OK;
    }
    free(path);
  }
  return status;
}
