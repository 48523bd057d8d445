/* card_views.c - the tool propped as it must lie, from two sides: bench, blocks, level, plumb line,
 * the cavity's outline in it, and every vent. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/vec.h"
#include "report/card_sheet.h"
#include "report/outline.h"

enum { CORNERS = 8, LABELS_MOST = 160, AIR_MOST = 2 };

/* Points. */
static const double NUMBER_RADIUS = 8, DOT = 2.4, BLOCK_WIDTH = 16, BENCH_DEPTH = 6, SIZE = 10.5;
/* Room about the tool, for numbers above and beside it, and for the bench's words below. */
static const double ROOM_SIDE = 30, ROOM_ABOVE = 34, ROOM_BELOW = 64;
static const double LEAST_SHARE = 0.4; /* of the width, for the words below a narrow view */

typedef struct {
  const ul_sheet *s;
  const ul_card *card;
  ul_view view;
  int along;              /* the tool's axis that runs to the right */
  double low[2], high[2]; /* the tool's extent in the view, mm */
  double x, bench_y, points_per_mm;
  double taken[LABELS_MOST][4]; /* not to be written on: middle, half width and height, points */
  size_t taken_count;
} picture;

/* --- the view --- */

/* From the side on which `along`, an edge of the face it stands on, runs to the right. */
static void look(picture *p, int along) {
  const double *up = p->card->up;
  double edge[3] = {along == 0, along == 1, along == 2};
  p->along = along;
  ul_copy3(up, p->view.up);
  ul_add_scaled(edge, -ul_dot(edge, up), up, p->view.right);
  double length = ul_norm(p->view.right);
  for (int c = 0; c < 3; c++) p->view.right[c] /= length;
  ul_cross(p->view.right, p->view.up, p->view.eye);
}

static void flatten(const picture *p, const double at_mm[3], double out[2]) {
  out[0] = ul_dot(at_mm, p->view.right);
  out[1] = ul_dot(at_mm, p->view.up);
}

static void box_corner(const ul_card *card, int i, double out[3]) {
  for (int c = 0; c < 3; c++) out[c] = card->tool->box_mm[i >> c & 1][c];
}

static void find_extent(picture *p) {
  for (int c = 0; c < 2; c++) p->low[c] = INFINITY, p->high[c] = -INFINITY;
  for (int i = 0; i < CORNERS; i++) {
    double corner[3], at[2];
    box_corner(p->card, i, corner);
    flatten(p, corner, at);
    for (int c = 0; c < 2; c++) {
      p->low[c] = fmin(p->low[c], at[c]);
      p->high[c] = fmax(p->high[c], at[c]);
    }
  }
}

static void to_page(const picture *p, const double flat[2], double out[2]) {
  out[0] = p->x + (flat[0] - p->low[0]) * p->points_per_mm;
  out[1] = p->bench_y - (flat[1] - p->low[1]) * p->points_per_mm;
}

static void on_page(const picture *p, const double at_mm[3], double out[2]) {
  double flat[2];
  flatten(p, at_mm, flat);
  to_page(p, flat, out);
}

static double width_of(const picture *p) {
  return (p->high[0] - p->low[0]) * p->points_per_mm;
}

/* --- the bench and what stands on it --- */

static void draw_bench(const picture *p) {
  double right = p->x + width_of(p);
  ul_sheet_colour_set(p->s, UL_INK);
  ul_sheet_rule(p->s, p->x - 20, p->bench_y, right + 20, p->bench_y, 1.6);
  ul_sheet_hatch(p->s, p->x - 20, p->bench_y, right - p->x + 40, BENCH_DEPTH);
}

/* Whether words of that height stand there already, or so near that one will do for both. */
static bool is_named(const double (*block)[2], const double *block_mm, int i) {
  for (int k = 0; k < i; k++)
    if (fabs(block_mm[i] - block_mm[k]) < 0.5 && fabs(block[i][0] - block[k][0]) < 70) return true;
  return false;
}

