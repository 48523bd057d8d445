/* markers.c - the vents as solids: cutters to subtract from the tool, flags to look at. */
#include "ullage/markers.h"

#include "base/fail.h"
#include "base/vec.h"
#include "cavity/mesh_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { CUTTER_SIDES = 48, PIN_SIDES = 12, PIN_RINGS = 3, PLATE_CORNERS = 3 };
enum {
  BOX_VERTICES = 8,
  BOX_TRIANGLES = 12,
  FLAG_VERTICES = PIN_RINGS * PIN_SIDES + 2 + 2 * PLATE_CORNERS,
  FLAG_TRIANGLES = 2 * PIN_RINGS * PIN_SIDES + 8
};

static const double beyond_mm = 2; /* a cutter that ends on the tool's face may leave a skin */

typedef struct {
  ul_mesh *mesh;
  size_t vertices, triangles; /* filled so far */
  uint32_t part;
} builder;

static uint32_t add_vertex(builder *b, const double at[3]) {
  ul_copy3(at, b->mesh->vertex_mm[b->vertices]);
  return (uint32_t)b->vertices++;
}

static void add_triangle(builder *b, uint32_t i, uint32_t j, uint32_t k) {
  uint32_t *t = b->mesh->triangle[b->triangles];
  t[0] = i, t[1] = j, t[2] = k;
  b->mesh->part[b->triangles++] = b->part;
}

/* A profile of (radius, height) turned round an axis, in `sides` flat sides, with a point in the
 * middle of either end. */
static void add_turned(builder *b, const double foot[3], const double axis[3], int sides,
                       const double (*profile)[2], int rings, double bottom, double top) {
  double x[3], y[3], at[3];
  ul_across(axis, x, y);
  uint32_t n = (uint32_t)sides;
  ul_add_scaled(foot, bottom, axis, at);
  uint32_t low = add_vertex(b, at), first = low + 1;
  for (int r = 0; r < rings; r++)
    for (int k = 0; k < sides; k++) {
      double a = 2 * M_PI * k / sides;
      ul_add_scaled(foot, profile[r][1], axis, at);
      ul_add_scaled(at, profile[r][0] * cos(a), x, at);
      ul_add_scaled(at, profile[r][0] * sin(a), y, at);
      add_vertex(b, at);
    }
  ul_add_scaled(foot, top, axis, at);
  uint32_t high = add_vertex(b, at), last = high - n;
  for (uint32_t k = 0; k < n; k++) {
    uint32_t next = (k + 1) % n;
    add_triangle(b, low, first + next, first + k);
    for (uint32_t ring = first; ring < last; ring += n) {
      add_triangle(b, ring + k, ring + next, ring + n + next);
      add_triangle(b, ring + k, ring + n + next, ring + n + k);
    }
    add_triangle(b, high, last + k, last + next);
  }
}

/* One side of the box: corners are numbered by three bits. */
static void add_side(builder *b, uint32_t first, const uint32_t corner[4]) {
  add_triangle(b, first + corner[0], first + corner[1], first + corner[2]);
  add_triangle(b, first + corner[0], first + corner[2], first + corner[3]);
}

/* From the parting face as deep into its half as the groove is. */
static void add_groove(builder *b, const ul_vent *vent, double from, double to) {
  static const uint32_t side[6][4] = {{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4},
                                      {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}};
  double aside[3], at[3];
  ul_cross(vent->face, vent->axis, aside);
  uint32_t first = (uint32_t)b->vertices;
  for (int i = 0; i < BOX_VERTICES; i++) {
    ul_add_scaled(vent->at_mm, i & 1 ? to : from, vent->axis, at);
    ul_add_scaled(at, vent->width_mm * (i & 2 ? 0.5 : -0.5), aside, at);
    ul_add_scaled(at, i & 4 ? vent->depth_mm : 0, vent->face, at);
    add_vertex(b, at);
  }
  for (int i = 0; i < 6; i++) add_side(b, first, side[i]);
}

