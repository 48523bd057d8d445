/* STEP by the module ullage-step.so, where there is one. */
#include "cavity/draft.h"

#include "base/fail.h"
#include "cavity/step_module.h"

#include <ctype.h>
#include <dlfcn.h>
#include <string.h>

static ul_step_read_fn step_read;

/* The module stays loaded: the child that loads it ends soon. */
void ul_prepare_step(void) {
  void *module = dlopen(UL_STEP_MODULE, RTLD_NOW | RTLD_LOCAL);
  void *found = module ? dlsym(module, UL_STEP_FUNCTION) : NULL;
  memcpy(&step_read, &found, sizeof step_read); /* C has no cast from an object to a function */
}

typedef struct {
  ul_draft *d;
  uint32_t part, first;
} step_sink;

static bool add_part(void *draft, const char *name) {
  step_sink *s = draft;
  bool ok = true;
  s->part = ul_draft_part(s->d, name, strlen(name), &ok);
  s->first = (uint32_t)s->d->mesh->vertex_count;
  return ok;
}

static bool add_vertex(void *draft, const double at_mm[3]) {
  step_sink *s = draft;
  bool ok = true;
  uint32_t v = ul_draft_vertices(s->d, 1, &ok);
  for (int c = 0; c < 3 && ok; c++) s->d->mesh->vertex_mm[v][c] = at_mm[c];
  return ok;
}

static bool add_triangle(void *draft, const uint32_t corner[3]) {
  step_sink *s = draft;
  bool ok = true;
  ul_draft_triangle(s->d, s->first + corner[0], s->first + corner[1], s->first + corner[2], s->part,
                    &ok);
  return ok;
}

/* A draft is in the file's own unit, so that it is said and treated as of any other format. */
static void to_own_unit(ul_draft *d, double mm_per_unit) {
  d->mm_per_unit = mm_per_unit;
  if (mm_per_unit == 1) return;
  for (size_t v = 0; v < d->mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) d->mesh->vertex_mm[v][c] /= mm_per_unit;
}

static ul_status judge(ul_draft *d, const ul_step_report *r) {
  if (r->no_memory) return ul_draft_no_memory(d);
  if (*r->error) return ul_fail(&d->err, UL_E_FORMAT, "cannot be read as STEP: %.150s", r->error);
  if (r->failed_faces)
    return ul_fail_at(&d->err, UL_E_FORMAT, r->failed_at_mm, -1,
                      "%zu face(s) cannot be cut into triangles, one at x %.1f y %.1f z %.1f mm: "
                      "mend it in CAD, or export STL",
                      r->failed_faces, r->failed_at_mm[0], r->failed_at_mm[1], r->failed_at_mm[2]);
  if (r->loose_faces && r->solids)
    ul_draft_note(d, "%zu faces belong to no solid and were left out.", r->loose_faces);
  else if (r->loose_faces)
    ul_draft_note(d, "Its %zu faces were drawn as no solid; they were taken together.",
                  r->loose_faces);
  return UL_OK;
}

/* A number that no double holds would keep the general library busy until its time is up. */
static bool holds_infinity(const ul_draft *d) {
  bool quoted = false;
  for (size_t i = 1; i + 4 < d->size; i++) {
    const unsigned char *c = d->bytes + i;
    if (*c == '\'') quoted = !quoted;
    if (quoted || *c != 'E' || !(c[-1] == '.' || isdigit(c[-1]))) continue;
    c += c[1] == '+' ? 2 : 1;
    size_t digits = 0;
    while (c + digits < d->bytes + d->size && isdigit(c[digits])) digits++;
    if (digits > 3 || (digits == 3 && *c >= '3')) return true;
  }
  return false;
}

ul_status ul_read_step(ul_draft *d) {
  memcpy(d->format, "STEP", sizeof "STEP");
  if (!step_read)
    return ul_fail(&d->err, UL_E_FORMAT,
                   "is a STEP model, which this ullage was built without: export it as STL or 3MF, "
                   "or build ullage where libocct-data-exchange-dev is installed");
  if (holds_infinity(d))
    return ul_fail(&d->err, UL_E_NUMBER,
                   "has a number of 1E300 or more, which is no place on a part: export it again");
  step_sink s = {.d = d};
  ul_step_sink sink = {&s, add_part, add_vertex, add_triangle};
  ul_step_report report = {.mm_per_unit = 1};
  step_read(d->bytes, d->size, &sink, &report);
  ul_status status = judge(d, &report);
  if (status == UL_OK) to_own_unit(d, report.mm_per_unit);
  return status;
}
