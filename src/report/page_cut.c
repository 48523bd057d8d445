/* page_cut.c - the plumb plane of the stills: the cavity's wall in it, and the arrival. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "base/vec.h"
#include "report/page_parts.h"

enum { VENTS_TRIED = 8, STEPS = 9, NODES_MOST = 260, RIM = 3, GROWN = 2 };

/* --- the wall: triangles cut by the plane --- */

/* Where the edge between two vertices crosses; the same for both of its triangles. */
static uint64_t edge_crossing(const ul_mesh *mesh, const ul_page_view *view, double depth,
                              uint32_t a, uint32_t b, double out[2]) {
  uint32_t low = a < b ? a : b, high = a < b ? b : a;
  const double *p = mesh->vertex_mm[low], *q = mesh->vertex_mm[high];
  double dp = ul_dot(view->toward, p) - depth, dq = ul_dot(view->toward, q) - depth;
  double t = dp / (dp - dq);
  out[0] = (1 - t) * ul_dot(view->right, p) + t * ul_dot(view->right, q);
  out[1] = (1 - t) * ul_dot(view->up, p) + t * ul_dot(view->up, q);
  return (uint64_t)low * mesh->vertex_count + high;
}

/* Appends. A vertex in the plane counts as before it, so that outlines close. `name` keeps the
 * outlines of several meshes apart. */
static bool cut_mesh(const ul_mesh *mesh, const ul_page_view *view, double depth, uint64_t name,
                     ul_page_pieces *out) {
  for (size_t t = 0; t < mesh->triangle_count; t++) {
    const uint32_t *v = mesh->triangle[t];
    bool before[3];
    for (int k = 0; k < 3; k++) before[k] = ul_dot(view->toward, mesh->vertex_mm[v[k]]) >= depth;
    if (before[0] == before[1] && before[1] == before[2]) continue;
    int alone = before[0] == before[1] ? 2 : before[0] == before[2] ? 1 : 0;
    uint32_t i = v[alone], next = v[(alone + 1) % 3], last = v[(alone + 2) % 3];
    ul_page_piece p;
    p.from = name + edge_crossing(mesh, view, depth, i, before[alone] ? next : last, p.a);
    p.to = name + edge_crossing(mesh, view, depth, i, before[alone] ? last : next, p.b);
    if (!ul_page_piece_add(out, &p)) return false;
  }
  return true;
}

/* --- which plane --- */

typedef struct ul_page_try {
  ul_page_view view;
  double depth;
  double area; /* of the cavity in it */
  double span; /* of the box round that */
  double
      near; /* the shares of the holes, of the air that stays and of the inserts that lie in it */
} ul_page_try;

static bool is_near(const ul_page *page, const ul_page_try *t, const double at_mm[3]) {
  return fabs(ul_dot(t->view.toward, at_mm) - t->depth) <= 2 * page->grid->lattice.cube_mm;
}

static bool is_cut(const ul_mesh *mesh, const ul_page_try *t) {
  double low = INFINITY, high = -INFINITY;
  for (size_t i = 0; i < mesh->vertex_count; i++) {
    double depth = ul_dot(t->view.toward, mesh->vertex_mm[i]);
    low = fmin(low, depth);
    high = fmax(high, depth);
  }
  return low < t->depth && t->depth < high;
}

static double near_share(const ul_page *page, const ul_page_try *t) {
  double vents = 0, air = 0, all = 0;
  for (size_t i = 0; i < page->vents->count; i++)
    vents += is_near(page, t, page->vents->vent[i].at_mm);
  for (size_t i = 0; i < page->air_count; i++) {
    double weight = 1.0 / (double)(i + 1); /* they come largest first */
    all += weight;
    air += is_near(page, t, page->air[i].at_mm) ? weight : 0;
  }
  double cast = 0;
  for (size_t i = 0; i < page->insert_count; i++) cast += is_cut(page->insert[i].mesh, t);
  return (page->vents->count ? vents / (double)page->vents->count : 0) +
         (page->air_count ? air / all : 0) +
         (page->insert_count ? cast / (double)page->insert_count : 0);
}

