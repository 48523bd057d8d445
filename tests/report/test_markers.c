/* Cutters, flags, STL and CSV: closed forms, and what is read back from the files. */
#include "base/memory.h"
#include "report/atomic_file.h"
#include "shapes/check.h"
#include "shapes/shapes.h"
#include "ullage/import.h"
#include "ullage/markers.h"

#include "base/vec.h"

#include <dirent.h>
#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64];

static int make_folder(void **state) {
  (void)state;
  strcpy(folder, "/tmp/test_markers_XXXXXX");
  return mkdtemp(folder) ? 0 : -1;
}

static int files_in_folder(void) {
  DIR *dir = opendir(folder);
  int count = 0;
  for (struct dirent *e; (e = readdir(dir));)
    count += strcmp(e->d_name, ".") && strcmp(e->d_name, "..");
  closedir(dir);
  return count;
}

static const char *in_folder(const char *name) {
  static char path[400];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static int remove_folder(void **state) {
  (void)state;
  DIR *dir = opendir(folder);
  for (struct dirent *e; (e = readdir(dir));)
    if (e->d_name[0] != '.') unlink(in_folder(e->d_name));
  closedir(dir);
  return rmdir(folder);
}

static unsigned char *read_all(const char *path, size_t *size) {
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  fseek(file, 0, SEEK_END);
  *size = (size_t)ftell(file);
  rewind(file);
  unsigned char *bytes = malloc(*size + 1);
  assert_int_equal(fread(bytes, 1, *size, file), *size);
  bytes[*size] = 0;
  fclose(file);
  return bytes;
}

/* Three vents: straight, slanting, and one that cannot be made. */
static ul_vent some[3] = {
    {.id = 1,
     .cavity = 0,
     .at_mm = {10, -20, 30.1234567},
     .axis = {0, 0, 1},
     .diameter_mm = 3,
     .length_mm = 25,
     .through_mm = {10, -20, 55.1234567},
     .back_mm = 1,
     .serves_count = 2,
     .serves = {1, 4},
     .air_mm3 = 12345.6,
     .ok = true,
     .note = "along +z, the main axis \"up\""},
    {.id = 2,
     .cavity = 1,
     .at_mm = {-0.0001, 5000.5, 0},
     .axis = {0.6, 0, 0.8},
     .diameter_mm = 1.5,
     .length_mm = 12.5,
     .through_mm = {7.5, 5000.5, 10},
     .back_mm = 0.25,
     .past_mm = 0.5,
     .serves_count = 1,
     .serves = {2},
     .ok = true,
     .note = "=1+1"},
    {.id = 3, .at_mm = {1, 2, 3}, .through_mm = {1, 2, 3}, .diameter_mm = 3, .note = "no hole"},
};
static const ul_vents vents = {.count = 3, .vent = some};

/* Every edge of a closed, well wound surface is gone along once in either sense. */
static void assert_closed(const ul_mesh *mesh) {
  for (size_t t = 0; t < mesh->triangle_count; t++)
    for (int k = 0; k < 3; k++) {
      uint32_t a = mesh->triangle[t][k], b = mesh->triangle[t][(k + 1) % 3];
      int back = 0, again = 0;
      for (size_t o = 0; o < mesh->triangle_count; o++)
        for (int m = 0; m < 3; m++) {
          uint32_t p = mesh->triangle[o][m], q = mesh->triangle[o][(m + 1) % 3];
          back += p == b && q == a;
          again += p == a && q == b;
        }
      assert_true(back == 1 && again == 1);
    }
}

static double part_volume(const ul_mesh *mesh, uint32_t part) {
  double sum = 0;
  const double *base = NULL;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    if (mesh->part[t] != part) continue;
    const uint32_t *v = mesh->triangle[t];
    if (!base) base = mesh->vertex_mm[v[0]];
    double c[3][3], n[3];
    for (int k = 0; k < 3; k++) ul_sub(mesh->vertex_mm[v[k]], base, c[k]);
    ul_cross(c[0], c[1], n);
    sum += ul_dot(n, c[2]) / 6;
  }
  return sum;
}

