#include "cavity/finish.h"

#include "base/fail.h"
#include "base/vec.h"

#include <float.h>
#include <stdarg.h>
#include <stdio.h>

static const struct {
  const char *name;
  double mm;
} units[] = {[UL_UNIT_NONE] = {"none", 0},
             [UL_UNIT_MM] = {"mm", 1},
             [UL_UNIT_CM] = {"cm", 10},
             [UL_UNIT_M] = {"m", 1000},
             [UL_UNIT_IN] = {"in", 25.4}};

const char *ul_unit_name(ul_unit unit) {
  return (unsigned)unit < sizeof units / sizeof *units ? units[unit].name : "none";
}

const char *ul_unit_remedy(const ul_import_info *info, bool too_small) {
  static const char *const larger[] = {[UL_UNIT_MM] = "try --unit m, --unit in or --unit cm",
                                       [UL_UNIT_CM] = "try --unit m or --unit in",
                                       [UL_UNIT_IN] = "try --unit m",
                                       [UL_UNIT_M] = "scale it up where it was drawn"};
  static const char *const smaller[] = {[UL_UNIT_MM] = "scale it down where it was drawn",
                                        [UL_UNIT_CM] = "try --unit mm",
                                        [UL_UNIT_IN] = "try --unit mm or --unit cm",
                                        [UL_UNIT_M] = "try --unit mm, --unit cm or --unit in"};
  if (info->unit_from_file)
    return too_small ? "scale it up where it was drawn" : "scale it down where it was drawn";
  return (too_small ? larger : smaller)[info->unit];
}

/* A file may have any unit; 3MF knows these two, which are none of ours. */
static void name_unit(ul_import_info *info) {
  static const struct {
    const char *name;
    double mm;
  } odd[] = {{"micron", 0.001}, {"foot", 304.8}};
  snprintf(info->unit_word, sizeof info->unit_word, "%s", ul_unit_name(info->unit));
  if (info->unit != UL_UNIT_NONE) return;
  snprintf(info->unit_word, sizeof info->unit_word, "%.9g mm", info->mm_per_unit);
  for (size_t i = 0; i < sizeof odd / sizeof *odd; i++)
    if (fabs(info->mm_per_unit / odd[i].mm - 1) < 1e-6)
      snprintf(info->unit_word, sizeof info->unit_word, "%s", odd[i].name);
}

void ul_import_note(ul_import_info *info, const char *format, ...) {
  if (info->note_count == UL_IMPORT_NOTES) return;
  va_list args;
  va_start(args, format);
  vsnprintf(info->note[info->note_count++], sizeof info->note[0], format, args);
  va_end(args);
}

static void settle_unit(double mm_per_unit, const ul_import_opts *opts, ul_import_info *info) {
  info->unit_from_file = mm_per_unit > 0;
  if (!info->unit_from_file) {
    info->unit = opts->unit == UL_UNIT_NONE ? UL_UNIT_MM : opts->unit;
    info->mm_per_unit = units[info->unit].mm;
    return;
  }
  info->mm_per_unit = mm_per_unit;
  info->unit = UL_UNIT_NONE;
  for (ul_unit u = UL_UNIT_MM; u <= UL_UNIT_IN; u++)
    if (fabs(mm_per_unit / units[u].mm - 1) < 1e-6) {
      info->unit = u;
      info->mm_per_unit = units[u].mm;
    }
  if (opts->unit != UL_UNIT_NONE && opts->unit != info->unit)
    ul_import_note(info, "The file gives its own unit, %g mm: --unit %s is not used.",
                   info->mm_per_unit, ul_unit_name(opts->unit));
}

/* The turns that keep "in", the axis towards the reader, in front: after COLLADA 1.4.1's table of
 * <up_axis>, of which glTF's frame is the Y_UP row. */
static void turn_up(double p[3], char up) {
  double x = p[0], y = p[1], z = p[2];
  if (up == 'y') p[1] = -z, p[2] = y;
  if (up == 'x') p[0] = -y, p[1] = -z, p[2] = x;
}

static void place(ul_mesh *mesh, char up, double scale) {
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double *p = mesh->vertex_mm[v];
    if (up != 'z') turn_up(p, up);
    for (int c = 0; c < 3; c++) p[c] *= scale;
  }
}

