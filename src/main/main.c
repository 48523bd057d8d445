/* main.c - finds the verb, hands it its options. */
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "main/outputs.h"
#include "main/stop.h"
#include "main/verbs.h"

typedef struct {
  const char *name;
  int bit;
  const char *takes;
  int (*run)(const options *opts);
  const char *job;
  const char *examples;
} verb;

static const verb verbs[] = {
    {"check", VERB_CHECK, "CAVITY", verb_check,
     "is it a usable cavity? faults with places; volume, area, gaps",
     "  ullage check seat.stl\n"
     "  ullage check seat.stl --unit in --patch 2\n"},
    {"peaks", VERB_PEAKS, "CAVITY", verb_peaks, "the high points and pockets of one tilt",
     "  ullage peaks seat.stl --raise +x=15\n"
     "  ullage peaks seat.stl --up 0,0.2,1 --json\n"},
    {"tilts", VERB_TILTS, "CAVITY", verb_tilts, "search and compare attitudes",
     "  ullage tilts seat.stl\n"
     "  ullage tilts seat.stl --compare \"+x=0;+x=15;+x=90\"\n"},
    {"rise", VERB_RISE, "CAVITY", verb_rise,
     "fill it in one attitude, with the vents and pour given",
     "  ullage rise seat.stl --level --raise +x=15 --vent 143,-60,20,3\n"},
    {"plan", VERB_PLAN, "CAVITY -o DIR", verb_plan,
     "the main job: tilt, vents and files for the mould maker",
     "  ullage plan seat.stl -o seat-plan\n"
     "  ullage plan seat.stl -o seat-plan --side +x=hinge --raise hinge=15\n"},
    {"markers", VERB_MARKERS, "DIR/plan.json", verb_markers,
     "write a plan's vents again, from another datum",
     "  ullage markers seat-plan/plan.json --datum 120,0,-25\n"
     "  ullage markers seat-plan/plan.json -o for-the-shop --datum-axes \"+y;-x\"\n"},
    {"charge", VERB_CHARGE, "CAVITY", verb_charge,
     "what to weigh, the clock, what must be held shut",
     "  ullage charge seat.stl --foam cushion-60 --mix-s 10 --pour-s 5\n"
     "  ullage charge seat.stl --foam our.card --cup-test 31.2,520 --mould plaster\n"},
    {"shots", VERB_SHOTS, "SHOTS.csv", verb_shots,
     "what the first parts say: density, next charge, what to change",
     "  ullage shots seat-shots.csv --foam cushion-60 --litres 6.2\n"
     "\nthe table: a line a shot under a line of names, cells may be empty\n"
     "  date,card,charge_g,liquid_c,mould_c,part_g,cup_g,cup_ml,fault_at,symptom\n"
     "  1 May,cushion-60,46.5,20,22,40.2,31,520,nose,missing corner\n"},
    {"foams", VERB_FOAMS, "[NAME]", verb_foams, "the generic foam cards; one of them to edit",
     "  ullage foams\n"
     "  ullage foams cushion-60 > our.card\n"},
};
enum { VERBS = sizeof verbs / sizeof verbs[0] };

static void print_usage(FILE *to) {
  fputs("ullage " UL_VERSION
        " - where expanding foam traps air in a mould, and how to let it out\n\n",
        to);
  for (int i = 0; i < VERBS; i++)
    fprintf(to, "  ullage %-7s %-14s  %s\n", verbs[i].name, verbs[i].takes, verbs[i].job);
  fputs("\nCAVITY is a closed mesh: STL, OBJ, PLY, OFF, 3MF, glTF, COLLADA or STEP.\n"
        "`ullage VERB --help` lists a verb's options, with examples.\n"
        "Exit: 0 good; 1 done, but not good; 2 usage; 3 input; 4 machine.\n",
        to);
}

static int print_help(const verb *v) {
  printf("ullage %s - %s\n\n  ullage %s %s [options]\n\n", v->name, v->job, v->name, v->takes);
  options_print(v->bit);
  printf("\nexamples\n%s", v->examples);
  return 0;
}

static const verb *find_verb(const char *name) {
  for (int i = 0; i < VERBS; i++)
    if (strcmp(verbs[i].name, name) == 0) return &verbs[i];
  return NULL;
}

static int unknown_verb(const char *name) {
  const char *known[VERBS];
  for (int i = 0; i < VERBS; i++) known[i] = verbs[i].name;
  const char *near = nearest_word(name, known, VERBS);
  if (near)
    fprintf(stderr, "ullage: %s is not a verb: did you mean ullage %s?\n", name, near);
  else
    fprintf(stderr, "ullage: %s is not a verb: see ullage --help\n", name);
  return 2;
}

/* Results that nobody received are no success: a full disk or a closed pipe shows here. */
static int flushed(int code) {
  if (fflush(stdout) == 0 && !ferror(stdout)) return code;
  fprintf(stderr,
          "ullage: standard output: cannot be written: is the disk full or the pipe closed?\n");
  return 4;
}

int main(int argc, char **argv) {
  signal(SIGPIPE, SIG_IGN);
  signal(SIGXFSZ, SIG_IGN); /* a file over the limit is then a write that fails */
  if (argc < 2) {
    print_usage(stderr);
    return 2;
  }
  if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0 ||
      strcmp(argv[1], "help") == 0) {
    print_usage(stdout);
    return flushed(0);
  }
  if (strcmp(argv[1], "--version") == 0) {
    puts("ullage " UL_VERSION);
    return flushed(0);
  }
  const verb *v = find_verb(argv[1]);
  if (!v) return unknown_verb(argv[1]);
  options opts;
  ul_error err;
  ul_status status = options_parse(v->bit, argc - 2, argv + 2, &opts, &err);
  if (status == UL_OK && !opts.help) status = outputs_check(v->bit, &opts, &err);
  if (status != UL_OK) return verb_failed(&opts, &err);
  stop_when_asked();
  int code = flushed(opts.help ? print_help(v) : v->run(&opts));
  if (code == 4) stop_as_asked();
  return code;
}
