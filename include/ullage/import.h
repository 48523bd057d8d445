/* import.h - a file from a stranger becomes triangles, read in a child process with limits. */
#ifndef ULLAGE_IMPORT_H
#define ULLAGE_IMPORT_H

#include <stdbool.h>

#include "ullage/job.h"
#include "ullage/mesh.h"

typedef enum { UL_UNIT_NONE, UL_UNIT_MM, UL_UNIT_CM, UL_UNIT_M, UL_UNIT_IN } ul_unit;

typedef struct ul_import_opts {
  unsigned cookie; /* set by ul_import_opts_default(); a zeroed struct is refused */
  ul_unit unit;    /* of a file that carries none; UL_UNIT_NONE: mm, said as assumed */
  double weld_mm;  /* as ul_mesh_weld() */
  double
      grow_percent;  /* enlarge about the frame's origin: a part drawn at size to the cavity cut */
  double cpu_s;      /* limit for the child; 0: scaled to the file's size */
  double memory_mib; /* limit for the child; 0: scaled to the file's size */
  const char *const *part; /* only parts with one of these names; must outlive the call */
  size_t part_count;       /* 0: all parts */
} ul_import_opts;

ul_import_opts ul_import_opts_default(void);

enum { UL_IMPORT_NOTES = 12 };

typedef struct ul_import_info {
  char format[24];       /* "STL binary", "3MF", ... */
  ul_unit unit;          /* the one used; UL_UNIT_NONE: a file's own odd one */
  char unit_word[24];    /* in words: mm, cm, m, in, micron, foot, or its length, "300 mm" */
  bool unit_from_file;   /* the file said so itself, and that wins over opts.unit */
  double mm_per_unit;    /* also for a file's own odd unit (foot, micron) */
  bool turned_z_up;      /* file says +y up; turned to +z up */
  size_t triangles_read; /* before weld */
  ul_weld_result weld;
  size_t note_count;
  char note[UL_IMPORT_NOTES][200]; /* harmless oddities and warnings, one sentence each */
} ul_import_info;

/* Reads STL (both kinds), OBJ, PLY, OFF, glTF/GLB, COLLADA, 3MF and, where it was built with
 * OpenCASCADE, the solids of STEP (cut into triangles within a ten-thousandth of the solid's
 * diagonal and 0.1 rad a step). Every mesh of the scene with
 * its transforms and instances; normals dropped, welded. A part is named by its STL solid, OBJ
 * group, node, 3MF object, STEP solid or product; where a group has several materials,
 * GROUP/MATERIAL. UL_OK: *out is yours, ul_mesh_free(). The file's content is never trusted: a
 * child that crashes, hangs or overruns its limits is an error like any other. Errors: UL_E_USAGE,
 * _READ, _FORMAT, _EMPTY, _NUMBER, _FLAT, _LIMIT, _MEMORY, _MACHINE; err->text begins after the
 * file's name ("ullage: FILE: " is the caller's to print). */
ul_status ul_import(const char *path, const ul_import_opts *opts, const ul_job *job, ul_mesh **out,
                    ul_import_info *info, ul_error *err);

const char *ul_unit_name(ul_unit unit); /* "mm", "cm", "m", "in" */
/* What to do about a size that is too small (or too large) to be meant, ready for a sentence: a
 * --unit to try, or where to scale it. Lives for ever. */
const char *ul_unit_remedy(const ul_import_info *info, bool too_small);

#endif
