#include "main/plan_loss.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "base/memory.h"
#include "main/rise_verdict.h"

enum { RISES_MOST = 5 };

/* Shares of a charge, the program's own choice: what is let be; what a hole may cost; and of what
 * is added, how much may leave again. */
static const double let_be = 0.01, cost_most = 0.25, leaves_again_most = 0.9;

/* One cavity: so much added, so much lost. */
typedef struct loss {
  double added_g, lost_g;
  double was_added_g, was_lost_g; /* in the rise before */
} loss;

static void look(const ul_rise *rise, loss *of) {
  for (size_t i = 0; i < rise->cavity_count; i++) {
    of[i].was_lost_g = of[i].lost_g;
    of[i].lost_g = rise_lost_g(rise, i);
  }
}

static double meant_g(const ul_rise *rise, const loss *of, size_t i) {
  return rise->cavity[i].mass_in_g - of[i].added_g;
}

static bool is_made_good(const ul_rise *rise, const loss *of) {
  for (size_t i = 0; i < rise->cavity_count; i++)
    if (fabs(of[i].lost_g - of[i].added_g) > let_be * meant_g(rise, of, i)) return false;
  return true;
}

/* The next amounts, by the secant through the last two. False: they would be too much. */
static bool add(const ul_rise *rise, loss *of, bool first) {
  for (size_t i = 0; i < rise->cavity_count; i++) {
    loss *l = &of[i];
    const double meant = meant_g(rise, of, i), step = l->added_g - l->was_added_g;
    const double again = first || step == 0 ? 0 : (l->lost_g - l->was_lost_g) / step;
    const double next = l->added_g + (l->lost_g - l->added_g) / (1 - fmax(again, 0));
    if (again > leaves_again_most || next > cost_most * meant) return false;
    l->was_added_g = l->added_g;
    l->added_g = fmax(next, 0);
  }
  return true;
}

static ul_status rise_with(making *m, const loss *of, size_t cavities, foam_proof *out,
                           ul_error *err) {
  double *more_g = ul_new(cavities, sizeof *more_g);
  if (!more_g) return ul_fail_memory(err);
  for (size_t i = 0; i < cavities; i++) more_g[i] = of[i].added_g;
  const foam_asked asked = {
      .up = {m->now.set.set.up[0], m->now.set.set.up[1], m->now.set.set.up[2]},
      .vents = m->now.set.set.vents,
      .more_g = more_g};
  ul_status status = foam_proofs_make(m->c, &m->p->choice, &m->p->fine, &asked, 1, out, err);
  free(more_g);
  return status;
}

ul_status plan_make_good_loss(making *m, ul_error *err) {
  const size_t cavities = m->now.foam.rise->cavity_count;
  loss *of = ul_new(cavities, sizeof *of);
  foam_proof proof = {0};
  ul_status status = of ? UL_OK : ul_fail_memory(err);
  if (status == UL_OK) look(m->now.foam.rise, of);
  bool good = status != UL_OK || is_made_good(m->now.foam.rise, of);
  for (int i = 0; !good && i < RISES_MOST && status == UL_OK; i++) {
    if (!add(i ? proof.rise : m->now.foam.rise, of, i == 0)) break;
    foam_proof_free(&proof);
    status = rise_with(m, of, cavities, &proof, err);
    if (status == UL_OK) look(proof.rise, of);
    good = status == UL_OK && is_made_good(proof.rise, of);
  }
  if (good && proof.rise && making_leaves_no_more(m, &proof, 1)) {
    foam_proof_free(&m->now.foam);
    m->now.foam = proof;
    proof = (foam_proof){0};
  }
  foam_proof_free(&proof);
  free(of);
  return status;
}
