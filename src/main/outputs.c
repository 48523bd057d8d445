#include "main/outputs.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/fail.h"
#include "base/memory.h"
#include "main/vent_files.h"
#include "ullage/foam_card.h"

/* A file by what is on disk, whatever its path is called there. */
typedef struct {
  const char *path;
  bool exists, is_file; /* is_file: not a device or pipe, which nothing is lost in */
  dev_t device;
  ino_t inode;
  bool has_folder; /* of one that does not exist */
  dev_t folder_device;
  ino_t folder_inode;
} on_disk;

static const char *last_name(const char *path) {
  const char *slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

static on_disk look_at(const char *path) {
  on_disk d = {.path = path};
  char folder[4096];
  struct stat s;
  if (stat(path, &s) == 0) {
    d.exists = true;
    d.is_file = S_ISREG(s.st_mode);
    d.device = s.st_dev;
    d.inode = s.st_ino;
    return d;
  }
  const size_t length = (size_t)(last_name(path) - path);
  if (length >= sizeof folder) return d;
  snprintf(folder, sizeof folder, "%.*s", length ? (int)length : 1, length ? path : ".");
  d.has_folder = stat(folder, &s) == 0;
  if (!d.has_folder) return d;
  d.folder_device = s.st_dev;
  d.folder_inode = s.st_ino;
  return d;
}

static bool is_same(const on_disk *a, const on_disk *b) {
  if (a->exists != b->exists) return false;
  if (a->exists) return a->is_file && a->device == b->device && a->inode == b->inode;
  if (a->has_folder && b->has_folder)
    return a->folder_device == b->folder_device && a->folder_inode == b->folder_inode &&
           strcmp(last_name(a->path), last_name(b->path)) == 0;
  return strcmp(a->path, b->path) == 0;
}

/* --- what is read --- */

typedef struct {
  const char *is; /* as the error calls it */
  on_disk file;
} one_read;

enum { READ_MOST = INSERTS_MOST + 3 };

static bool is_generic(const char *foam) {
  for (size_t i = 0; i < ul_foam_generic_count(); i++)
    if (strcmp(foam, ul_foam_generic(i)->name) == 0) return true;
  return false;
}

static size_t list_read(const options *o, one_read out[READ_MOST]) {
  size_t count = 0;
  if (o->cavity_file) out[count++] = (one_read){"the file that is read", look_at(o->cavity_file)};
  if (o->foam && !is_generic(o->foam)) out[count++] = (one_read){"the foam card", look_at(o->foam)};
  if (o->tool_file) out[count++] = (one_read){"the tool's mesh", look_at(o->tool_file)};
  for (size_t i = 0; i < o->insert_count; i++)
    out[count++] = (one_read){"an insert's mesh", look_at(o->insert[i])};
  return count;
}

/* --- what is written --- */

/* `whose` comes before the path, `remedy` after it all. */
static ul_status refuse_if_read(const char *whose, const char *path, const char *remedy,
                                const options *o, ul_error *err) {
  one_read read[READ_MOST];
  const size_t count = list_read(o, read);
  const on_disk file = look_at(path);
  for (size_t i = 0; file.exists && i < count; i++)
    if (is_same(&file, &read[i].file))
      return ul_fail(err, UL_E_USAGE, "%s %.200s would be written over %s: %s", whose, path,
                     read[i].is, remedy);
  return UL_OK;
}

static ul_status check_rise(const options *o, ul_error *err) {
  static const char remedy[] = "name another file";
  ul_status status = UL_OK;
  if (o->series_file) status = refuse_if_read("--series", o->series_file, remedy, o, err);
  if (status == UL_OK && o->field_file)
    status = refuse_if_read("--field", o->field_file, remedy, o, err);
  if (status != UL_OK || !o->series_file || !o->field_file) return status;
  const on_disk series = look_at(o->series_file), field = look_at(o->field_file);
  if (!is_same(&series, &field)) return UL_OK;
  return ul_fail(err, UL_E_USAGE,
                 "--series and --field would both be written to %.200s: name two files",
                 o->field_file);
}

static ul_status check_in(const char *dir, const char *name, const options *o, ul_error *err) {
  const size_t room = strlen(dir) + strlen(name) + 2;
  char *path = ul_new(room, 1);
  if (!path) return ul_fail_memory(err);
  snprintf(path, room, "%s/%s", dir, name);
  ul_status status = refuse_if_read("the file", path, "name another folder with -o", o, err);
  free(path);
  return status;
}

/* A file for which there is no vent counts as well: an old one of that name is removed. */
static ul_status check_folder(int verb, const options *o, ul_error *err) {
  static const char *const of_plan[] = {"plan.json", "report.html", "bench-card.pdf"};
  const size_t plans_own = verb == VERB_PLAN ? sizeof of_plan / sizeof *of_plan : 0;
  ul_status status = UL_OK;
  for (size_t i = 0; status == UL_OK && i < plans_own; i++)
    status = check_in(o->out_dir, of_plan[i], o, err);
  for (size_t i = 0; status == UL_OK && vent_file_name(i); i++)
    status = check_in(o->out_dir, vent_file_name(i), o, err);
  return status;
}

/* Into the plan's own folder, where nobody names another: the plan may have been given the name of
 * a file of it. */
static ul_status check_own_folder(const options *o, ul_error *err) {
  for (size_t i = 0; vent_file_name(i); i++)
    if (strcmp(last_name(o->cavity_file), vent_file_name(i)) == 0)
      return refuse_if_read("the file", o->cavity_file, "name another folder with -o", o, err);
  return UL_OK;
}

ul_status outputs_check(int verb, const options *o, ul_error *err) {
  if (verb == VERB_RISE) return check_rise(o, err);
  if (o->out_dir) return check_folder(verb, o, err);
  return verb == VERB_MARKERS ? check_own_folder(o, err) : UL_OK;
}
