/* pressed.h - what the pressures of any finished rise must be. */
#ifndef TEST_RISE_PRESSED_H
#define TEST_RISE_PRESSED_H

#include "ullage/rise.h"

/* Where the foam is at rest at set, each pocket of air stands at the pressure of the foam beside
 * it: between the lowest and the highest of the full cubes that touch it, within 1 % and the weight
 * of foam over the cavity's height. */
void demand_pockets_pressed(const ul_rise *rise, const ul_grid *grid, const ul_rise_opts *opts);

/* The same, and where the foam of a cavity is at rest at set: each pocket stands at the pressure of
 * all the foam within 1 % of it and the weight of foam over the cavity's height. Where no air was
 * left that could leave, that is the pressure at which gas, liquid and the pockets together just
 * fill the cavity, within the same; and at no moment was foam pressed more than all of the charge
 * would be. `opts` as the rise was given, with a pack. */
void demand_pressed(const ul_rise *rise, const ul_grid *grid, const ul_rise_opts *opts);

#endif
