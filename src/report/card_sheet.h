/* card_sheet.h - the few marks that a card is made of. Lengths are points, y runs down. */
#ifndef UL_REPORT_CARD_SHEET_H
#define UL_REPORT_CARD_SHEET_H

#include <cairo.h>
#include <stdbool.h>

#include "report/words.h"
#include "ullage/card.h"

/* One meaning each. */
typedef enum { UL_INK, UL_SOFT_INK, UL_TEAL, UL_RUST } ul_sheet_colour;
typedef enum { UL_SERIF, UL_SANS, UL_SANS_BOLD } ul_sheet_face;

typedef struct ul_sheet {
  cairo_t *cr;
  double width, height, margin;
} ul_sheet;

#define UL_RULE 0.6 /* the one thin line */

void ul_sheet_colour_set(const ul_sheet *s, ul_sheet_colour colour);
/* Text from (x, y), its base line. Returns its width. */
double ul_sheet_text(const ul_sheet *s, double x, double y, ul_sheet_face face, double size,
                     const char *text);
double ul_sheet_text_width(const ul_sheet *s, ul_sheet_face face, double size, const char *text);
/* Broken into lines of `width` at most; y is the first base line. Returns the base line after the
 * last one. */
double ul_sheet_paragraph(const ul_sheet *s, double x, double y, double width, ul_sheet_face face,
                          double size, const char *text);
/* One line, its end cut off with ... where it is too long. */
void ul_sheet_fitted(const ul_sheet *s, double x, double y, double width, ul_sheet_face face,
                     double size, const char *text);
/* A number in a circle round (x, y). */
void ul_sheet_number(const ul_sheet *s, double x, double y, double radius, unsigned number);
void ul_sheet_rule(const ul_sheet *s, double x0, double y0, double x1, double y1, double width);
/* Slanting lines inside a box. */
void ul_sheet_hatch(const ul_sheet *s, double x, double y, double width, double height);

/* The two views of the propped tool in a box, of which they take what *height becomes. UL_E_MEMORY.
 */
ul_status ul_card_views(const ul_sheet *s, const ul_card *card, double x, double y, double width,
                        double *height, ul_error *err);

/* "137 mm", or "5.39 in". */
const char *ul_card_length(const ul_card *card, double mm, char out[UL_WORDS]);
/* "x 41.2  y 7.9  z 0.0 mm" as measured from the datum, or in inches with two decimals. */
const char *ul_card_place(const ul_card *card, const double at_mm[3], char out[UL_WORDS]);
const char *ul_card_volume(const ul_card *card, double mm3, char out[UL_WORDS]);
const char *ul_card_mass(const ul_card *card, double g, double step_g, char out[UL_WORDS]);

#endif