/* Heights stand under the bench, in the first of a few rows that is free there. */
static void name_blocks(const picture *p, const double (*block)[2], const double *block_mm,
                        int count) {
  double taken[4][2];
  int row[4], named = 0;
  ul_sheet_colour_set(p->s, UL_INK);
  for (int i = 0; i < count; i++) {
    if (is_named(block, block_mm, i)) continue;
    char words[UL_WORDS];
    ul_words_block(block_mm[i], p->card->inch, words);
    double width = ul_sheet_text_width(p->s, UL_SANS_BOLD, SIZE + 1.5, words);
    double x = block[i][0] + BLOCK_WIDTH / 2 - width / 2;
    row[named] = 0;
    for (int k = 0; k < named; k++)
      if (row[k] == row[named] && x < taken[k][1] + 4 && x + width > taken[k][0] - 4) {
        row[named]++;
        k = -1;
      }
    taken[named][0] = x;
    taken[named][1] = x + width;
    ul_sheet_text(p->s, x, p->bench_y + 19 + 12.5 * row[named++], UL_SANS_BOLD, SIZE + 1.5, words);
  }
}

static void draw_blocks(const picture *p) {
  const ul_props *props = p->card->props;
  double block[4][2], block_mm[4], middle = p->x + width_of(p) / 2;
  int count = 0;
  ul_sheet_colour_set(p->s, UL_INK);
  for (int i = 0; i < 4; i++) {
    if (props->block_mm[i] < 0.5) continue;
    double *at = block[count], height = props->block_mm[i] * p->points_per_mm;
    on_page(p, props->corner_mm[i], at);
    if (at[0] > middle) at[0] -= BLOCK_WIDTH;
    cairo_set_line_width(p->s->cr, 1);
    cairo_rectangle(p->s->cr, at[0], p->bench_y - height, BLOCK_WIDTH, height);
    cairo_stroke(p->s->cr);
    ul_sheet_hatch(p->s, at[0], p->bench_y - height, BLOCK_WIDTH, height);
    block_mm[count++] = props->block_mm[i];
  }
  name_blocks(p, (const double(*)[2])block, block_mm, count);
}

/* The box's edges at the corner nearest to the eye are seen, those at the farthest are not. */
static int farthest_corner(const picture *p) {
  int far = 0;
  for (int c = 0; c < 3; c++) far |= (p->view.eye[c] < 0) << c;
  return far;
}

static void draw_tool(const picture *p) {
  int far = farthest_corner(p);
  ul_sheet_colour_set(p->s, UL_SOFT_INK);
  for (int i = 0; i < CORNERS; i++)
    for (int c = 0; c < 3; c++) {
      int k = i | 1 << c;
      if (k == i || i == far || k == far) continue;
      double corner[3], a[2], b[2];
      box_corner(p->card, i, corner);
      on_page(p, corner, a);
      box_corner(p->card, k, corner);
      on_page(p, corner, b);
      ul_sheet_rule(p->s, a[0], a[1], b[0], b[1], 1);
    }
}

static ul_status draw_cavity(const picture *p, ul_error *err) {
  ul_outline_line *line;
  size_t count;
  ul_status status = ul_outline(p->card->solid->mesh, &p->view, &line, &count, err);
  if (status != UL_OK) return status;
  ul_sheet_colour_set(p->s, UL_INK);
  cairo_set_line_width(p->s->cr, 0.8);
  for (size_t i = 0; i < count; i++) {
    double a[2], b[2];
    to_page(p, line[i].from, a);
    to_page(p, line[i].to, b);
    cairo_move_to(p->s->cr, a[0], a[1]);
    cairo_line_to(p->s->cr, b[0], b[1]);
  }
  cairo_stroke(p->s->cr);
  free(line);
  return UL_OK;
}

/* --- vents and the pour --- */

static bool is_free(const picture *p, const double at[2], const double half[2]) {
  for (size_t i = 0; i < p->taken_count; i++) {
    const double *other = p->taken[i];
    if (fabs(at[0] - other[0]) < half[0] + other[2] && fabs(at[1] - other[1]) < half[1] + other[3])
      return false;
  }
  return true;
}

static void keep_free(picture *p, const double at[2], const double half[2]) {
  if (p->taken_count == LABELS_MOST) return;
  double *taken = p->taken[p->taken_count++];
  for (int c = 0; c < 2; c++) taken[c] = at[c], taken[2 + c] = half[c];
}

/* A tag is not to cover the places that the others are about. */
static void keep_dots_free(picture *p) {
  const ul_card *card = p->card;
  double at[2];
  for (size_t i = 0; i < card->vents->count; i++) {
    on_page(p, card->vents->vent[i].at_mm, at);
    keep_free(p, at, (const double[]){DOT, DOT});
  }
  for (size_t i = 0; i < card->air_count && i < AIR_MOST; i++) {
    on_page(p, card->air[i].at_mm, at);
    keep_free(p, at, (const double[]){DOT, DOT});
  }
}

/* Moves what is that large (half width and height) aside, then up or (`down` is 1) down, until it
 * stands clear of those before it. */
