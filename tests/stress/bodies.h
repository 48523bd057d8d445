/* bodies.h - random closed meshes of the kinds that break geometry. */
#ifndef TEST_STRESS_BODIES_H
#define TEST_STRESS_BODIES_H

#include "shapes/shapes.h"

typedef enum {
  BODY_STAR,     /* bumpy, seen whole from the origin, nothing level or square */
  BODY_SLIVER,   /* the same pressed flat, or a very thin box */
  BODY_CORED,    /* a star in a star */
  BODY_LATTICE,  /* beams on a lattice of whole numbers */
  BODY_CELLS,    /* boxes on that lattice, in and through one another, faces in one plane */
  BODY_BOXES,    /* turned boxes that overlap */
  BODY_BALLS,    /* balls that overlap */
  BODY_HANDMADE, /* combs, tubes, arches, turned or not */
  BODY_KINDS
} body_kind;

typedef struct body {
  ul_mesh *mesh;
  bool whole;    /* on whole numbers times `scale`: rays can meet every corner and edge */
  bool overlaps; /* may */
  double scale;  /* a power of two where whole, else of ten; about 1e-6 to 1e6 */
  double size;   /* the largest coordinate, mm */
} body;

/* The same for the same number. */
body body_make(int number);
/* Evenly spread in 0..1. */
double body_random(uint64_t *dice);

#endif
