/* format.h - which kind of file it is: by its name, and by how it begins. */
#ifndef UL_CAVITY_FORMAT_H
#define UL_CAVITY_FORMAT_H

#include <stddef.h>

#include "ullage/status.h"

typedef enum {
  UL_FORMAT_STL,
  UL_FORMAT_OBJ,
  UL_FORMAT_PLY,
  UL_FORMAT_OFF,
  UL_FORMAT_GLTF,
  UL_FORMAT_GLB,
  UL_FORMAT_DAE,
  UL_FORMAT_3MF,
  UL_FORMAT_STEP,
  UL_FORMAT_COUNT
} ul_format;

enum { UL_FORMAT_HEAD = 4096 }; /* so many first bytes tell */

/* The extension of a known format, without the dot. */
const char *ul_format_extension(ul_format format);

/* The format that `path` names, once `head`, the file's first bytes, agrees that it is one.
 * UL_E_FORMAT: the extension is not a known one, or the content is something else; the text says
 * what it looks like. */
ul_status ul_format_find(const char *path, const unsigned char *head, size_t head_size,
                         size_t file_size, ul_format *format, ul_error *err);

/* Whether a file of this size that begins so can be a binary STL, counting its triangles exactly or
 * with bytes to spare; whether it begins as text. For the STL reader, which must tell its two kinds
 * apart. */
int ul_format_is_binary_stl(const unsigned char *head, size_t head_size, size_t file_size);
int ul_format_is_text(const unsigned char *head, size_t head_size);

#endif
