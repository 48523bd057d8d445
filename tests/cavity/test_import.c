#include "cavity/box_files.h"
#include "shapes/check.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void assert_note(const ul_import_info *info, const char *text) {
  for (size_t i = 0; i < info->note_count; i++)
    if (strstr(info->note[i], text)) return;
  fail_msg("no note says \"%s\"", text);
}

static void assert_parts(const ul_mesh *mesh, size_t count, const char *const *name) {
  assert_int_equal(mesh->part_count, count);
  for (size_t p = 0; p < count; p++) assert_string_equal(mesh->part_name[p], name[p]);
  for (size_t t = 0; t < mesh->triangle_count; t++) assert_true(mesh->part[t] < count);
}

static void every_unitless_format_gives_the_box_in_millimetres(void **state) {
  (void)state;
  const struct {
    const char *name, *format;
    file_bytes file;
  } files[] = {{"box.stl", "STL binary", box_stl_binary(1)},
               {"BOX.STL", "STL ASCII", box_stl_ascii("")},
               {"box.obj", "OBJ", box_obj()},
               {"box.ply", "PLY", box_ply_ascii()},
               {"b.x.ply", "PLY", box_ply_binary()},
               {"box.off", "OFF", box_off()}};
  for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
    ul_mesh *mesh;
    ul_import_info info;
    ul_error err;
    assert_ok(import_once(files[i].name, files[i].file, &mesh, &info, &err), &err);
    assert_string_equal(info.format, files[i].format);
    assert_int_equal(mesh->vertex_count, 8);
    assert_int_equal(mesh->triangle_count, 12);
    assert_int_equal(info.triangles_read, 12);
    assert_box(mesh, 0, 0, 0, 30, 20, 10);
    assert_rel(mesh_volume(mesh), 6000, 1e-12);
    assert_true(info.unit == UL_UNIT_MM && !info.unit_from_file && !info.turned_z_up);
    assert_int_equal(info.note_count, 0);
    ul_mesh_free(mesh);
  }
}

static void ascii_stl_keeps_solids_and_their_names(void **state) {
  (void)state;
  file_bytes one = box_stl_ascii("seat pad"), two = box_stl_ascii("rib");
  one.data = realloc(one.data, one.size + two.size);
  memcpy(one.data + one.size, two.data, two.size);
  one.size += two.size;
  free(two.data);
  ul_mesh *mesh;
  ul_error err;
  assert_ok(import_once("two.stl", one, &mesh, NULL, &err), &err);
  assert_parts(mesh, 2, (const char *const[]){"seat pad", "rib"});
  assert_true(mesh->part[11] == 0 && mesh->part[12] == 1);
  ul_mesh_free(mesh);
}

static void obj_groups_and_materials_become_parts(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_error err;
  assert_ok(import_once("box.obj", box_obj(), &mesh, NULL, &err), &err);
  assert_parts(mesh, 3, (const char *const[]){"bottom/red", "bottom/blue", "sides"});
  for (size_t t = 0; t < 12; t++)
    for (int c = 0; c < 3; c++) {
      double z = mesh->vertex_mm[mesh->triangle[t][c]][2];
      if (mesh->part[t] == 0) assert_true(z == 0);
      if (mesh->part[t] == 1) assert_true(z == 10);
    }
  ul_mesh_free(mesh);
}

/* Every spelling of a corner, polygons before their corners, lines that go on, a path that ends in
 * a backslash; and coordinates that a float would round. */
static void obj_is_read_in_double_however_it_is_spelt(void **state) {
  (void)state;
  file_bytes file =
      bytes_of_text("\xef\xbb\xbf# C:\\moulds\\\r\nf 1 3 2\r\n"
                    "v 5000.0123456789012 -3000.1 0.1 0.5 0.5 0.5\r\n"
                    "v 5001 -3000 \\\r\n0\r\nv 5000 -2999 0\r\nvt 0 0\r\nv 5000 -3000 1\r\n"
                    "o saddle\r\nusemtl C:\\\r\nf 1/1 2/1/1 4//1\r\nl 1 2\r\n"
                    "f -3/-1 \\\r\n  -2 -1 # the slope\r\nf 3 1 4");
  ul_mesh *mesh;
  ul_import_info info;
  ul_error err;
  assert_ok(import_once("corner.obj", file, &mesh, &info, &err), &err);
  assert_int_equal(mesh->triangle_count, 4);
  assert_true(mesh->vertex_mm[mesh->triangle[0][0]][0] == 5000.0123456789012);
  assert_true(mesh->vertex_mm[mesh->triangle[0][0]][1] == -3000.1);
  assert_parts(mesh, 2, (const char *const[]){"", "saddle"});
  assert_true(mesh->vertex_mm[mesh->triangle[2][0]][0] == 5001);
  ul_mesh_free(mesh);
}

