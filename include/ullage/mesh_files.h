/* mesh_files.h - meshes as files for other programs.
 *
 * Each is written whole or not at all: beside `path`, then renamed. Same mesh, same bytes, in any
 * locale. Names are cleaned of what a file must not hold. Errors: UL_E_WRITE with the system's
 * reason; UL_E_NUMBER for a coordinate that no float holds; UL_E_EMPTY for a mesh without a
 * triangle (STL holds none as well as any). `part_rgba` is a colour 0xRRGGBBAA for each of the
 * mesh's parts; NULL: no colours. */
#ifndef ULLAGE_MESH_FILES_H
#define ULLAGE_MESH_FILES_H

#include "ullage/mesh.h"

/* Binary STL, mm, coordinates rounded to the nearest float. UL_E_LIMIT above 2^32-1 triangles. */
ul_status ul_write_stl(const ul_mesh *mesh, const char *path, ul_error *err);
/* OBJ, mm, one object a part (blanks in its name as _), coordinates with all their figures. */
ul_status ul_write_obj(const ul_mesh *mesh, const char *path, ul_error *err);
/* PLY 1.0, binary little-endian, mm, coordinates with all their figures, a colour a vertex (the
 * format's names red, green, blue, alpha); parts as comments. UL_E_LIMIT above 2^31-1 vertices. */
ul_status ul_write_ply(const ul_mesh *mesh, const uint32_t *part_rgba, const char *path,
                       ul_error *err);
/* 3MF core specification 1.2: unit millimeter, one named object a part, coordinates with all their
 * figures, colours as base materials. */
ul_status ul_write_3mf(const ul_mesh *mesh, const uint32_t *part_rgba, const char *path,
                       ul_error *err);
/* glTF 2.0 in one binary file, one named node a part. As glTF wants it: metres, and +y up, so that
 * a point x, y, z mm stands there as x, z, -y over 1000, rounded to the nearest float. Colours are
 * taken as sRGB; one with alpha below 255 is seen through. UL_E_LIMIT above 4 GiB. */
ul_status ul_write_glb(const ul_mesh *mesh, const uint32_t *part_rgba, const char *path,
                       ul_error *err);

#endif
