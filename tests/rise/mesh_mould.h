/* mesh_mould.h - a mould made from a mesh, cut into cubes, with the options of its rise. */
#ifndef TEST_RISE_MESH_MOULD_H
#define TEST_RISE_MESH_MOULD_H

#include "shapes/shapes.h"
#include "ullage/rise.h"

typedef struct mesh_mould {
  ul_solid *solid;
  ul_columns *columns;
  ul_grid *grid;
  double volume_mm3;
  double pour_mm[3];
  ul_rise_vent vent[8];
  ul_rise_opts opts; /* of the reference foam */
} mesh_mould;

/* Takes the mesh. Poured above x, y, on the floor at z = 0. Release with mesh_mould_free(). */
void mesh_mould_make(mesh_mould *m, ul_mesh *mesh, double cube_mm, double x, double y);
void mesh_mould_free(mesh_mould *m);

void mesh_mould_vent(mesh_mould *m, double x, double y, double z, double diameter_mm);

/* One rise on one thread, its books and its pockets looked through. Yours, ul_rise_free(). */
ul_rise *mesh_mould_rise(const mesh_mould *m);

/* All voids of the first cavity, mm3. */
double rise_trapped_mm3(const ul_rise *rise);

#endif
