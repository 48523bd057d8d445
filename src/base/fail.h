/* fail.h - filling a ul_error in one line at the place where something is found wrong. */
#ifndef UL_BASE_FAIL_H
#define UL_BASE_FAIL_H

#include "ullage/status.h"

#if defined(__GNUC__)
#define UL_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))
#else
#define UL_PRINTF(fmt, args)
#endif

/* Sets *err (if not NULL) and returns `code`, so that a caller can write `return ul_fail(...)`. */
ul_status ul_fail(ul_error *err, ul_status code, const char *format, ...) UL_PRINTF(3, 4);
/* The same with a place. `triangle` -1: none. */
ul_status ul_fail_at(ul_error *err, ul_status code, const double at_mm[3], long triangle,
                     const char *format, ...) UL_PRINTF(5, 6);
/* The one text for a failed allocation. */
ul_status ul_fail_memory(ul_error *err);

#endif