static double box_area(const ul_page_pieces *wall) {
  double box[2][2] = {{INFINITY, INFINITY}, {-INFINITY, -INFINITY}};
  for (size_t i = 0; i < wall->count; i++)
    for (int c = 0; c < 2; c++) {
      box[0][c] = fmin(box[0][c], wall->piece[i].a[c]);
      box[1][c] = fmax(box[1][c], wall->piece[i].a[c]);
    }
  return wall->count ? (box[1][0] - box[0][0]) * (box[1][1] - box[0][1]) : 0;
}

static void middle_of(const ul_tool *tool, double out[3]) {
  for (int a = 0; a < 3; a++) out[a] = (tool->box_mm[0][a] + tool->box_mm[1][a]) / 2;
}

/* Planes through the vents, and at even steps through the tool; along it and across it. */
static size_t list_tries(const ul_page *page, ul_page_try *tries) {
  double along[3], across[3], at[3], size[3];
  ul_page_along(page->tool, page->up, along);
  ul_cross(page->up, along, across);
  ul_sub(page->tool->box_mm[1], page->tool->box_mm[0], size);
  size_t vents = page->vents->count < VENTS_TRIED ? page->vents->count : VENTS_TRIED, count = 0;
  for (size_t i = 0; i < vents + STEPS; i++)
    for (int heading = 0; heading < 2; heading++) {
      ul_page_try *t = &tries[count++];
      ul_page_look(page->up, heading ? across : along, 0, 0, &t->view);
      middle_of(page->tool, at);
      double deep = 0, step = i < vents ? 0 : (double)(i - vents) / (STEPS - 1) - 0.5;
      for (int a = 0; a < 3; a++) deep += fabs(t->view.toward[a]) * size[a];
      if (i < vents) ul_copy3(page->vents->vent[i].at_mm, at);
      t->depth = ul_dot(t->view.toward, at) + 0.8 * step * deep;
    }
  return count;
}

static bool choose_plane(const ul_page *page, ul_page_cut *cut) {
  ul_page_try tries[2 * (VENTS_TRIED + STEPS)], *best = tries;
  size_t count = list_tries(page, tries);
  double largest = 0, widest = 0, best_score = -1;
  for (size_t i = 0; i < count; i++) {
    ul_page_try *t = &tries[i];
    cut->wall.count = 0;
    if (!cut_mesh(page->mesh, &t->view, t->depth, 0, &cut->wall)) return false;
    t->area = ul_page_area(&cut->wall);
    t->span = box_area(&cut->wall);
    t->near = near_share(page, t);
    largest = fmax(largest, t->area);
    widest = fmax(widest, t->span);
  }
  for (size_t i = 0; largest > 0 && i < count; i++) {
    const ul_page_try *t = &tries[i];
    double score = sqrt(t->area / largest) + t->span / widest + 0.7 * t->near;
    if (score <= best_score + 1e-9) continue;
    best_score = score;
    best = &tries[i];
  }
  cut->view = best->view;
  cut->depth_mm = best->depth;
  cut->wall.count = 0;
  return cut_mesh(page->mesh, &cut->view, cut->depth_mm, 0, &cut->wall);
}

/* --- the arrival in it --- */

/* Linear between the cubes around a place that are in the cavity; NAN where there are none. */
static void sample(const ul_page *page, const double at[3], float *arrival, float *open) {
  const ul_lattice *l = &page->grid->lattice;
  long base[3];
  double part[3], sum = 0, weight = 0, shut = 0;
  for (int a = 0; a < 3; a++) {
    double g = (at[a] - l->origin_mm[a]) / l->cube_mm - 0.5;
    base[a] = (long)floor(g);
    part[a] = g - (double)base[a];
  }
  for (int corner = 0; corner < 8; corner++) {
    double w = 1;
    size_t cube = 0;
    bool there = true;
    for (int a = 2; a >= 0; a--) {
      long i = base[a] + (corner >> a & 1);
      w *= corner >> a & 1 ? part[a] : 1 - part[a];
      there = there && i >= 0 && i < l->n[a];
      cube = cube * (size_t)l->n[a] + (size_t)(there ? i : 0);
    }
    if (!there || !page->grid->inside[cube]) continue;
    bool reached = (double)page->arrival[cube] <= page->arrival_end;
    *(reached ? &weight : &shut) += w;
    if (reached) sum += w * (double)page->arrival[cube];
  }
  *arrival = weight > 1e-6 ? (float)(sum / weight) : NAN;
  *open = weight + shut > 1e-6 ? (float)(weight / (weight + shut)) : 1;
}

