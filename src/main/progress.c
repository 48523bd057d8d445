#include "main/progress.h"

#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "main/stop.h"

enum { BAR = 30 };

static double now_s(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

void progress_begin(progress *p, bool quiet) {
  *p = (progress){.off = quiet || !isatty(STDERR_FILENO)};
}

void progress_end(progress *p) {
  if (p->shown) fprintf(stderr, "\r\033[K");
  p->shown = false;
}

static void draw(progress *p, double done, double spent_s) {
  char bar[BAR + 1];
  int full = (int)(done * BAR);
  for (int i = 0; i < BAR; i++) bar[i] = i < full ? '#' : '.';
  bar[BAR] = 0;
  double left_s = done > 0.02 ? spent_s / done * (1 - done) : -1;
  if (left_s >= 0)
    fprintf(stderr, "\r%-18s %s %3.0f %%  %.0f s left \033[K", p->stage, bar, done * 100, left_s);
  else
    fprintf(stderr, "\r%-18s %s %3.0f %% \033[K", p->stage, bar, done * 100);
  p->shown = true;
}

bool progress_tell(void *user, const char *stage, double done) {
  progress *p = user;
  if (stop_asked()) return false;
  if (p->off) return true;
  double now = now_s();
  if (!p->stage || strcmp(p->stage, stage) != 0) {
    progress_end(p);
    p->stage = stage;
    p->began_s = now;
  }
  if (now - p->began_s < 1 || now - p->drawn_s < 0.1) return true;
  p->drawn_s = now;
  draw(p, done < 0 ? 0 : done > 1 ? 1 : done, now - p->began_s);
  return true;
}
