/* ullage markers - the vents of a plan again, in other places or from another datum. */
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
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

typedef struct {
  const vent_files *files;
  const char *dir;
} handed_over;

static ul_status write_all(void *what, ul_error *err) {
  const handed_over *h = what;
  return vent_files_write(h->files, h->dir, err);
}

static ul_status write_again(const options *opts, const char *dir, ul_plan_vents *plan,
                             ul_error *err) {
  vent_files files = {.vents = plan->vents, .layout = plan->layout};
  if (opts->has_datum) files.layout.datum = opts->datum;
  ul_status status = make_folder(dir, err);
  if (status == UL_OK) status = ul_write_together(write_all, &(handed_over){&files, dir}, err);
  if (status != UL_OK) return status;
  char words[UL_WORDS];
  show_line("vents", "%zu, measured from %s", plan->vents->count,
            ul_datum_words(&files.layout.datum, words));
  show_line("files", "in %s: %s", dir, VENT_FILE_NAMES);
  return UL_OK;
}

int verb_markers(const options *opts) {
  ul_error err = {0};
  ul_plan_vents plan;
  ul_status status = ul_plan_read(opts->cavity_file, &plan, &err);
  char *folder = opts->out_dir ? NULL : folder_of(opts->cavity_file);
  const char *dir = folder ? folder : opts->out_dir;
  if (status == UL_OK) status = dir ? write_again(opts, dir, &plan, &err) : ul_fail_memory(&err);
  free(folder);
  ul_vents_free(plan.vents);
  return status == UL_OK ? 0 : verb_failed(opts, &err);
}
