/* solid.h - audit a mesh, say what is wrong with it, and turn it into the cavities it encloses. */
#ifndef ULLAGE_SOLID_H
#define ULLAGE_SOLID_H

#include <stdbool.h>

#include "ullage/job.h"
#include "ullage/mesh.h"

/* kind, short word in JSON, whether a cavity can be made in spite of it */
#define UL_FAULT_LIST(X)                                                                           \
  X(UL_FAULT_OPEN, "open", false)                 /* edges with one triangle */                    \
  X(UL_FAULT_NON_MANIFOLD, "non-manifold", true)  /* edges with an even number above two */        \
  X(UL_FAULT_ODD_EDGE, "odd-edge", false)         /* edges with three, five, ... triangles */      \
  X(UL_FAULT_WINDING, "winding", true)            /* mixed winding, made consistent */             \
  X(UL_FAULT_INSIDE_OUT, "inside-out", true)      /* turned */                                     \
  X(UL_FAULT_UNORIENTABLE, "unorientable", false) /* no consistent winding exists */               \
  X(UL_FAULT_DEGENERATE, "degenerate", true) /* zero area; dropped unless that opens a hole */     \
  X(UL_FAULT_DUPLICATE, "duplicate", true)   /* the same triangle twice; one dropped */            \
  X(UL_FAULT_SELF_INTERSECTING, "self-intersecting", true)                                         \
  X(UL_FAULT_OVERLAPPING, "overlapping-shells", true)                                              \
  X(UL_FAULT_SAME_SENSE, "nested-same-sense", true) /* a shell in a shell, wound the same way */   \
  X(UL_FAULT_FLAT_SHELL, "flat-shell", true)        /* encloses nothing; left out */               \
  X(UL_FAULT_ALL_FLAT, "all-flat", false)           /* no shell encloses anything */               \
  X(UL_FAULT_NO_VOID, "no-void", false)             /* read as a block, but nothing is in it */    \
  X(UL_FAULT_PATCHED, "patched", true)              /* holes closed on request */

#define UL_FAULT_AS_ENUM(name, word, usable) name,
typedef enum { UL_FAULT_LIST(UL_FAULT_AS_ENUM) UL_FAULT_END } ul_fault_kind;
const char *ul_fault_word(ul_fault_kind kind);
bool ul_fault_usable(ul_fault_kind kind);

typedef struct ul_fault {
  ul_fault_kind kind;
  size_t count;     /* open, non-manifold, odd-edge: edges; unorientable: edges that cannot agree;
                       self-intersecting: pairs of triangles; overlapping-shells: pairs of shells;
                       patched: holes; winding, degenerate, duplicate: triangles; else shells */
  double at_mm[3];  /* one place; of an open mesh, the longest hole's middle */
  double length_mm; /* of an open mesh, the longest hole's rim; else 0 */
  long triangle;    /* one of them, numbered as in the welded mesh; -1 if none */
  char remedy[200]; /* what was done, or what to do */
} ul_fault;

/* A hole: one loop of edges that belong to a single triangle. */
typedef struct ul_hole {
  double at_mm[3];  /* mean of its rim */
  double rim_mm;    /* length round */
  double across_mm; /* largest distance between two of its vertices */
  size_t edge_count;
} ul_hole;

/* Every shell of the file, also one that bounds no cavity (a block's outside, or a shell in a shell
 * of the same sense): its triangles are not in the solid's mesh, and first_triangle says nothing.
 */
typedef struct ul_shell {
  size_t triangle_count;
  size_t first_triangle;
  double volume_mm3; /* signed, after turning */
  int32_t parent;    /* innermost shell around it, -1 if none */
  int32_t depth;     /* how many shells are around it */
  uint32_t cavity;   /* 0-based number of the cavity it bounds; UINT32_MAX if none */
} ul_shell;

typedef struct ul_measure {
  double volume_mm3;
  double area_mm2;
  double centroid_mm[3];
  double inertia_mm5[3][3]; /* about the centroid, for unit density */
  double box_mm[2][3];
} ul_measure;

