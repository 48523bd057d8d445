#include "cavity/stitch.h"

#include "base/forest.h"
#include "base/memory.h"
#include "base/vec.h"
#include "cavity/hash_grid.h"
#include "cavity/mesh_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Corners put on sides make other sides fit, or two pieces fall together; more than a few rounds
 * help no more. */
enum { MOST_ROUNDS = 12 };

/* How long a gap may be that is closed, in nears. */
static const double GAP_NEARS = 64;

/* Side `at` of a piece, from its corner of that number to the next. */
typedef struct {
  uint32_t low, high; /* its ends */
  uint32_t piece, at;
  int way; /* 1: from low to high */
} side;

/* A corner to be put on a side. */
typedef struct {
  uint32_t piece, at;
  double share; /* how far along */
  uint32_t vertex;
} setting;

typedef struct {
  double near_mm;
  double (*vertex)[3];
  size_t vertex_count;
  ul_skin_piece *piece; /* `first` counts in `id` */
  size_t piece_count;
  uint32_t *id;
  size_t id_count;
  side *loose; /* sides that no others run against */
  size_t loose_count;
  setting *setting;
  size_t setting_count, setting_room;
} stitching;

/* -- corners -- */

static ul_status weld(stitching *s, const ul_skin *skin, const ul_mesh *from) {
  size_t room = from->vertex_count + skin->corner_count;
  if (room > UINT32_MAX) return UL_E_LIMIT;
  double box[2][3], farthest = 0;
  ul_mesh_box_mm(from, box);
  for (int c = 0; c < 3; c++) farthest = fmax(farthest, fmax(fabs(box[0][c]), fabs(box[1][c])));
  ul_hash_grid grid = {0};
  uint32_t *becomes = ul_new_raw(room, sizeof *becomes);
  s->vertex = ul_new_raw(room, sizeof *s->vertex);
  s->id = ul_new_raw(skin->corner_count, sizeof *s->id);
  bool ok = becomes && s->vertex && s->id;
  if (ok) {
    memcpy(s->vertex, from->vertex_mm, from->vertex_count * sizeof *s->vertex);
    memcpy(s->vertex + from->vertex_count, skin->corner, skin->corner_count * sizeof *s->vertex);
    ok = ul_hash_grid_start(&grid, s->vertex, room, room, s->near_mm, 2 * farthest);
  }
  if (ok) {
    ul_hash_grid_take(&grid, 0, room, becomes);
    s->vertex_count = grid.kept_count;
    s->id_count = skin->corner_count;
    for (size_t i = 0; i < s->id_count; i++) s->id[i] = becomes[from->vertex_count + i];
  }
  ul_hash_grid_end(&grid);
  free(becomes);
  return ok ? UL_OK : UL_E_MEMORY;
}

/* Sides without length go, and so do tongues: out along a line and back on it. */
static void tidy(stitching *s, ul_skin_piece *p) {
  uint32_t *id = s->id + p->first, n = p->count;
  for (uint32_t i = 0; i < n && n >= 3;) {
    uint32_t next = (i + 1) % n, after = (i + 2) % n;
    bool same = id[i] == id[next];
    if (!same && id[i] != id[after]) {
      i++;
      continue;
    }
    uint32_t drop = same ? i : next;
    memmove(id + drop, id + drop + 1, (n - drop - 1) * sizeof *id);
    n--;
    i = 0;
  }
  p->count = n >= 3 ? n : 0;
}

/* -- sides -- */

static int along_edges(const void *a, const void *b) {
  const side *p = a, *q = b;
  if (p->low != q->low) return p->low < q->low ? -1 : 1;
  if (p->high != q->high) return p->high < q->high ? -1 : 1;
  if (p->piece != q->piece) return p->piece < q->piece ? -1 : 1;
  return (p->at > q->at) - (p->at < q->at);
}

static size_t list_sides(const stitching *s, side *list) {
  size_t count = 0;
  for (uint32_t p = 0; p < s->piece_count; p++)
    for (uint32_t i = 0; i < s->piece[p].count; i++) {
      const uint32_t *id = s->id + s->piece[p].first;
      uint32_t a = id[i], b = id[(i + 1) % s->piece[p].count];
      list[count++] = a < b ? (side){a, b, p, i, 1} : (side){b, a, p, i, -1};
    }
  return count;
}

