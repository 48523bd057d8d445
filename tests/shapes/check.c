#include "shapes/check.h"

#include <math.h>

static void demand(int holds, double got, double want, double tolerance, const char *what,
                   const char *file, int line) {
  if (!holds) print_error("%s is %.17g, not %.17g within %g\n", what, got, want, tolerance);
  _assert_true((LargestIntegralType)holds, what, file, line);
}

void check_rel(double got, double want, double tolerance, const char *what, const char *file,
               int line) {
  double scale = fmax(fabs(want), 1e-300);
  demand(fabs(got - want) <= tolerance * scale, got, want, tolerance, what, file, line);
}

void check_near(double got, double want, double tolerance, const char *what, const char *file,
                int line) {
  demand(fabs(got - want) <= tolerance, got, want, tolerance, what, file, line);
}

void check_ok(ul_status status, const ul_error *err, const char *what, const char *file, int line) {
  if (status != UL_OK)
    print_error("%s: %s: %s\n", what, ul_status_text(status), err ? err->text : "");
  _assert_true(status == UL_OK, what, file, line);
}
