#include "air/outlets.h"

#include "base/vec.h"

size_t ul_peak_outlets(const ul_peak *peak, double place_mm[UL_OUTLETS_MOST][3]) {
  if (peak->extent_mm <= 4 * peak->half_gap_mm || peak->end_count == 0) {
    ul_copy3(peak->at_mm, place_mm[0]);
    return 1;
  }
  for (size_t i = 0; i < peak->end_count; i++) ul_copy3(peak->end_mm[i], place_mm[i]);
  return peak->end_count;
}
