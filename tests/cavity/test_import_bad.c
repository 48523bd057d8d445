#define _GNU_SOURCE /* mkdtemp(), mkfifo() */
#include "base/memory.h"
#include "cavity/box_files.h"
#include "shapes/check.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* What the call must answer: status and a part of its text. Frees the bytes. */
static void refuse(const char *name, file_bytes file, ul_status status, const char *text) {
  ul_mesh *mesh = NULL;
  ul_error err = {0};
  ul_status got = import_once(name, file, &mesh, NULL, &err);
  assert_null(mesh);
  if (got != status || !strstr(err.text, text))
    fail_msg("%s: %s: %s (wanted: %s: %s)", name, ul_status_text(got), err.text,
             ul_status_text(status), text);
  assert_int_equal(err.code, status);
  assert_int_equal(ul_status_exit_code(got), 3);
  assert_null(strchr(err.text, '\n'));
}

static file_bytes replaced(file_bytes file, const char *from, const char *to) {
  char *at = memmem(file.data, file.size, from, strlen(from));
  assert_non_null(at);
  size_t before = (size_t)(at - file.data), after = file.size - before - strlen(from);
  file_bytes out = {malloc(file.size + strlen(to)), before + strlen(to) + after};
  memcpy(out.data, file.data, before);
  memcpy(out.data + before, to, strlen(to));
  memcpy(out.data + before + strlen(to), at + strlen(from), after);
  free(file.data);
  return out;
}

static file_bytes cut(file_bytes file, size_t size) {
  file.size = size;
  return file;
}

static file_bytes without_last(file_bytes file, size_t bytes) {
  return cut(file, file.size - bytes);
}

static void what_cannot_be_read_says_why(void **state) {
  (void)state;
  char directory[] = "/tmp/ullage-test-XXXXXX", path[100];
  ul_import_opts opts = ul_import_opts_default();
  ul_mesh *mesh;
  ul_error err;
  assert_non_null(mkdtemp(directory));
  snprintf(path, sizeof path, "%s/pipe.stl", directory);
  assert_int_equal(ul_import(path, &opts, NULL, &mesh, NULL, &err), UL_E_READ);
  assert_non_null(strstr(err.text, "No such file"));
  assert_int_equal(mkfifo(path, 0600), 0);
  assert_int_equal(ul_import(path, &opts, NULL, &mesh, NULL, &err), UL_E_READ);
  assert_non_null(strstr(err.text, "not a regular file"));
  assert_int_equal(ul_import(directory, &opts, NULL, &mesh, NULL, &err), UL_E_READ);
  assert_non_null(strstr(err.text, "is a directory"));
  unlink(path);
  FILE *out = fopen(path, "w");
  fputs("solid\n", out);
  fclose(out);
  chmod(path, 0);
  if (geteuid() != 0) { /* root reads everything */
    assert_int_equal(ul_import(path, &opts, NULL, &mesh, NULL, &err), UL_E_READ);
    assert_non_null(strstr(err.text, "Permission denied"));
  }
  unlink(path);
  rmdir(directory);
}

static void options_that_make_no_sense_are_refused(void **state) {
  (void)state;
  ul_import_opts zeroed = {0}, shrunk = ul_import_opts_default(), loose = shrunk;
  ul_mesh *mesh;
  ul_error err;
  shrunk.grow_percent = -100;
  loose.weld_mm = NAN;
  assert_int_equal(ul_import("x.stl", &zeroed, NULL, &mesh, NULL, &err), UL_E_USAGE);
  assert_int_equal(ul_import("x.stl", &shrunk, NULL, &mesh, NULL, &err), UL_E_USAGE);
  assert_int_equal(ul_import("x.stl", &loose, NULL, &mesh, NULL, &err), UL_E_USAGE);
  assert_null(mesh);
}

