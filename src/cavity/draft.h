/* draft.h - what a reader, inside the child, fills from a file's bytes. */
#ifndef UL_CAVITY_DRAFT_H
#define UL_CAVITY_DRAFT_H

#include <stdbool.h>

#include "ullage/import.h"

typedef struct ul_draft {
  const unsigned char *bytes; /* the whole file, read only */
  size_t size;

  ul_mesh *mesh; /* coordinates still in the file's unit; grown by the functions below */
  size_t vertex_room, triangle_room, part_room;
  size_t vertices_merged; /* by the reader, because they were equal */
  char format[24];
  double mm_per_unit; /* as the file says; 0: it does not */
  char up; /* axis the file calls up, if it says: x, y or z; coordinates are as in the file */
  size_t note_count;
  char note[UL_IMPORT_NOTES][200];
  ul_error err;
} ul_draft;

/* Every reader: UL_OK, or an error that is also in d->err. */
ul_status ul_read_stl(ul_draft *d);
ul_status ul_read_obj(ul_draft *d);
ul_status ul_read_off(ul_draft *d);
ul_status ul_read_ply(ul_draft *d);
ul_status ul_read_3mf(ul_draft *d);
ul_status ul_read_step(ul_draft *d);
/* Loads what ul_read_step() needs; must be called before the child gives up its rights. */
void ul_prepare_step(void);
/* All other formats, `hint` being the extension. */
ul_status ul_read_assimp(ul_draft *d, const char *hint);

/* Appending. The first two return the number of the first one added; false in *ok, which stays
 * false, when there is no memory. */
uint32_t ul_draft_part(ul_draft *d, const char *name, size_t length, bool *ok);
uint32_t ul_draft_vertices(ul_draft *d, size_t count, bool *ok);
void ul_draft_triangle(ul_draft *d, uint32_t a, uint32_t b, uint32_t c, uint32_t part, bool *ok);
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void ul_draft_note(ul_draft *d, const char *format, ...);
/* Out of memory means here: over the child's limit. */
ul_status ul_draft_no_memory(ul_draft *d);

#endif