/* n r^2 tan(pi/n) L for sides that touch the circle, L from back to 2 mm past the outside. */
static void cutters_are_closed_cylinders_round_the_drills_circle(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_error err;
  assert_ok(ul_markers_cutters(&vents, &mesh, &err), &err);
  assert_closed(mesh);
  assert_int_equal(mesh->part_count, 2);
  assert_string_equal(mesh->part_name[0], "vent 1");
  assert_string_equal(mesh->part_name[1], "vent 2");
  double area = 48 * tan(M_PI / 48);
  assert_rel(part_volume(mesh, 0), area * 1.5 * 1.5 * (1 + 25 + 0 + 2), 1e-10);
  assert_rel(part_volume(mesh, 1), area * 0.75 * 0.75 * (0.25 + 12.5 + 0.5 + 2), 1e-10);
  for (size_t v = 0; v < mesh->vertex_count; v++) {
    const ul_vent *vent = &some[v >= mesh->vertex_count / 2];
    double d[3], along, off;
    ul_sub(mesh->vertex_mm[v], vent->at_mm, d);
    along = ul_dot(d, vent->axis);
    off = sqrt(fmax(0, ul_dot(d, d) - along * along));
    assert_true(off < 1e-6 || fabs(off - vent->diameter_mm / 2 / cos(M_PI / 48)) < 1e-9);
    double end = vent->length_mm + vent->past_mm + 2;
    assert_true(fabs(along + vent->back_mm) < 1e-9 || fabs(along - end) < 1e-9);
  }
  ul_mesh_free(mesh);
}

/* A hole of 3 mm with a land of 5 and 6 mm beyond it; a groove 8 by 1 scraped in the lower half. */
static void cutters_of_reliefs_and_grooves_have_their_volumes(void **state) {
  (void)state;
  ul_vent made[2] = {{.id = 1,
                      .axis = {0, 0, 1},
                      .diameter_mm = 3,
                      .half = 1,
                      .land_mm = 5,
                      .relief_mm = 6,
                      .length_mm = 25,
                      .back_mm = 1,
                      .ok = true},
                     {.id = 2,
                      .kind = UL_VENT_GROOVE,
                      .at_mm = {50, 0, 10},
                      .axis = {0.8, 0.6, 0},
                      .face = {0, 0, -1},
                      .half = -1,
                      .width_mm = 8,
                      .depth_mm = 1,
                      .length_mm = 30,
                      .back_mm = 0.5,
                      .past_mm = 3,
                      .ok = true}};
  ul_vents both = {.count = 2, .vent = made};
  ul_mesh *mesh;
  ul_error err;
  assert_ok(ul_markers_cutters(&both, &mesh, &err), &err);
  assert_closed(mesh);
  assert_string_equal(mesh->part_name[0], "vent 1, upper half");
  assert_string_equal(mesh->part_name[1], "vent 2 (groove), lower half");
  double area = 48 * tan(M_PI / 48);
  assert_rel(part_volume(mesh, 0), area * (1.5 * 1.5 * 6 + 3 * 3 * 22), 1e-10);
  assert_rel(part_volume(mesh, 1), 8 * 1 * (0.5 + 30 + 3 + 2), 1e-10);
  for (size_t v = 4 * 48 + 2; v < mesh->vertex_count; v++)
    assert_true(mesh->vertex_mm[v][2] == 10 || mesh->vertex_mm[v][2] == 9);
  ul_mesh_free(mesh);
}

static void flags_are_closed_named_and_point_at_the_mouth(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_error err;
  assert_ok(ul_markers_flags(&vents, 20, &mesh, &err), &err);
  assert_closed(mesh);
  assert_int_equal(mesh->part_count, 3);
  assert_string_equal(mesh->part_name[1], "vent 2");
  assert_string_equal(mesh->part_name[2], "vent 3 (no hole)");
  for (uint32_t part = 0; part < 3; part++) {
    assert_true(part_volume(mesh, part) > 0);
    int tips = 0;
    double top = 0;
    for (size_t v = 0; v < mesh->vertex_count; v++) {
      if (v / (mesh->vertex_count / 3) != part) continue;
      const double plumb[3] = {0, 0, 1};
      double d[3];
      ul_sub(mesh->vertex_mm[v], some[part].at_mm, d);
      double along = ul_dot(d, some[part].ok ? some[part].axis : plumb);
      tips += ul_norm(d) < 1e-9;
      assert_true(along > -1e-9); /* nothing of it in the cavity */
      top = fmax(top, along);
    }
    assert_int_equal(tips, 1);
    assert_near(top, 20, 1e-9);
  }
  ul_mesh_free(mesh);
  assert_int_equal(ul_markers_flags(&vents, 0, &mesh, &err), UL_E_USAGE);
  assert_int_equal(ul_markers_flags(&vents, NAN, &mesh, &err), UL_E_USAGE);
  assert_null(mesh);
}