/* Keeps the sides of edges along which not as many run one way as the other. */
static ul_status find_loose(stitching *s) {
  free(s->loose);
  s->loose_count = 0;
  s->loose = ul_new_raw(s->id_count, sizeof *s->loose);
  if (!s->loose) return UL_E_MEMORY;
  size_t count = list_sides(s, s->loose);
  if (count) qsort(s->loose, count, sizeof *s->loose, along_edges);
  for (size_t i = 0, end; i < count; i = end) {
    int sum = 0;
    for (end = i; end < count && s->loose[end].low == s->loose[i].low &&
                  s->loose[end].high == s->loose[i].high;
         end++)
      sum += s->loose[end].way;
    for (size_t k = i; sum != 0 && k < end; k++) s->loose[s->loose_count++] = s->loose[k];
  }
  return UL_OK;
}

/* -- corners on sides -- */

/* Corners are listed by how far along this they are: faces along an axis, which most parts have, do
 * not lie across it, so that few corners are level with a short side. */
static const double ASKEW[3] = {0.4241371, 0.5903117, 0.6867239};

typedef struct {
  double along;
  uint32_t vertex;
} placed;

static placed place_of(const stitching *s, uint32_t vertex) {
  return (placed){ul_dot(s->vertex[vertex], ASKEW), vertex};
}

static int by_along(const void *a, const void *b) {
  const placed *p = a, *q = b;
  if (p->along != q->along) return p->along < q->along ? -1 : 1;
  return (p->vertex > q->vertex) - (p->vertex < q->vertex);
}

static ul_status list_ends(stitching *s, placed **out, size_t *count) {
  placed *list = *out = ul_new_raw(2 * s->loose_count, sizeof *list);
  if (!list) return UL_E_MEMORY;
  size_t n = 0;
  for (size_t i = 0; i < s->loose_count; i++) {
    list[n++] = place_of(s, s->loose[i].low);
    list[n++] = place_of(s, s->loose[i].high);
  }
  if (n) qsort(list, n, sizeof *list, by_along);
  *count = 0;
  for (size_t i = 0; i < n; i++)
    if (i == 0 || list[i].vertex != list[i - 1].vertex) list[(*count)++] = list[i];
  return UL_OK;
}

static size_t first_from(const placed *list, size_t count, double along) {
  size_t low = 0;
  while (count > 0) {
    size_t half = count / 2;
    if (list[low + half].along < along) {
      low += half + 1;
      count -= half + 1;
    } else
      count = half;
  }
  return low;
}

/* Whether the vertex lies on the side, between its ends, and how far along as the piece runs. */
static bool lies_on(const stitching *s, const side *l, uint32_t vertex, double *share) {
  const double *a = s->vertex[l->low], *b = s->vertex[l->high];
  double ab[3], ap[3], off[3];
  ul_sub(b, a, ab);
  ul_sub(s->vertex[vertex], a, ap);
  double t = ul_dot(ap, ab) / ul_dot(ab, ab);
  if (!(t > 0 && t < 1)) return false;
  ul_add_scaled(ap, -t, ab, off);
  *share = l->way > 0 ? t : 1 - t;
  return ul_dot(off, off) <= s->near_mm * s->near_mm;
}

static ul_status set_corners(stitching *s, const side *l, const placed *list, size_t count) {
  double from = place_of(s, l->low).along, to = place_of(s, l->high).along;
  double lo = fmin(from, to) - s->near_mm, hi = fmax(from, to) + s->near_mm;
  for (size_t i = first_from(list, count, lo); i < count && list[i].along <= hi; i++) {
    uint32_t v = list[i].vertex;
    double share;
    if (v == l->low || v == l->high || !lies_on(s, l, v, &share)) continue;
    if (!ul_grow((void **)&s->setting, &s->setting_room, s->setting_count + 1, sizeof *s->setting))
      return UL_E_MEMORY;
    s->setting[s->setting_count++] = (setting){l->piece, l->at, share, v};
  }
  return UL_OK;
}

static int by_place(const void *a, const void *b) {
  const setting *p = a, *q = b;
  if (p->piece != q->piece) return p->piece < q->piece ? -1 : 1;
  if (p->at != q->at) return p->at < q->at ? -1 : 1;
  if (p->share != q->share) return p->share < q->share ? -1 : 1;
  return (p->vertex > q->vertex) - (p->vertex < q->vertex);
}

