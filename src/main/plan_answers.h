/* plan_answers.h - which tilts a plan chooses among. */
#ifndef UL_MAIN_PLAN_ANSWERS_H
#define UL_MAIN_PLAN_ANSWERS_H

#include "main/plan.h"

/* The search's answers by heights; with a foam among them also those in which a shop would lie the
 * mould anyway, as far as they hold the charge: on heights alone a level lid looks worse than it
 * is. A tilt that the options fix is judged by the same rule, so that its cost can be told. */
ul_status plan_answers_find(cavity_case *c, plan *p, ul_error *err);

/* Once the tilt is chosen: how the mould is poured, and, of answers judged on heights alone, in
 * their words, whether they hold the charge. */
ul_status plan_answers_pour(const cavity_case *c, plan *p, ul_error *err);
/* Appended to the verdict, where the charge runs out or may: a level attitude that holds it; and,
 * without a card, that it opens low. */
void plan_say_level(const cavity_case *c, const plan *p, char *verdict, size_t room);
void plan_say_opens_low(const cavity_case *c, const plan *p, char *verdict, size_t room);

#endif
