/* page_html.c - the sentences of the page: the first screen and the list of holes. */
#include "report/page_parts.h"

bool ul_page_first(FILE *file, const ul_page *page) {
  for (size_t i = 0; i < page->line_count; i++) {
    const ul_page_line *l = &page->line[i];
    if (l->label[0]) {
      fputs(i ? "</dd></div>\n<div><dt>" : "<div><dt>", file);
      ul_page_text(file, l->label);
      fputs("</dt><dd>", file);
    }
    fputs("<p>", file);
    ul_page_text(file, l->text);
    fputs("</p>", file);
  }
  if (page->line_count) fputs("</dd></div>\n", file);
  return true;
}

static void put_hole(FILE *file, const ul_vent *v) {
  char place[UL_WORDS], figure[UL_WORDS], volume[UL_WORDS];
  fprintf(file,
          "<li id=\"hole-%u\"><button type=\"button\" class=\"hole\" data-vent=\"%u\" "
          "aria-label=\"Show hole %u in the model\">%u</button><p>",
          v->id, v->id, v->id, v->id);
  fprintf(file, "<b>%s mm</b> at %s", ul_words_figure(v->diameter_mm, figure),
          ul_words_place(v->at_mm, place));
  if (v->ok)
    fprintf(file, ", drilled %.0f mm deep along %.2f %.2f %.2f. It lets out %s.", v->length_mm,
            v->axis[0] + 0.0, v->axis[1] + 0.0, v->axis[2] + 0.0,
            ul_words_volume(v->air_mm3, volume));
  else
    fputs(": <b>cannot be made as a hole.</b>", file);
  if (v->note[0]) {
    fputs(" <span class=\"note\">", file);
    ul_page_text(file, v->note);
    fputs("</span>", file);
  }
  fputs("</p></li>\n", file);
}

bool ul_page_holes(FILE *file, const ul_page *page) {
  for (size_t i = 0; i < page->vents->count; i++) put_hole(file, &page->vents->vent[i]);
  return true;
}
