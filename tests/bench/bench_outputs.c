/* All files of a demo plan: 2 s at most are wanted. The plan is made once, then written five times.
 * Prints best and median. Argument: the mesh. */
#define _GNU_SOURCE /* mkdtemp() */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "main/plan.h"
#include "main/verbs.h"

enum { RUNS = 5 };

static double processor_s(void) {
  struct timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int by_size(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static ul_status make(cavity_case *c, plan *p, const options *opts, ul_error *err) {
  ul_status status = case_open(c, opts, err);
  if (status == UL_OK) status = ul_audit_verdict(c->audit, err);
  if (status == UL_OK) status = case_parting(c, err);
  if (status == UL_OK) status = case_tool(c, err);
  if (status == UL_OK) status = case_resolve(c, err);
  if (status == UL_OK) status = plan_make(c, p, err);
  return status;
}

/* Bytes of the file, 0 if it is not there. */
static long long size_of(const char *dir, const char *name) {
  char path[300];
  struct stat is;
  snprintf(path, sizeof path, "%.200s/%.80s", dir, name);
  return stat(path, &is) == 0 ? (long long)is.st_size : 0;
}

int main(int argc, char **argv) {
  char dir[] = "/tmp/outputs-XXXXXX", clean[80];
  if (argc != 2 || !mkdtemp(dir)) return 2;
  char *words[] = {argv[1], "-o", dir, "--tries", "20", "--scatter", "2", "--quiet"};
  options opts;
  ul_error err = {0};
  cavity_case c = {0};
  plan p = {0};
  double run[RUNS];
  ul_status status = options_parse(VERB_PLAN, sizeof words / sizeof words[0], words, &opts, &err);
  if (status == UL_OK) status = make(&c, &p, &opts, &err);
  for (int i = 0; i < RUNS && status == UL_OK; i++) {
    double before = processor_s();
    status = plan_write(&c, &p, dir, &err);
    run[i] = processor_s() - before;
  }
  if (status == UL_OK && (!size_of(dir, "plan.json") || !size_of(dir, "report.html"))) return 1;
  if (status == UL_OK) {
    qsort(run, RUNS, sizeof run[0], by_size);
    printf("outputs,%s,%zu cubes,best %.3f s,median %.3f s of processor,page %lld bytes\n",
           strrchr(argv[1], '/') ? strrchr(argv[1], '/') + 1 : argv[1], c.grid->inside_count,
           run[0], run[RUNS / 2], size_of(dir, "report.html"));
  } else {
    fprintf(stderr, "%s\n", err.text);
  }
  plan_free(&p);
  case_close(&c);
  snprintf(clean, sizeof clean, "rm -r %s", dir);
  return system(clean) == 0 && status == UL_OK ? 0 : 1;
}