static void without_a_vent_there_is_nothing_to_mark(void **state) {
  (void)state;
  const ul_vents none = {0}, no_hole = {.count = 1, .vent = &some[2]};
  ul_mesh *mesh;
  ul_error err;
  assert_int_equal(ul_markers_cutters(&none, &mesh, &err), UL_E_EMPTY);
  assert_null(mesh);
  assert_int_equal(ul_markers_cutters(&no_hole, &mesh, &err), UL_E_EMPTY);
  assert_int_equal(ul_markers_flags(&none, 10, &mesh, &err), UL_E_EMPTY);
}

static float float_at(const unsigned char *bytes) {
  uint32_t bits =
      bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
  float value;
  memcpy(&value, &bits, sizeof value);
  return value;
}

static void an_stl_file_holds_the_nearest_floats_and_the_outward_normals(void **state) {
  (void)state;
  ul_mesh *mesh = shape_icosphere(1.0 / 3, 1);
  ul_error err;
  assert_ok(ul_write_stl(mesh, in_folder("ball.stl"), &err), &err);
  size_t size;
  unsigned char *bytes = read_all(in_folder("ball.stl"), &size);
  assert_int_equal(size, 84 + 50 * mesh->triangle_count);
  assert_int_equal(bytes[80] | bytes[81] << 8 | bytes[82] << 16, mesh->triangle_count);
  assert_true(memcmp(bytes, "solid", 5) != 0);
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const unsigned char *record = bytes + 84 + 50 * t;
    double outward = 0, length = 0;
    for (int c = 0; c < 3; c++) {
      double n = (double)float_at(record + 4 * c);
      outward += n * mesh->vertex_mm[mesh->triangle[t][0]][c];
      length += n * n;
      for (int k = 0; k < 3; k++)
        assert_true(float_at(record + 12 + 12 * k + 4 * c) ==
                    (float)mesh->vertex_mm[mesh->triangle[t][k]][c]);
    }
    assert_near(length, 1, 1e-6);
    assert_true(outward > 0);
    assert_true(record[48] == 0 && record[49] == 0);
  }
  free(bytes);
  ul_mesh_free(mesh);
}

/* Through the importer and the audit: two closed solids of the right volume, floats allowed for. */
static void cutters_written_and_read_back_are_sound(void **state) {
  (void)state;
  ul_mesh *mesh, *read;
  ul_import_opts import = ul_import_opts_default();
  ul_import_info info;
  ul_solid_opts opts = ul_solid_opts_default();
  ul_audit *audit;
  ul_solid *solid;
  ul_error err;
  assert_ok(ul_markers_cutters(&vents, &mesh, &err), &err);
  assert_ok(ul_write_stl(mesh, in_folder("cutters.stl"), &err), &err);
  assert_ok(ul_import(in_folder("cutters.stl"), &import, NULL, &read, &info, &err), &err);
  assert_int_equal(read->triangle_count, mesh->triangle_count);
  assert_ok(ul_audit_mesh(read, &opts, NULL, &audit, &solid, &err), &err);
  assert_ok(ul_audit_verdict(audit, &err), &err);
  assert_int_equal(audit->fault_count, 0);
  assert_int_equal(solid->cavity_count, 2);
  double area = 48 * tan(M_PI / 48);
  assert_rel(solid->cavity[0].volume_mm3, area * 1.5 * 1.5 * 28, 1e-5);
  assert_rel(solid->cavity[1].volume_mm3, area * 0.75 * 0.75 * 15.25, 1e-3); /* 5 m off */
  ul_solid_free(solid);
  ul_audit_free(audit);
  ul_mesh_free(read);
  ul_mesh_free(mesh);
}

