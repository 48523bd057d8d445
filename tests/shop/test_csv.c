/* Tables as spreadsheets write them. */
#include "base/memory.h"
#include "shapes/check.h"
#include "shop/csv.h"

#include <string.h>

static ul_status read_bytes(const char *text, size_t bytes, ul_csv **csv, ul_error *err) {
  FILE *f = tmpfile();
  fwrite(text, 1, bytes, f);
  rewind(f);
  ul_status status = ul_csv_read(f, csv, err);
  fclose(f);
  return status;
}

static ul_csv *table(const char *text) {
  ul_csv *csv;
  ul_error err = {0};
  assert_ok(read_bytes(text, strlen(text), &csv, &err), &err);
  return csv;
}

/* The table, cells between bars, one row a line. */
static void assert_cells(const char *text, const char *want) {
  ul_csv *csv = table(text);
  char got[400] = "";
  for (size_t r = 0; r < csv->rows; r++)
    for (size_t c = 0; c < csv->columns; c++) {
      strcat(got, ul_csv_cell(csv, r, c));
      strcat(got, c + 1 < csv->columns ? "|" : "\n");
    }
  assert_string_equal(got, want);
  ul_csv_free(csv);
}

static void commas_semicolons_and_tabs_are_told_apart(void **state) {
  (void)state;
  assert_cells("a,b\n1,2\n", "a|b\n1|2\n");
  assert_cells("a;b\n1,5;2,5\n", "a|b\n1,5|2,5\n");
  assert_cells("a\tb\n1,5\t2\n", "a|b\n1,5|2\n");
  assert_cells("a, of all;b\n1;2\n", "a, of all|b\n1|2\n");
  assert_cells("\"a;x;y\",b\n1,2\n", "a;x;y|b\n1|2\n");
}

static void byte_order_mark_line_ends_blanks_and_comments_go(void **state) {
  (void)state;
  assert_cells("\xef\xbb\xbf# from the shop\r\n\r\n a , b \r\n1, two words \r\n\n# done\n",
               "a|b\n1|two words\n");
  assert_cells("a,b\r1,2\r", "a|b\n1|2\n");
  assert_cells("a,b\n1,2", "a|b\n1|2\n");
  assert_cells("a\n", "a\n");
}

static void quotes_hold_anything(void **state) {
  (void)state;
  assert_cells("a,b\n\"x, \"\"y\"\"\nz\" ,2\n", "a|b\nx, \"y\"\nz|2\n");
  assert_cells("a,b\n\"\",\"\"\"\"\n", "a|b\n|\"\n");
}

static void a_short_row_ends_in_nothing(void **state) {
  (void)state;
  assert_cells("a,b,c\n1\n,,\n", "a|b|c\n1||\n||\n");
}

static void rows_remember_their_lines(void **state) {
  (void)state;
  ul_csv *csv = table("# head\na,b\n\n\"1\n\n\",2\n3,4\n");
  assert_int_equal(csv->rows, 3);
  assert_int_equal(csv->line[0], 2);
  assert_int_equal(csv->line[1], 4);
  assert_int_equal(csv->line[2], 7);
  ul_csv_free(csv);
}

static void refused_bytes(const char *text, size_t bytes, const char *says) {
  ul_csv *csv = NULL;
  ul_error err = {0};
  assert_int_equal(read_bytes(text, bytes, &csv, &err), UL_E_READ);
  assert_null(csv);
  if (!strstr(err.text, says)) print_message("said: %s\n", err.text);
  assert_non_null(strstr(err.text, says));
}

static void refused(const char *text, const char *says) {
  refused_bytes(text, strlen(text), says);
}

static void what_is_no_table_is_refused_with_its_line(void **state) {
  (void)state;
  refused("", "empty");
  refused("\n# only this\n", "empty");
  refused("a,b\n1,\"2\n3,4\n", "line 2: a quote begins here");
  refused("a,b\n1,\"2\"x\n", "line 2: text after a closing quote");
  refused("a,b\n1,5,2\n", "line 2 has 3 fields but the first line 2 names: if a comma is your");
  refused_bytes("a,b\n1,\0\n", 8, "zero bytes");
}

static void every_prefix_of_a_table_is_read_or_refused(void **state) {
  (void)state;
  const char *text = "\xef\xbb\xbfname;\"a;b\"\r\n\"x \"\"y\"\"\";1,5\r\n# c\r\nz;\r\n";
  for (size_t n = 0; n <= strlen(text); n++) {
    ul_csv *csv = NULL;
    if (read_bytes(text, n, &csv, NULL) == UL_OK) assert_true(csv->rows > 0);
    ul_csv_free(csv);
  }
}

static void without_memory_it_says_so_and_leaks_nothing(void **state) {
  (void)state;
  const char *text = "a,b,c\n1\n2,3\n4,5,6\n7\n8\n9\n10\n";
  ul_status status = UL_E_MEMORY;
  for (long n = 1; status == UL_E_MEMORY; n++) {
    ul_csv *csv = NULL;
    ul_memory_fail_at(n);
    status = read_bytes(text, strlen(text), &csv, NULL);
    ul_memory_fail_at(0);
    assert_true(status == UL_OK || status == UL_E_MEMORY);
    ul_csv_free(csv);
    if (n == 1) assert_int_equal(status, UL_E_MEMORY);
  }
}

static void numbers_come_with_a_point_or_a_comma(void **state) {
  (void)state;
  double v;
  assert_true(ul_csv_number("31.25", &v) && v == 31.25);
  assert_true(ul_csv_number("31,25", &v) && v == 31.25);
  assert_true(ul_csv_number("-0,5", &v) && v == -0.5);
  assert_true(ul_csv_number("+7.", &v) && v == 7);
  static const char *const none[] = {"",    "-",   ".",   "1.234,5", "1,2,3", "12 g",
                                     "1e3", "nan", "0x1", "--1",     "inf"};
  for (size_t i = 0; i < sizeof none / sizeof *none; i++) assert_false(ul_csv_number(none[i], &v));
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(commas_semicolons_and_tabs_are_told_apart),
      cmocka_unit_test(byte_order_mark_line_ends_blanks_and_comments_go),
      cmocka_unit_test(quotes_hold_anything),
      cmocka_unit_test(a_short_row_ends_in_nothing),
      cmocka_unit_test(rows_remember_their_lines),
      cmocka_unit_test(what_is_no_table_is_refused_with_its_line),
      cmocka_unit_test(every_prefix_of_a_table_is_read_or_refused),
      cmocka_unit_test(without_memory_it_says_so_and_leaks_nothing),
      cmocka_unit_test(numbers_come_with_a_point_or_a_comma),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
