/* Damaged files of every format through the import child and, where it takes them, through audit
 * and columns: whatever comes of it, the caller lives, soon and in little memory.
 * ULLAGE_DAMAGED=N in the environment makes it N files, and every prefix from 20,000 on. */
#define _GNU_SOURCE /* mkdtemp() */
#include "cavity/box_files.h"
#include "shapes/check.h"
#include "stress/damage.h"

#include "ullage/columns.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

enum { DAMAGED = 1100, ALL_PREFIXES_FROM = 20000, PREFIXES = 60, STEP_SHARE = 20 };
static const double MOST_S = 10, MOST_MIB = 1024;

typedef struct {
  const char *name;
  file_bytes file;
  bool slow;
  /* what came of it */
  size_t tried, refused, crashed, over_limit, taken, usable;
  double longest_s;
} format;

static file_bytes kept_file(const char *name) {
  char path[400];
  snprintf(path, sizeof path, "%s/%s", BAD_FILES, name);
  FILE *f = fopen(path, "rb");
  assert_non_null(f);
  file_bytes out = {malloc(1 << 20), 0};
  out.size = fread(out.data, 1, 1 << 20, f);
  fclose(f);
  return out;
}

static double children_s(void) {
  struct rusage use;
  getrusage(RUSAGE_CHILDREN, &use);
  return (double)(use.ru_utime.tv_sec + use.ru_stime.tv_sec) +
         1e-6 * (double)(use.ru_utime.tv_usec + use.ru_stime.tv_usec);
}

/* What was taken is sound, and goes through what comes next. */
static bool goes_on(const ul_mesh *mesh) {
  for (size_t v = 0; v < mesh->vertex_count; v++)
    for (int c = 0; c < 3; c++) assert_true(isfinite(mesh->vertex_mm[v][c]));
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    assert_true(mesh->part[t] < mesh->part_count);
    for (int c = 0; c < 3; c++) assert_true(mesh->triangle[t][c] < mesh->vertex_count);
  }
  ul_solid_opts opts = ul_solid_opts_default();
  ul_audit *audit;
  ul_solid *solid;
  ul_error err;
  assert_ok(ul_audit_mesh(mesh, &opts, NULL, &audit, &solid, &err), &err);
  bool usable = audit->usable;
  if (!usable) assert_int_equal(ul_status_exit_code(ul_audit_verdict(audit, &err)), 3);
  if (usable) {
    double box[2][3];
    ul_lattice lattice;
    ul_columns *columns;
    ul_mesh_box_mm(solid->mesh, box);
    double cube = fmax(box[1][0] - box[0][0], fmax(box[1][1] - box[0][1], box[1][2] - box[0][2]));
    assert_ok(ul_lattice_for_box((const double(*)[3])box, cube / 20, &lattice, &err), &err);
    assert_ok(ul_columns_build(solid, NULL, 0, &lattice, NULL, &columns, &err), &err);
    for (int axis = 0; axis < 3; axis++) assert_int_equal(columns->bundle[axis].odd_rays, 0);
    ul_columns_free(columns);
  }
  ul_audit_free(audit);
  ul_solid_free(solid);
  return usable;
}

static void count(format *f, ul_status status, const ul_error *err) {
  if (status == UL_E_LIMIT)
    f->over_limit++;
  else if (strstr(err->text, "reader crash") || strstr(err->text, "reader give up"))
    f->crashed++;
  else
    f->refused++;
}