static void what_no_float_holds_is_refused_and_the_old_file_stays(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(1, 1, 1);
  ul_error err;
  assert_ok(ul_write_stl(mesh, in_folder("box.stl"), &err), &err);
  size_t before, after;
  unsigned char *old = read_all(in_folder("box.stl"), &before);
  const double bad[] = {1e39, INFINITY, NAN};
  for (int i = 0; i < 3; i++) {
    mesh->vertex_mm[3][1] = bad[i];
    assert_int_equal(ul_write_stl(mesh, in_folder("box.stl"), &err), UL_E_NUMBER);
    assert_non_null(strstr(err.text, "vertex 3 has the y coordinate"));
  }
  unsigned char *now = read_all(in_folder("box.stl"), &after);
  assert_true(before == after && memcmp(old, now, after) == 0);
  free(old);
  free(now);
  ul_mesh_free(mesh);
}

static void a_place_that_cannot_be_written_is_named_with_the_reason(void **state) {
  (void)state;
  ul_mesh *mesh = shape_box(1, 1, 1);
  ul_error err;
  assert_int_equal(ul_write_stl(mesh, in_folder("nowhere/box.stl"), &err), UL_E_WRITE);
  assert_non_null(strstr(err.text, "nowhere/box.stl: cannot be written: No such file"));
  assert_int_equal(ul_write_stl(mesh, folder, &err), UL_E_WRITE);
  assert_non_null(strstr(err.text, "directory"));
  if (access("/dev/full", W_OK) == 0) {
    assert_int_equal(ul_write_stl(mesh, "/dev/full", &err), UL_E_WRITE);
    assert_non_null(strstr(err.text, "No space left"));
  }
  assert_int_equal(ul_write_stl(mesh, in_folder("nowhere/box.stl"), NULL), UL_E_WRITE);
  ul_mesh_free(mesh);
}

static bool give_up(FILE *file, void *context) {
  (void)context;
  fputs("half a resul", file);
  return false;
}

static bool hello(FILE *file, void *context) {
  fputs(context, file);
  return true;
}

static void a_file_is_there_whole_or_not_at_all(void **state) {
  (void)state;
  ul_error err;
  int before = files_in_folder();
  assert_int_equal(ul_write_whole(in_folder("new.txt"), give_up, NULL, &err), UL_E_MEMORY);
  assert_int_equal(files_in_folder(), before);
  assert_ok(ul_write_whole(in_folder("new.txt"), hello, "one", &err), &err);
  assert_int_equal(ul_write_whole(in_folder("new.txt"), give_up, NULL, &err), UL_E_MEMORY);
  assert_ok(ul_write_whole(in_folder("new.txt"), hello, "two", &err), &err);
  assert_int_equal(files_in_folder(), before + 1);
  size_t size;
  char *text = (char *)read_all(in_folder("new.txt"), &size);
  assert_string_equal(text, "two");
  free(text);
  mode_t mask = umask(0);
  umask(mask);
  struct stat made;
  assert_int_equal(stat(in_folder("new.txt"), &made), 0);
  assert_int_equal(made.st_mode & 0777, 0666 & ~mask); /* readable as any file one makes */
}

/* A name of 255 bytes is as long as one may be: the temporary one must not be longer. */
static void the_longest_name_can_be_written(void **state) {
  (void)state;
  char path[400], name[256];
  memset(name, 'n', 255);
  name[255] = 0;
  snprintf(path, sizeof path, "%s/%s", folder, name);
  ul_error err;
  assert_ok(ul_write_whole(path, hello, "long", &err), &err);
  assert_int_equal(unlink(path), 0);
}

static void every_allocation_may_fail(void **state) {
  (void)state;
  int failed = 0;
  for (long nth = 1;; nth++) {
    ul_mesh *mesh = NULL;
    ul_memory_fail_at(nth);
    ul_status status = ul_markers_flags(&vents, 10, &mesh, NULL);
    if (status == UL_OK) status = ul_write_vents_csv(&vents, NULL, in_folder("vents.csv"), NULL);
    ul_memory_fail_at(0);
    ul_mesh_free(mesh);
    if (status == UL_OK) break;
    assert_int_equal(status, UL_E_MEMORY);
    failed++;
  }
  assert_true(failed >= 9); /* mesh, its four arrays, three names, a temporary name */
}

