/* page_propped.c - the tool on its blocks, drawn from a little above: the attitude chosen, with
 * numbers, and those it was compared with, small. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vec.h"
#include "report/page_sketch.h"

static const double TURN_DEG = 28, ABOVE_DEG = 16;

typedef struct ul_page_paper {
  int width, height, margin;
} ul_page_paper;

typedef struct ul_page_stand {
  const ul_page *page;
  double up[3], along[3], back[3], bench;
  double block_mm; /* how wide a block is drawn */
  ul_props props;
  ul_page_view view;
} ul_page_stand;

/* Fits the tool, the bench under it included, into the paper. */
static void fit(ul_page_stand *s, const ul_page_paper *paper) {
  double box[2][2] = {{INFINITY, INFINITY}, {-INFINITY, -INFINITY}};
  for (int i = 0; i < 16; i++) {
    double at[3], p[2];
    ul_page_corner(s->page->tool, i & 7, at);
    if (i & 8) ul_add_scaled(at, s->bench - ul_dot(s->up, at), s->up, at); /* its plumb foot */
    ul_page_project(&s->view, at, p);
    for (int c = 0; c < 2; c++) {
      box[0][c] = fmin(box[0][c], p[c]);
      box[1][c] = fmax(box[1][c], p[c]);
    }
  }
  double across = (paper->width - 2 * paper->margin) / (box[1][0] - box[0][0]);
  double down = (paper->height - 2 * paper->margin) / (box[1][1] - box[0][1]);
  s->view.scale = fmin(across, down);
  s->view.x0 = paper->width / 2.0 - s->view.scale * (box[0][0] + box[1][0]) / 2;
  s->view.y0 = paper->height - paper->margin - s->view.scale * box[1][1];
}

static void stand(ul_page_stand *s, const ul_page *page, const double up[3],
                  const ul_page_paper *paper) {
  s->page = page;
  ul_copy3(up, s->up);
  ul_page_along(page->tool, up, s->along);
  ul_cross(up, s->along, s->back);
  s->bench = ul_page_bench(page->tool, up);
  ul_props_for(page->tool, up, &s->props);
  double size[3];
  ul_sub(page->tool->box_mm[1], page->tool->box_mm[0], size);
  s->block_mm = 0.05 * ul_norm(size);
  ul_page_look(up, s->along, TURN_DEG, ABOVE_DEG, &s->view);
  fit(s, paper);
}

static void put_point(FILE *file, const ul_page_stand *s, char command, const double at_mm[3]) {
  double p[2];
  ul_page_project(&s->view, at_mm, p);
  fprintf(file, "%c%ld %ld", command, lround(p[0]), lround(p[1]));
}

/* --- the bench: a level rectangle under it all --- */

static void put_bench(FILE *file, const ul_page_stand *s) {
  double box[2][2] = {{INFINITY, INFINITY}, {-INFINITY, -INFINITY}};
  const double *axis[2] = {s->along, s->back};
  for (int i = 0; i < 8; i++) {
    double at[3];
    ul_page_corner(s->page->tool, i, at);
    for (int c = 0; c < 2; c++) {
      box[0][c] = fmin(box[0][c], ul_dot(axis[c], at) - s->block_mm);
      box[1][c] = fmax(box[1][c], ul_dot(axis[c], at) + s->block_mm);
    }
  }
  fputs("<path class=\"bench\" d=\"", file);
  for (int i = 0; i < 4; i++) {
    double at[3] = {0};
    ul_add_scaled(at, s->bench, s->up, at);
    ul_add_scaled(at, box[i == 1 || i == 2][0], s->along, at);
    ul_add_scaled(at, box[i > 1][1], s->back, at);
    put_point(file, s, i ? 'L' : 'M', at);
  }
  fputs("z\"/>", file);
}

/* --- blocks under the corners --- */

/* The block's corner: bit 0 along, bit 1 back, bit 2 top; it lies on the tool's side of the
 * corner it carries. */
static void block_corner(const ul_page_stand *s, int i, int bits, double out[3]) {
  double middle[3], inward[3], top = ul_dot(s->up, s->props.corner_mm[i]);
  for (int a = 0; a < 3; a++)
    middle[a] = (s->page->tool->box_mm[0][a] + s->page->tool->box_mm[1][a]) / 2;
  ul_sub(middle, s->props.corner_mm[i], inward);
  ul_copy3(s->props.corner_mm[i], out);
  if (bits & 1) ul_add_scaled(out, copysign(s->block_mm, ul_dot(inward, s->along)), s->along, out);
  if (bits & 2) ul_add_scaled(out, copysign(s->block_mm, ul_dot(inward, s->back)), s->back, out);
  if (!(bits & 4)) ul_add_scaled(out, s->bench - top, s->up, out);
}

