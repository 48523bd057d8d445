#include "rise/front_move.h"

#include <math.h>

#include "rise/front_faces.h"
#include "rise/front_rim.h"

/* Shares of the mass that has to move in a step. Masses close whatever is left: a cube's miss is in
 * the next step's equation. */
static const double FACES_TO = 0.02;       /* through faces that were open or shut wrongly, or that
                                               emptied cubes would give back and have not */
static const double FACES_NEARLY = 0.1;    /* few enough for cubes to fill and fall back */
static const double EXCESS_OF_CUBE = 0.25; /* share of what one cube holds */
static const double EXCESS_TO = 0.1;       /* held beyond their volume by cubes that are not full */
static const double SURELY = 0.02; /* share of what it holds by which a cube is foreseen full */

void ul_front_gather(ul_step *s) {
  const ul_filling *f = s->f;
  for (size_t k = 0; k < s->rim_count; k++) s->gain[s->rim[k]] = 0;
  for (size_t a = 0; a < f->part_count; a++) s->part_gain[a] = 0;
  for (size_t i = 0; i < s->front_count; i++) {
    double mass = s->dt * ul_front_flux(s, &s->front[i]);
    s->gain[s->front[i].next] += mass;
    s->part_gain[s->front[i].part] += mass;
  }
}

/* Opens faces that want to pass foam and shuts those that would pull it; returns the mass that went
 * wrong through those that were misjudged in this solve. */
static double retry_faces(ul_step *s) {
  double wrong = 0;
  for (size_t i = 0; i < s->front_count; i++) s->ajar[s->front[i].cube] = 0;
  for (size_t i = 0; i < s->front_count; i++) {
    const ul_front_face *face = &s->front[i];
    double drive = ul_front_drive(s, face);
    uint8_t bit = (uint8_t)(1 << face->side);
    s->ajar[face->cube] =
        drive > 0 ? s->ajar[face->cube] | bit : s->ajar[face->cube] & (uint8_t)~bit;
    if (face->one_way && face->shut == (drive > 0)) wrong += s->dt * face->conduct * fabs(drive);
  }
  return wrong;
}

/* The faces of a cube of the rim, which follow one another from `first` to before `end`. */
typedef struct {
  size_t first, end, lowest; /* lowest: where it is pulled at most */
  double comes;              /* kg/s, were all of them open */
} rim_faces;

static rim_faces faces_from(const ul_step *s, size_t first) {
  const uint32_t n = s->front[first].next;
  rim_faces of = {first, first, first, 0};
  for (; of.end < s->front_count && s->front[of.end].next == n; of.end++) {
    const double drive = ul_front_drive(s, &s->front[of.end]);
    of.comes += s->front[of.end].conduct * drive;
    if (drive < ul_front_drive(s, &s->front[of.lowest])) of.lowest = of.end;
  }
  return of;
}

/* What a cube would give back beyond what it holds, kg; else negative. */
static double lacks(const ul_step *s, uint32_t cube) {
  return -(s->f->mass[cube] + s->gain[cube]);
}

/* A cube that would give back more foam than it has gives back what it has, where it is pulled at
 * most. (Were its faces only shut, it would never be empty, and foam behind it could not give way.)
 * Once, it is tried again when foam would now come in after all: the air before it has grown since,
 * and a pocket behind barred cubes alone would stay under the foam's pressure. Returns the mass
 * that this is about. */
static double bar_emptied(ul_step *s) {
  double wrong = 0;
  rim_faces of;
  for (size_t i = 0; i < s->front_count; i = of.end) {
    const uint32_t n = s->front[i].next;
    of = faces_from(s, i);
    const bool barred = s->barred[n] & UL_BARRED_SIDE;
    if (barred ? of.comes <= 0 || s->barred[n] & UL_BARRED_BEFORE : lacks(s, n) <= 0) continue;
    wrong += barred ? s->dt * of.comes : lacks(s, n);
    s->barred[n] =
        (uint8_t)(barred ? UL_BARRED_BEFORE
                         : (s->barred[n] & UL_BARRED_BEFORE) + 1 + s->front[of.lowest].side);
  }
  return wrong;
}

void ul_front_keep(ul_step *s) {
  rim_faces of;
  for (size_t i = 0; i < s->front_count; i = of.end) {
    const uint32_t n = s->front[i].next;
    const double missing = lacks(s, n);
    of = faces_from(s, i);
    if (missing <= 0) continue;
    for (size_t k = i; k < of.end; k++) {
      s->front[k].shut = true;
      s->front[k].given = k == of.lowest ? s->f->mass[n] / s->dt : 0;
    }
    s->gain[n] += missing;
    s->part_gain[s->front[i].part] += missing;
  }
}

/* Mass that a cube not full would hold beyond its volume, kg. */
static double excess(const ul_step *s, size_t cube) {
  const ul_filling *f = s->f;
  double gauge = s->value[f->count + (size_t)f->air[cube]];
  return f->mass[cube] + s->gain[cube] - f->volume[cube] / ul_volume_at(&s->now, gauge);
}

/* First guess for a cube that has just become full: the pressure of a full one beside it, less the
 * weight between them, and never under the air's. Its faces are tried as that would have them. */
static void guess_pressure(ul_step *s, size_t cube) {
  const ul_filling *f = s->f;
  double air = s->value[f->count + (size_t)f->air[cube]], weight = s->now.density * UL_GRAVITY;
  double guess = air;
  for (int side = 0; side < UL_SIDES; side++) {
    int32_t n = f->cubes->next[cube][side];
    if (n != UL_NO_CUBE && s->was_full[n] && f->full[n])
      guess = fmax(guess, s->value[n] + weight * f->rise[side]);
  }
  s->value[cube] = guess;
  s->ajar[cube] = 0;
  for (int side = 0; side < UL_SIDES; side++)
    if (guess - air > 0.5 * weight * f->rise[side]) s->ajar[cube] |= (uint8_t)(1 << side);
}

