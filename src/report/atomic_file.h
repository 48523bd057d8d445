/* atomic_file.h - a result file is there whole or not at all. */
#ifndef UL_REPORT_ATOMIC_FILE_H
#define UL_REPORT_ATOMIC_FILE_H

#include <stdbool.h>
#include <stdio.h>

#include "ullage/status.h"

/* Writes the content to `file`; false when it could not be made. Errors of the stream itself need
 * no looking after: they are found afterwards. */
typedef bool (*ul_content_fn)(FILE *file, void *context);

/* Has `content` write a new file in the same folder and, once all of it is on its way to the disk,
 * renames it to `path`; what was there before stays until then, and stays when anything fails. What
 * is not a plain file (a pipe, a terminal) is written straight to. Errors: UL_E_WRITE with the path
 * and the system's reason; UL_E_MEMORY when there is none or `content` gives up. */
ul_status ul_write_whole(const char *path, ul_content_fn content, void *context, ul_error *err);

/* Several files as one: what ul_write_whole() and ul_remove_whole() do on this thread within
 * `write` is held back until that has returned UL_OK; then all files get their names, in that
 * order. If it failed, all is as it was. */
ul_status ul_write_together(ul_status (*write)(void *context, ul_error *err), void *context,
                            ul_error *err);
/* Removes a file, if it is there. UL_E_MEMORY. */
ul_status ul_remove_whole(const char *path, ul_error *err);

#endif
