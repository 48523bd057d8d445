/* books.h - what is true of every rise: foam and air are all accounted for, and both keep their gas
 * laws. */
#ifndef TEST_RISE_BOOKS_H
#define TEST_RISE_BOOKS_H

#include "ullage/grid.h"
#include "ullage/rise.h"

/* Of every cavity of the rise:
 * - mass closes to 1e-9, and so do the moles of air as booked;
 * - every void keeps its gas law, (p0 + p) V = its moles, and so do all bodies of air with what
 * left and what the foam took, the sum being what there was at cream;
 * - all foam, cube by cube at its pressure, is as heavy as its own gas law has it;
 * - the foam took in little air, and no step went on unsettled. */
void books_demand(const ul_grid *grid, const ul_columns *columns, const ul_rise *rise,
                  const ul_rise_opts *opts);

/* Runs it with the n-th allocation failing, for the first `singly` one by one, then for a spread of
 * them, until none is left to fail: no rise comes back, or one whose masses close; leaks are for a
 * sanitizer to see. */
void books_survive_failures(const ul_grid *grid, const ul_rise_opts *opts, long singly);

#endif