static void try(format *f, const char *data, size_t size) {
  char directory[] = "/tmp/ullage-test-XXXXXX", path[200];
  ul_import_opts opts = ul_import_opts_default();
  ul_mesh *mesh = NULL;
  ul_error err = {0};
  opts.cpu_s = MOST_S;
  opts.memory_mib = MOST_MIB;
  assert_non_null(mkdtemp(directory));
  snprintf(path, sizeof path, "%s/%s", directory, f->name);
  FILE *out = fopen(path, "wb");
  assert_non_null(out);
  assert_int_equal(fwrite(data, 1, size, out), size);
  fclose(out);
  double before = children_s();
  ul_status status = ul_import(path, &opts, NULL, &mesh, NULL, &err);
  f->longest_s = fmax(f->longest_s, children_s() - before);
  assert_int_equal(unlink(path), 0);
  assert_int_equal(rmdir(directory), 0);
  f->tried++;
  if (status != UL_OK) {
    assert_int_equal(ul_status_exit_code(status), 3);
    assert_null(mesh);
    assert_null(strchr(err.text, '\n'));
    count(f, status, &err);
    return;
  }
  f->taken++;
  f->usable += goes_on(mesh);
  ul_mesh_free(mesh);
}

static void report(const format *f, size_t formats) {
  format all = {.name = "all"};
  struct rusage use;
  print_message("# %-9s %7s %8s %8s %8s %7s %7s %9s\n", "file", "tried", "refused", "crashed",
                "limit", "taken", "usable", "longest s");
  for (size_t i = 0; i <= formats; i++) {
    const format *x = i < formats ? &f[i] : &all;
    print_message("# %-9s %7zu %8zu %8zu %8zu %7zu %7zu %9.2f\n", x->name, x->tried, x->refused,
                  x->crashed, x->over_limit, x->taken, x->usable, x->longest_s);
    if (i == formats) break;
    all.tried += x->tried, all.refused += x->refused, all.crashed += x->crashed;
    all.over_limit += x->over_limit, all.taken += x->taken, all.usable += x->usable;
    all.longest_s = fmax(all.longest_s, x->longest_s);
  }
  getrusage(RUSAGE_CHILDREN, &use);
  print_message("# largest child %.0f MiB; the caller lived through all\n",
                (double)use.ru_maxrss / 1024);
  assert_true((double)use.ru_maxrss / 1024 < MOST_MIB);
  assert_true(all.longest_s < MOST_S + 2); /* the kernel ends it within a second */
}

static void damaged_files_harm_nobody(void **state) {
  (void)state;
  format f[] = {
      {.name = "a.stl", .file = box_stl_ascii("a")},
      {.name = "b.stl", .file = box_stl_binary(1)},
      {.name = "a.obj", .file = box_obj()},
      {.name = "a.ply", .file = box_ply_ascii()},
      {.name = "b.ply", .file = box_ply_binary()},
      {.name = "a.off", .file = box_off()},
      {.name = "a.glb", .file = box_glb()},
      {.name = "a.gltf", .file = kept_file("box-inline.gltf")},
      {.name = "a.dae", .file = box_dae("<unit meter=\"0.001\"/>")},
      {.name = "a.3mf", .file = box_3mf("", "</resources><build><item objectid=\"1\"/></build>")},
      {.name = "a.step", .file = kept_file("box.step"), .slow = true}};
  size_t formats = sizeof f / sizeof *f;
  const char *wanted = getenv("ULLAGE_DAMAGED");
  size_t damaged = wanted ? (size_t)atol(wanted) : DAMAGED;
  for (size_t i = 0; i < formats; i++) {
    uint64_t dice = 20261125 + i;
    size_t step = damaged >= ALL_PREFIXES_FROM ? 1 : f[i].file.size / PREFIXES + 1;
    if (f[i].slow) step = f[i].file.size / (damaged >= ALL_PREFIXES_FROM ? 400 : 10) + 1;
    for (size_t n = 0; n < f[i].file.size; n += step) try(&f[i], f[i].file.data, n);
    size_t share = damaged / formats / (f[i].slow && damaged < ALL_PREFIXES_FROM ? STEP_SHARE : 1);
    for (size_t k = 0; k < share; k++) {
      size_t size;
      char *data = damage(f[i].file.data, f[i].file.size, &dice, &size);
      try(&f[i], data, size);
      free(data);
    }
    free(f[i].file.data);
  }
  report(f, formats);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(damaged_files_harm_nobody)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