/* Nodes beside known ones take their mean, so that the wall lies within what is known. */
static bool grow(ul_page_cut *cut) {
  size_t count = (size_t)cut->n[0] * (size_t)cut->n[1];
  float *old = ul_new_raw(count, sizeof *old);
  for (int pass = 0; old && pass < GROWN; pass++) {
    memcpy(old, cut->arrival, count * sizeof *old);
    for (int y = 1; y + 1 < cut->n[1]; y++)
      for (int x = 1; x + 1 < cut->n[0]; x++) {
        size_t i = (size_t)y * (size_t)cut->n[0] + (size_t)x, row = (size_t)cut->n[0];
        if (!isnan(old[i])) continue;
        size_t beside[] = {i - 1,       i + 1,       i - row,     i + row,
                           i - row - 1, i - row + 1, i + row - 1, i + row + 1};
        double sum = 0;
        int known = 0;
        for (int k = 0; k < 8; k++)
          if (!isnan(old[beside[k]])) sum += (double)old[beside[k]], known++;
        if (known) cut->arrival[i] = (float)(sum / known);
      }
  }
  free(old);
  return old != NULL;
}

static bool sample_plane(const ul_page *page, ul_page_cut *cut) {
  double box[2][2] = {{INFINITY, INFINITY}, {-INFINITY, -INFINITY}};
  for (size_t i = 0; i < cut->wall.count; i++)
    for (int c = 0; c < 2; c++) {
      box[0][c] = fmin(box[0][c], cut->wall.piece[i].a[c]);
      box[1][c] = fmax(box[1][c], cut->wall.piece[i].a[c]);
    }
  if (!cut->wall.count) memset(box, 0, sizeof box);
  double size = fmax(box[1][0] - box[0][0], box[1][1] - box[0][1]);
  cut->step = fmax(page->grid->lattice.cube_mm, size / NODES_MOST);
  for (int c = 0; c < 2; c++) {
    cut->from[c] = box[0][c] - RIM * cut->step;
    cut->n[c] = (int)ceil((box[1][c] - box[0][c]) / cut->step) + 2 * RIM + 1;
  }
  size_t count = (size_t)cut->n[0] * (size_t)cut->n[1];
  cut->arrival = ul_new_raw(count, sizeof *cut->arrival);
  cut->open = ul_new_raw(count, sizeof *cut->open);
  if (!cut->arrival || !cut->open) return false;
  for (size_t i = 0; i < count; i++) {
    double u = cut->from[0] + cut->step * (double)(i % (size_t)cut->n[0]), at[3];
    double v = cut->from[1] + cut->step * (double)(i / (size_t)cut->n[0]);
    for (int c = 0; c < 3; c++)
      at[c] = u * cut->view.right[c] + v * cut->view.up[c] + cut->depth_mm * cut->view.toward[c];
    sample(page, at, &cut->arrival[i], &cut->open[i]);
  }
  return grow(cut);
}

static bool cut_inserts(const ul_page *page, ul_page_cut *cut) {
  uint64_t name = 0;
  for (size_t i = 0; i < page->insert_count; i++) {
    const ul_mesh *mesh = page->insert[i].mesh;
    if (!cut_mesh(mesh, &cut->view, cut->depth_mm, name, &cut->cast)) return false;
    name += (uint64_t)mesh->vertex_count * mesh->vertex_count;
  }
  return true;
}

ul_status ul_page_cut_make(const ul_page *page, ul_page_cut *cut, ul_error *err) {
  memset(cut, 0, sizeof *cut);
  return choose_plane(page, cut) && cut_inserts(page, cut) && sample_plane(page, cut)
             ? UL_OK
             : ul_fail_memory(err);
}

void ul_page_cut_free(ul_page_cut *cut) {
  free(cut->wall.piece);
  free(cut->cast.piece);
  free(cut->arrival);
  free(cut->open);
}