/* y up to z up: (x, y, z) becomes (x, -z, y). The mirrored node must not be inside out. */
static void glb_nodes_are_placed_turned_and_scaled(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_import_info info;
  ul_error err;
  assert_ok(import_once("two.glb", box_glb(), &mesh, &info, &err), &err);
  assert_parts(mesh, 2, (const char *const[]){"saddle", "mirror"});
  assert_true(info.unit == UL_UNIT_M && info.unit_from_file && info.turned_z_up);
  assert_box(mesh, -30, -10, 0, 130, 0, 20);
  assert_rel(mesh_volume(mesh), 12000, 1e-6); /* metres as floats */
  ul_mesh_free(mesh);
}

static void collada_unit_and_up_axis_are_obeyed(void **state) {
  (void)state;
  static const struct {
    const char *asset;
    double mm, box[6];
    ul_unit unit;
    bool turned;
  } cases[] = {{"<unit name=\"mm\" meter=\"0.001\"/><up_axis>Z_UP</up_axis>",
                1,
                {5, 6, 7, 35, 26, 17},
                UL_UNIT_MM,
                false},
               {"<unit meter=\"0.0254\"/><up_axis>Y_UP</up_axis>",
                25.4,
                {5, -17, 6, 35, -7, 26},
                UL_UNIT_IN,
                true},
               {"<unit meter=\"0.01\"/><up_axis>X_UP</up_axis>",
                10,
                {-26, -17, 5, -6, -7, 35},
                UL_UNIT_CM,
                true},
               {"<unit meter=\"0.3048\"/>", 304.8, {5, -17, 6, 35, -7, 26}, UL_UNIT_NONE, true},
               {"", 1000, {5, -17, 6, 35, -7, 26}, UL_UNIT_M, true}};
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    ul_mesh *mesh;
    ul_import_info info;
    ul_error err;
    assert_ok(import_once("pad.dae", box_dae(cases[i].asset), &mesh, &info, &err), &err);
    const double mm = cases[i].mm, *b = cases[i].box;
    assert_parts(mesh, 1, (const char *const[]){"seat pad"});
    assert_rel(info.mm_per_unit, mm, 1e-12);
    assert_true(info.unit == cases[i].unit && info.turned_z_up == cases[i].turned);
    assert_box(mesh, b[0] * mm, b[1] * mm, b[2] * mm, b[3] * mm, b[4] * mm, b[5] * mm);
    assert_rel(mesh_volume(mesh), 6000 * mm * mm * mm, 1e-6);
    ul_mesh_free(mesh);
  }
}

/* Two horns on a saddle, the second mirrored and 50 inches off, all lifted by 5. */
static void a_3mf_has_its_unit_transforms_components_and_names(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_import_info info;
  ul_error err;
  file_bytes file = box_3mf(
      "unit=\"inch\"",
      "<object id=\"2\"><mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/>"
      "</vertices></mesh></object>"
      "<object id=\"7\" name=\"saddle\"><components><component objectid=\"1\"/>"
      "<component objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 -50 0 0\"/></components></object>"
      "<object id=\"9\" type=\"support\"><components><component objectid=\"1\"/></components>"
      "</object></resources><build><item objectid=\"7\" transform=\"1 0 0 0 1 0 0 0 1 0 0 5\"/>"
      "<item objectid=\"9\"/></build>");
  assert_ok(import_once("saddle.3mf", file, &mesh, &info, &err), &err);
  assert_parts(mesh, 2, (const char *const[]){"horn", "horn"});
  assert_true(info.unit == UL_UNIT_IN && info.unit_from_file && !info.turned_z_up);
  assert_note(&info, "1 objects marked as supports");
  assert_box(mesh, -80 * 25.4, 0, 5 * 25.4, 30 * 25.4, 20 * 25.4, 15 * 25.4);
  assert_rel(mesh_volume(mesh), 2 * 6000 * pow(25.4, 3), 1e-12);
  ul_mesh_free(mesh);
}

