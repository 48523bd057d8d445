#include "base/fail.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const struct {
  const char *text;
  int exit_code;
} status_table[] = {
#define AS_ROW(name, exit_code, text) [name] = {text, exit_code},
    UL_STATUS_LIST(AS_ROW)
#undef AS_ROW
};

const char *ul_status_text(ul_status status) {
  return (unsigned)status < UL_STATUS_END ? status_table[status].text : "unknown status";
}

int ul_status_exit_code(ul_status status) {
  return (unsigned)status < UL_STATUS_END ? status_table[status].exit_code : 4;
}

static void fill(ul_error *err, ul_status code, const double *at_mm, long triangle,
                 const char *format, va_list args) {
  memset(err, 0, sizeof *err);
  err->code = code;
  err->triangle = triangle;
  if (at_mm) {
    err->has_place = 1;
    memcpy(err->at_mm, at_mm, sizeof err->at_mm);
  }
  vsnprintf(err->text, sizeof err->text, format, args);
}

ul_status ul_fail(ul_error *err, ul_status code, const char *format, ...) {
  if (!err) return code;
  va_list args;
  va_start(args, format);
  fill(err, code, NULL, -1, format, args);
  va_end(args);
  return code;
}

ul_status ul_fail_at(ul_error *err, ul_status code, const double at_mm[3], long triangle,
                     const char *format, ...) {
  if (!err) return code;
  va_list args;
  va_start(args, format);
  fill(err, code, at_mm, triangle, format, args);
  va_end(args);
  return code;
}

ul_status ul_fail_memory(ul_error *err) {
  return ul_fail(err, UL_E_MEMORY, "out of memory: use a larger --cube, or a machine with more");
}
