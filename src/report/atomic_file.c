#include "report/atomic_file.h"

#include "base/fail.h"
#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { MOST_NAMES = 1000, NAME_ROOM = 64 };

static ul_status cannot_write(ul_error *err, const char *path, int reason) {
  return ul_fail(err, UL_E_WRITE, "%.250s: cannot be written: %s: make room or name another place",
                 path, strerror(reason));
}

/* A new file beside `path`. Its name is short, so that it fits wherever `path` does, and not one
 * that is there: a file left by a crash is not touched. */
static int open_beside(const char *path, char *name, size_t room) {
  const char *slash = strrchr(path, '/');
  int folder = slash ? (int)(slash - path) + 1 : 0;
  for (int n = 0; n < MOST_NAMES; n++) {
    snprintf(name, room, "%.*s.ullage-%ld-%d.tmp", folder, path, (long)getpid(), n);
    int file = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file >= 0 || errno != EEXIST) return file;
  }
  return -1;
}

/* Writes and closes; *gave_up when it was the content that failed. False leaves the reason in
 * errno.
 */
static bool fill(FILE *file, ul_content_fn content, void *context, bool *gave_up) {
  errno = 0;
  *gave_up = !content(file, context);
  bool good = !ferror(file) && fflush(file) == 0;
  int reason = errno ? errno : EIO;
  if (fclose(file) != 0 && good) {
    good = false;
    reason = errno;
  }
  errno = reason;
  return good && !*gave_up;
}

static ul_status write_through(const char *path, int descriptor, ul_content_fn content,
                               void *context, ul_error *err) {
  FILE *file = descriptor < 0 ? NULL : fdopen(descriptor, "wb");
  if (!file) {
    int reason = errno;
    if (descriptor >= 0) close(descriptor);
    return cannot_write(err, path, reason);
  }
  bool gave_up;
  if (fill(file, content, context, &gave_up)) return UL_OK;
  return gave_up ? ul_fail_memory(err) : cannot_write(err, path, errno);
}

/* -- several files as one -- */

typedef struct {
  char *name; /* the new file; NULL: remove what is at `path` */
  char *path;
} one_file;

typedef struct {
  one_file *file;
  size_t count, room;
} held_back;

static _Thread_local held_back *held;

static char *copy_of(const char *text) {
  char *copy = ul_new_raw(strlen(text) + 1, 1);
  return copy ? strcpy(copy, text) : NULL;
}

static ul_status hold(const char *name, const char *path, ul_error *err) {
  one_file f = {name ? copy_of(name) : NULL, copy_of(path)};
  if ((name && !f.name) || !f.path ||
      !ul_grow((void **)&held->file, &held->room, held->count + 1, sizeof f)) {
    free(f.name);
    free(f.path);
    return ul_fail_memory(err);
  }
  held->file[held->count++] = f;
  return UL_OK;
}

static ul_status settle(const char *name, const char *path, ul_error *err) {
  return rename(name, path) == 0 ? UL_OK : cannot_write(err, path, errno);
}

/* -- one file -- */

ul_status ul_write_whole(const char *path, ul_content_fn content, void *context, ul_error *err) {
  struct stat there;
  if (stat(path, &there) == 0 && !S_ISREG(there.st_mode))
    return write_through(path, open(path, O_WRONLY | O_CLOEXEC), content, context, err);
  size_t room = strlen(path) + NAME_ROOM;
  char *name = ul_new_raw(room, 1);
  if (!name) return ul_fail_memory(err);
  int descriptor = open_beside(path, name, room);
  ul_status status = write_through(path, descriptor, content, context, err);
  if (status == UL_OK) status = held ? hold(name, path, err) : settle(name, path, err);
  if (status != UL_OK && descriptor >= 0) unlink(name);
  free(name);
  return status;
}

ul_status ul_remove_whole(const char *path, ul_error *err) {
  if (held) return hold(NULL, path, err);
  unlink(path);
  return UL_OK;
}

ul_status ul_write_together(ul_status (*write)(void *context, ul_error *err), void *context,
                            ul_error *err) {
  held_back list = {0}, *before = held;
  held = &list;
  ul_status status = write(context, err);
  held = before;
  for (size_t i = 0; i < list.count; i++) {
    one_file *f = &list.file[i];
    if (status == UL_OK && f->name) status = settle(f->name, f->path, err);
    if (status == UL_OK && !f->name) unlink(f->path);
    if (status != UL_OK && f->name) unlink(f->name);
    free(f->name);
    free(f->path);
  }
  free(list.file);
  return status;
}
