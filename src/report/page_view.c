/* page_view.c - how the propped tool is looked at. */
#include "base/vec.h"
#include "report/page_parts.h"

void ul_page_corner(const ul_tool *tool, int corner, double out[3]) {
  for (int a = 0; a < 3; a++) out[a] = tool->box_mm[corner >> a & 1][a];
}

double ul_page_height(const double up[3], const double at_mm[3]) {
  return ul_dot(up, at_mm);
}

double ul_page_bench(const ul_tool *tool, const double up[3]) {
  double lowest = INFINITY;
  for (int i = 0; i < 8; i++) {
    double at[3];
    ul_page_corner(tool, i, at);
    lowest = fmin(lowest, ul_dot(up, at));
  }
  return lowest;
}

void ul_page_along(const ul_tool *tool, const double up[3], double along[3]) {
  double longest = -1;
  for (int a = 0; a < 3; a++) {
    double edge[3] = {0}, size = tool->box_mm[1][a] - tool->box_mm[0][a];
    edge[a] = 1;
    ul_add_scaled(edge, -up[a], up, edge);
    double level = ul_norm(edge);
    if (level * size <= longest * (1 + 1e-9)) continue; /* of equals x, then y */
    longest = level * size;
    for (int c = 0; c < 3; c++) along[c] = edge[c] / level;
  }
}

void ul_page_look(const double up[3], const double along[3], double turn_deg, double above_deg,
                  ul_page_view *view) {
  double turn = turn_deg * M_PI / 180, above = above_deg * M_PI / 180, level[3], back[3];
  ul_cross(along, up, back); /* from the paper to the eye, before any turning */
  for (int c = 0; c < 3; c++) {
    view->right[c] = cos(turn) * along[c] + sin(turn) * back[c];
    level[c] = cos(turn) * back[c] - sin(turn) * along[c];
  }
  for (int c = 0; c < 3; c++) {
    view->toward[c] = cos(above) * level[c] + sin(above) * up[c];
    view->up[c] = cos(above) * up[c] - sin(above) * level[c];
  }
  view->scale = 1;
  view->x0 = view->y0 = 0;
}

void ul_page_project(const ul_page_view *view, const double at_mm[3], double out[2]) {
  out[0] = view->x0 + view->scale * ul_dot(view->right, at_mm);
  out[1] = view->y0 - view->scale * ul_dot(view->up, at_mm);
}
