/* page_parts.h - what the parts of report.html share: views, drawings, and their places. */
#ifndef UL_REPORT_PAGE_PARTS_H
#define UL_REPORT_PAGE_PARTS_H

#include <stdio.h>

#include "cavity/edges.h"
#include "report/page.h"

/* --- page_text.c --- */

/* Text as HTML or an attribute's value: nothing in it is markup, and it is UTF-8. */
void ul_page_text(FILE *file, const char *text);
/* The same as an element's content, options of the program ("--cube 6.5") kept on one line. */
void ul_page_sentence(FILE *file, const char *text);
/* The same bytes as JSON may hold them: what is not UTF-8 is U+FFFD. malloc'ed; NULL: no memory. */
char *ul_page_utf8(const char *text);

/* --- page_view.c: a parallel projection onto paper, y down, in whole units --- */

typedef struct ul_page_view {
  double right[3], up[3], toward[3]; /* unit, right-handed; toward: out of the paper */
  double scale, x0, y0;
} ul_page_view;

/* The horizontal direction along which the tool is longest when it lies at `up`. */
void ul_page_along(const ul_tool *tool, const double up[3], double along[3]);
/* Looked at level, or turned by `turn_deg` about the plumb line and from `above_deg` higher. */
void ul_page_look(const double up[3], const double along[3], double turn_deg, double above_deg,
                  ul_page_view *view);
void ul_page_project(const ul_page_view *view, const double at_mm[3], double out[2]);
/* Where a place lies along the plumb line. */
double ul_page_height(const double up[3], const double at_mm[3]);
/* The height of the bench: that of the tool's lowest corner. */
double ul_page_bench(const ul_tool *tool, const double up[3]);
void ul_page_corner(const ul_tool *tool, int corner, double out[3]);

/* --- page_loops.c: outlines from loose pieces --- */

/* A piece of an outline with what is inside on its left; it ends where the piece with from == to
 * begins. */
typedef struct ul_page_piece {
  uint64_t from, to;
  double a[2], b[2];
} ul_page_piece;

typedef struct ul_page_pieces {
  ul_page_piece *piece;
  size_t count, room;
} ul_page_pieces;

bool ul_page_piece_add(ul_page_pieces *pieces, const ul_page_piece *piece);
/* The area inside, in the pieces' own unit. */
double ul_page_area(const ul_page_pieces *pieces);
/* The pieces, chained and scaled, as the data of an SVG path; sorts them. False: no memory. */
bool ul_page_outline(FILE *file, ul_page_pieces *pieces, const ul_page_view *view);
/* The outline of what is at most `level` on an n[0] x n[1] grid of values, spaced `step` from
 * `from`; the grid's rim counts as above it. False: no memory. */
bool ul_page_contour(const float *value, const int n[2], const double from[2], double step,
                     double level, ul_page_pieces *out);

/* --- page_cut.c: the plumb plane in which the stills are drawn --- */

typedef struct ul_page_cut {
  ul_page_view view;   /* level, looking at the plane; its origin is the mesh's */
  double depth_mm;     /* of the plane along view.toward */
  ul_page_pieces wall; /* the cavity's wall in it, in mm */
  ul_page_pieces cast; /* the inserts in it */
  int n[2];
  double from[2], step;
  float *arrival; /* on a grid in the plane; NAN far from the cavity */
  float *open;    /* 0 in air that stays, 1 elsewhere, between for what lies between */
} ul_page_cut;

/* The plumb plane that shows most: much of the cavity, and the vents. */
ul_status ul_page_cut_make(const ul_page *page, ul_page_cut *cut, ul_error *err);
void ul_page_cut_free(ul_page_cut *cut);

/* --- page_labels.c: numbers on a drawing --- */

enum { UL_PAGE_LABELS = 64 };
/* What stands on a drawing already; zero but for the paper's size. */
typedef struct ul_page_labels {
  double width, height;
  size_t count;
  struct {
    double at[2], wide, high; /* the middle; half the size */
  } taken[UL_PAGE_LABELS];
} ul_page_labels;

/* Moves a label of that half width and half height from `at`, where it is wanted, to the nearest
 * place that is free, and takes it. False: there is none, and `at` is as it was. */
bool ul_page_label_place(ul_page_labels *labels, double at[2], double wide, double high);
/* Every hole with its number; that with the id `now` stands out. */
void ul_page_label_vents(FILE *file, const ul_page *page, const ul_page_view *view, uint32_t now,
                         ul_page_labels *labels);
/* The air that is shut in by then; where there is no room, it goes without. */
void ul_page_label_air(FILE *file, const ul_page *page, const ul_page_view *view, double reached,
                       ul_page_labels *labels);

/* --- page_tide.c: which lines are drawn --- */

enum { UL_PAGE_TIDES = 16 };
typedef struct ul_page_tides {
  size_t count;
  double at[UL_PAGE_TIDES]; /* on the arrival's scale */
} ul_page_tides;
/* Round values, about eight of them, between the first arrival and the last. */
void ul_page_tides_choose(const ul_page *page, ul_page_tides *tides);
void ul_page_mark(const ul_page *page, double at, char out[16]);

/* --- the page's pieces, each written where the template has its slot --- */

bool ul_page_first(FILE *file, const ul_page *page);                         /* page_html.c */
bool ul_page_propped(FILE *file, const ul_page *page);                       /* page_propped.c */
bool ul_page_defs(FILE *file, const ul_page *page, ul_page_cut *cut);        /* page_still.c */
bool ul_page_events(FILE *file, const ul_page *page, ul_page_cut *cut);      /* page_still.c */
bool ul_page_care(FILE *file, const ul_page *page);                          /* page_html.c */
bool ul_page_holes(FILE *file, const ul_page *page);                         /* page_html.c */
bool ul_page_air_told(FILE *file, const ul_page *page);                      /* page_html.c */
bool ul_page_strip(FILE *file, const ul_page *page);                         /* page_propped.c */
bool ul_page_curves(FILE *file, const ul_page *page);                        /* page_curves.c */
bool ul_page_scene(FILE *file, const ul_page *page, const ul_page_cut *cut); /* page_scene.c */

/* report.html with its slots, made at build time from src/report/page/. */
extern const unsigned char ul_page_template[];
extern const size_t ul_page_template_size;

#endif
