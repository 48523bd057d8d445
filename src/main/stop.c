#include "main/stop.h"

#include <signal.h>
#include <stddef.h>

static volatile sig_atomic_t asked; /* the signal */

static void note(int number) {
  asked = number;
}

void stop_when_asked(void) {
  static const int by[] = {SIGINT, SIGTERM, SIGHUP};
  struct sigaction note_it = {.sa_handler = note, .sa_flags = SA_RESETHAND | SA_RESTART}, before;
  sigemptyset(&note_it.sa_mask);
  for (size_t i = 0; i < sizeof by / sizeof *by; i++)
    if (sigaction(by[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
      sigaction(by[i], &note_it, NULL);
}

bool stop_asked(void) {
  return asked != 0;
}

void stop_as_asked(void) {
  if (!asked) return;
  signal(asked, SIG_DFL);
  raise(asked);
}
