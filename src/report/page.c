/* page.c - report.html: the template's slots filled in. */
#define _GNU_SOURCE /* memmem */
#include "report/page.h"

#include <string.h>

#include "base/fail.h"
#include "report/atomic_file.h"
#include "report/page_parts.h"

typedef struct ul_page_job {
  const ul_page *page;
  ul_page_cut *cut;
} ul_page_job;

static bool put_title(FILE *file, ul_page_job *job) {
  ul_page_text(file, job->page->name);
  return true;
}

static bool put_verdict(FILE *file, ul_page_job *job) {
  fprintf(file, "<p class=\"verdict %s\">", job->page->sound ? "sound" : "unsound");
  ul_page_sentence(file, job->page->verdict);
  fputs("</p>", file);
  return true;
}

static bool put_first(FILE *file, ul_page_job *job) {
  return ul_page_first(file, job->page);
}

static bool put_propped(FILE *file, ul_page_job *job) {
  return ul_page_propped(file, job->page);
}

static bool put_defs(FILE *file, ul_page_job *job) {
  return ul_page_defs(file, job->page, job->cut);
}

static bool put_events(FILE *file, ul_page_job *job) {
  return ul_page_events(file, job->page, job->cut);
}

static bool put_care(FILE *file, ul_page_job *job) {
  return ul_page_care(file, job->page);
}

static bool put_holes(FILE *file, ul_page_job *job) {
  return ul_page_holes(file, job->page);
}

static bool put_air(FILE *file, ul_page_job *job) {
  return ul_page_air_told(file, job->page);
}

static bool put_insert_meaning(FILE *file, ul_page_job *job) {
  if (job->page->insert_count)
    fputs("<li><svg viewBox=\"0 0 40 20\" aria-hidden=\"true\"><path class=\"insert\" d=\"M0 "
          "0h40v20h-40z\"/></svg>cast in</li>\n",
          file);
  return true;
}

static bool put_strip(FILE *file, ul_page_job *job) {
  return ul_page_strip(file, job->page);
}

static bool put_curves(FILE *file, ul_page_job *job) {
  return ul_page_curves(file, job->page);
}

static bool put_scene(FILE *file, ul_page_job *job) {
  return ul_page_scene(file, job->page, job->cut);
}

static const struct {
  const char *name;
  bool (*put)(FILE *file, ul_page_job *job);
} slots[] = {{"title", put_title},
             {"verdict", put_verdict},
             {"first", put_first},
             {"propped", put_propped},
             {"defs", put_defs},
             {"events", put_events},
             {"holes", put_holes},
             {"air", put_air},
             {"strip", put_strip},
             {"curves", put_curves},
             {"care", put_care},
             {"scene", put_scene},
             {"insert-meaning", put_insert_meaning}};

static bool fill_slot(FILE *file, ul_page_job *job, const char *name, size_t length) {
  for (size_t i = 0; i < sizeof slots / sizeof slots[0]; i++)
    if (strlen(slots[i].name) == length && memcmp(slots[i].name, name, length) == 0)
      return slots[i].put(file, job);
  return false; /* not reached: the template is made only of these, which a test checks */
}

/* A slot is "<!--slot:NAME-->". */
static bool put_page(FILE *file, void *context) {
  static const char open[] = "<!--slot:", close[] = "-->";
  const char *text = (const char *)ul_page_template, *end = text + ul_page_template_size;
  while (text < end) {
    const char *slot = memmem(text, (size_t)(end - text), open, sizeof open - 1);
    fwrite(text, 1, (size_t)((slot ? slot : end) - text), file);
    if (!slot) return true;
    slot += sizeof open - 1;
    const char *after = memmem(slot, (size_t)(end - slot), close, sizeof close - 1);
    if (!after || !fill_slot(file, context, slot, (size_t)(after - slot))) return false;
    text = after + sizeof close - 1;
  }
  return true;
}

ul_status ul_write_page(const ul_page *page, const char *path, ul_error *err) {
  ul_page_cut cut;
  ul_page_job job = {page, &cut};
  ul_status status = ul_page_cut_make(page, &cut, err);
  if (status == UL_OK) status = ul_write_whole(path, put_page, &job, err);
  ul_page_cut_free(&cut);
  return status;
}
