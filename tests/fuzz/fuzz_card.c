/* Foam cards; what is read must be written and read again to the same. */
#include "fuzz/fuzz.h"

#include "ullage/foam_card.h"

#include <math.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  FILE *f = fuzz_stream(data, size);
  ul_foam foam, again;
  ul_error err = {0};
  ul_status status = ul_foam_read(f, "/no/such/folder/", &foam, &err);
  fclose(f);
  if (status != UL_OK) {
    must(memchr(err.text, 0, sizeof err.text) && err.text[0]);
    return 0;
  }
  char *text = NULL;
  size_t length = 0;
  f = open_memstream(&text, &length);
  if (!f) abort();
  must(ul_foam_print(&foam, f));
  fclose(f);
  f = fuzz_stream((uint8_t *)text, length);
  status = ul_foam_read(f, NULL, &again, &err);
  fclose(f);
  if (status != UL_OK) fprintf(stderr, "%s\n%s", err.text, text);
  must(status == UL_OK);
  free(text);
  return 0;
}
