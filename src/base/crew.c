#include "base/crew.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>

/* How often a thread looks whether there is something to do before it sleeps: some 20 us, about
 * what waking it up again costs. */
enum { LOOKS = 1000 };

typedef struct {
  void (*work)(void *context, int seat);
  void *context;
  int hands;
  atomic_int seats; /* taken */
} task;

/* pthread's locks and not those of <threads.h>: those hide from a thread sanitizer. Whoever sets
 * `taken` is the one caller; `thread` and `count` are his. Sleepers say so, then look once more;
 * whoever has news says so, then looks for sleepers: no news is slept through. */
static struct {
  atomic_bool taken, quit;
  atomic_uint news;     /* changes when there is something to look at */
  _Atomic(task *) task; /* NULL between calls */
  atomic_int inside;    /* helpers that may hold `task` */
  atomic_int asleep;    /* helpers in wait for news */
  atomic_bool awaited;  /* the caller sleeps until nobody is inside */
  pthread_mutex_t lock; /* held around going to sleep and waking up */
  pthread_cond_t wake, done;
  int count;
  pthread_t thread[UL_CREW_MOST];
} crew = {.lock = PTHREAD_MUTEX_INITIALIZER,
          .wake = PTHREAD_COND_INITIALIZER,
          .done = PTHREAD_COND_INITIALIZER};

static void breathe(void) {
#if defined(__x86_64__) || defined(__i386__)
  __builtin_ia32_pause();
#endif
}

/* ---- helpers ---- */

static void leave(void) {
  if (atomic_fetch_sub(&crew.inside, 1) != 1 || !atomic_load(&crew.awaited)) return;
  pthread_mutex_lock(&crew.lock);
  pthread_cond_signal(&crew.done);
  pthread_mutex_unlock(&crew.lock);
}

static void help(void) {
  atomic_fetch_add(&crew.inside, 1);
  task *t = atomic_load(&crew.task);
  if (t) {
    const int seat = atomic_fetch_add(&t->seats, 1);
    if (seat < t->hands) t->work(t->context, seat);
  }
  leave();
}

static void wait_for_news(unsigned seen) {
  for (int i = 0; i < LOOKS; i++) {
    if (atomic_load(&crew.news) != seen) return;
    breathe();
  }
  pthread_mutex_lock(&crew.lock);
  atomic_fetch_add(&crew.asleep, 1);
  while (atomic_load(&crew.news) == seen) pthread_cond_wait(&crew.wake, &crew.lock);
  atomic_fetch_sub(&crew.asleep, 1);
  pthread_mutex_unlock(&crew.lock);
}

static void *be_a_helper(void *nothing) {
  for (;;) {
    const unsigned seen = atomic_load(&crew.news);
    if (atomic_load(&crew.quit)) return nothing;
    help();
    wait_for_news(seen);
  }
}

/* ---- the caller ---- */

static void tell_news(int helpers) {
  atomic_fetch_add(&crew.news, 1);
  const int asleep = atomic_load(&crew.asleep);
  if (!asleep) return;
  pthread_mutex_lock(&crew.lock);
  for (int i = 0; i < asleep && i < helpers; i++) pthread_cond_signal(&crew.wake);
  pthread_mutex_unlock(&crew.lock);
}

static void wait_until_alone(void) {
  for (int i = 0; i < LOOKS; i++) {
    if (!atomic_load(&crew.inside)) return;
    breathe();
  }
  pthread_mutex_lock(&crew.lock);
  atomic_store(&crew.awaited, true);
  while (atomic_load(&crew.inside)) pthread_cond_wait(&crew.done, &crew.lock);
  atomic_store(&crew.awaited, false);
  pthread_mutex_unlock(&crew.lock);
}

static bool take_crew(void) {
  return !atomic_exchange(&crew.taken, true);
}

/* Not while a call is under way: the process ends all the same. */
static void dismiss(void) {
  if (!take_crew()) return;
  atomic_store(&crew.quit, true);
  tell_news(crew.count);
  for (int i = 0; i < crew.count; i++) pthread_join(crew.thread[i], NULL);
  crew.count = 0; /* still taken: who calls now works alone */
}

/* A child has none of the threads, and their locks in any state. */
static void forget(void) {
  pthread_mutex_init(&crew.lock, NULL);
  pthread_cond_init(&crew.wake, NULL);
  pthread_cond_init(&crew.done, NULL);
  crew.count = 0;
  atomic_store(&crew.task, NULL);
  atomic_store(&crew.inside, 0);
  atomic_store(&crew.asleep, 0);
  atomic_store(&crew.awaited, false);
  atomic_store(&crew.taken, false);
}

static bool found;

static void find(void) {
  found = pthread_atfork(NULL, NULL, forget) == 0 && atexit(dismiss) == 0;
}

static int hire(int helpers) {
  static pthread_once_t once = PTHREAD_ONCE_INIT;
  pthread_once(&once, find);
  if (!found) return 0;
  while (crew.count < helpers &&
         pthread_create(&crew.thread[crew.count], NULL, be_a_helper, NULL) == 0)
    crew.count++;
  return crew.count < helpers ? crew.count : helpers;
}

void ul_crew_work(int hands, void (*work)(void *context, int seat), void *context) {
  if (hands < 2 || !take_crew()) {
    work(context, 0);
    return;
  }
  task t = {.work = work, .context = context, .hands = hands, .seats = 1};
  const int helpers = hire(hands - 1);
  atomic_store(&crew.task, &t);
  tell_news(helpers);
  work(context, 0);
  atomic_store(&crew.task, NULL);
  wait_until_alone();
  atomic_store(&crew.taken, false);
}
