/* values.h - numbers, places and directions as people type them. */
#ifndef UL_MAIN_VALUES_H
#define UL_MAIN_VALUES_H

#include <stddef.h>

#include "ullage/status.h"

/* Each reads all of `text`, point as decimal mark, or gives UL_E_USAGE naming `option`. */
ul_status value_number(const char *option, const char *text, double least, double most, double *out,
                       ul_error *err);
ul_status value_count(const char *option, const char *text, long least, long most, long *out,
                      ul_error *err);
/* Exactly `n` numbers with commas between. */
ul_status value_numbers(const char *option, const char *text, size_t n, double *out, ul_error *err);
/* `least` to `most` of them; *count is how many. */
ul_status value_number_list(const char *option, const char *text, size_t least, size_t most,
                            double *out, size_t *count, ul_error *err);

/* A place or length further out than a kilometre is a slip, and finds no room in what is written.
 */
#define VALUE_MOST_MM 1e6
/* Whether all `n` numbers read from `text` are within VALUE_MOST_MM; else UL_E_USAGE. */
ul_status value_within_mm(const char *option, const char *text, const double *number, size_t n,
                          ul_error *err);
/* value_numbers() within it. */
ul_status value_place(const char *option, const char *text, size_t n, double *out, ul_error *err);

/* A plane: "z=12" or "x,y,z;nx,ny,nz", a point and a normal of unit length. */
ul_status value_plane(const char *option, const char *text, double at_mm[3], double normal[3],
                      ul_error *err);

/* Which side "+x" or "-z..." begins with: 0 -x, 1 +x, 2 -y, 3 +y, 4 -z, 5 +z; -1 if none. */
int value_side(const char *text);
/* The side that `text` of that length names, by sign and letter or by its given name; -1 if none.
 */
int value_named_side(const char *text, size_t length, const char *const side_name[6]);
/* Two directions with a semicolon between, each "+x", a side's name or "x,y,z". */
ul_status value_two_directions(const char *option, const char *text, const char *const side_name[6],
                               double first[3], double second[3], ul_error *err);
/* "+x=15,-y=5", or sides by their given names, to a unit up vector. */
ul_status value_raise(const char *option, const char *text, const char *const side_name[6],
                      double up[3], ul_error *err);

#endif
