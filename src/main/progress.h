/* progress.h - how far a long call is, on stderr, on a terminal only. */
#ifndef UL_MAIN_PROGRESS_H
#define UL_MAIN_PROGRESS_H

#include <stdbool.h>

typedef struct progress {
  bool shown;        /* the line holds something */
  bool off;          /* --quiet, or no terminal */
  const char *stage; /* the running one */
  double began_s, drawn_s;
} progress;

void progress_begin(progress *p, bool quiet);
/* A ul_progress_fn; `user` is the progress. A bar appears once a stage has run for a second. False
 * when the program was asked to stop. */
bool progress_tell(void *user, const char *stage, double done);
/* Clears the line. */
void progress_end(progress *p);

#endif