/* All corners anew, with the settings in their places. */
static ul_status rebuild(stitching *s) {
  uint32_t *id = ul_new_raw(s->id_count + s->setting_count, sizeof *id);
  if (!id) return UL_E_MEMORY;
  size_t n = 0, next = 0;
  for (uint32_t p = 0; p < s->piece_count; p++) {
    ul_skin_piece *piece = &s->piece[p];
    size_t first = n;
    for (uint32_t i = 0; i < piece->count; i++) {
      id[n++] = s->id[piece->first + i];
      while (next < s->setting_count && s->setting[next].piece == p && s->setting[next].at == i)
        id[n++] = s->setting[next++].vertex;
    }
    piece->first = first;
    piece->count = (uint32_t)(n - first);
  }
  free(s->id);
  s->id = id;
  s->id_count = n;
  for (uint32_t p = 0; p < s->piece_count; p++) tidy(s, &s->piece[p]);
  return UL_OK;
}

static ul_status fit_sides(stitching *s) {
  placed *list;
  size_t count;
  s->setting_count = 0;
  ul_status status = list_ends(s, &list, &count);
  for (size_t i = 0; status == UL_OK && i < s->loose_count; i++)
    status = set_corners(s, &s->loose[i], list, count);
  free(list);
  if (status != UL_OK || s->setting_count == 0) return status;
  qsort(s->setting, s->setting_count, sizeof *s->setting, by_place);
  return rebuild(s);
}

/* Bodies that touch along a line have sides there that lie on one another: only when they have the
 * same corners do four triangles meet at each edge, and air that is parted there is known to be. */
static ul_status fit_met(stitching *s) {
  s->loose = ul_new_raw(s->id_count, sizeof *s->loose);
  if (!s->loose) return UL_E_MEMORY;
  const size_t count = list_sides(s, s->loose);
  for (size_t i = 0; i < count; i++)
    if (s->piece[s->loose[i].piece].met) s->loose[s->loose_count++] = s->loose[i];
  return fit_sides(s);
}

/* Where surfaces meet at a flat angle, what is near across them is far along them: the ends of two
 * sides that should be one stand apart by more than is near, with a short loose side between. That
 * one goes. */
static ul_status close_gaps(stitching *s, bool *some) {
  uint32_t *to = ul_new_raw(s->vertex_count, sizeof *to);
  if (!to) return UL_E_MEMORY;
  *some = false;
  for (uint32_t v = 0; v < s->vertex_count; v++) to[v] = v;
  for (size_t i = 0; i < s->loose_count; i++) {
    const side *l = &s->loose[i];
    if (ul_distance(s->vertex[l->low], s->vertex[l->high]) > GAP_NEARS * s->near_mm) continue;
    const uint32_t a = ul_root(to, l->low), b = ul_root(to, l->high);
    to[a < b ? b : a] = a < b ? a : b;
    *some = true;
  }
  for (size_t i = 0; *some && i < s->id_count; i++) s->id[i] = ul_root(to, s->id[i]);
  for (uint32_t p = 0; *some && p < s->piece_count; p++) tidy(s, &s->piece[p]);
  free(to);
  return UL_OK;
}

static ul_status fit(stitching *s) {
  for (uint32_t p = 0; p < s->piece_count; p++) tidy(s, &s->piece[p]);
  ul_status status = fit_met(s);
  if (status == UL_OK) status = find_loose(s);
  for (int round = 0; status == UL_OK && s->loose_count && round < MOST_ROUNDS; round++) {
    bool some = false;
    status = fit_sides(s);
    if (status == UL_OK && s->setting_count == 0) {
      status = close_gaps(s, &some);
      if (status != UL_OK || !some) return status;
    }
    if (status == UL_OK) status = find_loose(s);
  }
  return status;
}

/* -- triangles -- */

static size_t triangles_of(const ul_skin_piece *p) {
  return p->count <= 3 ? p->count / 3 : p->count;
}

static void middle_of(const stitching *s, const ul_skin_piece *p, double out[3]) {
  memset(out, 0, 3 * sizeof *out);
  for (uint32_t i = 0; i < p->count; i++)
    ul_add_scaled(out, 1.0 / p->count, s->vertex[s->id[p->first + i]], out);
}

