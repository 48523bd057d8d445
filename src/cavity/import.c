#include "ullage/import.h"

#include "base/fail.h"
#include "cavity/finish.h"
#include "cavity/mesh_parts.h"
#include "cavity/sandbox.h"
#include "cavity/wire.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const unsigned COOKIE = 0x696d7031;

ul_import_opts ul_import_opts_default(void) {
  return (ul_import_opts){.cookie = COOKIE, .unit = UL_UNIT_NONE, .weld_mm = -1};
}

static ul_status check_opts(const ul_import_opts *opts, ul_error *err) {
  if (opts->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE, "import options not from ul_import_opts_default()");
  if ((unsigned)opts->unit > UL_UNIT_IN)
    return ul_fail(err, UL_E_USAGE, "unit %d is not one of mm, cm, m, in", (int)opts->unit);
  if (!(opts->grow_percent >= -50 && opts->grow_percent <= 100))
    return ul_fail(err, UL_E_USAGE, "--grow %g %%: give one from -50 to 100", opts->grow_percent);
  if (!isfinite(opts->weld_mm))
    return ul_fail(err, UL_E_USAGE, "--weld %g mm: give a finite one", opts->weld_mm);
  if (!(opts->cpu_s >= 0 && opts->cpu_s <= 1e6 && opts->memory_mib >= 0 && opts->memory_mib <= 1e7))
    return ul_fail(err, UL_E_USAGE, "limits of %g s and %g MiB: give 0 or sensible ones",
                   opts->cpu_s, opts->memory_mib);
  return UL_OK;
}

/* Never waits: a pipe by that name is refused, not read. */
static ul_status open_file(const char *path, int *fd, size_t *bytes, ul_error *err) {
  struct stat file;
  *fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  if (*fd < 0 || fstat(*fd, &file) != 0)
    return ul_fail(err, UL_E_READ, "cannot be opened (%s): check its name and your rights to it",
                   strerror(errno));
  if (S_ISDIR(file.st_mode))
    return ul_fail(err, UL_E_READ, "is a directory: name the mesh file in it");
  if (!S_ISREG(file.st_mode))
    return ul_fail(err, UL_E_READ, "is not a regular file: save it to disk first");
  if (file.st_size == 0)
    return ul_fail(err, UL_E_EMPTY, "is empty (0 bytes): export or copy it again");
  *bytes = (size_t)file.st_size;
  return UL_OK;
}

static ul_status find_format(const char *path, ul_import_task *task, ul_error *err) {
  unsigned char head[UL_FORMAT_HEAD];
  ssize_t n = pread(task->input_fd, head, sizeof head, 0);
  if (n <= 0)
    return ul_fail(err, UL_E_READ, "cannot be read (%s)",
                   n < 0 ? strerror(errno) : "it became empty");
  return ul_format_find(path, head, (size_t)n, task->input_bytes, &task->format, err);
}

/* Measured: a 19 MB OBJ of 500,000 triangles takes the general library 149 MB and 0.4 s. The limits
 * leave five times that and more, for denser files and a slow or busy machine. */
static ul_sandbox_limits limits_for(const ul_import_task *task, const ul_import_opts *opts) {
  double mib = (double)task->input_bytes / (1 << 20);
  bool step = task->format == UL_FORMAT_STEP; /* surfaces still to be cut into triangles */
  ul_sandbox_limits limits = {.cpu_s = opts->cpu_s, .memory_mib = opts->memory_mib};
  if (limits.cpu_s == 0) limits.cpu_s = ceil(step ? 8 + 60 * mib : 5 + 0.5 * mib);
  if (limits.memory_mib == 0) limits.memory_mib = step ? 1024 + 100 * mib : 512 + 40 * mib;
  limits.prepare = ul_import_prepare;
  limits.wall_s = 30 + 10 * limits.cpu_s;
  return limits;
}

static ul_status read_in_child(const ul_import_task *task, const ul_import_opts *opts,
                               const ul_job *job, ul_wire_head *head, ul_mesh **mesh,
                               ul_import_info *info, ul_error *err) {
  int output;
  bool filtered;
  ul_import_task copy = *task;
  ul_sandbox_limits limits = limits_for(task, opts);
  ul_status status =
      ul_sandbox_run(ul_import_child, &copy, task->input_fd, &limits, job, &output, &filtered, err);
  if (status != UL_OK) return status;
  status = ul_wire_receive(output, head, mesh, err);
  close(output);
  if (!filtered)
    ul_import_note(info, "This system takes no system call filter: the file was read with limits "
                         "on time, memory and files only.");
  return status;
}

static void take_over(const ul_wire_head *head, ul_import_info *info) {
  memcpy(info->format, head->format, sizeof info->format);
  info->triangles_read = head->triangles;
  info->weld.vertices_merged = head->vertices_merged;
  for (uint32_t i = 0; i < head->note_count; i++) ul_import_note(info, "%s", head->note[i]);
}

static ul_status import(const char *path, const ul_import_opts *opts, const ul_job *job,
                        ul_import_task *task, ul_mesh **mesh, ul_import_info *info, ul_error *err) {
  ul_wire_head head;
  ul_status status = open_file(path, &task->input_fd, &task->input_bytes, err);
  if (status == UL_OK) status = find_format(path, task, err);
  if (status == UL_OK) status = read_in_child(task, opts, job, &head, mesh, info, err);
  if (status != UL_OK) return status;
  take_over(&head, info);
  if (opts->part_count) status = ul_mesh_keep_parts(*mesh, opts->part, opts->part_count, err);
  if (status != UL_OK) return status;
  return ul_import_finish(*mesh, head.mm_per_unit, (char)head.up, opts, info, err);
}

ul_status ul_import(const char *path, const ul_import_opts *opts, const ul_job *job, ul_mesh **out,
                    ul_import_info *info, ul_error *err) {
  ul_import_info unwanted;
  ul_import_task task = {.input_fd = -1};
  if (!info) info = &unwanted;
  *out = NULL;
  memset(info, 0, sizeof *info);
  ul_status status = check_opts(opts, err);
  if (status == UL_OK) status = import(path, opts, job, &task, out, info, err);
  if (task.input_fd >= 0) close(task.input_fd);
  if (status == UL_OK) return UL_OK;
  ul_mesh_free(*out);
  *out = NULL;
  return status;
}
