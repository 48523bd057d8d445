#include "cavity/audit.h"

#include "base/fail.h"
#include "base/memory.h"
#include "base/parallel.h"
#include "base/vec.h"
#include "cavity/measure.h"
#include "cavity/reading.h"
#include "cavity/triangle_pair.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { COOKIE = 0x501d };

ul_solid_opts ul_solid_opts_default(void) {
  return (ul_solid_opts){.cookie = COOKIE, .drawn = UL_DRAWN_ASK};
}

void ul_audit_free(ul_audit *audit) {
  if (!audit) return;
  free(audit->fault);
  free(audit->hole);
  free(audit);
}

static void end_survey(ul_survey *s) {
  ul_mesh_free(s->mesh);
  free(s->welded_id);
  ul_edges_free(&s->edges);
  ul_flood_free(&s->flood);
  free(s->hole);
  free(s->member_start);
  free(s->member);
  free(s->measure);
  ul_crossings_free(&s->crossings);
}

static ul_status tell(const ul_survey *s, double done) {
  return ul_job_tell(s->job, "audit", done) ? UL_OK : UL_E_STOPPED;
}

/* -- topology -- */

static void note_edges(ul_survey *s) {
  const ul_mesh *mesh = s->mesh;
  for (size_t r = 0; r < s->edges.run_count; r++) {
    size_t count = s->edges.run[r].count;
    if (count < 3) continue;
    uint32_t half = s->edges.use[s->edges.run[r].first].half;
    const double *a = mesh->vertex_mm[ul_half_from(mesh, half)];
    const double *b = mesh->vertex_mm[ul_half_to(mesh, half)];
    double middle[3];
    for (int c = 0; c < 3; c++) middle[c] = (a[c] + b[c]) / 2;
    ul_note(s, count % 2 ? UL_FAULT_ODD_EDGE : UL_FAULT_NON_MANIFOLD, 1, middle, (long)(half / 3));
  }
}

/* Joins edges with four and more triangles, if there are any, and finds the shells. */
static ul_status find_shells(ul_survey *s) {
  ul_status status = ul_flood_make(s->mesh, &s->edges, &s->flood);
  if (status != UL_OK || s->fault[UL_FAULT_NON_MANIFOLD].count == 0) return status;
  status = ul_edges_join_many(s->mesh, &s->flood, &s->edges);
  if (status != UL_OK) return status;
  ul_flood_free(&s->flood);
  return ul_flood_make(s->mesh, &s->edges, &s->flood);
}

static void mend_winding(ul_survey *s) {
  const ul_flood *f = &s->flood;
  bool mixed = false;
  for (size_t t = 0; t < s->mesh->triangle_count; t++) {
    if (!f->flip[t]) continue;
    ul_note_triangle(s, UL_FAULT_WINDING, 1, t);
    mixed = true;
  }
  if (f->conflict_count > 0)
    ul_note_triangle(s, UL_FAULT_UNORIENTABLE, f->conflict_count, f->conflict / 3);
  if (mixed) ul_edges_turn(s->mesh, &s->edges, f->flip);
}

static ul_status survey_topology(ul_survey *s) {
  ul_status status = ul_drop_pointed(s);
  if (status == UL_OK) status = ul_edges_make(s->mesh, s->job, &s->edges);
  if (status == UL_OK) status = tell(s, 0.2);
  if (status == UL_OK) status = ul_drop_spare(s);
  if (status == UL_OK) status = ul_close_holes(s);
  if (status == UL_OK && s->mesh->triangle_count == 0) status = UL_E_EMPTY;
  if (status != UL_OK) return status;
  note_edges(s);
  status = find_shells(s);
  if (status == UL_OK) mend_winding(s);
  return status;
}

/* -- shells of a closed mesh -- */

static ul_status list_members(ul_survey *s) {
  size_t triangles = s->mesh->triangle_count, shells = s->flood.shell_count;
  s->member_start = ul_new(shells + 2, sizeof *s->member_start);
  s->member = ul_new_raw(triangles, sizeof *s->member);
  if (!s->member_start || !s->member) return UL_E_MEMORY;
  for (size_t t = 0; t < triangles; t++) s->member_start[s->flood.shell_of[t] + 2]++;
  for (size_t i = 2; i < shells + 2; i++) s->member_start[i] += s->member_start[i - 1];
  for (size_t t = 0; t < triangles; t++)
    s->member[s->member_start[s->flood.shell_of[t] + 1]++] = (uint32_t)t;
  return UL_OK;
}

bool ul_shell_is_flat(const ul_measure *m) {
  double size = ul_distance(m->box_mm[0], m->box_mm[1]);
  return fabs(m->volume_mm3) <= 1e-12 * m->area_mm2 * size;
}

static ul_status measure_shells(ul_survey *s) {
  size_t shells = s->flood.shell_count, flat = 0;
  s->measure = ul_new_raw(shells, sizeof *s->measure);
  if (!s->measure) return UL_E_MEMORY;
  for (size_t i = 0; i < shells; i++) {
    const uint32_t *id = s->member + s->member_start[i];
    size_t count = s->member_start[i + 1] - s->member_start[i];
    ul_status status = ul_measure_parallel(s->mesh, id, count, s->job, &s->measure[i]);
    if (status != UL_OK) return status;
    flat += ul_shell_is_flat(&s->measure[i]);
  }
  for (size_t i = 0; i < shells; i++)
    if (ul_shell_is_flat(&s->measure[i]))
      ul_note_triangle(s, flat < shells ? UL_FAULT_FLAT_SHELL : UL_FAULT_ALL_FLAT, 1,
                       s->member[s->member_start[i]]);
  return UL_OK;
}