/* Squared distance from the line through `from` along the unit vector `along`. */
static double off_line(const double p[3], const double from[3], const double along[3]) {
  double d[3];
  ul_sub(p, from, d);
  ul_add_scaled(d, -ul_dot(d, along), along, d);
  return ul_dot(d, d);
}

static const double *farthest_from(const ul_mesh *mesh, const double from[3],
                                   const double along[3]) {
  double most = -1;
  const double *best = from;
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double squared = off_line(mesh->vertex_mm[v], from, along);
    if (squared > most) most = squared, best = mesh->vertex_mm[v];
  }
  return best;
}

/* How far the vertices stand off one plane: the one through the first vertex, the vertex farthest
 * from it, and the one farthest from the line through both. */
static double thickness_mm(const ul_mesh *mesh) {
  const double *a = mesh->vertex_mm[0], nothing[3] = {0, 0, 0};
  double along[3], across[3], normal[3], low = 0, high = 0;
  ul_sub(farthest_from(mesh, a, nothing), a, along);
  double length = fmax(ul_norm(along), DBL_MIN);
  for (int c = 0; c < 3; c++) along[c] /= length;
  ul_sub(farthest_from(mesh, a, along), a, across);
  ul_cross(along, across, normal);
  length = fmax(ul_norm(normal), DBL_MIN);
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    double d[3];
    ul_sub(mesh->vertex_mm[v], a, d);
    double h = ul_dot(d, normal) / length;
    low = fmin(low, h), high = fmax(high, h);
  }
  return high - low;
}

static ul_status check_extent(const ul_mesh *mesh, ul_import_info *info, ul_error *err) {
  double box[2][3], size[3];
  ul_mesh_box_mm(mesh, box);
  ul_sub(box[1], box[0], size);
  double largest = fmax(size[0], fmax(size[1], size[2]));
  double thickness = thickness_mm(mesh);
  if (thickness <= info->weld.tolerance_mm)
    return ul_fail_at(err, UL_E_FLAT, mesh->vertex_mm[0], -1,
                      "all %zu triangles lie in one plane (%.4g x %.4g x %.4g mm, %.2g mm thick): "
                      "export the whole surface of the cavity",
                      mesh->triangle_count, size[0], size[1], size[2], thickness);
  const char *verdict = largest < 5 ? "small" : largest > 5000 ? "large" : NULL;
  if (verdict)
    ul_import_note(
        info, "Very %s, %.3g x %.3g x %.3g mm: is the unit right? It was taken as %s%s; %s.",
        verdict, size[0], size[1], size[2], info->unit_word,
        info->unit_from_file ? ", as the file says" : "", ul_unit_remedy(info, largest < 5));
  return UL_OK;
}

ul_status ul_import_finish(ul_mesh *mesh, double mm_per_unit, char up, const ul_import_opts *opts,
                           ul_import_info *info, ul_error *err) {
  settle_unit(mm_per_unit, opts, info);
  name_unit(info);
  if (mesh->triangle_count == 0)
    return ul_fail(err, UL_E_EMPTY, "holds no triangles: export the surface of the cavity");
  info->turned_z_up = up != 'z';
  if (up == 'x') ul_import_note(info, "The file calls +x up; turned to +z up.");
  place(mesh, up, info->mm_per_unit * (1 + opts->grow_percent / 100));
  if (opts->grow_percent != 0)
    ul_import_note(
        info,
        "Grown by %.3g %% from the file's origin (--grow): what is drawn to fit it, as a "
        "tool of its own or an insert, must be where it is then.",
        opts->grow_percent);
  size_t merged = info->weld.vertices_merged;
  ul_status status = ul_mesh_weld(mesh, opts->weld_mm, &info->weld, err);
  if (status != UL_OK) return status;
  info->weld.vertices_merged += merged;
  if (mesh->triangle_count == 0)
    return ul_fail(err, UL_E_FLAT,
                   "all triangles are smaller than the weld tolerance of %g mm: is the unit right?",
                   info->weld.tolerance_mm);
  return check_extent(mesh, info, err);
}
