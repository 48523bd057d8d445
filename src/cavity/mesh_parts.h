/* mesh_parts.h - making a mesh with several named parts, for whoever reads one from a file. */
#ifndef UL_CAVITY_MESH_PARTS_H
#define UL_CAVITY_MESH_PARTS_H

#include "ullage/mesh.h"

/* As ul_mesh_new(), with room for `parts` names, all still NULL: set each with
 * ul_mesh_copy_name(). */
ul_status ul_mesh_new_parts(size_t vertices, size_t triangles, size_t parts, ul_mesh **out,
                            ul_error *err);
/* `length` bytes as a string of its own; NULL when there is no memory. */
char *ul_mesh_copy_name(const char *name, size_t length);

/* Only the triangles of parts with one of these names; vertices stay. UL_E_USAGE, with the names
 * there are, for a name that no part has; UL_E_MEMORY. */
ul_status ul_mesh_keep_parts(ul_mesh *mesh, const char *const *name, size_t count, ul_error *err);

#endif
