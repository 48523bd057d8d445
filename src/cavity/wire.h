/* wire.h - how the child hands its mesh back: this head, then vertices (3 doubles), triangles
 * (3 uint32), their parts (uint32), the parts' names, each with its closing zero. What comes is
 * trusted in nothing. */
#ifndef UL_CAVITY_WIRE_H
#define UL_CAVITY_WIRE_H

#include "cavity/draft.h"
#include "cavity/format.h"

typedef struct ul_wire_head {
  uint64_t bytes; /* of all; written last, so that half a result is none */
  uint64_t vertices, triangles, parts, name_bytes;
  uint64_t vertices_merged; /* as ul_draft's */
  double mm_per_unit;
  uint32_t up, note_count;
  char format[24];
  char note[UL_IMPORT_NOTES][200];
  ul_error err; /* code UL_OK: a mesh follows */
} ul_wire_head;

typedef struct ul_import_task {
  int input_fd;
  size_t input_bytes;
  ul_format format;
} ul_import_task;

/* A ul_sandbox_fn and its preparation; `task` is a ul_import_task. */
void ul_import_child(void *task, int output_fd);
void ul_import_prepare(void *task);

/* In the parent: reads back and checks everything. UL_OK: *mesh is the caller's, *head holds only
 * printable text and sane numbers. Otherwise the child's error, or UL_E_FORMAT. */
ul_status ul_wire_receive(int fd, ul_wire_head *head, ul_mesh **mesh, ul_error *err);

#endif
