/* box_files.h - a box of 30 x 20 x 10 with a corner at the origin, in every format that is read,
 * written by the tests' own few lines; and files in a directory that is gone afterwards. */
#ifndef TEST_BOX_FILES_H
#define TEST_BOX_FILES_H

#include <stddef.h>

#include "ullage/import.h"

typedef struct file_bytes {
  char *data;
  size_t size;
} file_bytes;

file_bytes bytes_of_text(const char *text);
file_bytes box_stl_binary(double scale);
file_bytes box_stl_ascii(const char *name);
/* Quadrilaterals in the groups "bottom" (floor and lid, of the materials "red" and "blue") and
 * "sides". */
file_bytes box_obj(void);
file_bytes box_ply_ascii(void);
file_bytes box_ply_binary(void);
file_bytes box_off(void);
/* In metres, +y up as glTF has it: a node "saddle" with the box shifted 0.1 m along x, and
 * "mirror", the same mesh mirrored in x. */
file_bytes box_glb(void);
/* `asset`: what stands in <asset>; the node "seat pad" shifts the box by 5, 6, 7. */
file_bytes box_dae(const char *asset);
/* One horn of a box; `rest` follows its <object id="1" name="horn">: more objects, then the end of
 * <resources>, then <build>. */
file_bytes box_3mf(const char *unit, const char *rest);
/* A ZIP archive that holds this text as 3D/3dmodel.model, and a relationship to it. */
file_bytes zip_3mf(const char *model);

/* Imports the bytes as a file of that name and removes the file. */
ul_status import_bytes(const char *name, file_bytes file, const ul_import_opts *opts,
                       ul_mesh **mesh, ul_import_info *info, ul_error *err);
/* The same with default options; frees the bytes. */
ul_status import_once(const char *name, file_bytes file, ul_mesh **mesh, ul_import_info *info,
                      ul_error *err);

double mesh_volume(const ul_mesh *mesh);
/* Asserts that the box is where it is said to be, to a millionth of its size. */
void assert_box(const ul_mesh *mesh, double x0, double y0, double z0, double x1, double y1,
                double z1);

#endif
