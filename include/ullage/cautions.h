/* cautions.h - what may hurt people, mould or part, said where the act is. */
#ifndef ULLAGE_CAUTIONS_H
#define ULLAGE_CAUTIONS_H

#include "ullage/foam.h"
#include "ullage/hold.h"

/* X(name, word in JSON and text), in the order of the work */
#define UL_WHEN_LIST(X)                                                                            \
  X(UL_WHEN_DRILL, "drill")                                                                        \
  X(UL_WHEN_RELEASE, "release")                                                                    \
  X(UL_WHEN_WEIGH, "weigh")                                                                        \
  X(UL_WHEN_POUR, "pour")                                                                          \
  X(UL_WHEN_SHUT, "shut")                                                                          \
  X(UL_WHEN_HOLD, "hold")                                                                          \
  X(UL_WHEN_DEMOULD, "demould")                                                                    \
  X(UL_WHEN_CRUSH, "crush")                                                                        \
  X(UL_WHEN_STORE, "store")                                                                        \
  X(UL_WHEN_ALWAYS, "always")
#define UL_WHEN_AS_ENUM(name, word) name,
typedef enum { UL_WHEN_LIST(UL_WHEN_AS_ENUM) UL_WHEN_END } ul_when;
const char *ul_when_word(ul_when when);

enum { UL_CAUTION_WORDS = 320 };
typedef struct ul_caution {
  ul_when when;
  char text[UL_CAUTION_WORDS];
} ul_caution;

/* The job as far as it is known. */
typedef struct ul_caution_job {
  const ul_foam *foam;         /* NULL: no card */
  const ul_material *material; /* NULL: not said */
  double half_gap_mm;          /* of the thick twentieth; 0: not known */
  bool drilled;                /* vents are to be drilled */
} ul_caution_job;

/* Those that fit the job, in the order of the work, at most `room` of them; returns how many there
 * are. */
size_t ul_cautions(const ul_caution_job *job, ul_caution *out, size_t room);

/* That the cup test is far off the foam's card (ul_foam_cup_is_far()), with both figures; false,
 * and *out untouched, when it is not or none was made. It is one of ul_cautions(). */
bool ul_caution_of_cup(const ul_foam *foam, ul_caution *out);

/* A slab keeps 99 % of its core's heat until 0.0635 H^2/a (H the half thickness, a its thermal
 * diffusivity): seconds for foam of 2e-7 m2/s. */
double ul_core_hot_s(double half_gap_mm);

#endif
