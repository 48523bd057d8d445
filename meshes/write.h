/* write.h - a surface to a file, the same bytes every time; false, with a line on stderr, when it
 * can't be written. */
#ifndef MESHES_WRITE_H
#define MESHES_WRITE_H

#include "blocks.h"

bool write_stl(const surface *s, const char *path);                   /* binary */
bool write_obj(const surface *s, const char *path, const char *name); /* a group per named face */
bool write_3mf(const surface *s, const char *path, const char *name); /* unit millimeter */

#endif
