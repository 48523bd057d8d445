#include "report/card_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/text.h"

enum { LINE_ROOM = 1024 };

void ul_sheet_colour_set(const ul_sheet *s, ul_sheet_colour colour) {
  static const double rgb[][3] = {[UL_INK] = {0.09, 0.13, 0.23},
                                  [UL_SOFT_INK] = {0.36, 0.40, 0.47},
                                  [UL_TEAL] = {0.04, 0.42, 0.42},
                                  [UL_RUST] = {0.62, 0.24, 0.09}};
  cairo_set_source_rgb(s->cr, rgb[colour][0], rgb[colour][1], rgb[colour][2]);
}

static void set_face(const ul_sheet *s, ul_sheet_face face, double size) {
  cairo_select_font_face(s->cr, face == UL_SERIF ? "DejaVu Serif" : "DejaVu Sans",
                         CAIRO_FONT_SLANT_NORMAL,
                         face == UL_SANS_BOLD ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(s->cr, size);
}

/* In the face and size that are set. */
static double advance(const ul_sheet *s, const char *text) {
  cairo_text_extents_t extents;
  cairo_text_extents(s->cr, text, &extents);
  return extents.x_advance;
}

double ul_sheet_text(const ul_sheet *s, double x, double y, ul_sheet_face face, double size,
                     const char *text) {
  char clean[LINE_ROOM];
  set_face(s, face, size);
  cairo_move_to(s->cr, x, y);
  cairo_show_text(s->cr, ul_clean_text(text, clean, sizeof clean));
  return advance(s, clean);
}

double ul_sheet_text_width(const ul_sheet *s, ul_sheet_face face, double size, const char *text) {
  char clean[LINE_ROOM];
  set_face(s, face, size);
  return advance(s, ul_clean_text(text, clean, sizeof clean));
}

/* Bytes of the first line of `text`: words that fit, one at least. */
static size_t fitting(const ul_sheet *s, const char *text, double width) {
  char line[LINE_ROOM];
  size_t fits = 0, length = strlen(text);
  for (size_t i = 1; i <= length && i < sizeof line; i++) {
    if (i < length && text[i] != ' ') continue;
    memcpy(line, text, i);
    line[i] = 0;
    if (fits && advance(s, line) > width) break;
    fits = i;
  }
  return fits;
}

double ul_sheet_paragraph(const ul_sheet *s, double x, double y, double width, ul_sheet_face face,
                          double size, const char *text) {
  char clean[LINE_ROOM], line[LINE_ROOM];
  ul_clean_text(text, clean, sizeof clean);
  set_face(s, face, size);
  for (const char *rest = clean; *rest; y += 1.3 * size) {
    size_t bytes = fitting(s, rest, width);
    memcpy(line, rest, bytes);
    line[bytes] = 0;
    cairo_move_to(s->cr, x, y);
    cairo_show_text(s->cr, line);
    rest += bytes;
    while (*rest == ' ') rest++;
  }
  return y;
}

void ul_sheet_fitted(const ul_sheet *s, double x, double y, double width, ul_sheet_face face,
                     double size, const char *text) {
  char clean[LINE_ROOM];
  ul_clean_text(text, clean, sizeof clean - 4);
  set_face(s, face, size);
  bool whole = advance(s, clean) <= width;
  size_t length = strlen(clean);
  while (!whole && length) {
    while (length && (clean[--length] & 0xC0) == 0x80) continue;
    strcpy(clean + length, "...");
    if (advance(s, clean) <= width) break;
  }
  cairo_move_to(s->cr, x, y);
  cairo_show_text(s->cr, clean);
}

void ul_sheet_number(const ul_sheet *s, double x, double y, double radius, unsigned number) {
  char text[16];
  snprintf(text, sizeof text, "%u", number);
  cairo_new_path(s->cr);
  cairo_arc(s->cr, x, y, radius, 0, 2 * M_PI);
  cairo_set_source_rgb(s->cr, 1, 1, 1);
  cairo_fill_preserve(s->cr);
  ul_sheet_colour_set(s, UL_TEAL);
  cairo_set_line_width(s->cr, 1.2);
  cairo_stroke(s->cr);
  double size = radius * (number < 10 ? 1.35 : 1.05);
  double width = ul_sheet_text_width(s, UL_SANS_BOLD, size, text);
  ul_sheet_text(s, x - width / 2, y + 0.36 * size, UL_SANS_BOLD, size, text);
}

void ul_sheet_rule(const ul_sheet *s, double x0, double y0, double x1, double y1, double width) {
  cairo_set_line_width(s->cr, width);
  cairo_move_to(s->cr, x0, y0);
  cairo_line_to(s->cr, x1, y1);
  cairo_stroke(s->cr);
}

void ul_sheet_hatch(const ul_sheet *s, double x, double y, double width, double height) {
  const double gap = 4;
  cairo_save(s->cr);
  cairo_rectangle(s->cr, x, y, width, height);
  cairo_clip(s->cr);
  for (double at = -height; at < width; at += gap)
    ul_sheet_rule(s, x + at, y + height, x + at + height, y, UL_RULE);
  cairo_restore(s->cr);
}

/* --- quantities --- */

const char *ul_card_length(const ul_card *card, double mm, char out[UL_WORDS]) {
  char figure[UL_WORDS];
  snprintf(out, UL_WORDS, "%.40s %s", ul_words_figure(card->inch ? mm / 25.4 : mm, figure),
           card->inch ? "in" : "mm");
  return out;
}

const char *ul_card_place(const ul_card *card, const double at_mm[3], char out[UL_WORDS]) {
  double at[3];
  ul_datum_place(&card->datum, at_mm, at);
  if (!card->inch) return ul_words_place(at, out);
  for (int c = 0; c < 3; c++) at[c] = round(at[c] / 25.4 * 100) / 100 + 0.0;
  snprintf(out, UL_WORDS, "x %.2f  y %.2f  z %.2f in", at[0], at[1], at[2]);
  return out;
}

const char *ul_card_volume(const ul_card *card, double mm3, char out[UL_WORDS]) {
  char figure[UL_WORDS];
  double in3 = mm3 / (25.4 * 25.4 * 25.4);
  if (!card->inch && mm3 < 1e5)
    snprintf(out, UL_WORDS, "%.40s cm3", ul_words_figure(mm3 * 1e-3, figure));
  else if (!card->inch)
    snprintf(out, UL_WORDS, "%.40s litres", ul_words_figure(mm3 * 1e-6, figure));
  else
    snprintf(out, UL_WORDS, "%.40s cubic inches", ul_words_figure(in3, figure));
  return out;
}

/* As the scale shows it: to its step, which is 1 g or less. A hundredth of an ounce is 0.3 g. */
const char *ul_card_mass(const ul_card *card, double g, double step_g, char out[UL_WORDS]) {
  const int places = ul_scale_decimals(step_g);
  if (card->inch)
    snprintf(out, UL_WORDS, "%.*f oz", places + 2, g / 28.349523125);
  else
    snprintf(out, UL_WORDS, "%.*f g", places, g);
  return out;
}
