#include "main/plan_card.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "main/plan_air.h"
#include "main/vent_files.h"
#include "ullage/card.h"

/* The last part of the file's name. */
static const char *name_of(const char *path) {
  const char *slash = strrchr(path, '/');
  return slash ? slash + 1 : path;
}

static long long card_date(void) {
  const char *given = getenv("SOURCE_DATE_EPOCH");
  return given ? strtoll(given, NULL, 10) : 0;
}

static ul_card card_of(const cavity_case *c, const plan *p) {
  ul_card card = {.name = name_of(c->opts->cavity_file),
                  .solid = c->solid,
                  .tool = &c->tool,
                  .props = &p->props,
                  .vents = p->vents,
                  .pour_mm = (const double(*)[3])p->level->pour_mm,
                  .poured_up = c->opts->has_poured_up ? c->opts->poured_up : NULL,
                  .hole_count = c->opts->hole_count,
                  .hole = c->opts->hole,
                  .hole_plug = c->opts->hole_plug,
                  .datum = c->opts->datum,
                  .tries = p->sure.tries,
                  .good = p->sure.good,
                  .fills = p->fills,
                  .tries_how = plan_tries_how(p),
                  .verdict = p->verdict,
                  .sound = p->sound,
                  .caution_count = p->shop.caution_count,
                  .caution = p->shop.caution,
                  .inch = c->opts->inch,
                  .paper = c->opts->paper,
                  .made_s = card_date()};
  memcpy(card.side_name, c->opts->side_name, sizeof card.side_name);
  ul_copy3(p->up, card.up);
  return card;
}

/* A charge a cavity, and when foam shows at each vent. */
static void fill_in(const plan *p, ul_charge *charge, double *shows_s) {
  for (size_t i = 0; i < p->shop.cavity_count; i++) charge[i] = p->shop.cavity[i].charge;
  for (size_t i = 0; i < p->vents->count; i++) shows_s[i] = NAN;
  for (size_t i = 0; i < p->foam.first_hole; i++)
    shows_s[p->foam.vent_id[i] - 1] = p->foam.rise->vent[i].foam_shows_s;
}

static ul_status write_card(const void *what, const char *path, ul_error *err) {
  return ul_write_card(what, path, err);
}

/* NULL: no memory. */
static ul_card_air *air_of(const cavity_case *c, const plan *p, size_t *count) {
  plan_air *from = plan_air_list(c, p, count);
  ul_card_air *list = from ? ul_new(*count, sizeof *list) : NULL;
  for (size_t i = 0; list && i < *count; i++) {
    list[i] = (ul_card_air){.id = from[i].id, .void_mm3 = from[i].void_mm3};
    ul_copy3(from[i].at_mm, list[i].at_mm);
  }
  free(from);
  return list;
}

ul_status plan_write_card(const cavity_case *c, const plan *p, const char *dir, ul_error *err) {
  ul_card card = card_of(c, p);
  ul_charge *charge = ul_new(p->shop.cavity_count, sizeof *charge);
  double *shows_s = ul_new(p->vents->count, sizeof *shows_s);
  ul_card_air *air = air_of(c, p, &card.air_count);
  ul_status status = charge && shows_s && air ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) {
    card.air = air;
    if (p->shop.has_foam) {
      fill_in(p, charge, shows_s);
      card.charge = charge;
      card.foam = &p->shop.foam;
      card.charge_opts = &c->opts->charge;
      card.foam_shows_s = shows_s;
      card.clock = &p->shop.clock;
      card.hold = &p->shop.hold;
    }
    status = write_in(dir, "bench-card.pdf", write_card, &card, err);
  }
  free(charge);
  free(shows_s);
  free(air);
  return status;
}
