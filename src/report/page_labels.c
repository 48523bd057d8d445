/* page_labels.c - the numbers on a drawing: a circle for a hole, a tag for air that stays, each
 * tied to its place by a line and clear of the others. */
#include <math.h>
#include <stdlib.h>

#include "report/page_parts.h"

static const double CIRCLE = 19, TAG_WIDE = 39, TAG_HIGH = 15, APART = 3;
enum { RINGS = 7, WAYS = 12 };

static bool is_free(const ul_page_labels *l, const double at[2], double wide, double high) {
  if (at[0] < wide || at[0] > l->width - wide || at[1] < high || at[1] > l->height - high)
    return false;
  for (size_t i = 0; i < l->count; i++)
    if (fabs(at[0] - l->taken[i].at[0]) < wide + l->taken[i].wide + APART &&
        fabs(at[1] - l->taken[i].at[1]) < high + l->taken[i].high + APART)
      return false;
  return true;
}

/* Sideways first, then all round, farther and farther. */
bool ul_page_label_place(ul_page_labels *l, double at[2], double wide, double high) {
  static const int way[WAYS] = {0, 6, 1, 5, 11, 7, 2, 4, 10, 8, 3, 9}; /* twelfths of a turn */
  const double wish[2] = {at[0], at[1]};
  bool found = is_free(l, at, wide, high);
  for (int ring = 1; ring <= RINGS && !found; ring++)
    for (int k = 0; k < WAYS && !found; k++) {
      double turn = way[k] * M_PI / 6;
      at[0] = wish[0] + ring * (wide + APART) * cos(turn);
      at[1] = wish[1] - ring * (high + APART) * sin(turn);
      found = is_free(l, at, wide, high);
    }
  if (!found || l->count == UL_PAGE_LABELS) {
    at[0] = wish[0];
    at[1] = wish[1];
    return false;
  }
  l->taken[l->count].at[0] = at[0];
  l->taken[l->count].at[1] = at[1];
  l->taken[l->count].wide = wide;
  l->taken[l->count++].high = high;
  return true;
}

/* --- holes --- */

/* A hole on the paper: its mouth, its end outside, and where its circle goes. */
typedef struct drawn_hole {
  const ul_vent *vent;
  double mouth[2], end[2], at[2];
} drawn_hole;

static void draw_hole(const ul_vent *v, const ul_page_view *view, drawn_hole *h) {
  h->vent = v;
  ul_page_project(view, v->at_mm, h->mouth);
  ul_page_project(view, v->ok ? v->through_mm : v->at_mm, h->end);
  double length = hypot(h->end[0] - h->mouth[0], h->end[1] - h->mouth[1]);
  double over = length > 0 ? (CIRCLE + 4) / length : 0; /* the circle sits on the hole's end */
  for (int c = 0; c < 2; c++) h->at[c] = h->end[c] + over * (h->end[c] - h->mouth[c]);
}

static int left_first(const void *a, const void *b) {
  const drawn_hole *x = a, *y = b;
  if (x->at[0] != y->at[0]) return x->at[0] < y->at[0] ? -1 : 1;
  return (x->vent->id > y->vent->id) - (x->vent->id < y->vent->id);
}

/* Circles that would overlap stand in a row, in the order of their holes, so that no tie crosses
 * another. */
static void set_in_rows(drawn_hole *hole, size_t count) {
  const double step = 2 * CIRCLE + 2 * APART;
  for (size_t i = 0, j; i < count; i = j) {
    double x = hole[i].at[0], y = hole[i].at[1];
    for (j = i + 1; j < count && hole[j].at[0] - hole[j - 1].at[0] < step &&
                    fabs(hole[j].at[1] - hole[j - 1].at[1]) < step;
         j++) {
      x += hole[j].at[0];
      y = fmin(y, hole[j].at[1]);
    }
    if (j == i + 1) continue;
    double first = x / (double)(j - i) - step * (double)(j - i - 1) / 2;
    for (size_t k = i; k < j; k++) {
      hole[k].at[0] = first + step * (double)(k - i);
      hole[k].at[1] = y;
    }
  }
}

static void put_hole(FILE *file, drawn_hole *h, ul_page_labels *l, bool now) {
  fprintf(file, "<g class=\"vent%s\"><path d=\"M%ld %ldL%ld %ld\"/>", now ? " now" : "",
          lround(h->mouth[0]), lround(h->mouth[1]), lround(h->end[0]), lround(h->end[1]));
  if (ul_page_label_place(l, h->at, CIRCLE, CIRCLE)) {
    long x = lround(h->at[0]), y = lround(h->at[1]);
    fprintf(file,
            "<path class=\"tie\" d=\"M%ld %ldL%ld %ld\"/><circle cx=\"%ld\" cy=\"%ld\" r=\"%g\"/>"
            "<text x=\"%ld\" y=\"%ld\">%u</text>",
            lround(h->end[0]), lround(h->end[1]), x, y, x, y, CIRCLE, x, y + 8, h->vent->id);
  }
  fputs("</g>", file);
}

void ul_page_label_vents(FILE *file, const ul_page *page, const ul_page_view *view, uint32_t now,
                         ul_page_labels *l) {
  drawn_hole hole[UL_PAGE_LABELS];
  size_t count = page->vents->count < UL_PAGE_LABELS ? page->vents->count : UL_PAGE_LABELS;
  for (size_t i = 0; i < count; i++) draw_hole(&page->vents->vent[i], view, &hole[i]);
  if (count) qsort(hole, count, sizeof *hole, left_first);
  set_in_rows(hole, count);
  for (size_t i = 0; i < count; i++) put_hole(file, &hole[i], l, hole[i].vent->id == now);
}

/* --- air that stays --- */

void ul_page_label_air(FILE *file, const ul_page *page, const ul_page_view *view, double reached,
                       ul_page_labels *l) {
  for (size_t i = 0; i < page->air_count; i++) {
    if (page->air[i].cut_off > reached) continue;
    double p[2], at[2];
    ul_page_project(view, page->air[i].at_mm, p);
    at[0] = p[0] + TAG_WIDE + 14;
    at[1] = p[1] - TAG_HIGH - 10;
    if (!ul_page_label_place(l, at, TAG_WIDE, TAG_HIGH)) continue;
    long x = lround(at[0]), y = lround(at[1]);
    fprintf(file,
            "<g class=\"air-tag\"><path class=\"tie\" d=\"M%ld %ldL%ld %ld\"/><circle cx=\"%ld\" "
            "cy=\"%ld\" r=\"4\"/><rect x=\"%ld\" y=\"%ld\" width=\"%g\" height=\"%g\"/><text "
            "x=\"%ld\" y=\"%ld\">air %u</text></g>",
            lround(p[0]), lround(p[1]), x, y, lround(p[0]), lround(p[1]), x - lround(TAG_WIDE),
            y - lround(TAG_HIGH), 2 * TAG_WIDE, 2 * TAG_HIGH, x, y + 7, page->air[i].id);
  }
}
