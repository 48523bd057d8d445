/* check.h - cmocka with doubles. cmocka 1.1.5's assert_float_equal casts to float; these do not. */
#ifndef TEST_CHECK_H
#define TEST_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "ullage/status.h"

/* |got - want| <= tolerance * max(|want|, 1e-300); prints both when not. */
#define assert_rel(got, want, tolerance) check_rel(got, want, tolerance, #got, __FILE__, __LINE__)
/* |got - want| <= tolerance */
#define assert_near(got, want, tolerance) check_near(got, want, tolerance, #got, __FILE__, __LINE__)
/* The call gave UL_OK; prints the error's text when not. */
#define assert_ok(call, err) check_ok(call, err, #call, __FILE__, __LINE__)

void check_rel(double got, double want, double tolerance, const char *what, const char *file,
               int line);
void check_near(double got, double want, double tolerance, const char *what, const char *file,
                int line);
void check_ok(ul_status status, const ul_error *err, const char *what, const char *file, int line);

#endif
