/* Tables of shots. */
#include "fuzz/fuzz.h"

#include "ullage/foam_card.h"
#include "ullage/shots.h"

#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  FILE *f = fuzz_stream(data, size);
  ul_shots *shots = NULL;
  ul_error err = {0};
  ul_status status = ul_shots_read(f, &shots, &err);
  fclose(f);
  must((status == UL_OK) == (shots != NULL));
  if (status != UL_OK) {
    must(memchr(err.text, 0, sizeof err.text) && err.text[0]);
    return 0;
  }
  ul_shots_opts opts = ul_shots_opts_default();
  ul_shots_said said;
  opts.litres = 2;
  char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK];
  if (ul_shots_judge(shots, &opts, &said, &err) == UL_OK)
    must(ul_shots_remarks(shots, &opts, &said, remark) <= UL_SHOTS_REMARKS);
  ul_shots_free(shots);
  return 0;
}
