/* page_curves.c - how much is filled, and the pressure, against time, the moments marked. */
#include <math.h>

#include "report/page_parts.h"

enum { LEFT = 90, RIGHT = 880, TOP = 50, BOTTOM = 300, HIGH = 380 };

typedef struct ul_page_axis {
  double most; /* at the top of the paper */
  double step; /* between its letters */
} ul_page_axis;

/* A round step of which three to seven fit under `most`. */
static ul_page_axis axis_for(double most) {
  ul_page_axis axis = {1, 0.25};
  if (!(most > 0)) return axis;
  double unit = pow(10, floor(log10(most)));
  axis.step = unit * (most / unit > 5 ? 1 : most / unit > 2 ? 0.5 : 0.25);
  axis.most = axis.step * ceil(most / axis.step - 1e-9);
  return axis;
}

static double across(const ul_page *page, double s) {
  double first = page->sample[0].s, last = page->sample[page->sample_count - 1].s;
  double share = last > first ? (s - first) / (last - first) : 0;
  return LEFT + (RIGHT - LEFT) * fmax(0, fmin(1, share));
}

static double upwards(double value, double most) {
  return BOTTOM - (BOTTOM - TOP) * fmax(0, fmin(1, value / most));
}

static void put_line(FILE *file, const ul_page *page, bool pressure, double most) {
  fprintf(file, "<path class=\"%s\" d=\"", pressure ? "pressure" : "filled");
  long last[2] = {-1, -1};
  for (size_t i = 0; i < page->sample_count; i++) {
    const ul_page_sample *s = &page->sample[i];
    long x = lround(across(page, s->s));
    long y = lround(upwards(pressure ? s->kpa : s->filled_fraction, most));
    if (x != last[0] || y != last[1]) fprintf(file, "%c%ld %ld", i ? 'L' : 'M', x, y);
    last[0] = x;
    last[1] = y;
  }
  fputs("\"/>", file);
}

/* Each moment's line, its number above it; numbers that would touch stand a row higher. */
static void put_moments(FILE *file, const ul_page *page) {
  double busy[2] = {-1, -1};
  for (size_t i = 0; i < page->event_count; i++) {
    double x = across(page, page->event[i].reached);
    int row = x - busy[0] >= 24 ? 0 : x - busy[1] >= 24 ? 1 : 2;
    fprintf(file, "<path class=\"moment-line\" d=\"M%ld %dV%d\"/>", lround(x), TOP, BOTTOM);
    if (row == 2) continue;
    busy[row] = x;
    fprintf(file, "<text class=\"moment-number\" x=\"%ld\" y=\"%d\">%zu</text>", lround(x),
            TOP - 8 - 20 * row, i + 1);
  }
}

static void put_letters(FILE *file, const ul_page *page, const ul_page_axis *kpa) {
  for (int i = 0; i <= 4; i++)
    fprintf(file, "<text class=\"end\" x=\"%d\" y=\"%ld\">%d %%</text>", LEFT - 10,
            lround(upwards(i, 4)) + 6, 25 * i);
  int steps = (int)lround(kpa->most / kpa->step);
  for (int i = 1; i <= steps; i++) {
    char figure[UL_WORDS];
    fprintf(file, "<text class=\"start\" x=\"%d\" y=\"%ld\">%s kPa</text>", RIGHT + 10,
            lround(upwards(i, steps)) + 6, ul_words_figure(i * kpa->step, figure));
  }
  ul_page_axis time = axis_for(page->sample[page->sample_count - 1].s);
  for (double s = time.step * ceil(page->sample[0].s / time.step);
       s <= page->sample[page->sample_count - 1].s; s += time.step)
    fprintf(file, "<text x=\"%ld\" y=\"%d\">%ld s</text>", lround(across(page, s)), BOTTOM + 30,
            lround(s));
}

bool ul_page_curves(FILE *file, const ul_page *page) {
  if (page->sample_count < 2) return true;
  double most = 0;
  for (size_t i = 0; i < page->sample_count; i++) most = fmax(most, page->sample[i].kpa);
  ul_page_axis kpa = axis_for(most);
  char figure[UL_WORDS];
  fprintf(
      file,
      "<section aria-labelledby=\"curves\"><h2 id=\"curves\">How fast, and how hard</h2><svg "
      "class=\"curves\" "
      "viewBox=\"0 0 980 %d\" role=\"img\" aria-label=\"Filled share and pressure against time; "
      "the most is %s kPa\">",
      HIGH, ul_words_figure(most, figure));
  fprintf(file, "<path class=\"bench\" d=\"M%d %dH%d\"/>", LEFT, BOTTOM, RIGHT);
  put_moments(file, page);
  put_line(file, page, false, 1);
  put_line(file, page, true, kpa.most);
  put_letters(file, page, &kpa);
  fprintf(file,
          "<path class=\"filled\" d=\"M%d %dh40\"/><text class=\"start\" x=\"%d\" "
          "y=\"%d\">filled</text>"
          "<path class=\"pressure\" d=\"M%d %dh40\"/><text class=\"start\" x=\"%d\" "
          "y=\"%d\">pressure over the "
          "air's</text></svg></section>\n",
          LEFT, HIGH - 16, LEFT + 50, HIGH - 10, LEFT + 160, HIGH - 16, LEFT + 210, HIGH - 10);
  return true;
}
