/* page_still.c - the moments of the rise as still pictures: the mould cut open, plumb. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/vec.h"
#include "report/page_parts.h"

/* The drawings' units: the longer side of the picture has about this many. */
enum { WIDE = 900, MARGIN = 56 };

typedef struct ul_page_frame {
  int width, height;
  double bench; /* where the bench lies, in the picture */
} ul_page_frame;

/* Fits the propped tool into the picture. */
static void frame(const ul_page *page, ul_page_view *view, ul_page_frame *out) {
  double box[2][2] = {{INFINITY, INFINITY}, {-INFINITY, -INFINITY}};
  for (int i = 0; i < 8; i++) {
    double at[3], p[2];
    ul_page_corner(page->tool, i, at);
    p[0] = ul_dot(view->right, at);
    p[1] = ul_dot(view->up, at);
    for (int c = 0; c < 2; c++) {
      box[0][c] = fmin(box[0][c], p[c]);
      box[1][c] = fmax(box[1][c], p[c]);
    }
  }
  double size = fmax(box[1][0] - box[0][0], box[1][1] - box[0][1]);
  view->scale = (WIDE - 2 * MARGIN) / size;
  view->x0 = MARGIN - view->scale * box[0][0];
  view->y0 = MARGIN + view->scale * box[1][1];
  out->width = (int)ceil(view->scale * (box[1][0] - box[0][0])) + 2 * MARGIN;
  out->height = (int)ceil(view->scale * (box[1][1] - box[0][1])) + 2 * MARGIN;
  out->bench = view->y0 - view->scale * box[0][1];
}

/* --- the tool's box in the plane: a polygon clipped by six half spaces --- */

enum { CORNERS_MOST = 12 };

static int clip(double (*polygon)[2], int count, const double normal[2], double limit) {
  double out[CORNERS_MOST][2];
  int kept = 0;
  for (int i = 0; i < count; i++) {
    const double *a = polygon[i], *b = polygon[(i + 1) % count];
    double da = normal[0] * a[0] + normal[1] * a[1] - limit;
    double db = normal[0] * b[0] + normal[1] * b[1] - limit;
    if (da <= 0 && kept < CORNERS_MOST) memcpy(out[kept++], a, sizeof out[0]);
    if ((da < 0) != (db < 0) && da != db && kept < CORNERS_MOST) {
      double t = da / (da - db);
      for (int c = 0; c < 2; c++) out[kept][c] = a[c] + t * (b[c] - a[c]);
      kept++;
    }
  }
  memcpy(polygon, out, (size_t)kept * sizeof out[0]);
  return kept;
}

static void put_tool(FILE *file, const ul_page *page, const ul_page_cut *cut) {
  double far = 0, polygon[CORNERS_MOST][2];
  for (int a = 0; a < 3; a++)
    far += fabs(page->tool->box_mm[0][a]) + fabs(page->tool->box_mm[1][a]);
  const double square[4][2] = {{-far, -far}, {far, -far}, {far, far}, {-far, far}};
  memcpy(polygon, square, sizeof square);
  int count = 4;
  for (int a = 0; a < 3; a++)
    for (int high = 0; high < 2; high++) {
      double sign = high ? 1 : -1, normal[2] = {sign * cut->view.right[a], sign * cut->view.up[a]};
      double limit =
          sign * page->tool->box_mm[high][a] - sign * cut->view.toward[a] * cut->depth_mm;
      count = clip(polygon, count, normal, limit);
    }
  for (int i = 0; i < count; i++)
    fprintf(file, "%c%ld %ld", i ? 'L' : 'M',
            lround(cut->view.x0 + cut->view.scale * polygon[i][0]),
            lround(cut->view.y0 - cut->view.scale * polygon[i][1]));
  if (count) fputc('z', file);
}

/* --- what all stills share --- */

/* Whether the arrival is known all round a place, as it is in the cavity and just beyond its wall.
 */