/* The sides whose outside is seen; which way they face follows from the opposite corner. */
static void put_block(FILE *file, const ul_page_stand *s, int i) {
  static const int side[5][4] = {
      {0, 1, 5, 4}, {2, 3, 7, 6}, {0, 2, 6, 4}, {1, 3, 7, 5}, {4, 5, 7, 6}};
  static const int opposite[5] = {2, 0, 1, 0, 0};
  for (int f = 0; f < 5; f++) {
    double at[3], away[3];
    block_corner(s, i, side[f][0], at);
    block_corner(s, i, opposite[f], away);
    ul_sub(at, away, away);
    if (ul_dot(away, s->view.toward) <= 0) continue;
    fputs("<path class=\"block\" d=\"", file);
    for (int k = 0; k < 4; k++) {
      block_corner(s, i, side[f][k], at);
      put_point(file, s, k ? 'L' : 'M', at);
    }
    fputs("z\"/>", file);
  }
}

/* --- words, clear of one another --- */

/* Half the size of a letter as a telephone shows it, where the drawing is small: page.css. */
static const double LETTER_WIDE = 8, LETTER_HIGH = 15;

/* Its baseline is `below` the point, or where there is room near there. */
static void put_words(FILE *file, ul_page_labels *labels, const char *class_name, const char *words,
                      const double p[2], double below) {
  const double rise = 8; /* of the letters' middle over the baseline */
  double at[2] = {p[0], p[1] + below - rise};
  ul_page_label_place(labels, at, LETTER_WIDE * (double)strlen(words), LETTER_HIGH);
  fprintf(file, "<text class=\"%s\" x=\"%ld\" y=\"%ld\">", class_name, lround(at[0]),
          lround(at[1] + rise));
  ul_page_text(file, words);
  fputs("</text>", file);
}

/* Blocks of one height are lettered once, at the one in front. */
static void put_block_height(FILE *file, const ul_page_stand *s, int i, ul_page_labels *labels) {
  double foot[3], p[2], q[2];
  char words[UL_WORDS];
  bool each = false;
  block_corner(s, i, 0, foot);
  ul_page_project(&s->view, foot, p);
  for (int j = 0; j < 4; j++) {
    if (j == i || fabs(s->props.block_mm[j] - s->props.block_mm[i]) >= 0.5) continue;
    block_corner(s, j, 0, foot);
    ul_page_project(&s->view, foot, q);
    if (q[1] > p[1] || (q[1] == p[1] && j < i)) return;
    each = true;
  }
  snprintf(words, sizeof words, "%.0f mm%s", s->props.block_mm[i], each ? " each" : "");
  put_words(file, labels, "size", words, p, 34);
}

/* --- the tool's box: its hidden edges dashed --- */

static bool face_seen(const ul_page_stand *s, int axis, bool high) {
  return (high ? 1 : -1) * s->view.toward[axis] > 1e-9;
}

static void put_box(FILE *file, const ul_page_stand *s, bool hidden) {
  fprintf(file, "<path class=\"box%s\" d=\"", hidden ? " behind" : "");
  for (int i = 0; i < 8; i++)
    for (int a = 0; a < 3; a++) {
      int b = (a + 1) % 3, c = (a + 2) % 3;
      if (i >> a & 1) continue;
      if ((face_seen(s, b, i >> b & 1) || face_seen(s, c, i >> c & 1)) == hidden) continue;
      double at[3];
      ul_page_corner(s->page->tool, i, at);
      put_point(file, s, 'M', at);
      ul_page_corner(s->page->tool, i | 1 << a, at);
      put_point(file, s, 'L', at);
    }
  fputs("\"/>", file);
}

/* --- which side is which: the tool's upright sides that are seen, named on the bench before them
 * --- */

static void put_side_names(FILE *file, const ul_page_stand *s, ul_page_labels *labels) {
  const ul_tool *tool = s->page->tool;
  for (int side = 0; side < 6; side++) {
    double sign = side & 1 ? 1 : -1, out[3] = {0}, at[3], p[2];
    out[side / 2] = sign;
    if (fabs(ul_dot(out, s->up)) > 0.7 || !face_seen(s, side / 2, side & 1)) continue;
    for (int a = 0; a < 3; a++) at[a] = (tool->box_mm[0][a] + tool->box_mm[1][a]) / 2;
    double half = (tool->box_mm[1][side / 2] - tool->box_mm[0][side / 2]) / 2;
    ul_add_scaled(at, half + 1.2 * s->block_mm, out, at);
    ul_add_scaled(at, s->bench - ul_dot(s->up, at), s->up, at);
    ul_page_project(&s->view, at, p);
    char words[UL_WORDS];
    put_words(file, labels, "side", ul_words_side(side, s->page->side_name, words), p, 22);
  }
}