/* A hole: two rings, or four where it is opened beyond its land. */
static int rings_of(const ul_vent *vent) {
  return vent->relief_mm > 0 ? 4 : 2;
}

/* Sides that touch the drill's circle, so that the hole takes a pin of its own diameter. */
static void add_cutter(builder *b, const ul_vent *vent) {
  double from = -vent->back_mm, to = vent->length_mm + vent->past_mm + beyond_mm;
  if (vent->kind == UL_VENT_GROOVE) {
    add_groove(b, vent, from, to);
    return;
  }
  double out = 0.5 / cos(M_PI / CUTTER_SIDES), narrow = vent->diameter_mm * out;
  double wide = vent->relief_mm * out;
  const double plain[2][2] = {{narrow, from}, {narrow, to}};
  const double stepped[4][2] = {
      {narrow, from}, {narrow, vent->land_mm}, {wide, vent->land_mm}, {wide, to}};
  int rings = rings_of(vent);
  add_turned(b, vent->at_mm, vent->axis, CUTTER_SIDES, rings == 4 ? stepped : plain, rings, from,
             to);
}

/* A pennant: a triangular plate from the pin's middle outwards, near its top. */
static void add_plate(builder *b, const double foot[3], const double axis[3], double size) {
  static const double outline[PLATE_CORNERS][2] = {{0, 0.65}, {0.5, 0.8}, {0, 0.95}};
  double x[3], y[3], at[3];
  ul_across(axis, x, y);
  uint32_t front = (uint32_t)b->vertices, back = front + PLATE_CORNERS;
  for (int face = 0; face < 2; face++)
    for (int k = 0; k < PLATE_CORNERS; k++) {
      ul_add_scaled(foot, size * outline[k][1], axis, at);
      ul_add_scaled(at, size * outline[k][0], x, at);
      ul_add_scaled(at, size * (face ? 0.01 : -0.01), y, at);
      add_vertex(b, at);
    }
  add_triangle(b, front, front + 1, front + 2);
  add_triangle(b, back, back + 2, back + 1);
  for (uint32_t k = 0; k < PLATE_CORNERS; k++) {
    uint32_t next = (k + 1) % PLATE_CORNERS;
    add_triangle(b, front + k, back + k, back + next);
    add_triangle(b, front + k, back + next, front + next);
  }
}

/* An arrow whose tip is on the mouth, its shaft the pin of a pennant. */
static void add_flag(builder *b, const ul_vent *vent, double size) {
  static const double plumb[3] = {0, 0, 1};
  const double *axis = vent->ok ? vent->axis : plumb;
  const double profile[PIN_RINGS][2] = {
      {0.07 * size, 0.22 * size}, {0.025 * size, 0.22 * size}, {0.025 * size, size}};
  add_turned(b, vent->at_mm, axis, PIN_SIDES, profile, PIN_RINGS, 0, size);
  add_plate(b, vent->at_mm, axis, size);
}

void ul_marker_name(const ul_vent *vent, char out[UL_MARKER_NAME]) {
  const char *half = vent->half > 0 ? ", upper half" : vent->half < 0 ? ", lower half" : "";
  const char *kind = !vent->ok ? " (no hole)" : vent->kind == UL_VENT_GROOVE ? " (groove)" : "";
  snprintf(out, UL_MARKER_NAME, "vent %u%s%s", (unsigned)vent->id, kind, vent->ok ? half : "");
}

static bool name_part(ul_mesh *mesh, size_t part, const ul_vent *vent) {
  char name[UL_MARKER_NAME];
  ul_marker_name(vent, name);
  mesh->part_name[part] = ul_mesh_copy_name(name, strlen(name));
  return mesh->part_name[part] != NULL;
}

