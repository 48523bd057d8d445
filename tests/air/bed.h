/* bed.h - a cavity in a tool, lying one way, with its peaks: what vents are chosen on. */
#ifndef TEST_AIR_BED_H
#define TEST_AIR_BED_H

#include "ullage/vents.h"

typedef struct bed {
  ul_solid *solid;
  ul_columns *columns;
  ul_heights *heights;
  ul_peaks *peaks;
  ul_tool tool;
  ul_parting parting; /* not known until a test makes it */
} bed;

/* The cavity (freed) less the inserts, its columns `cube_mm` apart, in a tool with 25 mm of wall.
 */
bed bed_lay(ul_mesh *mesh, const ul_solid *const *insert, size_t inserts, double cube_mm,
            const double up[3]);
/* And the vents chosen on it. */
void bed_clear(bed *b, ul_vents *vents);

/* Their ids count from 1. */
ul_vents *bed_choose(const bed *b, const ul_vents_opts *opts);

/* The tool opens along the unit `normal`, that far along it; along z. */
void bed_part_across(bed *b, const double normal[3], double at_mm);
void bed_part(bed *b, double z);
/* Of the parting that it has. */
ul_vents_opts bed_opts(const bed *b);
/* The one vent that comes of a wish. */
ul_vents *bed_wished(const bed *b, ul_vents_opts opts, const ul_vent_wish *wish);
/* Whether it is noted, which is printed if not. */
bool vent_says(const ul_vent *vent, const char *words);

#endif
