#include "main/cavity_case.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/bvh.h"
#include "main/inserts.h"
#include "report/json.h"

/* The default resolution: this many cubes in the cavity, and finer (to the second limit at most)
 * where the thinner twentieth of it would have under four cubes across. */
enum { CUBES = 250000, CUBES_MOST = 4000000, CUBES_ACROSS = 4 };

/* An expanding rise costs some seconds at this many, and ten times as much at eight times as many.
 */
enum { FOAM_CUBES = 20000, FOAM_CUBES_MOST = 60000 };

static ul_status pick_others(cavity_case *c, size_t picked, ul_error *err) {
  size_t count = c->whole->cavity_count;
  c->other = ul_new(count, sizeof(ul_solid *));
  if (!c->other) return ul_fail_memory(err);
  ul_status status = UL_OK;
  for (size_t i = 0; i < count && status == UL_OK; i++)
    if (i != picked) status = ul_solid_pick(c->whole, i, &c->other[c->other_count++], err);
  return status;
}

static ul_status pick_cavity(cavity_case *c, ul_error *err) {
  long wanted = c->opts->cavity;
  if (!c->solid || wanted == 0) return UL_OK;
  if ((size_t)wanted > c->solid->cavity_count)
    return ul_fail(err, UL_E_USAGE, "--cavity %ld: the file has %zu", wanted,
                   c->solid->cavity_count);
  ul_solid *picked;
  ul_status status = ul_solid_pick(c->solid, (size_t)wanted - 1, &picked, err);
  if (status != UL_OK) return status;
  c->whole = c->solid;
  c->solid = picked;
  c->first_cavity = (uint32_t)wanted - 1;
  return pick_others(c, c->first_cavity, err);
}

/* Overlapping shells become one skin where a clean one comes of them. */
static ul_status unite(cavity_case *c, ul_error *err) {
  ul_solid *one;
  ul_status status = ul_solid_unite(c->solid, &c->job, &one, err);
  if (status != UL_OK || !one) return status;
  ul_solid_free(c->solid);
  c->solid = one;
  return UL_OK;
}

ul_status case_open(cavity_case *c, const options *opts, ul_error *err) {
  memset(c, 0, sizeof *c);
  c->opts = opts;
  c->cubes = CUBES;
  c->cubes_most = CUBES_MOST;
  progress_begin(&c->bar, opts->quiet);
  c->job = (ul_job){.threads = (int)opts->threads, .progress = progress_tell, .user = &c->bar};
  ul_import_opts import = ul_import_opts_default();
  import.unit = opts->unit;
  import.grow_percent = opts->grow_percent;
  import.part = opts->part;
  import.part_count = opts->part_count;
  ul_mesh *mesh;
  ul_status status = ul_import(opts->cavity_file, &import, &c->job, &mesh, &c->info, err);
  if (status != UL_OK) return status;
  ul_solid_opts audit = ul_solid_opts_default();
  audit.drawn = opts->drawn;
  audit.patch_mm = opts->patch_mm;
  status = ul_audit_mesh(mesh, &audit, &c->job, &c->audit, &c->solid, err);
  ul_mesh_free(mesh);
  if (status == UL_OK && c->solid) status = unite(c, err);
  if (status == UL_OK) status = pick_cavity(c, err);
  c->bare = c->solid;
  return status == UL_OK && c->solid ? inserts_open(c, err) : status;
}

size_t case_cavity_number(const cavity_case *c, size_t i) {
  return c->first_cavity + i + 1;
}

ul_rise_told case_rise_told(const cavity_case *c, const ul_rise *rise) {
  return (ul_rise_told){.rise = rise,
                        .foam_known = c->opts->foam != NULL,
                        .void_ok_mm3 = c->opts->void_ok_cm3 * 1000,
                        .first_cavity = c->first_cavity};
}

json_t *case_cavities_json(const cavity_case *c) {
  json_t *list = ul_json_cavities(c->solid, c->grid);
  for (size_t i = 0; i < json_array_size(list); i++)
    ul_json_put(json_array_get(list, i), "id", json_integer((json_int_t)case_cavity_number(c, i)));
  return list;
}

static void drop_cubes(cavity_case *c) {
  ul_grid_free(c->grid);
  ul_columns_free(c->columns);
  c->grid = NULL;
  c->columns = NULL;
}

/* A wish that the machine cannot hold is refused before it makes everything else on it slow. Mask,
 * fill, wall, half-gap and cavity of a cube take 17 bytes; columns and trees come on top. */
