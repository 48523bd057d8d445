/* page.h - report.html: a plan as one file to open, in words, drawings and a model to turn. */
#ifndef UL_REPORT_PAGE_H
#define UL_REPORT_PAGE_H

#include "report/words.h"
#include "ullage/grid.h"
#include "ullage/vents.h"

typedef struct ul_page_line {
  const char *label; /* what the line answers; "" goes on from the one before */
  char text[1024];
} ul_page_line;

/* A moment of the rise: foam stands wherever arrival <= reached. */
typedef struct ul_page_event {
  double reached; /* on the scale of ul_page.arrival */
  char mark[16];  /* the same for people: "62 s", "84 %" */
  char text[400];
  bool has_place;
  double at_mm[3];
  uint32_t vent; /* the id of the vent it is about; 0: none */
  uint32_t air;  /* likewise of air that stays */
} ul_page_event;

/* Air that stays shut in. */
typedef struct ul_page_air {
  uint32_t id;
  double at_mm[3];
  double cut_off; /* on the scale of ul_page.arrival */
  char text[200]; /* a sentence about it */
} ul_page_air;

/* What is cast in. */
typedef struct ul_page_insert {
  const char *name; /* of its file */
  const ul_mesh *mesh;
} ul_page_insert;

/* An attitude that was compared. */
typedef struct ul_page_tilt {
  double up[3];
  char name[UL_WORDS];
  const char *why;
  bool chosen;
} ul_page_tilt;

typedef struct ul_page_sample {
  double s;
  double filled_fraction;
  double kpa; /* gauge */
} ul_page_sample;

/* Everything the page tells. All of it is borrowed; text is UTF-8 (other bytes are shown as U+FFFD)
 * and may hold any character. */
typedef struct ul_page {
  const char *name; /* of the cavity's file */
  const char *verdict;
  bool sound;
  size_t line_count; /* the first screen, in order */
  const ul_page_line *line;
  size_t care_count; /* cautions, in the order of the work */
  const ul_page_line *care;
  const ul_mesh *mesh; /* its named parts can be shown by name */
  size_t insert_count;
  const ul_page_insert *insert;
  const ul_grid *grid;
  const float *arrival; /* per cube; what is above arrival_end is never reached */
  double arrival_end;   /* 1 for a level rise, the time of setting for a foam's */
  bool seconds;         /* arrival is in seconds; else a filled share */
  double up[3];         /* unit */
  const ul_tool *tool;
  const ul_props *props;
  const char *const *side_name; /* as ul_words_side() takes them */
  const ul_vents *vents;
  size_t event_count; /* at least 1, by time */
  const ul_page_event *event;
  size_t air_count;
  const ul_page_air *air;
  size_t tilt_count;
  const ul_page_tilt *tilt;
  size_t sample_count; /* of one rise, by time; 0: no foam has been risen */
  const ul_page_sample *sample;
} ul_page;

/* Writes the page, whole or not at all. Self-contained: it loads nothing. Same plan, same bytes.
 * UL_E_WRITE, UL_E_MEMORY. */
ul_status ul_write_page(const ul_page *page, const char *path, ul_error *err);

#endif