static void a_name_and_a_content_that_disagree_are_told_apart(void **state) {
  (void)state;
  refuse("box.xyz", box_stl_ascii("a"), UL_E_FORMAT, ".xyz is not a kind of mesh ullage reads");
  refuse("box", box_stl_ascii("a"), UL_E_FORMAT, "without extension");
  refuse("box.stl", box_3mf("", "</resources>"), UL_E_FORMAT,
         "named .stl, but looks like a ZIP archive, as 3MF files are");
  refuse("box.obj", box_stl_binary(1), UL_E_FORMAT, "looks like a binary STL");
  refuse("box.obj", box_stl_ascii("a"), UL_E_FORMAT, "looks like an ASCII STL");
  refuse("box.ply", box_off(), UL_E_FORMAT, "looks like an OFF");
  refuse("box.off", box_ply_binary(), UL_E_FORMAT, "looks like a PLY");
  refuse("box.gltf", box_glb(), UL_E_FORMAT, "looks like a binary glTF");
  refuse("box.glb", box_dae(""), UL_E_FORMAT, "looks like COLLADA");
  refuse("box.dae", box_obj(), UL_E_FORMAT, "looks like an OBJ");
  refuse("box.3mf", bytes_of_text("\x89PNG\r\n"), UL_E_FORMAT, "is a PNG picture");
  refuse("box.stl", bytes_of_text("ISO-10303-21;\nHEADER;\n"), UL_E_FORMAT, "a STEP model");
  /* The module is found by the program, not by this test. */
  refuse("box.step", bytes_of_text("ISO-10303-21;\nHEADER;\n"), UL_E_FORMAT, "built without");
  refuse("box.stl", bytes_of_text("Dear customer,\nplease find"), UL_E_FORMAT, "does not begin");
  refuse("box.obj", bytes_of_text("\1\2\3\4"), UL_E_FORMAT, "does not begin");
}

static void nothing_in_a_file_is_said_to_be_nothing(void **state) {
  (void)state;
  refuse("box.stl", bytes_of_text(""), UL_E_EMPTY, "0 bytes");
  refuse("box.stl", bytes_of_text("solid a\nendsolid a\n"), UL_E_EMPTY, "no triangles");
  file_bytes none = cut(box_stl_binary(1), 84);
  memset(none.data + 80, 0, 4);
  refuse("box.stl", none, UL_E_EMPTY, "no triangles");
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0 0\nv 0 1 0\n"), UL_E_EMPTY, "no triangles");
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0 0\nl 1 2\n"), UL_E_EMPTY, "no triangles");
  refuse("box.ply", replaced(box_ply_ascii(), "element face 12", "element face 0"), UL_E_EMPTY,
         "no triangles");
  refuse("box.3mf", box_3mf("", "</resources><build></build>"), UL_E_EMPTY, "places none");
}

static void a_flat_mesh_is_refused_however_it_lies(void **state) {
  (void)state;
  refuse("flat.obj", bytes_of_text("v 0 0 5\nv 9 0 5\nv 0 9 5\nv 9 9 5\nf 1 2 3\nf 2 4 3\n"),
         UL_E_FLAT, "all 2 triangles lie in one plane (9 x 9 x 0 mm");
  refuse("lean.off", bytes_of_text("OFF\n4 2 0\n0 0 0\n9 0 9\n0 9 9\n9 9 18\n3 0 1 2\n3 1 3 2\n"),
         UL_E_FLAT, "lie in one plane");
  refuse("line.off", bytes_of_text("OFF\n3 1 0\n0 0 0\n1 1 1\n2 2 2\n3 0 1 2\n"), UL_E_FLAT,
         "lie in one plane");
  refuse("point.off", bytes_of_text("OFF\n3 1 0\n1 1 1\n1 1 1\n1 1 1\n3 0 1 2\n"), UL_E_FLAT,
         "smaller than the weld tolerance");
}

static void a_number_that_is_none_is_named_with_its_triangle(void **state) {
  (void)state;
  static const float bad = INFINITY;
  ul_mesh *mesh;
  ul_error err;
  file_bytes file = box_stl_binary(1);
  memcpy(file.data + 84 + 50 * 7 + 12 + 12 + 4, &bad, 4);
  assert_int_equal(import_once("box.stl", file, &mesh, NULL, &err), UL_E_NUMBER);
  assert_int_equal(err.triangle, 7);
  assert_non_null(strstr(err.text, "triangle 7 (the first is 0) has a corner with y = inf"));
  refuse("box.stl", replaced(box_stl_ascii("a"), "3.000000e+01", "nan"), UL_E_NUMBER, "x = nan");
  refuse("box.stl", replaced(box_stl_ascii("a"), "20.000", "1e30"), UL_E_NUMBER, "y = 1e+30");
  refuse("box.off", replaced(box_off(), "30 20 0", "30 nan 0"), UL_E_NUMBER, "y = nan");
  refuse("box.3mf", box_3mf("unit=\"yard\"", "</resources>"), UL_E_FORMAT, "unit=\"yard\"");
}

