/* stop.h - stopping when asked to: Ctrl-C, a closed terminal, a shutdown. */
#ifndef UL_MAIN_STOP_H
#define UL_MAIN_STOP_H

#include <stdbool.h>

/* From now on SIGINT, SIGTERM and SIGHUP only set a flag, that stop_asked() tells and the progress
 * of every long call looks at; what is half done is then undone. The same signal once more ends the
 * program at once. One that was ignored stays so. */
void stop_when_asked(void);
bool stop_asked(void);
/* Ends the program by the signal that asked, so that a shell's loop stops too. Only returns if none
 * did. */
void stop_as_asked(void);

#endif
