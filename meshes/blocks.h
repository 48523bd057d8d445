/* blocks.h - a solid from bent blocks: cells of a rectilinear grid in (u,v,w), some of them solid,
 * and a map that bends them into place. The surface is what lies between a solid cell and one that
 * is not: shared vertices, no T-junctions, edges sharp wherever the cells have one, flat faces flat
 * wherever the map is. A map may let faces shrink to lines or points; those are dropped. */
#ifndef MESHES_BLOCKS_H
#define MESHES_BLOCKS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BLOCK_LINES = 256, BLOCK_FACES = 16 };

typedef struct blocks {
  int n[3];                    /* cells along u, v, w; set by blocks_from() and blocks_to() */
  double line[3][BLOCK_LINES]; /* the grid's lines, n + 1 of them */
  bool ring;                   /* the last cell along u touches the first */
  bool (*solid)(const double middle[3]);
  void (*map)(const double uvw[3], double xyz_mm[3]);
  /* The name of the face of the solid cell around `middle` that looks along `axis` (0 to 2), to its
   * low or high `side`; NULL: the shape has no named faces. */
  const char *(*face)(const double middle[3], int axis, int side);
} blocks;

/* The first line along an axis; then more of them, evenly, up to the value `to`. */
void blocks_from(blocks *b, int axis, double from);
void blocks_to(blocks *b, int axis, double to, int cells);

/* Triangles counter-clockwise seen from outside. Every coordinate is a multiple of 1/1024 mm, which
 * float, double and decimal text all hold exactly, so every file format holds the same solid. */
typedef struct surface {
  size_t vertex_count, triangle_count;
  double (*vertex_mm)[3];
  uint32_t (*triangle)[3];
  uint8_t *part; /* per triangle: index into part_name */
  size_t part_count;
  const char *part_name[BLOCK_FACES];
} surface;

/* The surface of the blocks, to be released with surface_free(). Ends the program when there is no
 * memory. */
surface blocks_surface(const blocks *b);
void surface_free(surface *s);

#endif
