#include "rise/front_faces.h"

#include <math.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "rise/front_cubes.h"

/* K h of the face on that side of the cube. */
static double face_of(const ul_filling *f, size_t cube, int side) {
  return side % 2 ? f->face[side / 2][cube] : f->face[side / 2][f->cubes->next[cube][side]];
}

/* Shut air takes room back where foam gives way. Not from foam that still runs like its liquid, or
 * that the turning mould lets run, while some comes: in what runs down from a heap it would pull
 * the rest of it along. */
static bool one_way(const ul_step *s, int32_t part) {
  const ul_filling *f = s->f;
  if (f->open || f->part[part].mouth_area > 0) return true;
  return s->runs && !f->part[part].grows;
}

double ul_front_drive(const ul_step *s, const ul_front_face *face) {
  double air = s->f->open ? 0 : s->value[s->f->count + (size_t)face->part];
  return s->value[face->cube] - air + face->lift;
}

double ul_front_flux(const ul_step *s, const ul_front_face *face) {
  if (face->shut) return -face->given;
  double flux = face->conduct * ul_front_drive(s, face);
  return face->one_way ? fmax(0, flux) : flux;
}

/* How the front in a partly full cube stands against a face: at (1/2 + fill) h from the full cube's
 * centre where it climbs; beside it, foam that fills more than half the cube lies there with its
 * own weight. Pa at the start of the step, and Pa more for the cube's whole volume. */
typedef struct {
  double stands, climbs;
} against;

static against against_face(const ul_step *s, size_t next, int side) {
  const ul_filling *f = s->f;
  double weight = s->now.density * UL_GRAVITY, begun = (double)s->begun[next];
  double beside = weight * (f->layer_m - fabs(f->rise[side]));
  against a = {weight * f->rise[side] * (0.5 + begun), weight * fmax(0, f->rise[side])};
  if (begun <= 0.5) return a;
  a.stands += beside * (begun - 0.5);
  a.climbs += beside;
  return a;
}

/* Where the front stands in the cube, as a share of it: at the step's end, by what was last found
 * or foreseen to arrive. Taken at the begin it was half a step short, and the pressure in a disc 16
 * cubes in radius 4.5 % low. A cube that would overflow is about to count as full, and what was
 * found for it is no measure. */
static double front_in(const ul_step *s, size_t cube) {
  double begun = (double)s->begun[cube];
  double gauge = s->value[s->f->count + (size_t)s->f->air[cube]];
  double ends = begun + s->gain[cube] * ul_volume_at(&s->now, gauge) / s->f->volume[cube];
  return ends < 1 ? fmax(0, ends) : begun;
}

/* What comes through in the step raises what it comes against: that is taken at the step's end,
 * conduct / (1 + conduct d lift / d flux), or a thin foam's level would overshoot from cube to
 * cube. */
static void describe(const ul_step *s, uint32_t cube, int side, ul_front_face *out) {
  const ul_filling *f = s->f;
  uint32_t n = (uint32_t)f->cubes->next[cube][side];
  against a = against_face(s, n, side);
  *out = (ul_front_face){.cube = cube,
                         .next = n,
                         .part = f->air[n],
                         .side = (uint8_t)side,
                         .one_way = one_way(s, f->air[n]),
                         .lift = -a.stands};
  double drive = ul_front_drive(s, out);
  const int barred = s->barred[n] & UL_BARRED_SIDE;
  out->shut = barred || (out->one_way && !(s->ajar[cube] >> side & 1));
  if (barred == 1 + side) out->given = s->f->mass[n] / s->dt;
  double donor =
      drive > 0 || out->one_way ? s->value[cube] : s->value[f->count + (size_t)out->part];
  double away = 0.5 + front_in(s, (size_t)n);
  out->conduct = ul_density_at(s, donor) * face_of(f, cube, side) / (s->now.viscosity * away);
  out->conduct /= 1 + out->conduct * a.climbs * s->dt / (s->now.density * f->volume[n]);
}

/* ---- the list ---- */

enum { RIM = 1024 }; /* cubes of the rim in a block of work */

static size_t rim_end(const ul_step *s, size_t block) {
  return (block + 1) * RIM < s->rim_count ? (block + 1) * RIM : s->rim_count;
}

static bool is_full(const ul_filling *f, int32_t cube) {
  return cube != UL_NO_CUBE && f->full[cube];
}

/* Counted first, so that each block knows where its faces go and the order is that of the rim for
 * any number of threads. */
static ul_status count_block(void *context, size_t block, int worker) {
  const ul_step *s = context;
  const ul_filling *f = s->f;
  size_t count = 0;
  (void)worker;
  for (size_t k = block * RIM; k < rim_end(s, block); k++)
    for (int side = 0; !f->full[s->rim[k]] && side < UL_SIDES; side++)
      count += is_full(f, f->cubes->next[s->rim[k]][side]);
  s->rim_faces[block + 1] = count;
  return UL_OK;
}

static ul_status list_block(void *context, size_t block, int worker) {
  const ul_step *s = context;
  const ul_filling *f = s->f;
  ul_front_face *out = s->front + s->rim_faces[block];
  (void)worker;
  for (size_t k = block * RIM; k < rim_end(s, block); k++) {
    const int32_t *next = f->cubes->next[s->rim[k]];
    for (int side = 0; !f->full[s->rim[k]] && side < UL_SIDES; side++)
      if (is_full(f, next[side])) describe(s, (uint32_t)next[side], side ^ 1, out++);
  }
  return UL_OK;
}

ul_status ul_front_list(ul_step *s, ul_error *err) {
  const size_t blocks = (s->rim_count + RIM - 1) / RIM;
  if (!ul_grow((void **)&s->rim_faces, &s->rim_faces_room, blocks + 1, sizeof *s->rim_faces))
    return ul_fail_memory(err);
  s->rim_faces[0] = 0;
  ul_parallel(s->f->job, NULL, blocks, count_block, s);
  for (size_t b = 0; b < blocks; b++) s->rim_faces[b + 1] += s->rim_faces[b];
  s->front_count = s->rim_faces[blocks];
  if (!ul_grow((void **)&s->front, &s->front_room, s->front_count, sizeof *s->front))
    return ul_fail_memory(err);
  ul_parallel(s->f->job, NULL, blocks, list_block, s);
  return UL_OK;
}
