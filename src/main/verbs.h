/* verbs.h - one function a verb. Each returns the process exit code. */
#ifndef UL_MAIN_VERBS_H
#define UL_MAIN_VERBS_H

#include "main/options.h"

int verb_check(const options *opts);
int verb_peaks(const options *opts);
int verb_tilts(const options *opts);
int verb_rise(const options *opts);
int verb_plan(const options *opts);
int verb_markers(const options *opts);
int verb_charge(const options *opts);
int verb_shots(const options *opts);
int verb_foams(const options *opts);

/* Prints `err` as the one line every error is, and returns its exit code. */
int verb_failed(const options *opts, const ul_error *err);

#endif