static void what_is_missing_is_counted(void **state) {
  (void)state;
  refuse("box.stl", cut(box_stl_binary(1), 84 + 50 * 5 + 20), UL_E_FORMAT,
         "says it holds 12 triangles, but ends after 5");
  refuse("box.ply", without_last(box_ply_binary(), 1), UL_E_FORMAT,
         "says it holds 12 faces, but number 11");
  refuse("box.off", cut(box_off(), 60), UL_E_FORMAT, "says it holds 8 vertices, but number");
  refuse("box.ply", cut(box_ply_ascii(), 100), UL_E_FORMAT, "within its header");
  refuse("box.off", replaced(box_off(), "3 0 2 1", "3 0 2 8"), UL_E_FORMAT, "number 0");
  refuse("box.3mf", box_3mf("", "</resources><build><item objectid=\"4\"/></build>"), UL_E_FORMAT,
         "uses object 4");
}

static void an_obj_that_is_damaged_is_refused_with_the_line(void **state) {
  (void)state;
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2"), UL_E_FORMAT,
         "line 4: a face with fewer than three corners");
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n"), UL_E_FORMAT,
         "line 4: a face with a corner that is no vertex");
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 -4\n"), UL_E_FORMAT,
         "line 4: a face with a corner that is no vertex");
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0\nv 0 1 0\nf 1 2 3\n"), UL_E_FORMAT,
         "line 2: a vertex without three numbers");
  refuse("box.obj", bytes_of_text("v 0 0 0\nv 1 0 nan\nv 0 1 0\nf 1 2 3\n"), UL_E_NUMBER,
         "z = nan");
}

/* A component bomb: each object uses the one before it twice. */
static void components_in_a_circle_or_multiplying_are_stopped(void **state) {
  (void)state;
  char bomb[8000], *at = bomb;
  for (int i = 2; i < 30; i++)
    at += sprintf(at,
                  "<object id=\"%d\"><components><component objectid=\"%d\"/>"
                  "<component objectid=\"%d\"/></components></object>",
                  i, i - 1, i - 1);
  sprintf(at, "</resources><build><item objectid=\"29\"/></build>");
  refuse("bomb.3mf", box_3mf("", bomb), UL_E_LIMIT, "multiply");
  refuse("circle.3mf",
         box_3mf("", "<object id=\"2\"><components><component objectid=\"2\"/></components>"
                     "</object></resources><build><item objectid=\"2\"/></build>"),
         UL_E_LIMIT, "circle");
}

/* Formats that say how much they hold, or how they end, have no acceptable shorter prefix (but for
 * white space and a name at the end). */
static void every_prefix_is_refused(void **state) {
  (void)state;
  const struct {
    const char *name;
    file_bytes file;
    size_t step, spare;
  } whole[] = {{"b.stl", box_stl_binary(1), 7, 0},
               {"a.stl", box_stl_ascii("a"), 31, 3},
               {"a.ply", box_ply_ascii(), 11, 1},
               {"b.ply", box_ply_binary(), 11, 0},
               {"a.off", box_off(), 5, 1},
               {"a.glb", box_glb(), 41, 0},
               {"a.dae", box_dae(""), 53, 1},
               {"a.3mf", box_3mf("", "</resources><build><item objectid=\"1\"/></build>"), 29, 0}};
  for (size_t i = 0; i < sizeof whole / sizeof *whole; i++) {
    for (size_t n = 0; n + whole[i].spare < whole[i].file.size; n += whole[i].step) {
      file_bytes part = {malloc(n + 1), n};
      memcpy(part.data, whole[i].file.data, n);
      ul_mesh *mesh;
      ul_error err;
      ul_status status = import_once(whole[i].name, part, &mesh, NULL, &err);
      if (status == UL_OK || ul_status_exit_code(status) != 3)
        fail_msg("%zu bytes of %s: %s", n, whole[i].name, ul_status_text(status));
    }
    free(whole[i].file.data);
  }
}