/* Corners may lie in one line: a fan from the middle has no triangle without area. */
static void cut_piece(const stitching *s, const ul_skin_piece *p, uint32_t middle,
                      uint32_t (*triangle)[3]) {
  const uint32_t *id = s->id + p->first;
  if (p->count == 3) memcpy(triangle[0], id, sizeof triangle[0]);
  for (uint32_t i = 0; p->count > 3 && i < p->count; i++) {
    triangle[i][0] = id[i];
    triangle[i][1] = id[(i + 1) % p->count];
    triangle[i][2] = middle;
  }
}

static bool copy_names(const ul_mesh *from, ul_mesh *to) {
  for (size_t i = 0; i < from->part_count; i++) {
    to->part_name[i] = ul_mesh_copy_name(from->part_name[i], strlen(from->part_name[i]));
    if (!to->part_name[i]) return false;
  }
  return true;
}

/* Numbers the vertices in use, and the middles after them. */
static ul_status number(const stitching *s, uint32_t **out, size_t *vertices, size_t *triangles) {
  uint32_t *of = *out = ul_new_raw(s->vertex_count, sizeof *of), used = 0;
  if (!of) return UL_E_MEMORY;
  memset(of, 0xff, s->vertex_count * sizeof *of);
  *vertices = *triangles = 0;
  for (size_t p = 0; p < s->piece_count; p++) {
    *triangles += triangles_of(&s->piece[p]);
    *vertices += s->piece[p].count > 3;
    for (uint32_t i = 0; i < s->piece[p].count; i++) {
      uint32_t v = s->id[s->piece[p].first + i];
      if (of[v] == UINT32_MAX) of[v] = used++;
    }
  }
  *vertices += used;
  return *vertices > UINT32_MAX || *triangles > UINT32_MAX / 3 ? UL_E_LIMIT : UL_OK;
}

static void fill_mesh(const stitching *s, const uint32_t *of, const ul_mesh *from, ul_mesh *to,
                      uint32_t *piece_of) {
  uint32_t middle = (uint32_t)to->vertex_count;
  size_t t = 0;
  for (size_t v = 0; v < s->vertex_count; v++)
    if (of[v] != UINT32_MAX) ul_copy3(s->vertex[v], to->vertex_mm[of[v]]);
  for (size_t p = 0; p < s->piece_count; p++) {
    const ul_skin_piece *piece = &s->piece[p];
    if (piece->count > 3) middle_of(s, piece, to->vertex_mm[--middle]);
    size_t count = triangles_of(piece);
    cut_piece(s, piece, UINT32_MAX, to->triangle + t);
    for (size_t end = t + count; t < end; t++) {
      for (int k = 0; k < 3; k++) {
        uint32_t v = to->triangle[t][k];
        to->triangle[t][k] = v == UINT32_MAX ? middle : of[v];
      }
      to->part[t] = from->part[piece->source];
      piece_of[t] = (uint32_t)p;
    }
  }
}

static ul_status make_mesh(const stitching *s, const ul_mesh *from, ul_mesh **out,
                           uint32_t **piece) {
  uint32_t *of;
  size_t vertices, triangles;
  ul_status status = number(s, &of, &vertices, &triangles);
  if (status == UL_OK) status = ul_mesh_new_parts(vertices, triangles, from->part_count, out, NULL);
  if (status == UL_OK) {
    *piece = ul_new_raw(triangles, sizeof **piece);
    if (*piece && copy_names(from, *out))
      fill_mesh(s, of, from, *out, *piece);
    else
      status = UL_E_MEMORY;
  }
  free(of);
  if (status == UL_OK) return UL_OK;
  ul_mesh_free(*out);
  free(*piece);
  *out = NULL;
  *piece = NULL;
  return status;
}

ul_status ul_skin_stitch(const ul_skin *skin, const ul_mesh *from, double near_mm, ul_mesh **out,
                         uint32_t **piece) {
  *out = NULL;
  *piece = NULL;
  stitching s = {.near_mm = near_mm, .piece_count = skin->piece_count};
  if (skin->piece_count > UINT32_MAX) return UL_E_LIMIT;
  s.piece = ul_new_raw(s.piece_count, sizeof *s.piece);
  ul_status status = s.piece ? weld(&s, skin, from) : UL_E_MEMORY;
  if (status == UL_OK) {
    memcpy(s.piece, skin->piece, s.piece_count * sizeof *s.piece);
    status = fit(&s);
  }
  if (status == UL_OK && s.loose_count == 0) status = make_mesh(&s, from, out, piece);
  free(s.vertex);
  free(s.piece);
  free(s.id);
  free(s.loose);
  free(s.setting);
  return status;
}
