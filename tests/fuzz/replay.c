/* replay.c - gives a fuzzer the files of the folder named, one by one. */
#include "fuzz/fuzz.h"

#include <dirent.h>
#include <string.h>

static void replay(const char *path) {
  uint8_t *data = malloc(1 << 20);
  FILE *f = fopen(path, "rb");
  if (!f || !data) abort();
  size_t size = fread(data, 1, 1 << 20, f);
  uint8_t *exact = malloc(size ? size : 1); /* so that a sanitizer sees its end */
  if (!exact) abort();
  memcpy(exact, data, size);
  LLVMFuzzerTestOneInput(exact, size);
  fclose(f);
  free(exact);
  free(data);
}

int main(int argc, char **argv) {
  int count = 0;
  for (int i = 1; i < argc; i++) {
    DIR *folder = opendir(argv[i]);
    if (!folder) return 2;
    for (struct dirent *e; (e = readdir(folder));) {
      char path[4096];
      if (e->d_name[0] == '.') continue;
      snprintf(path, sizeof path, "%s/%s", argv[i], e->d_name);
      replay(path);
      count++;
    }
    closedir(folder);
  }
  printf("%d cases\n", count);
  return count ? 0 : 2;
}
