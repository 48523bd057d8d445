/* line.h - one line of a vent on its way out: it leaves the cavity for good, meets no insert, and
 * comes out of the tool. Made once a direction, then asked for thousands of lines. */
#ifndef UL_AIR_LINE_H
#define UL_AIR_LINE_H

#include "air/bore.h"
#include "air/sight.h"

typedef struct ul_lines {
  const ul_bore_site *site;
  double axis[3];
  ul_sight *cavity, *tool, *inserts, *keep_off; /* NULL: a box; none; none */
  double reach;                           /* a line that leaves farther off is not at the peak */
  bool met_again, met_insert, no_outside; /* what has been in the way of lines so far */
  double again;                           /* how far past the first mouth that met something */
  bool met_hollow;                        /* it came out of the tool's material, but not for good */
  double hollow;                          /* how far past the first mouth that did */
} ul_lines;

typedef struct ul_line {
  ul_stretch air; /* the stretch of cavity it leaves for good */
  double out;     /* depth at which it leaves the tool */
} ul_line;

/* Looks along the unit `axis` past site->at_mm at what is within `seen_mm` of it. Errors:
 * UL_E_MEMORY; ul_lines_close() either way. */
ul_status ul_lines_open(const ul_bore_site *site, const double axis[3], double reach_mm,
                        double seen_mm, ul_lines *out, ul_error *err);
void ul_lines_close(ul_lines *lines);

/* The line at (x, y) of the sight's frame: of the stretches of cavity on it, the one that ends
 * nearest to the depth `near`; it must be the last, end on a wall that faces the axis (within 78
 * degrees), and the line must come out of the tool for good. False if not, and *lines knows why. */
bool ul_line_leaves(ul_lines *lines, double x, double y, double near, ul_line *out);

/* Depth at which the line, in the tool's material at `from`, comes out of it; -INFINITY if it is
 * not in it there. *again: where beyond that more of the tool follows; INFINITY: nowhere. */
double ul_line_out(const ul_lines *lines, double x, double y, double from, double *again);

/* Between the line and the normal of the tool's outside where it comes out, degrees. */
double ul_line_entry_deg(const ul_lines *lines, double x, double y, double out);

/* Whether what is within `radius` of the line, from depth `from` to `to`, meets one of the boxes
 * that vents keep off. */
bool ul_line_meets_box(const ul_lines *lines, double x, double y, double radius, double from,
                       double to);

/* No wall flatter to a line than this: the cosine of 78 degrees, past which a drill skids off. */
extern const double ul_least_facing;

#endif
