/* damage.h - a file's bytes changed at random, as mail, disks, editors and exporters do it. */
#ifndef TEST_STRESS_DAMAGE_H
#define TEST_STRESS_DAMAGE_H

#include <stddef.h>
#include <stdint.h>

/* A damaged copy of `size` bytes at `from`, one to four changes: bits, bytes, digits, numbers with
 * no sense, pieces moved, left out, or there twice. *made bytes long, yours to free. The same for
 * the same *dice. */
char *damage(const char *from, size_t size, uint64_t *dice, size_t *made);

#endif
