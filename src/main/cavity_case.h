/* cavity_case.h - what every verb begins with: the file, audited, cut into columns and cubes. */
#ifndef UL_MAIN_CAVITY_CASE_H
#define UL_MAIN_CAVITY_CASE_H

#include <jansson.h>

#include "main/options.h"
#include "main/progress.h"
#include "report/rise_told.h"

/* What is cast in. */
typedef struct inserts {
  size_t count;
  ul_solid *solid[INSERTS_MOST];
  double displaced_mm3[INSERTS_MOST]; /* that none of those before it takes */
  bool is_here[INSERTS_MOST];         /* reaches into the cavities that are looked at */
} inserts;

typedef struct cavity_case {
  const options *opts;
  double cubes, cubes_most; /* in the cavity when nobody says: so many, and at most so many */
  progress bar;
  ul_job job;
  ul_import_info info;
  ul_audit *audit;
  ul_solid *solid;       /* less the inserts, where a clean skin comes of it */
  uint32_t first_cavity; /* with --cavity: the number, 0-based, that it has in the file */
  ul_solid *whole;       /* and all cavities of the file; else NULL */
  size_t other_count;
  ul_solid **other; /* and each of those left out: they are holes in the tool all the same */
  ul_solid *bare;   /* without inserts; may be the same one */
  inserts in;
  ul_columns *columns;
  ul_grid *grid;
  ul_heights *heights;
  size_t thin_count;
  ul_thin_place *thin;
  ul_solid *tool_solid; /* NULL unless a file holds the tool */
  ul_tool tool;
  ul_parting parting;
} cavity_case;

/* Imports and audits. UL_OK also when the audit found no usable cavity: case->solid is then NULL
 * and ul_audit_verdict() says why. Release with case_close() whatever came back. */
ul_status case_open(cavity_case *c, const options *opts, ul_error *err);
/* Columns and cubes alone, at the resolution asked for or a fitting one. */
ul_status case_cubes(cavity_case *c, ul_error *err);
/* Fewer cubes, which an expanding rise can afford. Before case_resolve(). */
void case_for_foam(cavity_case *c);
/* The number by which people know the solid's cavity `i`: its place in the file, from 1. */
size_t case_cavity_number(const cavity_case *c, size_t i);
/* How a rise of the case's cavities is told: under those numbers, as the options say. */
ul_rise_told case_rise_told(const cavity_case *c, const ul_rise *rise);
/* ul_json_cavities() under those numbers. */
json_t *case_cavities_json(const cavity_case *c);
/* About so many cubes, and at most `cubes_most`, beside the case's own, where the options ask for
 * no other; both are the caller's whatever came back. */
ul_status case_cut_beside(const cavity_case *c, double cubes, double cubes_most,
                          ul_columns **columns, ul_grid **grid, ul_error *err);
/* Columns, cubes, heights and thin places, at the resolution asked for or a fitting one. */
ul_status case_resolve(cavity_case *c, ul_error *err);
/* c->parting, from --parting and --draw. */
ul_status case_parting(cavity_case *c, ul_error *err);
/* c->tool: from --wall, --tool, the block that the cavity is drawn in, or an assumed wall. */
ul_status case_tool(cavity_case *c, ul_error *err);
/* The inserts that columns and cubes have to take out: those that are no cores. */
size_t case_loose_inserts(const cavity_case *c, const ul_solid *const **insert);
/* The cavity of the cube nearest to that place; 0 where there is no cube. */
uint32_t case_cavity_at(const cavity_case *c, const double at_mm[3]);
/* How thick the cavity is at the cube nearest to that place. Where that is less than a cube, which
 * tells nothing (0 where its centre lies in the wall), no less than at the cavity's thinnest place.
 */
double case_thickness_mm(const cavity_case *c, const double at_mm[3]);
void case_close(cavity_case *c);

/* The search for a tilt as the options ask for it. */
ul_tilts_opts case_tilts_opts(const options *opts);

#endif
