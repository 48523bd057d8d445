#define _GNU_SOURCE /* open_memstream(), mkdtemp() */
#include "cavity/box_files.h"

#include "shapes/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <zip.h>

static const float corner[8][3] = {{0, 0, 0},  {30, 0, 0},  {30, 20, 0},  {0, 20, 0},
                                   {0, 0, 10}, {30, 0, 10}, {30, 20, 10}, {0, 20, 10}};
static const unsigned short face[12][3] = {{0, 2, 1}, {0, 3, 2}, {4, 5, 6}, {4, 6, 7},
                                           {0, 1, 5}, {0, 5, 4}, {1, 2, 6}, {1, 6, 5},
                                           {2, 3, 7}, {2, 7, 6}, {3, 0, 4}, {3, 4, 7}};

static FILE *start(file_bytes *file) {
  FILE *out = open_memstream(&file->data, &file->size);
  assert_non_null(out);
  return out;
}

static void put(FILE *out, const void *data, size_t bytes) {
  assert_int_equal(fwrite(data, 1, bytes, out), bytes);
}

static void put_u32(FILE *out, uint32_t x) {
  put(out, &x, 4); /* these tests run on little-endian machines, as the formats are */
}

/* "x y z" of each corner, each with `before` and `after` around it. */
static void put_corners(FILE *out, const char *before, const char *after) {
  for (int v = 0; v < 8; v++)
    fprintf(out, "%s%g %g %g%s", before, (double)corner[v][0], (double)corner[v][1],
            (double)corner[v][2], after);
}

static void put_faces(FILE *out, const char *before, const char *after) {
  for (int f = 0; f < 12; f++)
    fprintf(out, "%s%d %d %d%s", before, face[f][0], face[f][1], face[f][2], after);
}

file_bytes bytes_of_text(const char *text) {
  return (file_bytes){strdup(text), strlen(text)};
}

file_bytes box_stl_binary(double scale) {
  file_bytes file;
  FILE *out = start(&file);
  const char header[80] = "solid, as some binary files begin", record_end[2] = {0, 0};
  const float normal[3] = {0, 0, 0};
  put(out, header, sizeof header);
  put_u32(out, 12);
  for (int f = 0; f < 12; f++) {
    put(out, normal, sizeof normal);
    for (int c = 0; c < 3; c++)
      for (int k = 0; k < 3; k++) {
        float x = (float)(scale * (double)corner[face[f][c]][k]);
        put(out, &x, 4);
      }
    put(out, record_end, 2);
  }
  fclose(out);
  return file;
}

file_bytes box_stl_ascii(const char *name) {
  file_bytes file;
  FILE *out = start(&file);
  fprintf(out, "solid %s\n", name);
  for (int f = 0; f < 12; f++) {
    fprintf(out, "  facet normal 0 0 0\n    outer loop\n");
    for (int c = 0; c < 3; c++) {
      const float *v = corner[face[f][c]];
      fprintf(out, "      vertex %e %.3f %g\n", (double)v[0], (double)v[1], (double)v[2]);
    }
    fprintf(out, "    endloop\n  endfacet\n");
  }
  fprintf(out, "endsolid %s\n", name);
  fclose(out);
  return file;
}

file_bytes box_obj(void) {
  file_bytes file;
  FILE *out = start(&file);
  fprintf(out, "# a box\n");
  put_corners(out, "v ", "\n");
  fprintf(out, "g bottom\nusemtl red\nf 1 4 3 2\nusemtl blue\nf 5 6 7 8\n"
               "g sides\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf -5 -8 -4 -1\n");
  fclose(out);
  return file;
}

static FILE *start_ply(file_bytes *file, const char *kind) {
  FILE *out = start(file);
  fprintf(out,
          "ply\nformat %s 1.0\ncomment a box\nelement vertex 8\nproperty float x\n"
          "property float y\nproperty float z\nelement face 12\n"
          "property list uchar int vertex_indices\nend_header\n",
          kind);
  return out;
}

file_bytes box_ply_ascii(void) {
  file_bytes file;
  FILE *out = start_ply(&file, "ascii");
  put_corners(out, "", "\n");
  put_faces(out, "3 ", "\n");
  fclose(out);
  return file;
}

