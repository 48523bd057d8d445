/* make_cavities DIR: writes the five demo cavities into DIR, the same bytes every time. */
#include "cavities.h"
#include "write.h"

#include <stdio.h>

typedef enum { STL, OBJ, THREE_MF } format;

static bool write_one(const char *directory, const char *name, format as, blocks shape) {
  static const char *const ending[] = {"stl", "obj", "3mf"};
  char path[4096];
  if (snprintf(path, sizeof path, "%s/%s.%s", directory, name, ending[as]) >= (int)sizeof path) {
    fprintf(stderr, "make_cavities: %s: the path is too long\n", directory);
    return false;
  }
  surface s = blocks_surface(&shape);
  bool good = as == STL   ? write_stl(&s, path)
              : as == OBJ ? write_obj(&s, path, name)
                          : write_3mf(&s, path, name);
  if (good) printf("%s: %zu triangles\n", path, s.triangle_count);
  surface_free(&s);
  return good;
}

int main(int count, char **argument) {
  if (count != 2) {
    fprintf(stderr, "make_cavities: give the directory to write into: make_cavities DIR\n");
    return 2;
  }
  const char *directory = argument[1];
  bool good = write_one(directory, "bow-ball", THREE_MF, bow_ball()) &&
              write_one(directory, "seat-pad", STL, seat_pad()) &&
              write_one(directory, "rigger-float", STL, rigger_float()) &&
              write_one(directory, "dock-fender", STL, dock_fender()) &&
              write_one(directory, "rack-saddle", OBJ, rack_saddle());
  return good ? 0 : 4;
}