static void take_place(picture *p, double at[2], const double half[2], int down) {
  static const int aside[] = {0, 1, -1, 2, -2};
  double from[2] = {at[0], at[1]};
  for (int n = 0; n < LABELS_MOST && !is_free(p, at, half); n++) {
    at[0] = from[0] + 2.1 * half[0] * aside[n % 5];
    at[1] = from[1] + 2.1 * half[1] * (n / 5) * (down ? 1 : -1);
  }
  keep_free(p, at, half);
}

/* Lines first, then what is written: no line is to run through a number. */
typedef enum { LINES, TAGS, PASSES } pass;

/* The hole from mouth to outside, and its number beyond; one that points at the eye is a ring. */
static void draw_vent(picture *p, const ul_vent *vent, pass now) {
  double mouth[2], out[2], at[2];
  on_page(p, vent->at_mm, mouth);
  on_page(p, vent->ok ? vent->through_mm : vent->at_mm, out);
  double length = hypot(out[0] - mouth[0], out[1] - mouth[1]);
  for (int c = 0; c < 2; c++)
    at[c] = length > 3 ? out[c] + (out[c] - mouth[c]) / length * (NUMBER_RADIUS + 3)
                       : out[c] - (c ? NUMBER_RADIUS + 3 : 0);
  take_place(p, at, (const double[]){NUMBER_RADIUS, NUMBER_RADIUS}, 0);
  ul_sheet_colour_set(p->s, vent->ok ? UL_TEAL : UL_RUST);
  if (now == TAGS) {
    ul_sheet_number(p->s, at[0], at[1], NUMBER_RADIUS, vent->id);
    return;
  }
  ul_sheet_rule(p->s, mouth[0], mouth[1], out[0], out[1], 2.2);
  ul_sheet_rule(p->s, out[0], out[1], at[0], at[1], UL_RULE);
  cairo_arc(p->s->cr, mouth[0], mouth[1], DOT, 0, 2 * M_PI);
  cairo_fill(p->s->cr);
}

/* A dot where air stays, and its tag beside it, clear of the numbers. */
static void draw_air(picture *p, const ul_card_air *air, pass now) {
  char words[24];
  double dot[2], at[2];
  cairo_t *cr = p->s->cr;
  snprintf(words, sizeof words, "air %u", air->id);
  double wide = ul_sheet_text_width(p->s, UL_SANS_BOLD, 8.5, words) + 6;
  on_page(p, air->at_mm, dot);
  at[0] = dot[0] + wide / 2 + 8;
  at[1] = dot[1] + 14;
  take_place(p, at, (const double[]){wide / 2 + 1, 7}, 1);
  ul_sheet_colour_set(p->s, UL_RUST);
  if (now == LINES) {
    cairo_arc(cr, dot[0], dot[1], DOT, 0, 2 * M_PI);
    cairo_fill(cr);
    ul_sheet_rule(p->s, dot[0], dot[1], at[0], at[1], UL_RULE);
    return;
  }
  cairo_rectangle(cr, at[0] - wide / 2, at[1] - 6, wide, 12);
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_fill_preserve(cr);
  ul_sheet_colour_set(p->s, UL_RUST);
  cairo_set_line_width(cr, 1);
  cairo_stroke(cr);
  ul_sheet_text(p->s, at[0] - wide / 2 + 3, at[1] + 3, UL_SANS_BOLD, 8.5, words);
}

/* A drop where the charge lands. */
static void draw_pour(const picture *p, const double pour_mm[3]) {
  double at[2];
  cairo_t *cr = p->s->cr;
  on_page(p, pour_mm, at);
  ul_sheet_colour_set(p->s, UL_INK);
  cairo_move_to(cr, at[0], at[1] - 15);
  cairo_curve_to(cr, at[0] + 8, at[1] - 3, at[0] + 4, at[1], at[0], at[1]);
  cairo_curve_to(cr, at[0] - 4, at[1], at[0] - 8, at[1] - 3, at[0], at[1] - 15);
  cairo_fill(cr);
}

/* --- what a hand holds against it --- */

static void draw_plumb(const picture *p, double x, double top) {
  cairo_t *cr = p->s->cr;
  double bottom = p->bench_y - 8;
  ul_sheet_colour_set(p->s, UL_SOFT_INK);
  ul_sheet_rule(p->s, x, top, x, bottom - 10, UL_RULE);
  cairo_move_to(cr, x - 3.5, bottom - 10);
  cairo_line_to(cr, x + 3.5, bottom - 10);
  cairo_line_to(cr, x, bottom);
  cairo_close_path(cr);
  cairo_fill(cr);
}

