/* fuzz.h - what the fuzzers share. Each is a file with LLVMFuzzerTestOneInput(), built with
 * libFuzzer by run.sh, and with replay.c as a test of the cases kept. */
#ifndef TEST_FUZZ_H
#define TEST_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Ends the program where it does not hold. */
#define must(holds) ((holds) ? (void)0 : fuzz_failed(#holds, __FILE__, __LINE__))

static inline void fuzz_failed(const char *what, const char *file, int line) {
  fprintf(stderr, "%s:%d: not so: %s\n", file, line, what);
  abort();
}

/* A stream of a file's bytes; never NULL. `size` may be 0. */
static inline FILE *fuzz_stream(const uint8_t *data, size_t size) {
  FILE *f = size ? fmemopen((void *)(uintptr_t)data, size, "rb") : fopen("/dev/null", "rb");
  if (!f) abort();
  return f;
}

#endif
