/* solver.h - linear systems on the cubes of a cavity: flow through links against storage.
 *
 * The unknowns are one value per cube and one per *body* (a body of air that touches many cubes).
 * Two neighbouring cubes are joined by a link T >= 0 through their common face, a cube and a body
 * by a link w >= 0, and every unknown may be held by h >= 0 (to a wall, to an outlet, by its own
 * compressibility). For each unknown i with source s_i:
 *
 *     h_i x_i + sum over links T_ij (x_i - x_j) = s_i
 *
 * so the matrix is symmetric and, where every connected part is held somewhere, positive definite.
 * Units are the caller's.
 *
 * Flexible conjugate gradients (Notay 2000), preconditioned by a multigrid cycle (multigrid.h):
 * residuals and cycle in float, unknowns in double, the residual taken afresh in double when float
 * would not tell any more. Levels of parts held by little are found apart (islands.h). The
 * structure is made once per cavity; a system changes coefficients and the active set only, and
 * costs what is active. Iterations grow neither with the number of cubes nor with necks and teeth.
 *
 * Blocks and sums are in fixed order: the same bytes for any number of threads. */
#ifndef UL_RISE_SOLVER_H
#define UL_RISE_SOLVER_H

#include <stddef.h>
#include <stdint.h>

#include "ullage/job.h"
#include "ullage/status.h"

typedef struct ul_solver ul_solver;

/* `inside`: per cube of the n[0] x n[1] x n[2] lattice, not 0 where it is in the cavity. Cubes are
 * numbered closely from here on: 0 to count-1, in the order of the lattice (x fastest).
 * `shut`: per numbered cube, bit (1 << a) set where a wall thinner than a cube closes its face on
 * the + side along axis a; NULL: no such wall. Both are only read here.
 * UL_OK: *out is yours, ul_solver_free(), about 130 bytes a cube. UL_E_THIN when no cube is inside.
 */
ul_status ul_solver_new(const int32_t n[3], const uint8_t *inside, const uint8_t *shut,
                        const ul_job *job, ul_solver **out, ul_error *err);
void ul_solver_free(ul_solver *solver); /* NULL is fine */

size_t ul_solver_count(const ul_solver *solver); /* of cubes */
size_t ul_solver_bytes(const ul_solver *solver); /* memory it holds */

typedef struct ul_system {
  const double *link[3];    /* link[a][i]: cube i to its neighbour on the + side along axis a. Not
                               looked at where there is none, or either of the two is not active */
  const double *hold;       /* per cube; NULL: 0 */
  const uint8_t *active;    /* per cube: 0 leaves it out of the system; NULL: all are in */
  size_t body_count;        /* bodies, 0 for none */
  const double *body_hold;  /* per body */
  const size_t *body_first; /* links of body b: body_first[b] to body_first[b+1]-1 */
  const uint32_t *body_cube;
  const double *body_link; /* links to cubes that are not active are left out */
  /* NULL, or cubes: of all others the links, also those to bodies, the hold, and whether they are
   * active are as in the system before. Both ends of a link count. The same answers, to the bit, as
   * without; it costs little to take few. */
  const uint32_t *changed;
  size_t changed_count;
} ul_system;

/* Takes the coefficients; the arrays need not outlive the call. UL_E_NUMBER when one is negative or
 * not finite: the solver then holds no system. */
ul_status ul_solver_set(ul_solver *solver, const ul_system *system, const ul_job *job,
                        ul_error *err);

typedef struct ul_solved {
  int iterations;
  double began;    /* the same sum as the next for the first guess */
  double residual; /* sum of |s - A x| over all unknowns, to 1 in 100 */
} ul_solved;

/* `source` and `value` hold `count` cubes, then the bodies. `value` is the first guess and becomes
 * the solution; where a cube is not active it is neither read nor written.
 * Ends when the sum of |residual| is at most `stop` (in the unit of the source), or as small as
 * double arithmetic can tell. UL_E_NUMBER when that is not reached (a part that is held nowhere and
 * whose sources do not cancel); `value` is then the best found. `solved` may be NULL. */
ul_status ul_solver_solve(ul_solver *solver, const double *source, double *value, double stop,
                          const ul_job *job, ul_solved *solved, ul_error *err);

/* The same, but also content with `share` of the first guess's residual: a step of an outer
 * iteration need not be solved far beyond what the next one will change (Dembo, Eisenstat and
 * Steihaug 1982). */
ul_status ul_solver_improve(ul_solver *solver, const double *source, double *value, double stop,
                            double share, const ul_job *job, ul_solved *solved, ul_error *err);

#endif
