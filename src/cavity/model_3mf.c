#include "cavity/model_3mf.h"

#include "base/fail.h"
#include "base/memory.h"
#include "cavity/mesh_parts.h"
#include "cavity/scan.h"

#include <expat.h>
#include <stdlib.h>
#include <string.h>

/* Expat hands the user pointer to every handler; this hangs off it. */
typedef struct {
  ul_3mf_model *model;
  XML_Parser parser;
  uint32_t file;
  bool in_object, in_mesh, in_build;
} listener;

static void stop(listener *l) {
  XML_StopParser(l->parser, XML_FALSE);
}

static void stop_for_memory(listener *l) {
  ul_draft_no_memory(l->model->draft);
  stop(l);
}

static void stop_at(listener *l, const char *element, const char *attribute, const char *value) {
  ul_fail(&l->model->draft->err, UL_E_FORMAT,
          "%s, line %lu: <%s> has %s=\"%.40s\", which is not possible: export it again",
          l->model->path[l->file], (unsigned long)XML_GetCurrentLineNumber(l->parser), element,
          attribute, value ? value : "");
  stop(l);
}

static const char *local(const char *name) {
  const char *colon = strrchr(name, ':');
  return colon ? colon + 1 : name;
}

static const char *attribute(const char **attributes, const char *name) {
  for (; *attributes; attributes += 2)
    if (strcmp(local(attributes[0]), name) == 0) return attributes[1];
  return NULL;
}

static bool to_whole(const char *text, unsigned long *number) {
  if (!text || *text < '0' || *text > '9') return false;
  char *end;
  *number = strtoul(text, &end, 10);
  return *end == 0 && *number < UINT32_MAX;
}

static void on_vertex(listener *l, const char **attributes) {
  static const char *const name[3] = {"x", "y", "z"};
  ul_3mf_model *m = l->model;
  void *block = m->vertex;
  bool ok = ul_grow(&block, &m->vertex_room, m->vertices + 1, sizeof *m->vertex);
  m->vertex = block;
  if (!ok) {
    stop_for_memory(l);
    return;
  }
  for (int c = 0; c < 3; c++) {
    const char *text = attribute(attributes, name[c]);
    ul_scan s = {text, text ? text + strlen(text) : text};
    if (!text || !ul_scan_number(&s, &m->vertex[m->vertices][c])) {
      stop_at(l, "vertex", name[c], text);
      return;
    }
  }
  m->vertices++;
  m->object[m->objects - 1].vertices++;
}

static void on_triangle(listener *l, const char **attributes) {
  static const char *const name[3] = {"v1", "v2", "v3"};
  ul_3mf_model *m = l->model;
  ul_3mf_object *object = &m->object[m->objects - 1];
  void *block = m->triangle;
  bool ok = ul_grow(&block, &m->triangle_room, m->triangles + 1, sizeof *m->triangle);
  m->triangle = block;
  if (!ok) {
    stop_for_memory(l);
    return;
  }
  for (int c = 0; c < 3; c++) {
    unsigned long v;
    const char *text = attribute(attributes, name[c]);
    if (!to_whole(text, &v) || v >= object->vertices) {
      stop_at(l, "triangle", name[c], text);
      return;
    }
    m->triangle[m->triangles][c] = (uint32_t)v;
  }
  m->triangles++;
  object->triangles++;
}

static void on_object(listener *l, const char **attributes) {
  ul_3mf_model *m = l->model;
  const char *id = attribute(attributes, "id"), *name = attribute(attributes, "name");
  const char *type = attribute(attributes, "type");
  ul_3mf_object object = {
      .file = l->file, .vertex = m->vertices, .triangle = m->triangles, .component = m->components};
  object.is_part = !type || (strcmp(type, "support") != 0 && strcmp(type, "other") != 0);
  if (!to_whole(id, &object.id)) {
    stop_at(l, "object", "id", id);
    return;
  }
  void *block = m->object;
  bool ok = ul_grow(&block, &m->object_room, m->objects + 1, sizeof *m->object);
  m->object = block;
  object.name = ok ? ul_mesh_copy_name(name ? name : "", name ? strlen(name) : 0) : NULL;
  if (!object.name) {
    stop_for_memory(l);
    return;
  }
  m->object[m->objects++] = object;
  l->in_object = true;
}

static bool to_affine(const char *text, ul_affine *place) {
  *place = ul_affine_none();
  if (!text) return true;
  ul_scan s = {text, text + strlen(text)};
  for (int row = 0; row < 4; row++)
    for (int c = 0; c < 3; c++)
      if (!ul_scan_number(&s, &place->m[row][c])) return false;
  ul_scan_space(&s);
  return s.at == s.end;
}

/* <item> and <component> have the same attributes. */
static bool take_use(listener *l, const char *element, const char **attributes, ul_3mf_use *use) {
  const char *id = attribute(attributes, "objectid"), *path = attribute(attributes, "path");
  const char *place = attribute(attributes, "transform");
  bool ok = true;
  use->file = path ? ul_3mf_path(l->model, path, &ok) : l->file;
  if (!ok)
    stop_for_memory(l);
  else if (!to_whole(id, &use->id))
    stop_at(l, element, "objectid", id);
  else if (!to_affine(place, &use->place))
    stop_at(l, element, "transform", place);
  else
    return true;
  return false;
}