/* --- the plumb line --- */

/* Hung at the left of the tool. */
static void put_plumb(FILE *file, const ul_page_stand *s, const ul_page_paper *paper) {
  double left = paper->width, at[3], p[2];
  for (int i = 0; i < 8; i++) {
    ul_page_corner(s->page->tool, i, at);
    ul_page_project(&s->view, at, p);
    left = fmin(left, p[0]);
  }
  long x = lround(fmax(12, left - 60)), bottom = paper->height - paper->margin - 30;
  fprintf(file, "<path class=\"plumb\" d=\"M%ld %dV%ld\"/>", x, paper->margin, bottom);
  fprintf(file, "<path class=\"bob\" d=\"M%ld %ldh18l-9 30z\"/>", x - 9, bottom);
  fprintf(file, "<text class=\"size\" x=\"%ld\" y=\"%d\">plumb</text>", x, paper->margin - 12);
}

static bool put_drawing(FILE *file, const ul_page_stand *s, const ul_page_sketch *sketch,
                        const ul_page_paper *paper) {
  put_bench(file, s);
  for (int i = 0; i < 4; i++)
    if (s->props.block_mm[i] >= 0.5) put_block(file, s, i);
  put_box(file, s, true);
  fputs("<path class=\"lines\" d=\"", file);
  bool good = ul_page_sketch_lines(file, sketch, &s->view, paper->width, paper->height);
  fputs("\"/>", file);
  put_box(file, s, false);
  return good;
}

bool ul_page_propped(FILE *file, const ul_page *page) {
  const ul_page_paper paper = {820, 640, 66};
  ul_page_stand s;
  ul_page_sketch sketch;
  char words[UL_WORDS];
  stand(&s, page, page->up, &paper);
  bool good = ul_page_sketch_make(page->mesh, &sketch);
  fprintf(
      file,
      "<svg class=\"propped\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"The tool propped: ",
      paper.width, paper.height);
  ul_page_text(file, ul_words_props(page->props, page->side_name, words));
  fputs("\">", file);
  good = good && put_drawing(file, &s, &sketch, &paper);
  ul_page_labels labels = {.width = paper.width, .height = paper.height};
  ul_page_label_vents(file, page, &s.view, 0, &labels);
  for (int i = 0; i < 4; i++)
    if (s.props.block_mm[i] >= 0.5) put_block_height(file, &s, i, &labels);
  put_side_names(file, &s, &labels);
  put_plumb(file, &s, &paper);
  fputs("</svg>", file);
  ul_page_sketch_free(&sketch);
  return good;
}

/* --- the attitudes that were compared --- */

static bool put_compared(FILE *file, const ul_page *page, const ul_page_sketch *sketch, size_t i) {
  const ul_page_paper paper = {360, 260, 24};
  const ul_page_tilt *t = &page->tilt[i];
  ul_page_stand s;
  stand(&s, page, t->up, &paper);
  fprintf(file,
          "<li><button type=\"button\" class=\"compared\" data-tilt=\"%zu\" "
          "aria-pressed=\"%s\"><svg viewBox=\"0 0 %d %d\" aria-hidden=\"true\">",
          i, t->chosen ? "true" : "false", paper.width, paper.height);
  bool good = put_drawing(file, &s, sketch, &paper);
  fputs("</svg><span>", file);
  ul_page_text(file, t->name);
  fputs("</span></button><p class=\"why\">", file);
  fputs("<span class=\"way\">", file);
  if (t->chosen) fputs("<b>As this plan props it:</b> ", file);
  ul_page_text(file, t->name);
  fputs(". </span>", file);
  ul_page_text(file, t->why);
  fputs("</p></li>\n", file);
  return good;
}

bool ul_page_strip(FILE *file, const ul_page *page) {
  ul_page_sketch sketch;
  bool good = ul_page_sketch_make(page->mesh, &sketch);
  for (size_t i = 0; good && i < page->tilt_count; i++) good = put_compared(file, page, &sketch, i);
  ul_page_sketch_free(&sketch);
  return good;
}
