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
        (ul_skin_piece){to->corner_count + p->first, p->count, number[p->source], p->met};
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

/* A cavity of what was made. */
typedef struct {
  uint32_t of;  /* the cavity it is a part of */
  bool started; /* that is known */
  bool walled;  /* some of its wall is that cavity's own; else it is sealed in or between inserts */
} room;

/* False: one is round parts of two cavities. */
static bool list_rooms(const uniting *u, const ul_solid *made, const uint32_t *piece, room *list) {
  uint32_t of = 0;
  for (size_t t = 0; t < made->mesh->triangle_count; t++) {
    while (piece[t] >= u->end[of]) of++;
    room *r = &list[made->cavity_of[t]];
    if (r->started && r->of != of) return false;
    r->of = of;
    r->started = true;
    r->walled = r->walled || u->skin.piece[piece[t]].source < u->of->mesh->triangle_count;
  }
  return true;
}

static bool is_as(double is, double want) {
  return fabs(is - want) <= SAME * want;
}

/* Together the rooms of each cavity are as big as its pieces say, and each has one that is not
 * sealed. */
static bool measures_up(const uniting *u, const ul_solid *made, const room *list) {
  for (uint32_t i = 0; i < u->of->cavity_count; i++) {
    double volume = 0, area = 0;
    bool some = false;
    for (size_t k = 0; k < made->cavity_count; k++) {
      if (list[k].of != i) continue;
      volume += made->cavity[k].volume_mm3;
      area += made->cavity[k].area_mm2;
      some = some || list[k].walled;
    }
    if (!some || !is_as(volume, u->want[i].volume_mm3) || !is_as(area, u->want[i].area_mm2))
      return false;
  }
  return true;
}

/* No foam gets into a sealed room: without their triangles it is as if the inserts were full. */
static size_t leave_out_sealed(uniting *u, const ul_solid *made, const room *list, ul_mesh *closed,
                               uint32_t *piece) {
  size_t sealed = 0, left = 0;
  for (size_t k = 0; k < made->cavity_count; k++) {
    if (list[k].walled) continue;
    sealed++;
    u->want[list[k].of].volume_mm3 -= made->cavity[k].volume_mm3;
    u->want[list[k].of].area_mm2 -= made->cavity[k].area_mm2;
  }
  for (size_t t = 0; sealed && t < closed->triangle_count; t++) {
    if (!list[made->cavity_of[t]].walled) continue;
    memcpy(closed->triangle[left], closed->triangle[t], sizeof *closed->triangle);
    closed->part[left] = closed->part[t];
    piece[left++] = piece[t];
  }
  if (sealed) closed->triangle_count = left;
  return sealed;
}

static bool is_good(const uniting *u, const ul_audit *found, const ul_mesh *closed,
                    const ul_solid *made, const uint32_t *piece, room *list) {
  return is_sound(found, made) && made->mesh->triangle_count == closed->triangle_count &&
         list_rooms(u, made, piece, list) && measures_up(u, made, list);
}

/* *again: sealed rooms were left out of `closed`. */
static ul_status audit(uniting *u, ul_mesh *closed, uint32_t *piece, const ul_job *job, bool *again,
                       ul_solid **out, ul_error *err) {
  ul_solid_opts opts = ul_solid_opts_default();
  opts.drawn = UL_DRAWN_PART;
  ul_audit *found;
  ul_solid *made;
  *again = false;
  ul_status status = ul_audit_mesh(closed, &opts, job, &found, &made, err);
  if (status != UL_OK) return status;
  room *list = ul_new(made ? made->cavity_count : 0, sizeof *list);
  const bool good = list && is_good(u, found, closed, made, piece, list);
  *again = good && leave_out_sealed(u, made, list, closed, piece) > 0;
  if (good && !*again) {
    made->read_as_block = u->of->read_as_block;
    made->reading_doubtful = u->of->reading_doubtful;
    *out = made;
  } else
    ul_solid_free(made);
  ul_audit_free(found);
  status = list ? UL_OK : UL_E_MEMORY;
  free(list);
  return status;
}

/* What is nearer than `touch_mm` touches. */
static ul_status cut_so(const ul_solid *solid, ul_mesh *mesh, double touch_mm, const ul_job *job,
                        ul_solid **out, ul_error *err) {
  uniting u = {.of = solid, .mesh = mesh};
  ul_mesh *closed = NULL;
  uint32_t *piece = NULL;
  ul_status status = cut_all(&u, touch_mm, job);
  if (status == UL_OK && u.skin.piece_count)
    status = ul_skin_stitch(&u.skin, mesh, NEAR_TOUCHES * touch_mm, &closed, &piece);
  /* Pieces that the welding of corners leaves nothing of are no skin. */
  bool again = status == UL_OK && closed && closed->triangle_count > 0;
  for (int round = 0; status == UL_OK && again && round < 2; round++)
    status = audit(&u, closed, piece, job, &again, out, err);
  if (status == UL_E_MEMORY) ul_fail_memory(err);
  if (status == UL_E_LIMIT) status = UL_OK; /* too many pieces for one mesh */
  ul_skin_clear(&u.skin);
  free(u.end);
  free(u.want);
  ul_mesh_free(closed);
  free(piece);
  return status;
}

/* As float files round, faces drawn in one plane are; but of many small triangles in general
 * position some meet at so flat an angle that this much is a long way. */
ul_status ul_inserts_cut(const ul_solid *solid, const ul_solid *const *insert, size_t count,
                         const ul_job *job, ul_solid **out, ul_error *err) {
  static const double finer[] = {1, 1.0 / 64, 1.0 / 4096};
  ul_mesh *mesh;
  *out = NULL;
  ul_status status = ul_inserts_join(solid->mesh, insert, count, true, &mesh, err);
  if (status != UL_OK) return status;
  const double touch = ul_touching_distance(mesh);
  for (size_t i = 0; status == UL_OK && !*out && i < sizeof finer / sizeof *finer; i++)
    status = cut_so(solid, mesh, finer[i] * touch, job, out, err);
  ul_mesh_free(mesh);
  return status;
}

ul_status ul_solid_unite(const ul_solid *solid, const ul_job *job, ul_solid **out, ul_error *err) {
  *out = NULL;
  return solid->overlapping ? ul_inserts_cut(solid, NULL, 0, job, out, err) : UL_OK;
}
