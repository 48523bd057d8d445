/* page_html.c - the sentences of the page: the first screen and the list of holes. */
#include "report/page_parts.h"

static void put_lines(FILE *file, const ul_page_line *line, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (line[i].label[0]) {
      fputs(i ? "</dd></div>\n<div><dt>" : "<div><dt>", file);
      ul_page_text(file, line[i].label);
      fputs("</dt><dd>", file);
    }
    fputs("<p>", file);
    ul_page_sentence(file, line[i].text);
    fputs("</p>", file);
  }
  if (count) fputs("</dd></div>\n", file);
}

bool ul_page_first(FILE *file, const ul_page *page) {
  put_lines(file, page->line, page->line_count);
  return true;
}

bool ul_page_care(FILE *file, const ul_page *page) {
  if (!page->care_count) return true;
  fputs("<section aria-labelledby=\"care\"><h2 id=\"care\">Take care</h2><dl class=\"care\">\n",
        file);
  put_lines(file, page->care, page->care_count);
  fputs("</dl></section>\n", file);
  return true;
}

static void put_hole(FILE *file, const ul_vent *v) {
  char place[UL_WORDS], figure[UL_WORDS], volume[UL_WORDS], along[UL_WORDS];
  fprintf(file,
          "<li id=\"hole-%u\"><button type=\"button\" class=\"hole\" data-vent=\"%u\" "
          "aria-label=\"Show hole %u in the model\">%u</button><p>",
          v->id, v->id, v->id, v->id);
  bool groove = v->kind == UL_VENT_GROOVE;
  fprintf(file, "<b>%s mm%s</b> at %s",
          ul_words_figure(groove ? v->width_mm : v->diameter_mm, figure), groove ? " groove" : "",
          ul_words_place(v->at_mm, place));
  if (v->ok && v->exists)
    fputc('.', file);
  else if (v->ok)
    fprintf(file, ", %s %.0f mm to the outside along %s. It lets out %s.",
            ul_vent_made_word(v->made), v->length_mm, ul_words_direction(v->axis, along),
            ul_words_volume(v->air_mm3, volume));
  else
    fputs(": <b>cannot be made as a hole.</b>", file);
  if (v->note[0]) {
    fputs(" <span class=\"note\">", file);
    ul_page_sentence(file, v->note);
    fputs("</span>", file);
  }
  fputs("</p></li>\n", file);
}

bool ul_page_holes(FILE *file, const ul_page *page) {
  for (size_t i = 0; i < page->vents->count; i++) put_hole(file, &page->vents->vent[i]);
  return true;
}

enum { AIR_TOLD = 6 };

bool ul_page_air_told(FILE *file, const ul_page *page) {
  if (!page->air_count) return true;
  fputs(
      "<section aria-labelledby=\"air\"><h2 id=\"air\">Air that stays</h2>\n<ul class=\"airs\">\n",
      file);
  for (size_t i = 0; i < page->air_count && i < AIR_TOLD; i++) {
    fprintf(file, "<li id=\"air-%u\"><span class=\"air-number\">air %u</span><p>", page->air[i].id,
            page->air[i].id);
    ul_page_text(file, page->air[i].text);
    fputs("</p></li>\n", file);
  }
  if (page->air_count > AIR_TOLD)
    fprintf(file, "<li><span></span><p>And %zu smaller ones: plan.json lists them.</p></li>\n",
            page->air_count - AIR_TOLD);
  fputs("</ul></section>\n", file);
  return true;
}