static ul_status check_room(const ul_lattice *l, ul_error *err) {
  double cubes = (double)l->n[0] * l->n[1] * l->n[2], gb = cubes * 24 / 1e9;
  double free_gb = (double)sysconf(_SC_AVPHYS_PAGES) * (double)sysconf(_SC_PAGESIZE) / 1e9;
  if (gb < 0.8 * free_gb) return UL_OK;
  return ul_fail(
      err, UL_E_MEMORY,
      "cubes of %.3g mm are %.3g of them with what is round the cavity, some %.3g GB, and "
      "%.3g GB are free: use a larger --cube or fewer --cubes",
      l->cube_mm, cubes, gb, free_gb);
}

static ul_status cut(cavity_case *c, double cube_mm, ul_error *err) {
  double box[2][3];
  ul_mesh_box_mm(c->solid->mesh, box);
  const ul_solid *const *insert;
  size_t count = case_loose_inserts(c, &insert);
  ul_lattice lattice;
  ul_status status = ul_lattice_for_box((const double(*)[3])box, cube_mm, &lattice, err);
  if (status == UL_OK) status = check_room(&lattice, err);
  if (status != UL_OK) return inserts_all_but_fill_it(c, cube_mm, status, err);
  status = ul_columns_build(c->solid, insert, count, &lattice, &c->job, &c->columns, err);
  if (status == UL_OK && count && c->columns->bundle[2].run_count == 0)
    status = inserts_fill_it(c, err);
  if (status == UL_OK)
    status = ul_grid_build(c->solid, insert, count, c->columns, &c->job, &c->grid, err);
  return status;
}

static ul_status cut_to_fit(cavity_case *c, ul_error *err) {
  const options *o = c->opts;
  if (o->cube_mm > 0) return cut(c, o->cube_mm, err);
  double cube = ul_cube_for_count(c->solid, o->cubes > 0 ? o->cubes : c->cubes);
  ul_status status = cut(c, cube, err);
  if (status != UL_OK || o->cubes > 0) return status;
  /* A little finer than it need be, or rounding would have every such place named as too thin. */
  double fits = 0.98 * 2 * c->grid->half_gap_p5_mm / CUBES_ACROSS;
  double finer = fmax(fits, ul_cube_for_count(c->solid, c->cubes_most));
  if (finer > 0.95 * cube) return UL_OK;
  drop_cubes(c);
  return cut(c, finer, err);
}

static bool is_inside(const ul_grid *g, const double at_mm[3]) {
  const ul_lattice *l = &g->lattice;
  double cube[3];
  for (int k = 0; k < 3; k++) {
    cube[k] = floor((at_mm[k] - l->origin_mm[k]) / l->cube_mm);
    if (!(cube[k] >= 0 && cube[k] < l->n[k])) return false;
  }
  return g->inside[((size_t)cube[2] * (size_t)l->n[1] + (size_t)cube[1]) * (size_t)l->n[0] +
                   (size_t)cube[0]];
}

static double to_wall_mm(const ul_mesh *mesh, const double at_mm[3]) {
  double least = INFINITY;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    double corner[3][3], near[3];
    for (int k = 0; k < 3; k++) ul_copy3(mesh->vertex_mm[mesh->triangle[t][k]], corner[k]);
    least = fmin(least, ul_triangle_nearest((const double(*)[3])corner, at_mm, near));
  }
  return sqrt(least);
}

/* A vent in the middle of the air is none: most likely its numbers are another place's. What lies
 * outside is for the rise to refuse. (A pour hole may be a tube that reaches in.) */
static ul_status vents_at_walls(const cavity_case *c, ul_error *err) {
  const double far_mm = 2 * c->grid->lattice.cube_mm;
  for (size_t i = 0; i < c->opts->vent_count; i++) {
    const double *at = c->opts->vent[i].at_mm;
    const double mm = is_inside(c->grid, at) ? to_wall_mm(c->solid->mesh, at) : 0;
    if (!(mm > far_mm)) continue;
    return ul_fail_at(err, UL_E_OUTSIDE, at, -1,
                      "--vent %.4g,%.4g,%.4g is %.3g mm from the nearest wall of the cavity: give "
                      "its place on the wall",
                      at[0], at[1], at[2], mm);
  }
  return UL_OK;
}