/* A quarter turn about z, written as the rows of the specification: x goes to y. */
static void a_3mf_transform_acts_on_rows(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_error err;
  file_bytes file = box_3mf("", "</resources><build><item objectid=\"1\" "
                                "transform=\"0 1 0 -1 0 0 0 0 1 100 0 0\"/></build>");
  assert_ok(import_once("turned.3mf", file, &mesh, NULL, &err), &err);
  assert_box(mesh, 80, 0, 0, 100, 30, 10);
  ul_mesh_free(mesh);
}

static void a_unitless_file_takes_the_unit_given_and_a_3mf_does_not(void **state) {
  (void)state;
  ul_import_opts opts = ul_import_opts_default();
  ul_import_info info;
  ul_mesh *mesh;
  ul_error err;
  opts.unit = UL_UNIT_IN;
  opts.grow_percent = 2;
  file_bytes file = box_stl_binary(1);
  assert_ok(import_bytes("box.stl", file, &opts, &mesh, &info, &err), &err);
  assert_rel(mesh_volume(mesh), 6000 * pow(25.4 * 1.02, 3), 1e-12);
  assert_true(info.unit == UL_UNIT_IN && !info.unit_from_file);
  ul_mesh_free(mesh);
  free(file.data);
  file = box_3mf("", "</resources><build><item objectid=\"1\"/></build>");
  opts.grow_percent = 0;
  assert_ok(import_bytes("box.3mf", file, &opts, &mesh, &info, &err), &err);
  assert_rel(mesh_volume(mesh), 6000, 1e-12);
  assert_note(&info, "--unit in is not used");
  ul_mesh_free(mesh);
  free(file.data);
}

/* "none" was told of it. */
static void a_unit_that_is_none_of_ours_keeps_its_word(void **state) {
  (void)state;
  static const struct {
    const char *said, *word;
    double mm;
  } units[] = {{"unit=\"micron\"", "micron", 0.001},
               {"unit=\"foot\"", "foot", 304.8},
               {"unit=\"centimeter\"", "cm", 10}};
  for (size_t i = 0; i < 3; i++) {
    ul_import_info info;
    ul_mesh *mesh;
    ul_error err;
    file_bytes file = box_3mf(units[i].said, "</resources><build><item objectid=\"1\"/></build>");
    assert_ok(import_once("odd.3mf", file, &mesh, &info, &err), &err);
    assert_string_equal(info.unit_word, units[i].word);
    assert_rel(info.mm_per_unit, units[i].mm, 1e-12);
    ul_mesh_free(mesh);
  }
}

static void a_suspected_wrong_unit_is_a_note(void **state) {
  (void)state;
  ul_import_info info;
  ul_mesh *mesh;
  ul_error err;
  assert_ok(import_once("small.stl", box_stl_binary(0.001), &mesh, &info, &err), &err);
  assert_note(&info, "0.03 x 0.02 x 0.01 mm: is the unit right? It was taken as mm; try --unit m");
  ul_mesh_free(mesh);
  assert_ok(import_once("large.stl", box_stl_binary(1000), &mesh, &info, &err), &err);
  assert_note(&info, "Very large, 3e+04 x 2e+04 x 1e+04 mm: is the unit right? It was taken as mm; "
                     "scale it down where it was drawn.");
  ul_mesh_free(mesh);
  ul_import_opts opts = ul_import_opts_default();
  opts.unit = UL_UNIT_M;
  file_bytes file = box_stl_binary(1);
  assert_ok(import_bytes("large.stl", file, &opts, &mesh, &info, &err), &err);
  free(file.data);
  assert_note(&info, "It was taken as m; try --unit mm, --unit cm or --unit in.");
  ul_mesh_free(mesh);
}

