/* series_csv.h - a rise step by step, for a spreadsheet. */
#ifndef UL_REPORT_SERIES_CSV_H
#define UL_REPORT_SERIES_CSV_H

#include "report/rise_told.h"

/* cavity, time_s, filled, peak_kpa, air_cm3, shut_in_cm3 a row; RFC 4180, whole or not at all.
 * Without a known foam the time is given as a share of the rise and pressures are left empty. */
ul_status ul_write_series_csv(const ul_rise_told *told, const char *path, ul_error *err);

#endif