/* A hole wider than its cavity is from corner to corner is a slip of the pen. */
static ul_status hole_fits(const cavity_case *c, const char *name, const ul_vent_at *hole,
                           ul_error *err) {
  const ul_measure *cavity = &c->solid->cavity[case_cavity_at(c, hole->at_mm)];
  const double most_mm = ul_distance(cavity->box_mm[0], cavity->box_mm[1]);
  if (!(hole->diameter_mm > most_mm)) return UL_OK;
  return ul_fail_at(err, UL_E_USAGE, hole->at_mm, -1,
                    "%s %.4g,%.4g,%.4g is %.4g mm wide, but its cavity %.4g mm from corner to "
                    "corner: give the diameter of the bore, in mm",
                    name, hole->at_mm[0], hole->at_mm[1], hole->at_mm[2], hole->diameter_mm,
                    most_mm);
}

static ul_status holes_fit(const cavity_case *c, ul_error *err) {
  const options *o = c->opts;
  ul_status status = UL_OK;
  for (size_t i = 0; i < o->vent_count && status == UL_OK; i++)
    status = hole_fits(c, "--vent", &o->vent[i], err);
  for (size_t i = 0; i < o->hole_count && status == UL_OK; i++)
    status = hole_fits(c, "--pour-hole", &o->hole[i], err);
  return status;
}

ul_status case_cubes(cavity_case *c, ul_error *err) {
  ul_status status = cut_to_fit(c, err);
  if (status == UL_OK) status = vents_at_walls(c, err);
  return status == UL_OK ? holes_fit(c, err) : status;
}

void case_for_foam(cavity_case *c) {
  c->cubes = FOAM_CUBES;
  c->cubes_most = FOAM_CUBES_MOST;
}

ul_status case_cut_beside(const cavity_case *c, double cubes, double cubes_most,
                          ul_columns **columns, ul_grid **grid, ul_error *err) {
  cavity_case coarse = *c;
  coarse.columns = NULL;
  coarse.grid = NULL;
  coarse.cubes = cubes;
  coarse.cubes_most = cubes_most;
  ul_status status = cut_to_fit(&coarse, err);
  *columns = coarse.columns;
  *grid = coarse.grid;
  return status;
}

ul_status case_resolve(cavity_case *c, ul_error *err) {
  const ul_solid *const *insert;
  size_t count = case_loose_inserts(c, &insert);
  ul_status status = case_cubes(c, err);
  if (status == UL_OK)
    status = ul_thin_places(c->solid, insert, count, c->grid->lattice.cube_mm, CUBES_ACROSS,
                            &c->job, &c->thin, &c->thin_count, err);
  if (status == UL_OK) status = ul_heights_new(c->solid, c->columns, &c->job, &c->heights, err);
  progress_end(&c->bar);
  return status;
}

ul_status case_parting(cavity_case *c, ul_error *err) {
  const options *o = c->opts;
  /* It has to cut what is drawn: a room that inserts part from the rest may lie in one half. */
  return ul_parting_make(c->bare, o->has_parting ? o->parting_mm : NULL,
                         o->has_parting ? o->parting_normal : NULL, o->has_draw ? o->draw : NULL,
                         &c->parting, err);
}

/* The tool as a file has it: audited, so that it is closed and turned outwards however it was
 * written. */
static ul_status read_tool(cavity_case *c, const char *file, bool is_block, ul_error *err) {
  ul_import_opts import = ul_import_opts_default();
  import.unit = c->opts->unit;
  if (is_block) {
    import.grow_percent = c->opts->grow_percent;
    import.part = c->opts->part;
    import.part_count = c->opts->part_count;
  }
  ul_solid_opts whole = ul_solid_opts_default();
  whole.drawn = UL_DRAWN_PART;
  whole.patch_mm = c->opts->patch_mm;
  ul_import_info info;
  ul_audit *audit = NULL;
  ul_mesh *mesh;
  ul_status status = ul_import(file, &import, &c->job, &mesh, &info, err);
  if (status != UL_OK) return status;
  status = ul_audit_mesh(mesh, &whole, &c->job, &audit, &c->tool_solid, err);
  if (status == UL_OK) status = ul_audit_verdict(audit, err);
  ul_audit_free(audit);
  ul_mesh_free(mesh);
  return status;
}

static ul_status fit_tool(cavity_case *c, ul_error *err) {
  double cavity[2][3], (*tool)[3] = c->tool.box_mm;
  ul_mesh_box_mm(c->bare->mesh, cavity);
  ul_mesh_box_mm(c->tool_solid->mesh, tool);
  c->tool.mesh = c->tool_solid->mesh;
  c->tool.wall_mm = 0;
  for (int a = 0; a < 3; a++)
    if (cavity[0][a] < tool[0][a] || cavity[1][a] > tool[1][a])
      return ul_fail(err, UL_E_OUTSIDE,
                     "spans %c %.1f to %.1f mm but the cavity %.1f to %.1f mm: give both in the "
                     "same axes and unit",
                     "xyz"[a], tool[0][a], tool[1][a], cavity[0][a], cavity[1][a]);
  return UL_OK;
}

