#include "report/series_csv.h"

#include <math.h>

#include "report/atomic_file.h"
#include "report/numbers.h"

static void put(FILE *file, double value, int places) {
  fputc(',', file);
  ul_put_fixed(file, value, places);
}

static void put_sample(FILE *file, const ul_rise_told *t, const ul_rise_sample *sample) {
  double end = t->rise->cavity[sample->cavity].end_s;
  fprintf(file, "%zu", t->first_cavity + sample->cavity + 1);
  put(file, t->foam_known ? sample->s : sample->s / end, 4);
  put(file, sample->filled_fraction, 6);
  put(file, t->foam_known ? sample->peak_kpa : NAN, 4);
  put(file, sample->air_mm3 / 1000, 4);
  put(file, sample->sealed_mm3 / 1000, 4);
  fputs("\r\n", file);
}

static bool write_series(FILE *file, void *context) {
  const ul_rise_told *t = context;
  fprintf(file, "cavity,%s,filled,peak_kpa,air_cm3,shut_in_cm3\r\n",
          t->foam_known ? "time_s" : "share_of_the_rise");
  for (size_t i = 0; i < t->rise->sample_count; i++) put_sample(file, t, &t->rise->sample[i]);
  return true;
}

ul_status ul_write_series_csv(const ul_rise_told *told, const char *path, ul_error *err) {
  ul_rise_told t = *told;
  return ul_write_whole(path, write_series, &t, err);
}
