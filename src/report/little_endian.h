/* little_endian.h - numbers in binary files, the same on any machine. */
#ifndef UL_REPORT_LITTLE_ENDIAN_H
#define UL_REPORT_LITTLE_ENDIAN_H

#include <stdint.h>
#include <string.h>

/* Both return where the next one goes. */
static inline unsigned char *ul_put_u32(unsigned char *to, uint32_t value) {
  for (int i = 0; i < 4; i++) to[i] = (unsigned char)(value >> 8 * i);
  return to + 4;
}

static inline unsigned char *ul_put_float(unsigned char *to, float value) {
  uint32_t bits;
  memcpy(&bits, &value, sizeof bits);
  return ul_put_u32(to, bits);
}

#endif