static double reading(const ul_props *props, int axis) {
  const double all[3] = {props->level_reads_x_deg, props->level_reads_y_deg,
                         props->level_reads_z_deg};
  return all[axis];
}

/* The side towards which the picture's right, or left, end lies, with its name in full. */
static void side_words(const picture *p, bool right, char out[UL_WORDS]) {
  ul_words_side(2 * p->along + right, p->card->side_name, out);
}

/* The names of the picture's two ends, and what a level along its edge reads. */
static void draw_words(const picture *p, double x, double width, double y) {
  char words[UL_WORDS], side[UL_WORDS];
  double degrees = round(fabs(reading(p->card->props, p->along)) * 10) / 10;
  ul_sheet_colour_set(p->s, UL_SOFT_INK);
  side_words(p, false, side);
  ul_sheet_fitted(p->s, x, y - 15, width / 2 - 10, UL_SANS, SIZE, side);
  side_words(p, true, side);
  double end = fmin(ul_sheet_text_width(p->s, UL_SANS, SIZE, side), width / 2 - 10);
  ul_sheet_fitted(p->s, x + width - end, y - 15, width / 2 - 10, UL_SANS, SIZE, side);
  side_words(p, reading(p->card->props, p->along) > 0, side);
  if (degrees == 0)
    snprintf(words, sizeof words, "a level this way reads 0\u00b0");
  else
    snprintf(words, sizeof words, "a level reads %g\u00b0, %.60s up", degrees, side);
  double used = fmin(ul_sheet_text_width(p->s, UL_SERIF, SIZE + 1, words), width);
  ul_sheet_colour_set(p->s, UL_INK);
  ul_sheet_fitted(p->s, x + (width - used) / 2, y, width + 1, UL_SERIF, SIZE + 1, words);
}

static ul_status draw_picture(picture *p, double top, ul_error *err) {
  draw_bench(p);
  draw_blocks(p);
  draw_tool(p);
  ul_status status = draw_cavity(p, err);
  if (status != UL_OK) return status;
  for (size_t i = 0; i < p->card->solid->cavity_count; i++) draw_pour(p, p->card->pour_mm[i]);
  keep_dots_free(p);
  const size_t taken = p->taken_count;
  for (pass now = LINES; now < PASSES; now++) {
    p->taken_count = taken; /* so that a tag finds the same place again */
    for (size_t i = 0; i < p->card->vents->count; i++) draw_vent(p, &p->card->vents->vent[i], now);
    for (size_t i = 0; i < p->card->air_count && i < AIR_MOST; i++)
      draw_air(p, &p->card->air[i], now);
  }
  draw_plumb(p, p->x - 14, top);
  return UL_OK;
}

/* Both to one scale, each with a width of its own: at least LEAST_SHARE. */
ul_status ul_card_views(const ul_sheet *s, const ul_card *card, double x, double y, double width,
                        double *height, ul_error *err) {
  int axis = card->props->face / 2;
  picture p[2] = {{.s = s, .card = card}, {.s = s, .card = card}};
  double wide[2], high = 0;
  for (int i = 0; i < 2; i++) {
    look(&p[i], (axis + 1 + i) % 3);
    find_extent(&p[i]);
    wide[i] = p[i].high[0] - p[i].low[0];
    high = fmax(high, p[i].high[1] - p[i].low[1]);
  }
  double share = fmin(fmax(wide[0] / (wide[0] + wide[1]), LEAST_SHARE), 1 - LEAST_SHARE);
  const double room[2] = {width * share, width * (1 - share)};
  double scale = (*height - ROOM_ABOVE - ROOM_BELOW) / high;
  for (int i = 0; i < 2; i++) scale = fmin(scale, (room[i] - 2 * ROOM_SIDE) / wide[i]);
  *height = high * scale + ROOM_ABOVE + ROOM_BELOW;
  ul_status status = UL_OK;
  for (int i = 0; i < 2 && status == UL_OK; i++) {
    p[i].points_per_mm = scale;
    p[i].x = x + (room[i] - wide[i] * scale) / 2;
    p[i].bench_y = y + *height - ROOM_BELOW;
    status = draw_picture(&p[i], p[i].bench_y - high * scale, err);
    draw_words(&p[i], x + 8, room[i] - 16, y + *height - 4);
    x += room[i];
  }
  return status;
}