/* Little enough for the next step to deal with: in all, and in every single cube, where it would
 * come out as a jump of pressure. */
static bool excess_is_little(const ul_step *s) {
  const ul_filling *f = s->f;
  double total = 0;
  for (size_t k = 0; k < s->rim_count; k++) {
    uint32_t i = s->rim[k];
    if (f->full[i]) continue;
    double over = excess(s, i);
    if (over > s->settle * EXCESS_OF_CUBE * (f->mass[i] + s->gain[i])) return false;
    total += fmax(0, over);
  }
  return total <= s->settle * EXCESS_TO * s->source_kg;
}

static ul_status join(ul_step *s, uint32_t cube, ul_error *err) {
  const ul_filling *f = s->f;
  double gauge = s->value[f->count + (size_t)f->air[cube]], held = f->mass[cube] + s->gain[cube];
  s->reached[cube] = (float)(held * ul_volume_at(&s->now, gauge) / f->volume[cube]);
  ul_status status = ul_rim_join(s, cube, err);
  guess_pressure(s, cube);
  return status;
}

ul_status ul_front_foresee(ul_step *s, double longer, ul_error *err) {
  const size_t listed = s->rim_count;
  ul_status status = UL_OK;
  for (size_t k = 0; k < listed && status == UL_OK; k++) {
    uint32_t i = s->rim[k];
    s->gain[i] *= longer;
    double held = s->f->mass[i] + s->gain[i];
    if (excess(s, i) > SURELY * held) status = join(s, i, err);
  }
  return status;
}

/* Cubes that would hold more than their volume become full. */
static ul_status join_overfull(ul_step *s, bool *some, ul_error *err) {
  const ul_filling *f = s->f;
  const size_t listed = s->rim_count;
  ul_status status = UL_OK;
  *some = !excess_is_little(s);
  for (size_t k = 0; *some && k < listed && status == UL_OK; k++) {
    uint32_t i = s->rim[k];
    if (f->full[i] || excess(s, i) <= 1e-9 * f->mass[i]) continue;
    status = join(s, i, err);
  }
  return status;
}

static bool touches_part(const ul_filling *f, int32_t cube, int32_t part) {
  const int32_t *next = f->cubes->next[cube];
  for (int side = 0; side < UL_SIDES; side++)
    if (next[side] != UL_NO_CUBE && !f->full[next[side]] && f->air[next[side]] == part) return true;
  return false;
}

/* No full neighbour has a lower pressure; the lower number among equals. Under a pocket whose
 * pressure fell in the last step, for it grows, only neighbours at that pocket count: foam farther
 * in flows to where the pressure is lower still, and the pocket would never grow again. */
static bool lowest_around(const ul_step *s, uint32_t c, int32_t part) {
  const ul_filling *f = s->f;
  const int32_t *next = f->cubes->next[c];
  const bool grows = f->part[part].climb_pa_s < 0;
  for (int side = 0; side < UL_SIDES; side++) {
    int32_t n = next[side];
    if (n == UL_NO_CUBE || !f->full[n] || (grows && !touches_part(f, n, part))) continue;
    if (s->value[n] < s->value[c] || (s->value[n] == s->value[c] && n < (int32_t)c)) return false;
  }
  return true;
}

/* The cube beside one that falls back starts with its face to it shut. */
static void shut_towards(ul_step *s, uint32_t cube) {
  for (int side = 0; side < UL_SIDES; side++) {
    int32_t n = s->f->cubes->next[cube][side];
    if (n != UL_NO_CUBE) s->ajar[n] &= (uint8_t) ~(1 << (side ^ 1));
  }
}

/* Foam does not pull: a cube under less than the air's pressure, beside one that holds no foam,
 * falls back to partly full; the lowest around first, at most once a step, and not one layer behind
 * another. */
static ul_status leave(ul_step *s, bool *some, ul_error *err) {
  const ul_filling *f = s->f;
  ul_status status = UL_OK;
  for (size_t i = 0; i < s->front_count && status == UL_OK; i++) {
    const ul_front_face *face = &s->front[i];
    uint32_t c = face->cube, n = face->next;
    if (!f->full[c] || s->left[c] || s->left[n]) continue;
    double gauge = s->value[f->count + (size_t)face->part];
    if (s->value[c] >= gauge - s->now.density * UL_GRAVITY * f->cube_m) continue;
    double held = f->mass[n] + s->gain[n];
    if (held * ul_volume_at(&s->now, gauge) > 1e-6 * f->volume[n] ||
        !lowest_around(s, c, face->part))
      continue;
    status = ul_rim_leave(s, c, face->part, err);
    shut_towards(s, c);
    *some = true;
  }
  return status;
}

/* A misjudged face lets the line pull foam out of the air, so cubes fill and fall back only once
 * those are few. */
ul_status ul_front_move(ul_step *s, bool *moved, ul_error *err) {
  const double wrong = retry_faces(s), emptied = bar_emptied(s);
  *moved = fmax(wrong, emptied) > s->settle * FACES_TO * s->source_kg;
  if (wrong > s->settle * FACES_NEARLY * s->source_kg) return UL_OK;
  bool joined, left = false;
  ul_status status = join_overfull(s, &joined, err);
  if (status == UL_OK && !joined) status = leave(s, &left, err);
  *moved = *moved || joined || left;
  return status;
}