typedef enum { UL_DRAWN_ASK, UL_DRAWN_PART, UL_DRAWN_BLOCK } ul_drawn;

typedef struct ul_solid_opts {
  unsigned cookie;
  ul_drawn drawn;  /* UL_DRAWN_ASK: part, and reading_doubtful is set when block was possible */
  double patch_mm; /* close holes at most this far across; 0: none */
  bool skip_self_intersection; /* then shells must not cross: nobody would notice */
} ul_solid_opts;

ul_solid_opts ul_solid_opts_default(void);

/* The cavities: the winding number of `mesh` is positive exactly in them. Cavities are numbered in
 * the order of their first triangle in the file; shells that overlap bound one cavity together. */
typedef struct ul_solid {
  ul_mesh *mesh;       /* closed, turned outwards (cores inwards); owned */
  uint32_t *shell_of;  /* per triangle */
  uint32_t *cavity_of; /* per triangle, 0-based */
  size_t shell_count;
  ul_shell *shell;
  size_t cavity_count;
  ul_measure *cavity; /* per cavity; exact for the polyhedron, what is gone round twice counted once
                       */
  bool overlapping;   /* shells overlap or intersect: winding above 1 somewhere */
  bool read_as_block;
  bool reading_doubtful; /* the file can be read as part and as block */
} ul_solid;

typedef struct ul_audit {
  bool closed; /* every edge has an even number of triangles */
  bool usable; /* *solid was made */
  size_t shell_count;
  size_t fault_count;
  ul_fault *fault; /* in UL_FAULT_LIST order */
  size_t hole_count;
  ul_hole *hole; /* longest rim first */
} ul_audit;

/* Audits `mesh` (welded) and, when it bounds a solid, makes *solid. Returns UL_OK whenever the
 * audit itself could be made; look at audit->usable. *solid is NULL when it is not usable. Both are
 * yours: ul_audit_free(), ul_solid_free(). Measures: divergence theorem as signed tetrahedra about
 * a local origin (compare Mirtich 1996, J. Graphics Tools 1(2)); of what passes through itself,
 * over its skin. What reaches through a surface by less than 2^-22 of the farthest coordinate, a
 * float file's own rounding, touches it and does not cross it. */
ul_status ul_audit_mesh(const ul_mesh *mesh, const ul_solid_opts *opts, const ul_job *job,
                        ul_audit **audit, ul_solid **solid, ul_error *err);
/* The error a verb gives for an audit that is not usable: UL_E_OPEN or UL_E_SURFACE or UL_E_FLAT,
 * with the place, the number and what to do in err->text. UL_OK if usable. */
ul_status ul_audit_verdict(const ul_audit *audit, ul_error *err);
/* The solid with its overlapping shells made one skin, so that the mesh is the wall everywhere; the
 * same cavities. *out is NULL if nothing overlaps, or if no clean skin comes of it, as of surfaces
 * that lie in one another within rounding; else it is yours. */
ul_status ul_solid_unite(const ul_solid *solid, const ul_job *job, ul_solid **out, ul_error *err);
/* Only cavity `number` (0-based) of `solid`, as a solid of its own. UL_E_USAGE if there is none. */
ul_status ul_solid_pick(const ul_solid *solid, size_t number, ul_solid **out, ul_error *err);
void ul_audit_free(ul_audit *audit);
void ul_solid_free(ul_solid *solid);

/* Volume, area, centroid, inertia and box of any closed triangle set; `triangle_ids` NULL: the
 * first `count` triangles. */
void ul_measure_triangles(const ul_mesh *mesh, const uint32_t *triangle_ids, size_t count,
                          ul_measure *out);
/* How much of that cavity (0-based) lies below a level plane: where dot(up, at) < height_mm. Exact
 * for the polyhedron; what is gone round twice counts twice. */
double ul_solid_below_mm3(const ul_solid *solid, uint32_t cavity, const double up[3],
                          double height_mm);

#endif
