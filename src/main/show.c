#include "main/show.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/printable.h"
#include "main/verbs.h"
#include "report/json.h"
#include "report/words.h"

enum { THIN_SHOWN = 5, SEAMS_SHOWN = 4 };

/* One line, whatever a name or a stranger's card holds. */
static void put_line(FILE *file, const char *text) {
  while (*text) {
    const size_t bytes = ul_printable_length(text);
    if (bytes)
      fwrite(text, 1, bytes, file);
    else
      fputc('?', file);
    text += bytes ? bytes : 1;
  }
}

int verb_failed(const options *opts, const ul_error *err) {
  const char *file = opts->cavity_file;
  fflush(stdout);
  fputs("ullage: ", stderr);
  /* What is wrong with a foam card is not the cavity's: the text names the card. */
  if (file && ul_status_exit_code(err->code) == 3 && err->code != UL_E_CARD) {
    put_line(stderr, file);
    fputs(": ", stderr);
  }
  put_line(stderr, err->text[0] ? err->text : ul_status_text(err->code));
  fputc('\n', stderr);
  return ul_status_exit_code(err->code);
}

ul_status show_json(json_t *root, ul_error *err) {
  char *text = ul_json_text(root);
  json_decref(root);
  if (!text) return ul_fail_memory(err);
  fputs(text, stdout);
  free(text);
  return UL_OK;
}

enum { COLUMNS = 80, LABEL = 11 };

/* How many characters a terminal shows: bytes that do not continue a UTF-8 character. */
static int shown_width(const char *text, size_t bytes) {
  int width = 0;
  for (size_t i = 0; i < bytes; i++) width += (text[i] & 0xC0) != 0x80;
  return width;
}

/* As many bytes as fit into `width` columns, up to a blank or a line break. */
static size_t line_bytes(const char *text, int width) {
  size_t whole = strcspn(text, "\n"), fits = 0;
  for (size_t i = 0; i <= whole; i++) {
    if (i < whole && text[i] != ' ') continue;
    if (shown_width(text, i) > width && fits) break;
    fits = i;
  }
  return fits;
}

void show_wrapped(int width, const char *label, const char *text) {
  if (shown_width(label, strlen(label)) >= width) {
    puts(label);
    label = "";
  }
  for (; *text; label = "") {
    size_t bytes = line_bytes(text, COLUMNS - width);
    printf("%-*s%.*s\n", width, label, (int)bytes, text);
    text += bytes;
    if (*text) text++;
  }
}

void show_line(const char *label, const char *format, ...) {
  char text[1200];
  va_list args;
  va_start(args, format);
  vsnprintf(text, sizeof text, format, args);
  va_end(args);
  show_wrapped(LABEL, label, text);
}

/* What is drawn, inserts or not; nothing when no cavity was found in it. */
static void show_extents(const cavity_case *c) {
  if (!c->bare) return;
  double box[2][3];
  ul_mesh_box_mm(c->bare->mesh, box);
  for (int k = 0; k < 3; k++)
    if (fabs(box[0][k]) < 0.05) box[0][k] = 0; /* no "-0.0" */
  show_line("", "%.2f x %.2f x %.2f mm, from %.1f %.1f %.1f", box[1][0] - box[0][0],
            box[1][1] - box[0][1], box[1][2] - box[0][2], box[0][0], box[0][1], box[0][2]);
}

static const char *unit_source(const cavity_case *c) {
  if (c->info.unit_from_file) return "as the file says";
  return c->opts->unit == UL_UNIT_NONE ? "assumed" : "as you say";
}

void show_file(const cavity_case *c) {
  const ul_import_info *info = &c->info;
  show_line("file", "%s, %zu triangles, %s %s", info->format, info->triangles_read, info->unit_word,
            unit_source(c));
  show_extents(c);
  for (size_t i = 0; i < info->note_count; i++) show_line("note", "%s", info->note[i]);
  for (size_t i = 0; i < c->audit->fault_count; i++) {
    const ul_fault *f = &c->audit->fault[i];
    char place[UL_WORDS];
    show_line("remark", "%s: %zu, at %s: %s", ul_fault_word(f->kind), f->count,
              ul_words_place(f->at_mm, place), f->remedy);
  }
  if (c->solid && c->solid->reading_doubtful)
    show_line("reading",
              "as a part: the cavity is inside it. If it is a block with the cavity as a "
              "void, say --drawn block");
}

void show_thin(const cavity_case *c) {
  for (size_t i = 0; i < c->thin_count && i < THIN_SHOWN; i++) {
    char a[UL_WORDS], b[UL_WORDS], d[UL_WORDS];
    show_line("thin", "%s mm at %s: --cube %s would resolve it",
              ul_words_figure(c->thin[i].thick_mm, a), ul_words_place(c->thin[i].at_mm, b),
              ul_words_at_most(c->thin[i].needs_cube_mm, d));
  }
  if (c->thin_count > THIN_SHOWN)
    show_line("", "and %zu more such places", c->thin_count - THIN_SHOWN);
}

void show_tilt(const cavity_case *c, const double up[3]) {
  char words[UL_WORDS];
  double x, y;
  ul_raise_from_up(up, &x, &y);
  show_line("tilt", "%s", ul_words_tilt(up, c->opts->side_name, words));
  show_line("", "a level along the edges reads x %.3g, y %.3g degrees", round(x * 10) / 10 + 0.0,
            round(y * 10) / 10 + 0.0);
}

static void show_peak(const ul_peak *p) {
  static const char *const kind[] = {
      [UL_PEAK_POINT] = "", [UL_PEAK_EDGE] = ", a level edge", [UL_PEAK_FACE] = ", a level face"};
  char label[16], place[UL_WORDS], words[UL_WORDS], across[UL_WORDS] = "";
  snprintf(label, sizeof label, "peak %u", p->id);
  if (p->kind != UL_PEAK_POINT)
    snprintf(across, sizeof across, " %.20s mm across", ul_words_figure(p->extent_mm, words));
  show_line(label, "%s%s%s", ul_words_place(p->at_mm, place), kind[p->kind], across);
  if (isnan(p->cut_off_mm))
    show_line("", "the highest of cavity %u", p->cavity + 1);
  else
    show_line("", "cut off %s mm below, pocket %s",
              ul_words_figure(p->height_mm - p->cut_off_mm, across),
              ul_words_volume(p->pocket_mm3, words));
}

void show_peaks(const ul_peaks *peaks) {
  for (size_t i = 0; i < peaks->count; i++) show_peak(&peaks->peak[i]);
  for (size_t i = 0; i < peaks->note_count; i++) show_line("note", "%s", peaks->note[i]);
}

void show_seams(const ul_meet *meet, size_t count) {
  char place[UL_WORDS];
  for (size_t i = 0; i < count && i < SEAMS_SHOWN; i++)
    show_line("seam", "fronts meet at %s, %.0f degrees between their ways",
              ul_words_place(meet[i].at_mm, place), meet[i].angle_deg);
  if (count > SEAMS_SHOWN) show_line("", "and %zu more", count - SEAMS_SHOWN);
}