/* A box that meets nothing of the tool was given in another unit or other axes. */
static ul_status check_keep_boxes(const cavity_case *c, ul_error *err) {
  const double(*tool)[3] = c->tool.box_mm;
  for (size_t i = 0; i < c->opts->keep_box_count; i++) {
    const double(*box)[3] = c->opts->keep_box[i];
    for (int a = 0; a < 3; a++)
      if (box[0][a] > tool[1][a] || box[1][a] < tool[0][a])
        return ul_fail(err, UL_E_OUTSIDE,
                       "a box to keep off spans %c %.1f to %.1f mm but the tool %.1f to %.1f mm: "
                       "give it in the file's axes, in mm",
                       "xyz"[a], box[0][a], box[1][a], tool[0][a], tool[1][a]);
  }
  return UL_OK;
}

ul_status case_tool(cavity_case *c, ul_error *err) {
  const options *o = c->opts;
  bool is_block = o->drawn == UL_DRAWN_BLOCK && !o->has_wall && !o->tool_file;
  const char *file = is_block ? o->cavity_file : o->tool_file;
  c->tool = ul_tool_wall(c->whole ? c->whole : c->bare, o->wall_mm, !o->has_wall && !file);
  if (!file) return check_keep_boxes(c, err);
  ul_status status = read_tool(c, file, is_block, err);
  if (status == UL_OK) status = fit_tool(c, err);
  if (status == UL_OK) return check_keep_boxes(c, err);
  ul_error why = *err;
  return ul_fail(err, status, "the tool %s: %s", file, why.text);
}

/* The cube whose centre is nearest to `at_mm` among those inside; it says how far. */
static size_t nearest_cube(const ul_grid *g, const double at_mm[3], double *far_mm) {
  size_t best = 0;
  *far_mm = INFINITY;
  for (size_t i = 0; i < g->cube_count; i++) {
    if (!g->inside[i]) continue;
    const ul_lattice *l = &g->lattice;
    int32_t x = (int32_t)(i % (size_t)l->n[0]),
            y = (int32_t)(i / (size_t)l->n[0] % (size_t)l->n[1]);
    int32_t z = (int32_t)(i / ((size_t)l->n[0] * (size_t)l->n[1]));
    double centre[3] = {l->origin_mm[0] + (x + 0.5) * l->cube_mm,
                        l->origin_mm[1] + (y + 0.5) * l->cube_mm,
                        l->origin_mm[2] + (z + 0.5) * l->cube_mm};
    double d = ul_distance(centre, at_mm);
    if (d < *far_mm) *far_mm = d, best = i;
  }
  return best;
}

double case_thickness_mm(const cavity_case *c, const double at_mm[3]) {
  double far_mm;
  size_t cube = nearest_cube(c->grid, at_mm, &far_mm);
  const double thick_mm = isfinite(far_mm) ? 2 * (double)c->grid->half_gap_mm[cube] : 0;
  if (!c->thin_count || thick_mm >= c->grid->lattice.cube_mm) return thick_mm;
  return fmax(thick_mm, c->thin[0].thick_mm);
}

uint32_t case_cavity_at(const cavity_case *c, const double at_mm[3]) {
  double far_mm;
  size_t cube = nearest_cube(c->grid, at_mm, &far_mm);
  return isfinite(far_mm) ? c->grid->cavity[cube] : 0;
}

ul_tilts_opts case_tilts_opts(const options *opts) {
  ul_tilts_opts o = ul_tilts_opts_default();
  o.tries = (size_t)opts->tries;
  o.void_ok_mm3 = opts->void_ok_cm3 * 1000;
  o.vents_at_most = (size_t)opts->vents_at_most;
  if (opts->compare_count) o.only = opts->compare_up;
  o.only_count = opts->compare_count;
  return o;
}

void case_close(cavity_case *c) {
  progress_end(&c->bar);
  free(c->thin);
  ul_heights_free(c->heights);
  drop_cubes(c);
  if (c->bare != c->solid) ul_solid_free(c->bare);
  ul_solid_free(c->solid);
  ul_solid_free(c->whole);
  for (size_t i = 0; i < c->other_count; i++) ul_solid_free(c->other[i]);
  free(c->other);
  inserts_close(c);
  ul_audit_free(c->audit);
  ul_solid_free(c->tool_solid);
}
