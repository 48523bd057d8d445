/* confine.h - the child's side of the sandbox: giving up every right it does not need. */
#ifndef UL_CAVITY_CONFINE_H
#define UL_CAVITY_CONFINE_H

#include <stdbool.h>
#include <stddef.h>

typedef struct ul_confinement {
  size_t address_space, output_bytes, cpu_s;
  int keep_fd, output_fd, alarm_fd; /* all others are closed */
} ul_confinement;

/* Cannot be undone. False when even the limits could not be set; *filtered as in sandbox.h. */
bool ul_confine(const ul_confinement *to, bool *filtered);

#endif
