/* memory.h - every allocation of the library goes through here: overflow checked, large blocks on
 * huge pages where the kernel has them, and a counter by which a test can make the n-th one fail.
 */
#ifndef UL_BASE_MEMORY_H
#define UL_BASE_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

/* `count` items of `size` bytes, zeroed; NULL when there is no memory. Release with free(). A count
 * of 0 gives a block that may be freed, never NULL for that reason. */
void *ul_new(size_t count, size_t size);
/* The same, uninitialised. */
void *ul_new_raw(size_t count, size_t size);
/* Makes room for at least `need` items: *block moves, *room is raised by half or more. False when
 * there is no memory; *block is then as it was. */
bool ul_grow(void **block, size_t *room, size_t need, size_t size);

/* For tests: the n-th allocation from now fails (0: none does). Process-wide. */
void ul_memory_fail_at(long nth);

#endif