static ul_status find_crossings(ul_survey *s) {
  if (s->opts->skip_self_intersection) return UL_OK;
  signed char *outward = ul_new_raw(s->flood.shell_count, 1);
  if (!outward) return UL_E_MEMORY;
  for (size_t i = 0; i < s->flood.shell_count; i++)
    outward[i] = ul_shell_is_flat(&s->measure[i]) ? 0 : s->measure[i].volume_mm3 < 0 ? -1 : 1;
  ul_status status = ul_crossings_find(s->mesh, &s->edges, s->flood.shell_of, outward, s->touch_mm,
                                       s->job, &s->crossings);
  free(outward);
  if (status == UL_OK && s->crossings.self_count > 0)
    ul_note(s, UL_FAULT_SELF_INTERSECTING, s->crossings.self_count, s->crossings.at_mm,
            (long)s->crossings.triangle);
  return status;
}

static ul_status survey_shells(ul_survey *s) {
  s->touch_mm = ul_touching_distance(s->mesh);
  ul_status status = list_members(s);
  if (status == UL_OK) status = measure_shells(s);
  if (status == UL_OK) status = tell(s, 0.4);
  if (status == UL_OK) status = find_crossings(s);
  return status == UL_OK ? tell(s, 0.9) : status;
}

/* -- the whole -- */

static bool can_bound(const ul_survey *s) {
  for (int kind = 0; kind < UL_FAULT_END; kind++)
    if (s->fault[kind].count > 0 && !ul_fault_usable((ul_fault_kind)kind)) return false;
  return true;
}

static ul_status survey(ul_survey *s, ul_reading *reading) {
  ul_status status = survey_topology(s);
  if (status == UL_OK && can_bound(s)) status = survey_shells(s);
  if (status == UL_OK && can_bound(s)) status = ul_reading_make(s, reading);
  return status;
}

static ul_status fill_audit(ul_survey *s, ul_audit *audit) {
  audit->closed = s->fault[UL_FAULT_OPEN].count == 0 && s->fault[UL_FAULT_ODD_EDGE].count == 0;
  audit->shell_count = s->flood.shell_count;
  ul_status status = ul_list_faults(s, audit);
  audit->hole = s->hole;
  audit->hole_count = s->hole_count;
  s->hole = NULL;
  return status;
}

static ul_status begin_survey(const ul_mesh *mesh, const ul_solid_opts *opts, ul_survey *s,
                              ul_error *err) {
  if (!opts || opts->cookie != COOKIE)
    return ul_fail(err, UL_E_USAGE,
                   "audit options are not initialised: start from "
                   "ul_solid_opts_default()");
  if (!(opts->patch_mm >= 0) || isinf(opts->patch_mm))
    return ul_fail(err, UL_E_USAGE, "--patch %g is not a size: give 0 or more, in mm",
                   opts->patch_mm);
  if (mesh->triangle_count == 0)
    return ul_fail(err, UL_E_EMPTY, "the mesh holds no triangles: export the cavity again");
  if (mesh->triangle_count > UINT32_MAX / 3)
    return ul_fail(err, UL_E_LIMIT,
                   "%zu triangles are more than the %u that can be audited: "
                   "export a coarser mesh",
                   mesh->triangle_count, UINT32_MAX / 3);
  return ul_mesh_copy(mesh, &s->mesh, err);
}

static ul_status explain(ul_status status, ul_error *err) {
  return status == UL_E_MEMORY    ? ul_fail_memory(err)
         : status == UL_E_STOPPED ? ul_fail(err, UL_E_STOPPED, "stopped during the audit")
         : status == UL_E_EMPTY
             ? ul_fail(err, UL_E_EMPTY, "no triangle has any area: export the cavity again")
         : status == UL_E_MACHINE ? ul_fail(err, UL_E_MACHINE, "no lock could be made: try again")
         : status == UL_E_LIMIT   ? ul_fail(err, UL_E_LIMIT,
                                            "shells overlap in more places than can be counted: join "
                                              "the bodies in CAD")
                                  : status;
}

ul_status ul_audit_mesh(const ul_mesh *mesh, const ul_solid_opts *opts, const ul_job *job,
                        ul_audit **audit, ul_solid **solid, ul_error *err) {
  ul_survey s = {.job = job, .opts = opts};
  ul_reading reading = {0};
  *audit = NULL;
  *solid = NULL;
  ul_status status = begin_survey(mesh, opts, &s, err);
  if (status != UL_OK) return status;
  ul_audit *made = ul_new(1, sizeof *made);
  status = made ? survey(&s, &reading) : UL_E_MEMORY;
  if (status == UL_OK) status = fill_audit(&s, made);
  if (status == UL_OK && made->usable) status = ul_solid_make(&s, &reading, solid, err);
  ul_reading_free(&reading);
  end_survey(&s);
  if (status == UL_OK) {
    *audit = made;
    return UL_OK;
  }
  ul_audit_free(made);
  return explain(status, err);
}
