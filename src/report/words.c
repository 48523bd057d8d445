#include "report/words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/vec.h"

static const char *write_figure(double value, double (*to_whole)(double), char out[UL_WORDS]) {
  double size = fabs(value);
  if (!(size > 0)) return strcpy(out, "0");
  int whole = (int)floor(log10(size)) + 1; /* figures before the point */
  double step = pow(10, whole - 3);
  double rounded = to_whole(value / step) * step;
  int decimals = whole >= 3 ? 0 : 3 - whole;
  snprintf(out, UL_WORDS, "%.*f", decimals > 9 ? 9 : decimals, rounded);
  char *point = strchr(out, '.');
  if (!point) return out;
  char *last = out + strlen(out) - 1;
  while (*last == '0') *last-- = 0;
  if (last == point) *last = 0;
  return out;
}

const char *ul_words_figure(double value, char out[UL_WORDS]) {
  return write_figure(value, round, out);
}

const char *ul_words_grams(double g, char out[UL_WORDS]) {
  return g > 0 && g < 0.01 ? strcpy(out, "under 0.01") : ul_words_figure(g, out);
}

/* What is three figures already stays, but for the last bit. */
static double down(double value) {
  return floor(value * (1 + 1e-12));
}

const char *ul_words_at_most(double value, char out[UL_WORDS]) {
  return write_figure(value, down, out);
}

const char *ul_words_place(const double at_mm[3], char out[UL_WORDS]) {
  double at[3];
  for (int c = 0; c < 3; c++) at[c] = fabs(at_mm[c]) < 0.05 ? 0 : at_mm[c]; /* never "-0.0" */
  snprintf(out, UL_WORDS, "x %.1f  y %.1f  z %.1f mm", at[0], at[1], at[2]);
  return out;
}

const char *ul_words_volume(double volume_mm3, char out[UL_WORDS]) {
  char cm3[UL_WORDS], litres[UL_WORDS];
  ul_words_figure(volume_mm3 / 1e3, cm3);
  if (volume_mm3 < 1e5)
    snprintf(out, UL_WORDS, "%.40s cm3", cm3);
  else
    snprintf(out, UL_WORDS, "%.40s litres (%.40s cm3)", ul_words_figure(volume_mm3 / 1e6, litres),
             cm3);
  return out;
}

const char *ul_words_direction(const double axis[3], char out[UL_WORDS]) {
  for (int c = 0; c < 3; c++)
    if (fabs(axis[c]) > 1 - 1e-9) {
      snprintf(out, UL_WORDS, "%c%c", axis[c] < 0 ? '-' : '+', "xyz"[c]);
      return out;
    }
  snprintf(out, UL_WORDS, "(%.3f %.3f %.3f)", axis[0] + 0.0, axis[1] + 0.0, axis[2] + 0.0);
  return out;
}

const char *ul_words_side(int side, const char *const side_name[6], char out[UL_WORDS]) {
  if (side_name && side_name[side])
    snprintf(out, UL_WORDS, "%.100s side", side_name[side]);
  else
    snprintf(out, UL_WORDS, "%c%c side", side & 1 ? '+' : '-', "xyz"[side / 2]);
  return out;
}

/* The axis whose face comes nearest to lying level; of equals z, then y. */
static int standing_axis(const double up[3]) {
  int axis = 2;
  for (int c = 1; c >= 0; c--)
    if (fabs(up[c]) > fabs(up[axis]) + 1e-9) axis = c;
  return axis;
}

/* Appends to `out` what fits. */
static void append(char out[UL_WORDS], const char *text) {
  size_t used = strlen(out);
  snprintf(out + used, UL_WORDS - used, "%s", text);
}

const char *ul_words_tilt(const double up[3], const char *const side_name[6], char out[UL_WORDS]) {
  int axis = standing_axis(up), down = 2 * axis + (up[axis] < 0);
  char side[UL_WORDS], part[UL_WORDS];
  ul_words_side(down, side_name, side);
  if (down == 4)
    snprintf(out, UL_WORDS, "as drawn, +z up");
  else if (down == 5)
    snprintf(out, UL_WORDS, "upside down, -z up");
  else
    snprintf(out, UL_WORDS, "on its %.120s", side);
  for (int i = 1; i < 3; i++) {
    int c = (axis + i) % 3;
    double deg = asin(fmax(-1, fmin(1, up[c]))) * 180 / M_PI;
    if (fabs(deg) < 0.05) continue;
    ul_words_side(2 * c + (deg > 0), side_name, side);
    snprintf(part, sizeof part, ", %.120s raised %.3g degrees", side, round(fabs(deg) * 10) / 10);
    append(out, part);
  }
  return out;
}

/* The side of the tool's box on which both corners lie, or -1: which edge is propped. */
static int shared_side(const ul_props *p, int a, int b) {
  for (int c = 0; c < 3; c++)
    if (c != p->face / 2 && p->corner_mm[a][c] == p->corner_mm[b][c]) {
      double other = p->corner_mm[(a + 2) % 4][c];
      return 2 * c + (p->corner_mm[a][c] > other);
    }
  return -1;
}

/* The side of the tool's box that the corner lies on along the first or second axis after that it
 * stands on. */
static int corner_side(const ul_props *p, int corner, int step) {
  int c = (p->face / 2 + step) % 3;
  double other = p->corner_mm[corner][c];
  for (int i = 0; i < 4; i++)
    if (p->corner_mm[i][c] != p->corner_mm[corner][c]) other = p->corner_mm[i][c];
  return 2 * c + (p->corner_mm[corner][c] > other);
}

const char *ul_words_block(double mm, bool inch, char out[UL_WORDS]) {
  if (inch)
    snprintf(out, UL_WORDS, "%.2f in", mm / 25.4);
  else
    snprintf(out, UL_WORDS, "%.0f mm", mm);
  return out;
}

const char *ul_words_props(const ul_props *p, const char *const side_name[6], char out[UL_WORDS]) {
  return ul_words_props_in(p, side_name, false, out);
}

bool ul_props_flat(const ul_props *p) {
  double most = 0;
  for (int i = 0; i < 4; i++) most = fmax(most, p->block_mm[i]);
  return most < 0.5;
}

const char *ul_words_props_in(const ul_props *p, const char *const side_name[6], bool inch,
                              char out[UL_WORDS]) {
  if (ul_props_flat(p)) return strcpy(out, "no blocks: it stands flat");
  char side[UL_WORDS], block[UL_WORDS];
  for (int i = 0; i < 4; i++) {
    int j = (i + 1) % 4, k = (i + 2) % 4, l = (i + 3) % 4;
    if (p->block_mm[i] > 0.5 && fabs(p->block_mm[i] - p->block_mm[j]) < 0.5 &&
        p->block_mm[k] < 0.5 && p->block_mm[l] < 0.5) {
      snprintf(out, UL_WORDS, "block %.20s under both corners of the %.120s",
               ul_words_block(p->block_mm[i], inch, block),
               ul_words_side(shared_side(p, i, j), side_name, side));
      return out;
    }
  }
  strcpy(out, "blocks");
  for (int i = 0; i < 4; i++) {
    char part[UL_WORDS], other[UL_WORDS];
    if (p->block_mm[i] < 0.5) continue;
    snprintf(part, sizeof part, "%s %.20s where %.24s and %.24s meet", strlen(out) > 6 ? "," : "",
             ul_words_block(p->block_mm[i], inch, block),
             ul_words_side(corner_side(p, i, 1), side_name, side),
             ul_words_side(corner_side(p, i, 2), side_name, other));
    append(out, part);
  }
  return out;
}
