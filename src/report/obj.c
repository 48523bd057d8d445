/* obj.c - a mesh as Wavefront OBJ. */
#include <string.h>

#include "report/atomic_file.h"
#include "report/numbers.h"
#include "report/slices.h"
#include "report/text.h"
#include "ullage/mesh_files.h"

/* Many readers end a name at a blank; a backslash would draw the next line into it, a # begins a
 * comment. */
static void put_name(FILE *file, const char *name) {
  fputs("o ", file);
  for (uint32_t c; (c = ul_next_character(&name));)
    ul_put_character(file, c == ' ' || c == '\\' || c == '#' ? '_' : c);
  fputc('\n', file);
}

static bool write_objects(FILE *file, void *context) {
  const ul_slices *s = context;
  fputs("# millimetres\n", file);
  size_t before = 1;
  for (size_t i = 0; i < s->count; i++) {
    const ul_slice *slice = &s->slice[i];
    put_name(file, slice->name);
    for (size_t v = 0; v < slice->vertex_count; v++) {
      fputc('v', file);
      for (int c = 0; c < 3; c++) {
        fputc(' ', file);
        ul_put_exact(file, s->mesh->vertex_mm[slice->vertex[v]][c]);
      }
      fputc('\n', file);
    }
    for (size_t t = 0; t < slice->triangle_count; t++) {
      const uint32_t *k = slice->triangle[t];
      fprintf(file, "f %zu %zu %zu\n", before + k[0], before + k[1], before + k[2]);
    }
    before += slice->vertex_count;
  }
  return true;
}

ul_status ul_write_obj(const ul_mesh *mesh, const char *path, ul_error *err) {
  ul_slices slices;
  ul_status status = ul_slices_make(mesh, path, &slices, err);
  if (status == UL_OK) status = ul_write_whole(path, write_objects, &slices, err);
  ul_slices_free(&slices);
  return status;
}
