/* vent_files.h - what the mould maker is handed: the vents in the formats that shops read. */
#ifndef UL_MAIN_VENT_FILES_H
#define UL_MAIN_VENT_FILES_H

#include "ullage/ullage.h"

typedef struct vent_files {
  const ul_vents *vents;
  const ul_mesh *cavity; /* shown with the flags; NULL: not at hand */
  ul_layout layout;      /* of the drawing; its datum is the table's too */
} vent_files;

/* Their names with commas, for the terminal. */
extern const char VENT_FILE_NAMES[];
/* One of them; NULL past the last. */
const char *vent_file_name(size_t i);

/* Makes the folder, with those above it, unless it is there. *made: what unmake_folder() takes to
 * leave the disk as it was, when nothing could be written after all. */
ul_status make_folder(const char *dir, size_t *made, ul_error *err);
void unmake_folder(const char *dir, size_t made);

/* Has `write` write DIR/NAME. UL_E_EMPTY from it is no failure: then there is nothing to hand over,
 * and a file of that name, from an older plan, is removed. */
typedef ul_status (*write_file_fn)(const void *what, const char *path, ul_error *err);
ul_status write_in(const char *dir, const char *name, write_file_fn write, const void *what,
                   ul_error *err);

/* Writes vents.csv, vent-layout.dxf, vent-cutters.stl .3mf .obj and vent-flags.stl .3mf .glb into a
 * folder that is there. Cutters and flags are in the file's own axes, whatever the datum. */
ul_status vent_files_write(const vent_files *files, const char *dir, ul_error *err);

#endif
