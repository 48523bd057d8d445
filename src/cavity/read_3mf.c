/* 3MF by a reader of our own: the general library drops the unit and the names of instances. */
#include "cavity/model_3mf.h"

#include "base/fail.h"

#include <expat.h>
#include <stdio.h>
#include <string.h>

/* Deeper, or more of them, is a loop or a bomb, not a part. */
enum { DEEPEST = 32, MOST_USES = 100000 };

typedef struct {
  ul_3mf_model *model;
  size_t uses, left_out;
} placing;

static ul_status take_mesh(ul_3mf_model *m, const ul_3mf_object *object, const ul_affine *place,
                           const char *name) {
  ul_draft *d = m->draft;
  bool ok = true, mirrored = ul_affine_mirrors(place);
  uint32_t part = ul_draft_part(d, name, strlen(name), &ok);
  uint32_t first = ul_draft_vertices(d, object->vertices, &ok);
  for (size_t v = 0; v < object->vertices && ok; v++)
    ul_affine_apply(place, m->vertex[object->vertex + v], d->mesh->vertex_mm[first + v]);
  for (size_t t = 0; t < object->triangles && ok; t++) {
    const uint32_t *corner = m->triangle[object->triangle + t];
    ul_draft_triangle(d, first + corner[0], first + corner[mirrored ? 2 : 1],
                      first + corner[mirrored ? 1 : 2], part, &ok);
  }
  return ok ? UL_OK : ul_draft_no_memory(d);
}

static const ul_3mf_object *find(const ul_3mf_model *m, const ul_3mf_use *use) {
  for (size_t i = 0; i < m->objects; i++)
    if (m->object[i].id == use->id && m->object[i].file == use->file) return &m->object[i];
  return NULL;
}

/* `name` is that of the nearest enclosing object that has one. */
static ul_status place_use(placing *p, const ul_3mf_use *use, const ul_affine *outer,
                           const char *name, int depth) {
  ul_3mf_model *m = p->model;
  const ul_3mf_object *object = find(m, use);
  if (!object)
    return ul_fail(&m->draft->err, UL_E_FORMAT,
                   "an item or component uses object %lu of %s, which is not there: export it "
                   "again",
                   use->id, m->path[use->file]);
  if (depth > DEEPEST || p->uses++ > MOST_USES)
    return ul_fail(&m->draft->err, UL_E_LIMIT,
                   "object %lu is used more than %d deep or with more than %d others: its "
                   "components go in a circle, or multiply: export it again",
                   use->id, DEEPEST, MOST_USES);
  if (!object->is_part) {
    p->left_out++;
    return UL_OK;
  }
  ul_affine place = ul_affine_then(&use->place, outer);
  if (*object->name) name = object->name;
  ul_status status = object->triangles ? take_mesh(m, object, &place, name) : UL_OK;
  for (size_t c = 0; c < object->components && status == UL_OK; c++)
    status = place_use(p, &m->component[object->component + c], &place, name, depth + 1);
  return status;
}

static ul_status place_all(ul_3mf_model *m) {
  placing p = {.model = m};
  ul_affine none = ul_affine_none();
  for (size_t i = 0; i < m->items; i++) {
    ul_status status = place_use(&p, &m->item[i], &none, "", 0);
    if (status != UL_OK) return status;
  }
  if (p.left_out)
    ul_draft_note(m->draft, "%zu objects marked as supports or as no part are left out.",
                  p.left_out);
  if (m->objects && !m->items)
    return ul_fail(&m->draft->err, UL_E_EMPTY,
                   "holds %zu objects, but its build places none of them: export it again",
                   m->objects);
  return UL_OK;
}

static void on_relationship(void *user, const char *element, const char **attributes) {
  (void)element;
  const char *type = NULL, *target = NULL;
  char *root = user;
  for (; *attributes; attributes += 2) {
    if (strcmp(attributes[0], "Type") == 0) type = attributes[1];
    if (strcmp(attributes[0], "Target") == 0) target = attributes[1];
  }
  size_t length = type ? strlen(type) : 0;
  if (target && length > 8 && strcmp(type + length - 8, "/3dmodel") == 0)
    snprintf(root, 256, "%s", target);
}

/* The archive's relationships name the root model part; without them it has its usual name. */
static void find_root(zip_t *archive, char root[256]) {
  static char text[1 << 16];
  snprintf(root, 256, "3D/3dmodel.model");
  zip_file_t *file = zip_fopen(archive, "_rels/.rels", ZIP_FL_NOCASE);
  XML_Parser parser = file ? XML_ParserCreate(NULL) : NULL;
  if (parser) {
    XML_SetUserData(parser, root);
    XML_SetStartElementHandler(parser, on_relationship);
    zip_int64_t size = zip_fread(file, text, sizeof text);
    if (size > 0) XML_Parse(parser, text, (int)size, 1);
    XML_ParserFree(parser);
  }
  if (file) zip_fclose(file);
}

/* Every model part that is named from a part read before it. */
static ul_status parse_all(ul_3mf_model *m, zip_t *archive) {
  for (size_t f = 0; f < m->paths; f++) {
    zip_file_t *file = zip_fopen(archive, m->path[f], ZIP_FL_NOCASE);
    if (!file)
      return ul_fail(
          &m->draft->err, UL_E_FORMAT,
          "is a ZIP archive, but %.100s in it cannot be opened (%s): it is not a 3MF, or "
          "damaged: export it again",
          m->path[f], zip_strerror(archive));
    ul_status status = ul_3mf_parse(m, (uint32_t)f, file);
    zip_fclose(file);
    if (status != UL_OK) return status;
  }
  return UL_OK;
}

static zip_t *open_archive(ul_draft *d) {
  zip_error_t why;
  zip_error_init(&why);
  zip_source_t *source = zip_source_buffer_create(d->bytes, d->size, 0, &why);
  zip_t *archive = source ? zip_open_from_source(source, ZIP_RDONLY, &why) : NULL;
  if (!archive) {
    ul_fail(&d->err, UL_E_FORMAT,
            "is not a whole ZIP archive, as 3MF files are (%s): it is truncated or damaged: export "
            "or copy it again",
            zip_error_strerror(&why));
    if (source) zip_source_free(source);
  }
  zip_error_fini(&why);
  return archive;
}

ul_status ul_read_3mf(ul_draft *d) {
  ul_3mf_model model = {.draft = d};
  char root[256];
  bool ok = true;
  snprintf(d->format, sizeof d->format, "3MF");
  zip_t *archive = open_archive(d);
  if (!archive) return d->err.code;
  find_root(archive, root);
  ul_3mf_path(&model, root, &ok);
  ul_status status = ok ? parse_all(&model, archive) : ul_draft_no_memory(d);
  if (status == UL_OK) status = place_all(&model);
  ul_3mf_model_release(&model);
  zip_discard(archive);
  return status;
}
