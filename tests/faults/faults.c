/* faults.c - loaded in front of the C library (LD_PRELOAD): calls that fail when the test says so.
 * ULLAGE_FAULT="malloc 17" makes the 17th allocation fail, "malloc 17+" that and all after it; also
 * pthread_create, fork, rename, open (for writing), memfd_create, pipe2 and fcntl. ULLAGE_COUNT
 * names a file that gets the number of such calls. Only calls from the program itself and from
 * jansson count: fontconfig, for one, crashes without memory. None fails in a child: there
 * libseccomp would spin until its time is up. */
#define _GNU_SOURCE
#undef _FILE_OFFSET_BITS /* or open() would be open64() */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

static atomic_long calls;
static long nth;       /* 0: none fails */
static bool from_then; /* and all after it */
static char what[32];
static const char *count_file;
static pid_t self;

enum { RANGES = 16 };
static struct { uintptr_t from, to; } ours[RANGES];
static int our_count;

static int note_ranges(struct dl_phdr_info *info, size_t size, void *nothing) {
  (void)size, (void)nothing;
  bool program = !info->dlpi_name[0];
  if (!program && !strstr(info->dlpi_name, "jansson")) return 0;
  for (int i = 0; i < info->dlpi_phnum && our_count < RANGES; i++) {
    if (info->dlpi_phdr[i].p_type != PT_LOAD) continue;
    ours[our_count].from = info->dlpi_addr + info->dlpi_phdr[i].p_vaddr;
    ours[our_count].to = ours[our_count].from + info->dlpi_phdr[i].p_memsz;
    our_count++;
  }
  return 0;
}

static bool is_ours(const void *caller) {
  for (int i = 0; i < our_count; i++)
    if ((uintptr_t)caller >= ours[i].from && (uintptr_t)caller < ours[i].to) return true;
  return false;
}

__attribute__((constructor)) static void read_orders(void) {
  const char *order = getenv("ULLAGE_FAULT");
  char plus = 0;
  count_file = getenv("ULLAGE_COUNT");
  if (!order || sscanf(order, "%31s %ld%c", what, &nth, &plus) < 2) nth = 0;
  from_then = plus == '+';
  atomic_store(&calls, 0);
  self = getpid();
  dl_iterate_phdr(note_ranges, NULL);
}

__attribute__((destructor)) static void tell(void) {
  char text[24];
  if (!count_file) return;
  int n = snprintf(text, sizeof text, "%ld\n", atomic_load(&calls));
  int fd = creat(count_file, 0666);
  if (fd >= 0 && write(fd, text, (size_t)n) != n) abort();
  if (fd >= 0) close(fd);
}

static bool fails(const char *call, const void *caller, int reason) {
  if (strcmp(call, what) != 0 || !is_ours(caller) || getpid() != self) return false;
  long n = atomic_fetch_add(&calls, 1) + 1;
  bool now = nth > 0 && (from_then ? n >= nth : n == nth);
  if (now) errno = reason;
  return now;
}

static void *next(const char *name) {
  return dlsym(RTLD_NEXT, name);
}

/* dlsym() itself may allocate, so the C library's own names are used. */
extern void *__libc_malloc(size_t);
extern void *__libc_calloc(size_t, size_t);
extern void *__libc_realloc(void *, size_t);
extern void *__libc_memalign(size_t, size_t);

void *malloc(size_t size) {
  return fails("malloc", __builtin_return_address(0), ENOMEM) ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size) {
  return fails("malloc", __builtin_return_address(0), ENOMEM) ? NULL : __libc_calloc(count, size);
}

void *realloc(void *block, size_t size) {
  return fails("malloc", __builtin_return_address(0), ENOMEM) ? NULL : __libc_realloc(block, size);
}

void *aligned_alloc(size_t alignment, size_t size) {
  return fails("malloc", __builtin_return_address(0), ENOMEM) ? NULL
                                                              : __libc_memalign(alignment, size);
}

int pthread_create(pthread_t *thread, const pthread_attr_t *how, void *(*run)(void *), void *with) {
  int (*real)(pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
  void *found = next("pthread_create");
  memcpy(&real, &found, sizeof real);
  return fails("pthread_create", __builtin_return_address(0), EAGAIN)
             ? EAGAIN
             : real(thread, how, run, with);
}

pid_t fork(void) {
  pid_t (*real)(void);
  void *found = next("fork");
  memcpy(&real, &found, sizeof real);
  return fails("fork", __builtin_return_address(0), EAGAIN) ? -1 : real();
}

int rename(const char *from, const char *to) {
  int (*real)(const char *, const char *);
  void *found = next("rename");
  memcpy(&real, &found, sizeof real);
  return fails("rename", __builtin_return_address(0), EIO) ? -1 : real(from, to);
}

int memfd_create(const char *name, unsigned flags) {
  int (*real)(const char *, unsigned);
  void *found = next("memfd_create");
  memcpy(&real, &found, sizeof real);
  return fails("memfd_create", __builtin_return_address(0), EMFILE) ? -1 : real(name, flags);
}

int pipe2(int fd[2], int flags) {
  int (*real)(int[2], int);
  void *found = next("pipe2");
  memcpy(&real, &found, sizeof real);
  return fails("pipe2", __builtin_return_address(0), EMFILE) ? -1 : real(fd, flags);
}

static int opened(const char *name, const void *caller, const char *path, int flags, mode_t mode) {
  int (*real)(const char *, int, ...);
  void *found = next(name);
  memcpy(&real, &found, sizeof real);
  if ((flags & O_ACCMODE) != O_RDONLY && fails("open", caller, ENOSPC)) return -1;
  return real(path, flags, mode);
}

int open(const char *path, int flags, ...) {
  va_list rest;
  va_start(rest, flags);
  mode_t mode = flags & (O_CREAT | O_TMPFILE) ? (mode_t)va_arg(rest, int) : 0;
  va_end(rest);
  return opened("open", __builtin_return_address(0), path, flags, mode);
}

int open64(const char *path, int flags, ...) {
  va_list rest;
  va_start(rest, flags);
  mode_t mode = flags & (O_CREAT | O_TMPFILE) ? (mode_t)va_arg(rest, int) : 0;
  va_end(rest);
  return opened("open64", __builtin_return_address(0), path, flags, mode);
}