/* What a vent's part takes of the mesh. */
static void count_part(const ul_vent *vent, bool flag, size_t *vertices, size_t *triangles) {
  bool box = vent->kind == UL_VENT_GROOVE;
  size_t rings = (size_t)rings_of(vent);
  *vertices += flag ? FLAG_VERTICES : box ? BOX_VERTICES : rings * CUTTER_SIDES + 2;
  *triangles += flag ? FLAG_TRIANGLES : box ? BOX_TRIANGLES : 2 * rings * CUTTER_SIDES;
}

/* One that can't be made, or is there and plugged for good, is nothing to cut. */
static bool is_cut(const ul_vent *vent) {
  return vent->ok && !vent->closed;
}

/* One part a vent; those that are not to be cut only where `flags`. */
static ul_status build(const ul_vents *vents, bool flags, double size, ul_mesh **out,
                       ul_error *err) {
  *out = NULL;
  size_t count = 0, vertices = 0, triangles = 0;
  for (size_t i = 0; i < vents->count; i++) {
    if (!flags && !is_cut(&vents->vent[i])) continue;
    count_part(&vents->vent[i], flags, &vertices, &triangles);
    count++;
  }
  if (count == 0) return ul_fail(err, UL_E_EMPTY, "there is no vent to mark: nothing to write");
  builder b = {0};
  ul_status status = ul_mesh_new_parts(vertices, triangles, count, &b.mesh, err);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < vents->count; i++) {
    const ul_vent *vent = &vents->vent[i];
    if (!flags && !is_cut(vent)) continue;
    if (!name_part(b.mesh, b.part, vent)) {
      ul_mesh_free(b.mesh);
      return ul_fail_memory(err);
    }
    if (flags)
      add_flag(&b, vent, size);
    else
      add_cutter(&b, vent);
    b.part++;
  }
  *out = b.mesh;
  return UL_OK;
}

ul_status ul_markers_cutters(const ul_vents *vents, ul_mesh **out, ul_error *err) {
  return build(vents, false, 0, out, err);
}

ul_status ul_markers_flags(const ul_vents *vents, double size_mm, ul_mesh **out, ul_error *err) {
  *out = NULL;
  if (!(size_mm > 0 && isfinite(size_mm)))
    return ul_fail(err, UL_E_USAGE, "flags of %g mm: give a size above 0", size_mm);
  return build(vents, true, size_mm, out, err);
}

static bool join_names(const ul_mesh *from, ul_mesh *to, size_t first) {
  for (size_t p = 0; p < from->part_count; p++) {
    const char *name = from->part_name[p];
    to->part_name[first + p] = ul_mesh_copy_name(name, strlen(name));
    if (!to->part_name[first + p]) return false;
  }
  return true;
}

static void join_triangles(const ul_mesh *from, builder *to) {
  uint32_t first = (uint32_t)to->vertices;
  for (size_t v = 0; v < from->vertex_count; v++) add_vertex(to, from->vertex_mm[v]);
  uint32_t part = to->part;
  for (size_t t = 0; t < from->triangle_count; t++) {
    const uint32_t *k = from->triangle[t];
    to->part = part + from->part[t];
    add_triangle(to, first + k[0], first + k[1], first + k[2]);
  }
  to->part = part + (uint32_t)from->part_count;
}

ul_status ul_mesh_join(const ul_mesh *mesh, const ul_mesh *more, ul_mesh **out, ul_error *err) {
  *out = NULL;
  builder b = {0};
  ul_status status = ul_mesh_new_parts(mesh->vertex_count + more->vertex_count,
                                       mesh->triangle_count + more->triangle_count,
                                       mesh->part_count + more->part_count, &b.mesh, err);
  if (status != UL_OK) return status;
  if (!join_names(mesh, b.mesh, 0) || !join_names(more, b.mesh, mesh->part_count)) {
    ul_mesh_free(b.mesh);
    return ul_fail_memory(err);
  }
  join_triangles(mesh, &b);
  join_triangles(more, &b);
  *out = b.mesh;
  return UL_OK;
}
