/* outputs.h - no file that a verb writes may stand where one lies that it reads, or writes besides.
 */
#ifndef UL_MAIN_OUTPUTS_H
#define UL_MAIN_OUTPUTS_H

#include "main/options.h"

/* To be asked before anything is computed. UL_E_USAGE, naming both, when a file that `verb` would
 * write is the mesh, the foam card, an insert, the tool or the table that it reads, or one that it
 * writes as well. Whatever way their paths are written: files are the same by device and inode, and
 * one that is not there yet by its folder and name. The plan of --keep may be replaced: it is read
 * whole before, and the new one stands in for it. */
ul_status outputs_check(int verb, const options *opts, ul_error *err);

#endif
