/* show.h - what several verbs print. */
#ifndef UL_MAIN_SHOW_H
#define UL_MAIN_SHOW_H

#include <jansson.h>

#include "base/fail.h"
#include "main/cavity_case.h"

/* `text` after `label`, which takes `width` columns, wrapped at 80. A label that is too wide has
 * its text on the next line; a line break in the text begins a new one. */
void show_wrapped(int width, const char *label, const char *text);
/* One sentence after its label (NULL or "": indented as if after one), wrapped at 80 columns. A
 * line break in the text begins a new line. */
void show_line(const char *label, const char *format, ...) UL_PRINTF(2, 3);
/* Format, triangles, unit, extents, notes and faults. */
void show_file(const cavity_case *c);
/* Places too thin for the cubes, at most a few of them. */
void show_thin(const cavity_case *c);
void show_tilt(const cavity_case *c, const double up[3]);
void show_peaks(const ul_peaks *peaks);
/* Where fronts meet, at most a few. */
void show_seams(const ul_meet *meet, size_t count);
/* Prints `root` and releases it. */
ul_status show_json(json_t *root, ul_error *err);

#endif