/* One record of RFC 4180 into its fields; returns where the next begins. */
static char *split(char *text, char *field[], int *count) {
  *count = 0;
  for (char *out = text;; out++) {
    field[(*count)++] = out;
    bool quoted = *text == '"';
    text += quoted;
    while (quoted ? *text != '"' || text[1] == '"' : *text != ',' && *text != '\r') {
      if (quoted && *text == '"') text++;
      *out++ = *text++;
    }
    text += quoted;
    bool more = *text == ',';
    assert_true(more || (text[0] == '\r' && text[1] == '\n'));
    text += more ? 1 : 2;
    *out = 0;
    if (!more) return text;
  }
}

static void assert_table(const char *path) {
  size_t size;
  char *text = (char *)read_all(path, &size), *field[32];
  int columns, count;
  char *next = split(text, field, &columns);
  assert_int_equal(columns, 27);
  assert_string_equal(field[19], "kind");
  assert_string_equal(field[25], "then");
  assert_string_equal(field[2], "at_x_mm");
  assert_string_equal(field[13], "air_cm3");
  next = split(next, field, &count);
  assert_int_equal(count, columns);
  assert_string_equal(field[0], "1");
  assert_string_equal(field[1], "1");
  assert_string_equal(field[3], "-20.000");
  assert_string_equal(field[4], "30.123");
  assert_string_equal(field[13], "12.3456");
  assert_string_equal(field[15], "1 4");
  assert_string_equal(field[17], "along +z, the main axis \"up\"");
  next = split(next, field, &count);
  assert_int_equal(count, columns);
  assert_string_equal(field[1], "2");
  assert_string_equal(field[2], "0.000"); /* not -0.000 */
  assert_string_equal(field[3], "5000.500");
  assert_string_equal(field[5], "0.600000");
  assert_string_equal(field[17], "'=1+1"); /* a spreadsheet shows it, and does not work it out */
  next = split(next, field, &count);
  assert_string_equal(field[16], "no");
  assert_int_equal(*next, 0);
  free(text);
}

static void a_table_reads_back(void **state) {
  (void)state;
  ul_error err;
  assert_ok(ul_write_vents_csv(&vents, NULL, in_folder("vents.csv"), &err), &err);
  assert_table(in_folder("vents.csv"));
}

static void a_table_has_points_where_the_locale_has_commas(void **state) {
  (void)state;
  const char *comma[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "fr_FR.utf8"};
  const char *found = NULL;
  for (int i = 0; i < 4 && !found; i++) found = setlocale(LC_ALL, comma[i]);
  if (!found) {
    print_message("# no locale with a decimal comma is installed: nothing to compare\n");
    return;
  }
  ul_error err;
  ul_status status = ul_write_vents_csv(&vents, NULL, in_folder("vents.csv"), &err);
  setlocale(LC_ALL, "C");
  assert_ok(status, &err);
  assert_table(in_folder("vents.csv"));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(cutters_are_closed_cylinders_round_the_drills_circle),
      cmocka_unit_test(cutters_of_reliefs_and_grooves_have_their_volumes),
      cmocka_unit_test(flags_are_closed_named_and_point_at_the_mouth),
      cmocka_unit_test(without_a_vent_there_is_nothing_to_mark),
      cmocka_unit_test(an_stl_file_holds_the_nearest_floats_and_the_outward_normals),
      cmocka_unit_test(cutters_written_and_read_back_are_sound),
      cmocka_unit_test(what_no_float_holds_is_refused_and_the_old_file_stays),
      cmocka_unit_test(a_place_that_cannot_be_written_is_named_with_the_reason),
      cmocka_unit_test(a_file_is_there_whole_or_not_at_all),
      cmocka_unit_test(the_longest_name_can_be_written),
      cmocka_unit_test(every_allocation_may_fail),
      cmocka_unit_test(a_table_reads_back),
      cmocka_unit_test(a_table_has_points_where_the_locale_has_commas),
  };
  return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