static bool is_known(const ul_page_cut *cut, const double at[2]) {
  int x = (int)floor((at[0] - cut->from[0]) / cut->step),
      y = (int)floor((at[1] - cut->from[1]) / cut->step);
  if (x < 0 || y < 0 || x + 1 >= cut->n[0] || y + 1 >= cut->n[1]) return false;
  const float *v = cut->arrival + (size_t)y * (size_t)cut->n[0] + (size_t)x;
  return !isnan(v[0]) && !isnan(v[1]) && !isnan(v[cut->n[0]]) && !isnan(v[cut->n[0] + 1]);
}

/* The tide line's letters, at its left end. */
static void put_letter(FILE *file, const ul_page *page, const ul_page_cut *cut,
                       const ul_page_pieces *line, double tide, size_t i) {
  const double *left = NULL;
  for (size_t k = 0; k < line->count; k++)
    if ((!left || line->piece[k].a[0] < left[0]) && is_known(cut, line->piece[k].a))
      left = line->piece[k].a;
  char mark[16];
  ul_page_mark(page, tide, mark);
  fprintf(file, "<g id=\"letter-%zu\">", i);
  if (left)
    fprintf(file, "<text class=\"letter\" x=\"%ld\" y=\"%ld\">%s</text>",
            lround(cut->view.x0 + cut->view.scale * left[0]) - 8,
            lround(cut->view.y0 - cut->view.scale * left[1]) + 7, mark);
  fputs("</g>", file);
}

static bool put_tides(FILE *file, const ul_page *page, ul_page_cut *cut) {
  ul_page_tides tides;
  ul_page_tides_choose(page, &tides);
  ul_page_pieces line = {0};
  bool good = true;
  for (size_t i = 0; good && i < tides.count; i++) {
    line.count = 0;
    good = ul_page_contour(cut->arrival, cut->n, cut->from, cut->step, tides.at[i], &line);
    fprintf(file, "<path id=\"tide-%zu\" d=\"", i);
    good = good && ul_page_outline(file, &line, &cut->view);
    fputs("\"/>", file);
    put_letter(file, page, cut, &line, tides.at[i], i);
  }
  free(line.piece);
  return good;
}

static void put_blocks(FILE *file, const ul_page *page, const ul_page_cut *cut, double bench) {
  for (int i = 0; i < 4; i++) {
    double at[2];
    ul_page_project(&cut->view, page->props->corner_mm[i], at);
    if (bench - at[1] < 2) continue;
    fprintf(file, "<path class=\"block\" d=\"M%ld %ldh30V%ldh-30z\"/>", lround(at[0] - 15),
            lround(at[1]), lround(bench));
  }
}

/* A plumb line with its bob, at the left margin. */
static void put_plumb(FILE *file, double bench) {
  long bottom = lround(bench);
  fprintf(file, "<path class=\"plumb\" d=\"M28 20V%ld\"/>", bottom - 34);
  fprintf(file, "<path class=\"bob\" d=\"M20 %ldh16l-8 26z\"/>", bottom - 34);
}

bool ul_page_defs(FILE *file, const ul_page *page, ul_page_cut *cut) {
  ul_page_frame f;
  frame(page, &cut->view, &f);
  fputs("<pattern id=\"hatch\" width=\"9\" height=\"9\" patternUnits=\"userSpaceOnUse\" "
        "patternTransform=\"rotate(45)\"><path class=\"tool-line\" d=\"M0 0V9\"/></pattern>"
        "<pattern id=\"air\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" "
        "patternTransform=\"rotate(-45)\"><path class=\"air-line\" d=\"M0 0V7\"/></pattern>"
        "<pattern id=\"grain\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\">"
        "<path class=\"tool-line\" d=\"M0 0V6M0 0H6\"/></pattern>"
        "<path id=\"tool\" d=\"",
        file);
  put_tool(file, page, cut);
  fputs("\"/><path id=\"wall\" d=\"", file);
  bool good = ul_page_outline(file, &cut->wall, &cut->view);
  fputs("\"/><clipPath id=\"cavity\"><use href=\"#wall\"/></clipPath><path id=\"cast\" d=\"", file);
  good = good && ul_page_outline(file, &cut->cast, &cut->view);
  fputs("\"/>", file);
  good = good && put_tides(file, page, cut);
  fputs("<g id=\"bench\">", file);
  put_blocks(file, page, cut, f.bench);
  fprintf(file, "<path class=\"bench\" d=\"M6 %ldH%d\"/>", lround(f.bench), f.width - 6);
  put_plumb(file, f.bench);
  fputs("</g>", file);
  return good;
}