static void bytes_behind_an_stl_and_a_missing_count_load_with_a_note(void **state) {
  (void)state;
  ul_import_info info;
  ul_mesh *mesh;
  ul_error err;
  file_bytes file = box_stl_binary(1);
  file.data = realloc(file.data, file.size + 13);
  memcpy(file.data + file.size, "thirteen byte", 13);
  file.size += 13;
  assert_ok(import_once("box.stl", file, &mesh, &info, &err), &err);
  assert_note(&info, "13 bytes behind the last triangle");
  assert_rel(mesh_volume(mesh), 6000, 1e-12);
  ul_mesh_free(mesh);
  file = box_stl_binary(1);
  memset(file.data + 80, 0, 4);
  assert_ok(import_once("box.stl", file, &mesh, &info, &err), &err);
  assert_note(&info, "Says it holds no triangles, but holds 12");
  ul_mesh_free(mesh);
}

/* Before: a locale with a decimal comma must not change a number. */
static void numbers_are_read_the_same_under_a_comma_locale(void **state) {
  (void)state;
  static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE.utf8", "C.UTF-8"};
  for (size_t i = 0; i < 4 && !setlocale(LC_ALL, names[i]); i++) continue;
  static const char text[] = "solid\nfacet normal 0 0 0\nouter loop\nvertex 0.5 0 0\n"
                             "vertex 1.2345678901234567890123 1e1 0\nvertex 0 2.5E+0 -7.25e-1\n"
                             "endloop\nendfacet\nfacet normal 0 0 0\nouter loop\nvertex 9 9 9\n"
                             "vertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n";
  ul_mesh *mesh;
  ul_error err;
  ul_status status = import_once("two.stl", bytes_of_text(text), &mesh, NULL, &err);
  setlocale(LC_ALL, "C");
  assert_ok(status, &err);
  const double want[3][3] = {{0.5, 0, 0}, {1.2345678901234567890123, 10, 0}, {0, 2.5, -0.725}};
  for (int v = 0; v < 3; v++)
    for (int c = 0; c < 3; c++) assert_true(mesh->vertex_mm[v][c] == want[v][c]);
  ul_mesh_free(mesh);
}

static void names_from_a_file_are_made_printable(void **state) {
  (void)state;
  ul_mesh *mesh;
  ul_error err;
  assert_ok(import_once("box.stl", box_stl_ascii("pad \xc3\xa9\xff"), &mesh, NULL, &err), &err);
  assert_string_equal(mesh->part_name[0], "pad \xc3\xa9?");
  ul_mesh_free(mesh);
  file_bytes file = box_3mf(
      "", "<object id=\"2\" name=\"a&#x7f;b\"><mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/>"
          "<vertex x=\"9\" y=\"0\" z=\"0\"/><vertex x=\"0\" y=\"9\" z=\"5\"/>"
          "<vertex x=\"0\" y=\"0\" z=\"9\"/></vertices><triangles>"
          "<triangle v1=\"0\" v2=\"1\" v3=\"2\"/><triangle v1=\"0\" v2=\"1\" v3=\"3\"/>"
          "</triangles></mesh></object></resources><build><item objectid=\"2\"/></build>");
  assert_ok(import_once("odd.3mf", file, &mesh, NULL, &err), &err);
  assert_string_equal(mesh->part_name[0], "a?b");
  ul_mesh_free(mesh);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_unitless_format_gives_the_box_in_millimetres),
      cmocka_unit_test(ascii_stl_keeps_solids_and_their_names),
      cmocka_unit_test(obj_groups_and_materials_become_parts),
      cmocka_unit_test(obj_is_read_in_double_however_it_is_spelt),
      cmocka_unit_test(glb_nodes_are_placed_turned_and_scaled),
      cmocka_unit_test(collada_unit_and_up_axis_are_obeyed),
      cmocka_unit_test(a_3mf_has_its_unit_transforms_components_and_names),
      cmocka_unit_test(a_3mf_transform_acts_on_rows),
      cmocka_unit_test(a_unitless_file_takes_the_unit_given_and_a_3mf_does_not),
      cmocka_unit_test(a_unit_that_is_none_of_ours_keeps_its_word),
      cmocka_unit_test(a_suspected_wrong_unit_is_a_note),
      cmocka_unit_test(bytes_behind_an_stl_and_a_missing_count_load_with_a_note),
      cmocka_unit_test(numbers_are_read_the_same_under_a_comma_locale),
      cmocka_unit_test(names_from_a_file_are_made_printable),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
