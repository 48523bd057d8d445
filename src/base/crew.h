/* crew.h - threads that wait for work between calls, so that a call costs microseconds. */
#ifndef UL_BASE_CREW_H
#define UL_BASE_CREW_H

enum { UL_CREW_MOST = 256 };

/* Calls work(context, seat) on this thread, seat 0, and on threads that are free to help, seats 1
 * to hands-1 (hands up to UL_CREW_MOST), each seat at most once; returns when all that began are
 * done. A helper that comes when seat 0 is done is not needed any more, so a busy machine delays
 * nothing. The threads are started when first asked for, and joined at exit. One that cannot be
 * started is done without; so is any help while the crew works for another call (from another
 * thread, or from within `work`). A child process after fork() has a crew of its own. */
void ul_crew_work(int hands, void (*work)(void *context, int seat), void *context);

#endif
