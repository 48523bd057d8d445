/* step_module.h - between the library, in C, and the one module in C++ that reads STEP by the
 * general library OpenCASCADE. The import child loads the module, and only for a STEP file. */
#ifndef UL_CAVITY_STEP_MODULE_H
#define UL_CAVITY_STEP_MODULE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Where the module puts what it reads. False from any of these: no memory, and it stops. */
typedef struct ul_step_sink {
  void *draft;
  bool (*part)(void *draft, const char *name);
  /* Numbers count from the first vertex of the part before. mm. */
  bool (*vertex)(void *draft, const double at_mm[3]);
  bool (*triangle)(void *draft, const uint32_t corner[3]);
} ul_step_sink;

typedef struct ul_step_report {
  double mm_per_unit; /* the unit the file is drawn in; what the sink gets is mm all the same */
  size_t solids;
  size_t loose_faces;  /* of no solid: read only where there are no solids */
  size_t failed_faces; /* that could not be cut into triangles */
  double failed_at_mm[3];
  bool no_memory;
  char error[160]; /* "": it was read */
} ul_step_report;

/* Solids of a STEP file, cut into triangles that share the vertices along common edges. */
typedef void (*ul_step_read_fn)(const void *bytes, size_t size, const ul_step_sink *sink,
                                ul_step_report *report);

#define UL_STEP_MODULE   "ullage-step.so"
#define UL_STEP_FUNCTION "ul_step_read"

#ifdef __cplusplus
}
#endif

#endif