static void on_use(listener *l, const char *element, const char **attributes, ul_3mf_use **list,
                   size_t *count, size_t *room) {
  ul_3mf_use use;
  if (!take_use(l, element, attributes, &use)) return;
  void *block = *list;
  bool ok = ul_grow(&block, room, *count + 1, sizeof use);
  *list = block;
  if (ok)
    (*list)[(*count)++] = use;
  else
    stop_for_memory(l);
}

static void on_model(listener *l, const char **attributes) {
  static const struct {
    const char *name;
    double mm;
  } units[] = {{"micron", 0.001}, {"millimeter", 1}, {"centimeter", 10},
               {"inch", 25.4},    {"foot", 304.8},   {"meter", 1000}};
  const char *unit = attribute(attributes, "unit");
  double mm = unit ? 0 : 1;
  for (size_t i = 0; i < sizeof units / sizeof *units && unit; i++)
    if (strcmp(unit, units[i].name) == 0) mm = units[i].mm;
  ul_draft *d = l->model->draft;
  if (l->file == 0) d->mm_per_unit = mm;
  if (mm == 0 || mm != d->mm_per_unit) stop_at(l, "model", "unit", unit);
}

static void on_start(void *user, const char *element, const char **attributes) {
  listener *l = user;
  ul_3mf_model *m = l->model;
  const char *name = local(element);
  if (l->in_mesh && strcmp(name, "vertex") == 0) {
    on_vertex(l, attributes);
  } else if (l->in_mesh && strcmp(name, "triangle") == 0) {
    on_triangle(l, attributes);
  } else if (l->in_object && strcmp(name, "component") == 0) {
    size_t before = m->components;
    on_use(l, name, attributes, &m->component, &m->components, &m->component_room);
    m->object[m->objects - 1].components += m->components - before;
  } else if (l->in_build && strcmp(name, "item") == 0) {
    on_use(l, name, attributes, &m->item, &m->items, &m->item_room);
  } else if (strcmp(name, "object") == 0) {
    on_object(l, attributes);
  } else if (strcmp(name, "mesh") == 0) {
    l->in_mesh = l->in_object;
  } else if (strcmp(name, "build") == 0) {
    l->in_build = l->file == 0; /* only the root part's build counts */
  } else if (strcmp(name, "model") == 0) {
    on_model(l, attributes);
  }
}

static void on_end(void *user, const char *element) {
  listener *l = user;
  const char *name = local(element);
  if (strcmp(name, "object") == 0)
    l->in_object = l->in_mesh = false;
  else if (strcmp(name, "mesh") == 0)
    l->in_mesh = false;
  else if (strcmp(name, "build") == 0)
    l->in_build = false;
}

/* The specification forbids it, and it is how XML bombs are made. */
static void on_doctype(void *user, const char *name, const char *system, const char *public,
                       int internal) {
  (void)system, (void)public, (void)internal;
  stop_at(user, "!DOCTYPE", "name", name);
}

static ul_status feed(listener *l, zip_file_t *from) {
  ul_draft *d = l->model->draft;
  const char *path = l->model->path[l->file];
  static char piece[1 << 16];
  zip_int64_t got;
  do {
    got = zip_fread(from, piece, sizeof piece);
    if (got < 0)
      return ul_fail(&d->err, UL_E_FORMAT, "%s cannot be unpacked (%s): export or copy it again",
                     path, zip_file_strerror(from));
    if (XML_Parse(l->parser, piece, (int)got, got == 0) == XML_STATUS_OK) continue;
    if (d->err.code != UL_OK) return d->err.code;
    return ul_fail(&d->err, UL_E_FORMAT, "%s, line %lu: %s: export it again", path,
                   (unsigned long)XML_GetCurrentLineNumber(l->parser),
                   XML_ErrorString(XML_GetErrorCode(l->parser)));
  } while (got > 0);
  return UL_OK;
}

ul_status ul_3mf_parse(ul_3mf_model *model, uint32_t file, zip_file_t *from) {
  listener l = {.model = model, .file = file, .parser = XML_ParserCreate(NULL)};
  if (!l.parser) return ul_draft_no_memory(model->draft);
  XML_SetUserData(l.parser, &l);
  XML_SetElementHandler(l.parser, on_start, on_end);
  XML_SetStartDoctypeDeclHandler(l.parser, on_doctype);
  ul_status status = feed(&l, from);
  XML_ParserFree(l.parser);
  return status;
}

uint32_t ul_3mf_path(ul_3mf_model *model, const char *path, bool *ok) {
  path += *path == '/';
  for (size_t i = 0; i < model->paths; i++)
    if (strcmp(model->path[i], path) == 0) return (uint32_t)i;
  void *block = model->path;
  *ok = *ok && ul_grow(&block, &model->path_room, model->paths + 1, sizeof *model->path);
  model->path = block;
  char *copy = *ok ? ul_mesh_copy_name(path, strlen(path)) : NULL;
  *ok = copy != NULL;
  if (!copy) return 0;
  model->path[model->paths] = copy;
  return (uint32_t)model->paths++;
}

void ul_3mf_model_release(ul_3mf_model *model) {
  for (size_t i = 0; i < model->objects; i++) free(model->object[i].name);
  for (size_t i = 0; i < model->paths; i++) free(model->path[i]);
  free(model->vertex);
  free(model->triangle);
  free(model->object);
  free(model->component);
  free(model->item);
  free(model->path);
}
