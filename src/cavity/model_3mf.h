/* model_3mf.h - what the XML of a 3MF model part says, as lists; nothing is placed yet.
 * After the 3MF Core Specification 1.3, sections 3 and 4, and the Production Extension's `path`. */
#ifndef UL_CAVITY_MODEL_3MF_H
#define UL_CAVITY_MODEL_3MF_H

#include <zip.h>

#include "cavity/affine.h"
#include "cavity/draft.h"

/* One use of an object: an item of the build, or a component of another object. */
typedef struct ul_3mf_use {
  unsigned long id;
  uint32_t file; /* which model part the object is in */
  ul_affine place;
} ul_3mf_use;

typedef struct ul_3mf_object {
  unsigned long id;
  uint32_t file;
  bool is_part; /* not a support or something else that is no part of the result */
  char *name;   /* "" if it has none */
  size_t vertex, vertices, triangle, triangles, component, components; /* first, and how many */
} ul_3mf_object;

typedef struct ul_3mf_model {
  ul_draft *draft;
  double (*vertex)[3];
  uint32_t (*triangle)[3]; /* counted within the object */
  ul_3mf_object *object;
  ul_3mf_use *component, *item;
  char **path; /* of the model parts, without the leading slash; [0] is the root */
  size_t vertices, triangles, objects, components, items, paths;
  size_t vertex_room, triangle_room, object_room, component_room, item_room, path_room;
} ul_3mf_model;

/* Reads one model part, the one whose path has the index `file`, to its end. An error is also in
 * model->draft->err. */
ul_status ul_3mf_parse(ul_3mf_model *model, uint32_t file, zip_file_t *from);
/* The index of a path, added when it is new. */
uint32_t ul_3mf_path(ul_3mf_model *model, const char *path, bool *ok);
void ul_3mf_model_release(ul_3mf_model *model);

#endif
