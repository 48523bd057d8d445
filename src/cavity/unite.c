/* unite.c - a cavity with bodies in and through one another, as a cavity with one skin. */
#include "ullage/insert.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/stitch.h"
#include "cavity/triangle_pair.h"
#include "cavity/union.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* How near corners are one corner, in touches; cutting takes heights of a touch for none. */
static const double NEAR_TOUCHES = 4;
/* By how much the mesh may differ from its own pieces: what moving corners so little can do. */
static const double SAME = 1e-5;

typedef struct {
  const ul_solid *of;
  ul_mesh *mesh; /* of all cavities, then of what is taken out */
  ul_skin skin;  /* by cavity */
  size_t *end;   /* per cavity: its pieces end here */
  ul_measure *want;
} uniting;

/* -- the pieces of each cavity -- */

/* The triangles of a cavity alone, then all that is taken out; `number` says which they are. */
static ul_status pick(const uniting *u, uint32_t cavity, ul_mesh **out, uint32_t *number,
                      size_t *own) {
  const ul_mesh *mesh = u->mesh;
  size_t count = 0;
  *own = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    bool taken = t >= u->of->mesh->triangle_count;
    if (!taken && u->of->cavity_of[t] != cavity) continue;
    *own += !taken;
    number[count++] = (uint32_t)t;
  }
  ul_status status = ul_mesh_new(mesh->vertex_count, count, out, NULL);
  if (status != UL_OK) return status;
  memcpy((*out)->vertex_mm, mesh->vertex_mm, mesh->vertex_count * sizeof *mesh->vertex_mm);
  for (size_t t = 0; t < count; t++)
    memcpy((*out)->triangle[t], mesh->triangle[number[t]], sizeof *mesh->triangle);
  return UL_OK;
}

static ul_status append(ul_skin *to, const ul_skin *more, const uint32_t *number) {
  if (!ul_grow((void **)&to->corner, &to->corner_room, to->corner_count + more->corner_count,
               sizeof *to->corner) ||
      !ul_grow((void **)&to->piece, &to->piece_room, to->piece_count + more->piece_count,
               sizeof *to->piece))
    return UL_E_MEMORY;
  for (size_t i = 0; i < more->piece_count; i++) {
    const ul_skin_piece *p = &more->piece[i];
    to->piece[to->piece_count++] =
        (ul_skin_piece){to->corner_count + p->first, p->count, number[p->source]};
  }
  for (size_t i = 0; i < more->corner_count; i++)
    ul_copy3(more->corner[i], to->corner[to->corner_count++]);
  return UL_OK;
}

static ul_status cut_cavity(uniting *u, uint32_t cavity, double touch_mm, uint32_t *number,
                            const ul_job *job) {
  ul_mesh *alone;
  ul_skin skin = {0};
  size_t own;
  ul_status status = pick(u, cavity, &alone, number, &own);
  if (status == UL_OK) status = ul_skin_cut(alone, own, !u->of->overlapping, touch_mm, job, &skin);
  if (status == UL_OK) status = ul_skin_measure(&skin, job, &u->want[cavity]);
  if (status == UL_OK) status = append(&u->skin, &skin, number);
  u->end[cavity] = u->skin.piece_count;
  ul_skin_clear(&skin);
  ul_mesh_free(alone);
  return status;
}

static ul_status cut_all(uniting *u, double touch_mm, const ul_job *job) {
  uint32_t *number = ul_new_raw(u->mesh->triangle_count, sizeof *number);
  u->want = ul_new(u->of->cavity_count, sizeof *u->want);
  u->end = ul_new(u->of->cavity_count, sizeof *u->end);
  ul_status status = number && u->want && u->end ? UL_OK : UL_E_MEMORY;
  for (uint32_t i = 0; status == UL_OK && i < u->of->cavity_count; i++)
    status = cut_cavity(u, i, touch_mm, number, job);
  free(number);
  return status;
}

/* -- what came of them -- */

static bool is_sound(const ul_audit *audit, const ul_solid *made) {
  if (!made || made->overlapping) return false;
  for (size_t i = 0; i < audit->fault_count; i++)
    if (audit->fault[i].kind == UL_FAULT_SELF_INTERSECTING) return false;
  return true;
}

/* Every triangle bounds the cavity that its piece was cut from. */
static bool keeps_cavities(const uniting *u, const ul_solid *made, const uint32_t *piece) {
  if (made->cavity_count != u->of->cavity_count) return false;
  for (size_t t = 0, i = 0; t < made->mesh->triangle_count; t++) {
    while (piece[t] >= u->end[i]) i++;
    if (made->cavity_of[t] != i) return false;
  }
  return true;
}

static bool measures_up(const uniting *u, const ul_solid *made) {
  for (size_t i = 0; i < made->cavity_count; i++) {
    const ul_measure *is = &made->cavity[i], *want = &u->want[i];
    if (!(fabs(is->volume_mm3 - want->volume_mm3) <= SAME * want->volume_mm3 &&
          fabs(is->area_mm2 - want->area_mm2) <= SAME * want->area_mm2))
      return false;
  }
  return true;
}

static ul_status audit(const uniting *u, const ul_mesh *closed, const uint32_t *piece,
                       const ul_job *job, ul_solid **out, ul_error *err) {
  ul_solid_opts opts = ul_solid_opts_default();
  opts.drawn = UL_DRAWN_PART;
  ul_audit *found;
  ul_solid *made;
  ul_status status = ul_audit_mesh(closed, &opts, job, &found, &made, err);
  if (status != UL_OK) return status;
  if (is_sound(found, made) && made->mesh->triangle_count == closed->triangle_count &&
      keeps_cavities(u, made, piece) && measures_up(u, made)) {
    made->read_as_block = u->of->read_as_block;
    made->reading_doubtful = u->of->reading_doubtful;
    *out = made;
  } else
    ul_solid_free(made);
  ul_audit_free(found);
  return UL_OK;
}

ul_status ul_inserts_cut(const ul_solid *solid, const ul_solid *const *insert, size_t count,
                         const ul_job *job, ul_solid **out, ul_error *err) {
  *out = NULL;
  uniting u = {.of = solid};
  ul_mesh *closed = NULL;
  uint32_t *piece = NULL;
  ul_status status = ul_inserts_join(solid->mesh, insert, count, true, &u.mesh, err);
  if (status != UL_OK) return status;
  double touch = ul_touching_distance(u.mesh);
  status = cut_all(&u, touch, job);
  if (status == UL_OK && u.skin.piece_count)
    status = ul_skin_stitch(&u.skin, u.mesh, NEAR_TOUCHES * touch, &closed, &piece);
  if (status == UL_OK && closed) status = audit(&u, closed, piece, job, out, err);
  if (status == UL_E_MEMORY) ul_fail_memory(err);
  if (status == UL_E_LIMIT) status = UL_OK; /* too many pieces for one mesh */
  ul_mesh_free(u.mesh);
  ul_skin_clear(&u.skin);
  free(u.end);
  free(u.want);
  ul_mesh_free(closed);
  free(piece);
  return status;
}

ul_status ul_solid_unite(const ul_solid *solid, const ul_job *job, ul_solid **out, ul_error *err) {
  *out = NULL;
  return solid->overlapping ? ul_inserts_cut(solid, NULL, 0, job, out, err) : UL_OK;
}
