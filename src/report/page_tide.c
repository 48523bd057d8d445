/* page_tide.c - tide lines: the few moments whose line is drawn on the wall, and their letters. */
#include <math.h>
#include <stdio.h>

#include "report/page_parts.h"

void ul_page_mark(const ul_page *page, double at, char out[16]) {
  if (page->seconds)
    snprintf(out, 16, "%ld s", lround(at));
  else
    snprintf(out, 16, "%ld %%", lround(100 * at));
}

static double first_arrival(const ul_page *page) {
  double first = page->arrival_end;
  for (size_t i = 0; i < page->grid->cube_count; i++)
    if (page->grid->inside[i]) first = fmin(first, (double)page->arrival[i]);
  return first;
}

void ul_page_tides_choose(const ul_page *page, ul_page_tides *tides) {
  static const double round_step[] = {1, 2, 5, 10, 20, 50, 100, 200, 500, 1000};
  tides->count = 0;
  double unit = page->seconds ? 1 : 0.01, first = first_arrival(page);
  double step = 0.1, span = page->arrival_end - first;
  for (int i = 0; page->seconds && i < 10; i++) {
    step = round_step[i];
    if (span / step <= 9) break;
  }
  for (double at = step * ceil((first + unit) / step); at < page->arrival_end - unit / 2;
       at += step)
    if (tides->count < UL_PAGE_TIDES) tides->at[tides->count++] = at;
}
