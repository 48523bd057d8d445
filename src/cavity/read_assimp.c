/* glTF and COLLADA by the general library Assimp, in the child only: its readers crash on many a
 * damaged file. The scene's nodes are placed here, not by its PreTransformVertices,
 * which merges the meshes and loses their names. */
#include "cavity/draft.h"

#include "base/fail.h"
#include "cavity/affine.h"
#include "cavity/asset_dae.h"

#include <assimp/cimport.h>
#include <assimp/config.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

typedef struct {
  ul_draft *d;
  const struct aiScene *scene;
  bool ok;
} walk;

/* Assimp's matrices act on columns. */
static ul_affine of_node(const struct aiMatrix4x4 *t) {
  return (ul_affine){
      {{t->a1, t->b1, t->c1}, {t->a2, t->b2, t->c2}, {t->a3, t->b3, t->c3}, {t->a4, t->b4, t->c4}}};
}

/* The library gives what is nameless in the file a name of its own. */
static const char *own_name(const char *name) {
  return strcmp(name, "DefaultMaterial") == 0 ? "" : name;
}

/* The node's name; with several meshes in it also the material's, which is what tells them apart.
 */
static uint32_t add_part(walk *w, const struct aiNode *node, const struct aiMesh *mesh) {
  char name[2 * MAXLEN + 2];
  struct aiString material = {0};
  if (mesh->mMaterialIndex < w->scene->mNumMaterials)
    aiGetMaterialString(w->scene->mMaterials[mesh->mMaterialIndex], AI_MATKEY_NAME, &material);
  const char *own = own_name(node->mName.length ? node->mName.data : mesh->mName.data);
  const char *stuff = own_name(material.data);
  bool both = *own && *stuff && node->mNumMeshes > 1;
  snprintf(name, sizeof name, "%s%s%s", own, both ? "/" : "", both || !*own ? stuff : "");
  return ul_draft_part(w->d, name, strlen(name), &w->ok);
}

static void take_mesh(walk *w, const struct aiNode *node, const struct aiMesh *mesh,
                      const ul_affine *place) {
  bool mirrored = ul_affine_mirrors(place);
  uint32_t part = add_part(w, node, mesh);
  uint32_t first = ul_draft_vertices(w->d, mesh->mNumVertices, &w->ok);
  for (uint32_t v = 0; v < mesh->mNumVertices && w->ok; v++) {
    const struct aiVector3D *at = &mesh->mVertices[v];
    const double p[3] = {(double)at->x, (double)at->y, (double)at->z};
    ul_affine_apply(place, p, w->d->mesh->vertex_mm[first + v]);
  }
  for (uint32_t f = 0; f < mesh->mNumFaces && w->ok; f++) {
    const struct aiFace *face = &mesh->mFaces[f];
    if (face->mNumIndices != 3) continue; /* points and lines bound nothing */
    const unsigned *c = face->mIndices;
    ul_draft_triangle(w->d, first + c[0], first + c[mirrored ? 2 : 1], first + c[mirrored ? 1 : 2],
                      part, &w->ok);
  }
}

static void take_node(walk *w, const struct aiNode *node, const ul_affine *place) {
  for (uint32_t i = 0; i < node->mNumMeshes && w->ok; i++)
    take_mesh(w, node, w->scene->mMeshes[node->mMeshes[i]], place);
  for (uint32_t i = 0; i < node->mNumChildren && w->ok; i++) {
    ul_affine own = of_node(&node->mChildren[i]->mTransformation);
    own = ul_affine_then(&own, place);
    take_node(w, node->mChildren[i], &own);
  }
}

static ul_status refused(ul_draft *d, const char *hint) {
  const char *why = aiGetErrorString();
  if (strstr(why, "bad_alloc") || strstr(why, "bad allocation")) return ul_draft_no_memory(d);
  if (strstr(why, "contains no faces") || strstr(why, "no meshes"))
    return ul_fail(&d->err, UL_E_EMPTY, "holds no triangles: export the surface of the cavity");
  const char *elsewhere = strstr(why, "could not open referenced file ");
  if (elsewhere)
    return ul_fail(&d->err, UL_E_FORMAT,
                   "keeps its triangles in a second file, %.80s, and only one file is read: export "
                   "it as .glb, with its data in the one file",
                   strchr(elsewhere, '"') ? strchr(elsewhere, '"') : "not named");
  return ul_fail(&d->err, UL_E_FORMAT, "cannot be read as .%s (%.120s): export or copy it again",
                 hint, *why ? why : "no reason given");
}

static const struct aiScene *import(ul_draft *d, const char *hint) {
  struct aiPropertyStore *set = aiCreatePropertyStore();
  if (!set) return NULL;
  aiSetImportPropertyInteger(set, AI_CONFIG_PP_RVC_FLAGS,
                             aiComponent_NORMALS | aiComponent_TANGENTS_AND_BITANGENTS |
                                 aiComponent_COLORS | aiComponent_TEXCOORDS |
                                 aiComponent_BONEWEIGHTS | aiComponent_ANIMATIONS |
                                 aiComponent_TEXTURES | aiComponent_LIGHTS | aiComponent_CAMERAS);
  aiSetImportPropertyInteger(set, AI_CONFIG_IMPORT_COLLADA_IGNORE_UP_DIRECTION, 1);
  aiSetImportPropertyInteger(set, AI_CONFIG_IMPORT_COLLADA_USE_COLLADA_NAMES, 1);
  const struct aiScene *scene = aiImportFileFromMemoryWithProperties(
      (const char *)d->bytes, (unsigned)d->size,
      aiProcess_ValidateDataStructure | aiProcess_RemoveComponent | aiProcess_Triangulate, hint,
      set);
  aiReleasePropertyStore(set);
  return scene;
}

static ul_status before(ul_draft *d, const char *hint) {
  static const struct {
    const char *hint, *name;
  } names[] = {{"gltf", "glTF"}, {"glb", "GLB"}, {"dae", "COLLADA"}};
  for (size_t i = 0; i < sizeof names / sizeof *names; i++)
    if (strcmp(hint, names[i].hint) == 0)
      snprintf(d->format, sizeof d->format, "%s", names[i].name);
  if (d->size > UINT32_MAX)
    return ul_fail(&d->err, UL_E_LIMIT, "%zu bytes are more than 4 GiB: export a coarser mesh",
                   d->size);
  if (strcmp(hint, "dae") == 0) return ul_read_dae_asset(d);
  if (*hint == 'g') d->mm_per_unit = 1000, d->up = 'y'; /* glTF 2.0, 3.4: metres, +y up */
  return UL_OK;
}

ul_status ul_read_assimp(ul_draft *d, const char *hint) {
  ul_status status = before(d, hint);
  if (status != UL_OK) return status;
  const struct aiScene *scene = import(d, hint);
  if (!scene || !scene->mRootNode) return refused(d, hint);
  ul_affine place = of_node(&scene->mRootNode->mTransformation);
  if (strcmp(hint, "dae") == 0) /* the library has put the unit there, in front of the rest */
    for (int row = 0; row < 3; row++)
      for (int c = 0; c < 3; c++) place.m[row][c] /= (double)(float)(d->mm_per_unit / 1000);
  walk w = {d, scene, true};
  take_node(&w, scene->mRootNode, &place);
  aiReleaseImport(scene);
  return w.ok ? UL_OK : ul_draft_no_memory(d);
}