/* In the caller and, counted on, in the child. */
static void every_allocation_may_fail(void **state) {
  (void)state;
  const struct {
    const char *name;
    file_bytes file;
  } files[] = {{"a.stl", box_stl_ascii("a")},
               {"b.stl", box_stl_binary(1)},
               {"a.obj", box_obj()},
               {"b.ply", box_ply_binary()},
               {"a.off", box_off()},
               {"a.glb", box_glb()},
               {"a.dae", box_dae("")},
               {"a.3mf", box_3mf("", "</resources><build><item objectid=\"1\"/></build>")}};
  ul_import_opts opts = ul_import_opts_default();
  for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
    ul_status status = UL_E_MEMORY;
    long n = 0;
    while (status != UL_OK) {
      ul_mesh *mesh;
      ul_error err = {0};
      ul_memory_fail_at(++n);
      status = import_bytes(files[i].name, files[i].file, &opts, &mesh, NULL, &err);
      ul_memory_fail_at(0);
      if (status != UL_OK && status != UL_E_MEMORY && status != UL_E_LIMIT)
        fail_msg("%s, allocation %ld: %s", files[i].name, n, err.text);
      assert_int_equal(status == UL_OK, mesh != NULL);
      ul_mesh_free(mesh);
    }
    assert_true(n > 5);
    free(files[i].file.data);
  }
}

static uint32_t next_random(uint64_t *state) {
  *state = *state * 6364136223846793005u + 1442695040888963407u;
  return (uint32_t)(*state >> 33);
}

static void mutate(file_bytes file, uint64_t *random) {
  for (uint32_t n = 1 + next_random(random) % 4; n > 0; n--) {
    size_t at = next_random(random) % file.size;
    switch (next_random(random) % 3) {
    case 0:
      file.data[at] = (char)next_random(random);
      break;
    case 1:
      file.data[at] = (char)('0' + next_random(random) % 10);
      break;
    default: /* a piece from elsewhere */
      for (size_t k = at; k < file.size && k < at + 8; k++)
        file.data[k] = file.data[next_random(random) % file.size];
    }
  }
}

/* Whatever comes of it: an answer, and if a mesh, a sound one. */
static void no_damaged_file_ends_the_caller(void **state) {
  (void)state;
  uint64_t random = 20261125;
  ul_import_opts opts = ul_import_opts_default();
  opts.cpu_s = 1;
  for (int round = 0; round < 25; round++) {
    const struct {
      const char *name;
      file_bytes file;
    } files[] = {{"a.stl", box_stl_ascii("a")},
                 {"b.stl", box_stl_binary(1)},
                 {"a.obj", box_obj()},
                 {"a.ply", box_ply_ascii()},
                 {"b.ply", box_ply_binary()},
                 {"a.off", box_off()},
                 {"a.glb", box_glb()},
                 {"a.dae", box_dae("<unit meter=\"0.001\"/>")},
                 {"a.3mf", box_3mf("", "</resources><build><item objectid=\"1\"/></build>")}};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
      mutate(files[i].file, &random);
      ul_mesh *mesh;
      ul_error err;
      ul_status status = import_bytes(files[i].name, files[i].file, &opts, &mesh, NULL, &err);
      free(files[i].file.data);
      if (status != UL_OK) assert_int_equal(ul_status_exit_code(status), 3);
      for (size_t v = 0; mesh && v < mesh->vertex_count; v++)
        for (int c = 0; c < 3; c++) assert_true(isfinite(mesh->vertex_mm[v][c]));
      for (size_t t = 0; mesh && t < mesh->triangle_count; t++)
        for (int c = 0; c < 3; c++) assert_true(mesh->triangle[t][c] < mesh->vertex_count);
      ul_mesh_free(mesh);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_cannot_be_read_says_why),
      cmocka_unit_test(options_that_make_no_sense_are_refused),
      cmocka_unit_test(a_name_and_a_content_that_disagree_are_told_apart),
      cmocka_unit_test(nothing_in_a_file_is_said_to_be_nothing),
      cmocka_unit_test(a_flat_mesh_is_refused_however_it_lies),
      cmocka_unit_test(a_number_that_is_none_is_named_with_its_triangle),
      cmocka_unit_test(what_is_missing_is_counted),
      cmocka_unit_test(an_obj_that_is_damaged_is_refused_with_the_line),
      cmocka_unit_test(components_in_a_circle_or_multiplying_are_stopped),
      cmocka_unit_test(every_prefix_is_refused),
      cmocka_unit_test(every_allocation_may_fail),
      cmocka_unit_test(no_damaged_file_ends_the_caller),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