file_bytes box_ply_binary(void) {
  file_bytes file;
  FILE *out = start_ply(&file, "binary_little_endian");
  put(out, corner, sizeof corner);
  for (int f = 0; f < 12; f++) {
    fputc(3, out);
    for (int c = 0; c < 3; c++) put_u32(out, face[f][c]);
  }
  fclose(out);
  return file;
}

file_bytes box_off(void) {
  file_bytes file;
  FILE *out = start(&file);
  fprintf(out, "OFF\n8 12 0\n");
  put_corners(out, "", "\n");
  put_faces(out, "3 ", "\n");
  fclose(out);
  return file;
}

file_bytes box_glb(void) {
  char json[2000];
  snprintf(json, sizeof json,
           "{\"asset\":{\"version\":\"2.0\"},\"scene\":0,\"scenes\":[{\"nodes\":[0,1]}],"
           "\"nodes\":[{\"name\":\"saddle\",\"mesh\":0,\"translation\":[0.1,0,0]},"
           "{\"name\":\"mirror\",\"mesh\":0,\"scale\":[-1,1,1]}],"
           "\"meshes\":[{\"primitives\":[{\"attributes\":{\"POSITION\":0},\"indices\":1}]}],"
           "\"accessors\":[{\"bufferView\":0,\"componentType\":5126,\"count\":8,\"type\":\"VEC3\","
           "\"min\":[0,0,0],\"max\":[0.03,0.02,0.01]},"
           "{\"bufferView\":1,\"componentType\":5123,\"count\":36,\"type\":\"SCALAR\"}],"
           "\"bufferViews\":[{\"buffer\":0,\"byteOffset\":0,\"byteLength\":96},"
           "{\"buffer\":0,\"byteOffset\":96,\"byteLength\":72}],"
           "\"buffers\":[{\"byteLength\":168}]}");
  uint32_t length = (uint32_t)((strlen(json) + 3) / 4 * 4);
  file_bytes file;
  FILE *out = start(&file);
  put(out, "glTF\2\0\0\0", 8);
  put_u32(out, 12 + 8 + length + 8 + 168);
  put_u32(out, length);
  fprintf(out, "JSON%-*s", (int)length, json);
  put_u32(out, 168);
  put(out, "BIN\0", 4);
  for (int v = 0; v < 8; v++)
    for (int c = 0; c < 3; c++) {
      float x = corner[v][c] / 1000;
      put(out, &x, 4);
    }
  put(out, face, sizeof face);
  fclose(out);
  return file;
}

file_bytes box_dae(const char *asset) {
  file_bytes file;
  FILE *out = start(&file);
  fprintf(out,
          "<?xml version=\"1.0\"?>\n"
          "<COLLADA xmlns=\"http://www.collada.org/2005/11/COLLADASchema\" version=\"1.4.1\">\n"
          "<asset>%s</asset>\n<library_geometries><geometry id=\"g\" name=\"pad\"><mesh>"
          "<source id=\"p\"><float_array id=\"a\" count=\"24\">",
          asset);
  put_corners(out, "", " ");
  fprintf(out, "</float_array><technique_common><accessor source=\"#a\" count=\"8\" stride=\"3\">"
               "<param name=\"X\" type=\"float\"/><param name=\"Y\" type=\"float\"/>"
               "<param name=\"Z\" type=\"float\"/></accessor></technique_common></source>"
               "<vertices id=\"v\"><input semantic=\"POSITION\" source=\"#p\"/></vertices>"
               "<triangles count=\"12\"><input semantic=\"VERTEX\" source=\"#v\" offset=\"0\"/>"
               "<p>");
  put_faces(out, "", " ");
  fprintf(out, "</p></triangles></mesh></geometry></library_geometries>\n<library_visual_scenes>"
               "<visual_scene id=\"s\"><node id=\"n\" name=\"seat pad\"><translate>5 6 7"
               "</translate><instance_geometry url=\"#g\"/></node></visual_scene>"
               "</library_visual_scenes>\n<scene><instance_visual_scene url=\"#s\"/></scene>"
               "</COLLADA>\n");
  fclose(out);
  return file;
}