/* --- one still --- */

static bool put_foam(FILE *file, const ul_page *page, ul_page_cut *cut, double reached) {
  ul_page_pieces edge = {0};
  bool good = ul_page_contour(cut->arrival, cut->n, cut->from, cut->step, reached, &edge);
  fputs("<path class=\"foam\" d=\"", file);
  good = good && ul_page_outline(file, &edge, &cut->view);
  fputs("\"/>", file);
  double cut_off = INFINITY;
  for (size_t i = 0; i < page->air_count; i++) cut_off = fmin(cut_off, page->air[i].cut_off);
  if (good && reached >= cut_off) {
    edge.count = 0;
    good = ul_page_contour(cut->open, cut->n, cut->from, cut->step, 0.5, &edge);
    fputs("<path class=\"shut-in\" d=\"", file);
    good = good && ul_page_outline(file, &edge, &cut->view);
    fputs("\"/>", file);
  }
  free(edge.piece);
  return good;
}

static bool put_still(FILE *file, const ul_page *page, ul_page_cut *cut, const ul_page_frame *f,
                      const ul_page_event *event) {
  ul_page_tides tides;
  ul_page_tides_choose(page, &tides);
  fprintf(
      file,
      "<svg class=\"still\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"The mould cut open, ",
      f->width, f->height);
  ul_page_text(file, event->mark);
  fputs("\"><use href=\"#bench\"/><use class=\"tool\" href=\"#tool\"/><use class=\"cavity\" "
        "href=\"#wall\"/><g clip-path=\"url(#cavity)\">",
        file);
  bool good = put_foam(file, page, cut, event->reached);
  for (size_t i = 0; i < tides.count; i++)
    if (tides.at[i] <= event->reached) fprintf(file, "<use class=\"tide\" href=\"#tide-%zu\"/>", i);
  fputs("</g><use class=\"wall\" href=\"#wall\"/>", file);
  if (page->insert_count) fputs("<use class=\"insert\" href=\"#cast\"/>", file);
  for (size_t i = 0; i < tides.count; i++)
    if (tides.at[i] <= event->reached) fprintf(file, "<use href=\"#letter-%zu\"/>", i);
  ul_page_labels labels = {.width = f->width, .height = f->height};
  ul_page_label_vents(file, page, &cut->view, event->vent, &labels);
  ul_page_label_air(file, page, &cut->view, event->reached, &labels);
  if (event->has_place && !event->vent && !event->air) {
    double at[2];
    ul_page_project(&cut->view, event->at_mm, at);
    fprintf(file, "<circle class=\"place\" cx=\"%ld\" cy=\"%ld\" r=\"12\"/>", lround(at[0]),
            lround(at[1]));
  }
  fputs("</svg>", file);
  return good;
}

bool ul_page_events(FILE *file, const ul_page *page, ul_page_cut *cut) {
  ul_page_frame f;
  frame(page, &cut->view, &f);
  bool good = true;
  for (size_t i = 0; good && i < page->event_count; i++) {
    const ul_page_event *e = &page->event[i];
    fprintf(file, "<li><button type=\"button\" class=\"moment\" data-event=\"%zu\">", i);
    good = put_still(file, page, cut, &f, e);
    fputs("<span class=\"mark\">", file);
    ul_page_text(file, e->mark);
    fputs("</span><span class=\"tells\">", file);
    ul_page_text(file, e->text);
    fputs("</span></button></li>\n", file);
  }
  return good;
}
