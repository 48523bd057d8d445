#define _GNU_SOURCE /* memmem() */
#include "cavity/format.h"

#include "base/fail.h"

#include <stdbool.h>
#include <stdint.h>
#include <string.h>
#include <strings.h>

static const char *const extensions[UL_FORMAT_COUNT] = {"stl", "obj", "ply", "off", "gltf",
                                                        "glb", "dae", "3mf", "step"};

/* What is not read, but told apart because people will try it. */
enum { LOOKS_LIKE_NOTHING = -1, LOOKS_LIKE_OTHER = -2 };

typedef struct {
  int format; /* a ul_format, or one of the two above */
  const char *name;
} guess;

const char *ul_format_extension(ul_format format) {
  return extensions[format];
}

static bool begins(const unsigned char *head, size_t size, const char *with) {
  size_t length = strlen(with);
  return size >= length && strncasecmp((const char *)head, with, length) == 0;
}

static bool holds(const unsigned char *head, size_t size, const char *what) {
  return memmem(head, size, what, strlen(what)) != NULL;
}

int ul_format_is_text(const unsigned char *head, size_t size) {
  for (size_t i = 0; i < size; i++)
    if (head[i] < 32 && (head[i] < '\t' || head[i] > '\r')) return 0;
  return size > 0;
}

static uint32_t stl_count(const unsigned char *head) {
  return head[80] | (uint32_t)head[81] << 8 | (uint32_t)head[82] << 16 | (uint32_t)head[83] << 24;
}

int ul_format_is_binary_stl(const unsigned char *head, size_t size, size_t file_size) {
  if (size < 84) return 0;
  uint64_t want = 84 + 50 * (uint64_t)stl_count(head);
  return file_size == want || (file_size > want && !ul_format_is_text(head, size));
}

/* Binary kinds begin with numbers that cannot mean anything else. */
static guess guess_binary(const unsigned char *head, size_t size) {
  if (begins(head, size, "PK\3\4"))
    return (guess){UL_FORMAT_3MF, "a ZIP archive, as 3MF files are"};
  if (begins(head, size, "glTF")) return (guess){UL_FORMAT_GLB, "a binary glTF (.glb)"};
  static const struct {
    const char *magic, *name;
  } other[] = {{"\x1f\x8b", "a gzip archive: unpack it first"},
               {"7z\xbc\xaf", "a 7z archive: unpack it first"},
               {"\x89PNG", "a PNG picture"},
               {"\xff\xd8\xff", "a JPEG picture"},
               {"%PDF", "a PDF document"},
               {"Kaydara FBX", "an FBX scene"},
               {"\xd0\xcf\x11\xe0", "an OLE document, as some CAD programs save"}};
  for (size_t i = 0; i < sizeof other / sizeof *other; i++)
    if (begins(head, size, other[i].magic)) return (guess){LOOKS_LIKE_OTHER, other[i].name};
  return (guess){LOOKS_LIKE_NOTHING, NULL};
}

static bool begins_a_line(const unsigned char *head, size_t size, const char *with) {
  for (size_t i = 0; i < size; i++)
    if ((i == 0 || head[i - 1] == '\n') && begins(head + i, size - i, with)) return true;
  return false;
}

/* OFF, or with letters before it for what else a vertex has: COFF, NOFF, ... */
static bool first_word_is_off(const unsigned char *head, size_t size) {
  size_t length = 0;
  while (length < size && head[length] > ' ') length++;
  return length >= 3 && length <= 7 && memcmp(head + length - 3, "OFF", 3) == 0;
}

static guess guess_text(const unsigned char *head, size_t size) {
  if (begins(head, size, "\xef\xbb\xbf")) head += 3, size -= 3;
  while (size && strchr(" \t\r\n", *head)) head++, size--;
  if (begins(head, size, "ISO-10303-21")) return (guess){UL_FORMAT_STEP, "a STEP model (.step)"};
  if (begins(head, size, "<html") || begins(head, size, "<!doctype html"))
    return (guess){LOOKS_LIKE_OTHER, "a web page: download the file itself"};
  if (begins(head, size, "solid") && size > 5 && strchr(" \t\r\n", head[5]))
    return (guess){UL_FORMAT_STL, "an ASCII STL (.stl)"};
  if (begins(head, size, "<") && holds(head, size, "<COLLADA"))
    return (guess){UL_FORMAT_DAE, "COLLADA (.dae)"};
  if (begins(head, size, "{")) return (guess){UL_FORMAT_GLTF, "JSON, as .gltf files are"};
  if (first_word_is_off(head, size)) return (guess){UL_FORMAT_OFF, "an OFF mesh (.off)"};
  if (begins_a_line(head, size, "v ") || begins_a_line(head, size, "mtllib "))
    return (guess){UL_FORMAT_OBJ, "an OBJ mesh (.obj)"};
  return (guess){LOOKS_LIKE_NOTHING, NULL};
}

static guess guess_content(const unsigned char *head, size_t size, size_t file_size) {
  if (begins(head, size, "ply\n") || begins(head, size, "ply\r"))
    return (guess){UL_FORMAT_PLY, "a PLY mesh (.ply)"};
  guess g = guess_binary(head, size);
  if (g.format != LOOKS_LIKE_NOTHING) return g;
  if (ul_format_is_binary_stl(head, size, file_size) &&
      file_size == 84 + 50 * (size_t)stl_count(head))
    return (guess){UL_FORMAT_STL, "a binary STL (.stl)"};
  if (ul_format_is_text(head, size)) return guess_text(head, size);
  return g;
}

static ul_status unknown_extension(const char *dot, ul_error *err) {
  return ul_fail(err, UL_E_FORMAT,
                 "%s%.20s is not a kind of mesh ullage reads: export the cavity as .stl, .obj, "
                 ".ply, .off, .gltf, .glb, .dae, .3mf or .step",
                 dot ? "" : "a name without extension", dot ? dot : "");
}

/* Nothing is known about how these must begin, except what cannot be. */
static bool may_begin_anyhow(ul_format format, const unsigned char *head, size_t size) {
  if (format == UL_FORMAT_STL) return !ul_format_is_text(head, size);
  return format == UL_FORMAT_OBJ && ul_format_is_text(head, size);
}

ul_status ul_format_find(const char *path, const unsigned char *head, size_t head_size,
                         size_t file_size, ul_format *format, ul_error *err) {
  const char *slash = strrchr(path, '/'), *dot = strrchr(slash ? slash : path, '.');
  int named = 0;
  while (named < UL_FORMAT_COUNT && !(dot && strcasecmp(dot + 1, extensions[named]) == 0)) named++;
  if (dot && strcasecmp(dot + 1, "stp") == 0) named = UL_FORMAT_STEP;
  if (named == UL_FORMAT_COUNT) return unknown_extension(dot, err);
  *format = (ul_format)named;
  guess g = guess_content(head, head_size, file_size);
  if (g.format == named) return UL_OK;
  if (g.format == LOOKS_LIKE_NOTHING && may_begin_anyhow(*format, head, head_size)) return UL_OK;
  if (g.format == LOOKS_LIKE_NOTHING)
    return ul_fail(err, UL_E_FORMAT, "named .%s, but does not begin like one: export it again",
                   extensions[named]);
  if (g.format == LOOKS_LIKE_OTHER)
    return ul_fail(err, UL_E_FORMAT, "named .%s, but is %s", extensions[named], g.name);
  return ul_fail(err, UL_E_FORMAT,
                 "named .%s, but looks like %s: if that is what it is, rename it to end in .%s",
                 extensions[named], g.name, extensions[g.format]);
}