static void add_to_zip(zip_t *archive, const char *name, const char *text) {
  zip_source_t *source = zip_source_buffer(archive, text, strlen(text), 0);
  assert_true(zip_file_add(archive, name, source, ZIP_FL_OVERWRITE) >= 0);
}

file_bytes zip_3mf(const char *model) {
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t *memory = zip_source_buffer_create(NULL, 0, 0, &why);
  zip_source_keep(memory);
  zip_t *archive = zip_open_from_source(memory, ZIP_CREATE | ZIP_TRUNCATE, &why);
  assert_non_null(archive);
  add_to_zip(archive, "_rels/.rels",
             "<Relationships><Relationship Target=\"/3D/3dmodel.model\" Id=\"r\" Type=\""
             "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>");
  add_to_zip(archive, "3D/3dmodel.model", model);
  assert_int_equal(zip_close(archive), 0);
  zip_stat_t stat;
  assert_int_equal(zip_source_stat(memory, &stat), 0);
  file_bytes file = {malloc(stat.size), stat.size};
  assert_int_equal(zip_source_open(memory), 0);
  assert_int_equal(zip_source_read(memory, file.data, stat.size), stat.size);
  zip_source_close(memory);
  zip_source_free(memory);
  zip_error_fini(&why);
  return file;
}

file_bytes box_3mf(const char *unit, const char *rest) {
  file_bytes model;
  FILE *out = start(&model);
  fprintf(out,
          "<?xml version=\"1.0\"?>\n<model %s xmlns=\"http://schemas.microsoft.com/"
          "3dmanufacturing/core/2015/02\"><resources>\n<object id=\"1\" name=\"horn\">"
          "<mesh><vertices>\n",
          unit);
  for (int v = 0; v < 8; v++)
    fprintf(out, "<vertex x=\"%g\" y=\"%g\" z=\"%g\"/>", (double)corner[v][0], (double)corner[v][1],
            (double)corner[v][2]);
  fprintf(out, "</vertices>\n<triangles>");
  for (int f = 0; f < 12; f++)
    fprintf(out, "<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>", face[f][0], face[f][1], face[f][2]);
  fprintf(out, "</triangles></mesh></object>\n%s</model>\n", rest);
  fclose(out);
  file_bytes file = zip_3mf(model.data);
  free(model.data);
  return file;
}

ul_status import_bytes(const char *name, file_bytes file, const ul_import_opts *opts,
                       ul_mesh **mesh, ul_import_info *info, ul_error *err) {
  char directory[] = "/tmp/ullage-test-XXXXXX", path[200];
  assert_non_null(mkdtemp(directory));
  snprintf(path, sizeof path, "%s/%s", directory, name);
  FILE *out = fopen(path, "wb");
  assert_non_null(out);
  put(out, file.data, file.size);
  fclose(out);
  ul_status status = ul_import(path, opts, NULL, mesh, info, err);
  assert_int_equal(unlink(path), 0);
  assert_int_equal(rmdir(directory), 0); /* so nothing else was left in it */
  return status;
}

ul_status import_once(const char *name, file_bytes file, ul_mesh **mesh, ul_import_info *info,
                      ul_error *err) {
  ul_import_opts opts = ul_import_opts_default();
  ul_status status = import_bytes(name, file, &opts, mesh, info, err);
  free(file.data);
  return status;
}

double mesh_volume(const ul_mesh *mesh) {
  double six = 0;
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const double *a = mesh->vertex_mm[mesh->triangle[t][0]];
    const double *b = mesh->vertex_mm[mesh->triangle[t][1]];
    const double *c = mesh->vertex_mm[mesh->triangle[t][2]];
    six += a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) +
           a[2] * (b[0] * c[1] - b[1] * c[0]);
  }
  return six / 6;
}

void assert_box(const ul_mesh *mesh, double x0, double y0, double z0, double x1, double y1,
                double z1) {
  double box[2][3], want[2][3] = {{x0, y0, z0}, {x1, y1, z1}};
  ul_mesh_box_mm(mesh, box);
  for (int i = 0; i < 2; i++)
    for (int c = 0; c < 3; c++) assert_near(box[i][c], want[i][c], 1e-6 * (x1 - x0));
}
