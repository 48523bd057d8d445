/* status.h - how a call ends, and what went wrong, where, and what to do about it. */
#ifndef ULLAGE_STATUS_H
#define ULLAGE_STATUS_H

/* One list feeds the enum, the texts, the exit codes and the manual, so they cannot drift.
 * X(name, exit code, text) */
#define UL_STATUS_LIST(X)                                                                          \
  X(UL_OK, 0, "ok")                                                                                \
  X(UL_E_USAGE, 2, "the call or its options make no sense together")                               \
  X(UL_E_READ, 3, "file cannot be read")                                                           \
  X(UL_E_FORMAT, 3, "file is not the kind of mesh it says it is")                                  \
  X(UL_E_EMPTY, 3, "file holds no triangles")                                                      \
  X(UL_E_NUMBER, 3, "a number is not finite or out of range")                                      \
  X(UL_E_OPEN, 3, "cavity surface is not closed")                                                  \
  X(UL_E_SURFACE, 3, "cavity surface does not bound a solid")                                      \
  X(UL_E_FLAT, 3, "cavity has no thickness")                                                       \
  X(UL_E_THIN, 3, "part of the cavity is too thin for this resolution")                            \
  X(UL_E_OUTSIDE, 3, "a point is not in the cavity")                                               \
  X(UL_E_CARD, 3, "foam card is not usable")                                                       \
  X(UL_E_LIMIT, 3, "file asks for more time or memory than it may have")                           \
  X(UL_E_WRITE, 4, "result cannot be written")                                                     \
  X(UL_E_MEMORY, 4, "out of memory")                                                               \
  X(UL_E_MACHINE, 4, "the machine would not do it")                                                \
  X(UL_E_STOPPED, 4, "stopped on request")

#define UL_STATUS_AS_ENUM(name, exit_code, text) name,
typedef enum { UL_STATUS_LIST(UL_STATUS_AS_ENUM) UL_STATUS_END } ul_status;

/* What a failed call leaves for the person who must act. */
typedef struct ul_error {
  ul_status code;
  long triangle;   /* first one at fault, -1 if none */
  int has_place;   /* 1 if at_mm holds a place */
  double at_mm[3]; /* where, in the file's own frame, mm */
  char text[400];  /* one line: what is wrong, where, with the number: what to do */
} ul_error;

/* The text of UL_STATUS_LIST; never NULL. */
const char *ul_status_text(ul_status status);
/* The process exit code a status stands for: 0, 2, 3 or 4. */
int ul_status_exit_code(ul_status status);

#endif
