/* What shots say: means by hand, the next charge, causes in order. */
#include "base/memory.h"
#include "shapes/check.h"
#include "ullage/foam_card.h"
#include "ullage/shots.h"

#include <math.h>
#include <string.h>

#define HEAD                                                                                       \
  "date,card,charge_g,liquid_c,mould_c,part_g,cup_g,cup_ml,vent_1_s,vent_2_s,fault_at,symptom\n"

static ul_status read_text(const char *text, ul_shots **shots, ul_error *err) {
  FILE *f = fmemopen((void *)(uintptr_t)text, strlen(text), "r");
  ul_status status = ul_shots_read(f, shots, err);
  fclose(f);
  return status;
}

static ul_shots *table(const char *text) {
  ul_shots *shots;
  ul_error err = {0};
  assert_ok(read_text(text, &shots, &err), &err);
  return shots;
}

static ul_shots_said said(const char *text, const ul_shots_opts *o) {
  ul_shots *shots = table(text);
  ul_shots_said s;
  ul_error err = {0};
  assert_ok(ul_shots_judge(shots, o, &s, &err), &err);
  ul_shots_free(shots);
  return s;
}

static ul_shots_opts two_litres(void) {
  ul_shots_opts o = ul_shots_opts_default();
  o.foam = ul_foam_generic(2); /* cushion-60, pack 1.1 to 1.3 */
  o.litres = 2;
  return o;
}

static void a_row_is_read_whole(void **state) {
  (void)state;
  ul_shots *shots = table(HEAD "2 May,cushion-60,160,21,24,150,31,500,62,,\"lid, left\","
                               "Missing Corner\n");
  const ul_shot *s = shots->shot;
  assert_int_equal(shots->count, 1);
  assert_int_equal(shots->vent_count, 2);
  assert_int_equal(s->line, 2);
  assert_string_equal(s->date, "2 May");
  assert_string_equal(s->card, "cushion-60");
  assert_string_equal(s->fault_at, "lid, left");
  assert_true(s->charge_g == 160 && s->part_g == 150 && s->cup_g == 31 && s->cup_ml == 500);
  assert_true(s->liquid_c == 21 && s->mould_c == 24);
  assert_true(s->vent_s[0] == 62 && isnan(s->vent_s[1]));
  assert_int_equal(s->symptom, UL_SYMPTOM_MISSING_CORNER);
  ul_shots_free(shots);
}

static void a_spreadsheet_with_decimal_commas_says_the_same(void **state) {
  (void)state;
  ul_shots *shots =
      table("\xef\xbb\xbf"
            "Symptom;Fault at;Cup (ml);Cup (g);Part (g);Mould C;Liquid C;Charge (g);Card;Date\r\n"
            ";;520,5;31,2;150,5;;;160,25;;1.5.\r\n");
  assert_true(shots->shot[0].charge_g == 160.25 && shots->shot[0].cup_ml == 520.5);
  assert_true(isnan(shots->shot[0].mould_c));
  assert_int_equal(shots->shot[0].symptom, UL_SYMPTOM_NONE);
  ul_shots_free(shots);
}

/* Cups of 60, 62 and 64 kg/m3: mean 62, spread 2, off t(2) x 2/sqrt 3 = 4.303 x 1.1547. Lost 10, 12
 * and 8 g: the same mean error. Next: 62 x 2 x 1.2 + 10. */
static void the_next_charge_by_hand(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  ul_shots_said s = said(HEAD ",,160,20,20,150,30,500,,,,\n"
                              ",,160,20,20,148,31,500,,,,\n"
                              ",,160,20,20,152,32,500,,,,\n",
                         &o);
  double off = 4.303 * 2 / sqrt(3);
  assert_true(s.from_cups);
  assert_rel(s.free_kg_m3.value, 62, 1e-12);
  assert_rel(s.free_kg_m3.off, off, 1e-12);
  assert_rel(s.lost_g.value, 10, 1e-12);
  assert_rel(s.target_pack, 1.2, 1e-12);
  assert_rel(s.next_charge_g, 62 * 2 * 1.2 + 10, 1e-12);
  assert_rel(s.next_off_g, hypot(2.4 * off, off), 1e-12);
  assert_rel(s.pack.value, (150 / 120.0 + 148 / 124.0 + 152 / 128.0) / 3, 1e-12);
  assert_true(s.faulty == SIZE_MAX && s.cause_count == 0);
}

static void one_cup_is_taken_to_be_good_to_a_twentieth(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  ul_shots_said s = said(HEAD ",,160,,,150,31,500,,,,\n", &o);
  assert_rel(s.free_kg_m3.off, 3.1, 1e-12);
}

static void without_cups_the_card_speaks_and_without_both_nobody(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  ul_shots_said s = said(HEAD ",,160,,,150,,,,,,\n", &o);
  assert_false(s.from_cups);
  assert_rel(s.free_kg_m3.value, 60, 1e-12);
  assert_rel(s.free_kg_m3.off, 3, 1e-12); /* the card's own span */
  assert_rel(s.pack.value, 1.25, 1e-12);
  o.foam = NULL;
  s = said(HEAD ",,160,,,150,,,,,,\n", &o);
  assert_true(isnan(s.free_kg_m3.value) && isnan(s.next_charge_g) && isnan(s.pack.value));
  assert_rel(s.target_pack, (1.15 + 1.30) / 2, 1e-12); /* common practice, no source */
}

static void without_litres_there_is_no_next_charge(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  o.litres = 0;
  ul_shots_said s = said(HEAD ",,160,,,150,31,500,,,,\n", &o);
  assert_true(isnan(s.next_charge_g) && isnan(s.pack.value));
  assert_rel(s.free_kg_m3.value, 62, 1e-12);
}

/* At 60 kg/m3 and 2 l, 144 g is pack 1.2, 150 g 1.25; the card goes to 1.3. */
static void a_short_part_asks_for_a_twentieth_more_up_to_the_card(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  assert_rel(said(HEAD ",,160,,,144,,,,,,short\n", &o).target_pack, 1.2 * 1.05, 1e-12);
  assert_rel(said(HEAD ",,160,,,150,,,,,,short\n", &o).target_pack, 1.3, 1e-12);
  assert_rel(said(HEAD ",,160,,,120,,,,,,short\n", &o).target_pack, 1.2, 1e-12);
  assert_rel(said(HEAD ",,160,,,144,,,,,,blister\n", &o).target_pack, 1.2, 1e-12);
}

static void what_the_numbers_show_comes_first(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  ul_shots_said s = said(HEAD ",,160,20,20,144,30,500,60,70,,missing corner\n", &o);
  assert_int_equal(s.cause[0].kind, UL_TRY_TURN);
  assert_false(s.cause[0].shown);
  s = said(HEAD ",,130,20,20,125,30,500,60,70,,missing corner\n", &o); /* pack 1.04 */
  assert_int_equal(s.cause[0].kind, UL_TRY_CHARGE);
  assert_true(s.cause[0].shown);
  s = said(HEAD ",,160,20,20,144,30,500,60,,,missing corner\n", &o); /* a silent vent */
  assert_int_equal(s.cause[0].kind, UL_TRY_PLUG);
  s = said(HEAD ",,160,15,20,144,30,500,60,70,,missing corner\n", &o); /* card: 20 C */
  assert_int_equal(s.cause[0].kind, UL_TRY_TEMPERATURE);
  s = said(HEAD ",,160,20,20,144,34,500,60,70,,short\n", &o); /* cup 68, card up to 63 */
  assert_int_equal(s.cause[0].kind, UL_TRY_CHARGE);           /* 144/2/68: that is pack 1.06 */
  assert_true(s.cause[1].shown && s.cause[1].kind == UL_TRY_HANDS);
}

static void every_symptom_has_causes_and_drilling_is_never_first(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  for (int i = 1; i < UL_SYMPTOM_END; i++) {
    char text[400];
    snprintf(text, sizeof text, HEAD ",,160,20,20,144,30,500,60,,lid,%s\n",
             ul_symptom_word((ul_symptom)i));
    ul_shots_said s = said(text, &o);
    assert_int_equal(s.faulty, 0);
    assert_true(s.cause_count >= 3);
    assert_true(s.cause[s.first].kind != UL_TRY_DRILL);
    bool known = true; /* shown ones stand before the others */
    for (size_t k = 0; k < s.cause_count; k++) {
      assert_true(s.cause[s.first].kind <= s.cause[k].kind);
      assert_true(known || !s.cause[k].shown);
      known = s.cause[k].shown;
    }
  }
}

static bool offers_charge(const ul_shots_said *s) {
  for (size_t i = 0; i < s->cause_count; i++)
    if (s->cause[i].kind == UL_TRY_CHARGE) return true;
  return false;
}

static ul_shots_said one_shot(int charge_g, int part_g, ul_symptom symptom) {
  char text[400];
  ul_shots_opts o = two_litres();
  snprintf(text, sizeof text, HEAD ",,%d,,,%d,,,,,,%s\n", charge_g, part_g,
           ul_symptom_word(symptom));
  return said(text, &o);
}

/* At 60 kg/m3, 2 l and 10 g lost pack 1.2 takes 154 g; a short part's next goes up to pack 1.3, 166
 * g. What splits or leaks wants less, what is short, soft, sunken or loose wants more: 150 g that
 * split were answered by "pour the next charge", and 180 g that fell short, too. */
static void the_charge_is_a_cause_only_where_the_next_one_goes_its_way(void **state) {
  (void)state;
  for (int charge = 120; charge <= 200; charge += 2)
    for (int i = 1; i < UL_SYMPTOM_END; i++) {
      ul_symptom symptom = (ul_symptom)i;
      ul_shots_said s = one_shot(charge, charge - 10, symptom);
      bool less = symptom == UL_SYMPTOM_SPLIT || symptom == UL_SYMPTOM_LEAK;
      if (less) assert_true(s.next_charge_g <= charge + 1e-9);
      for (size_t k = 0; k < s.cause_count; k++) {
        if (s.cause[k].kind != UL_TRY_CHARGE) continue;
        if (less)
          assert_true(s.next_charge_g < 0.99 * charge);
        else if (strstr(s.cause[k].remedy, "next charge"))
          assert_true(s.next_charge_g > 1.01 * charge);
        else /* a little more */
          assert_true(s.next_charge_g > 0.99 * charge);
      }
    }
  ul_shots_said s = one_shot(150, 140, UL_SYMPTOM_SPLIT);
  assert_false(offers_charge(&s));
  assert_int_equal(s.charge_wants, -1);
  s = one_shot(180, 170, UL_SYMPTOM_SPLIT);
  assert_true(offers_charge(&s) && s.cause[s.first].kind == UL_TRY_CHARGE);
  assert_int_equal(s.charge_wants, 0);
  s = one_shot(180, 170, UL_SYMPTOM_SHORT);
  assert_false(offers_charge(&s));
  assert_int_equal(s.charge_wants, 1);
  s = one_shot(130, 120, UL_SYMPTOM_SHORT);
  assert_true(offers_charge(&s) && s.cause[s.first].kind == UL_TRY_CHARGE);
}

/* 150 g split: pack 1.2 would take 154. What went well since with more lifts that, and so does a
 * pack that is asked for. */
static void after_a_split_no_more_is_poured_until_its_cause_is_found(void **state) {
  (void)state;
  ul_shots_said s = one_shot(150, 140, UL_SYMPTOM_SPLIT);
  assert_rel(s.next_charge_g, 150, 1e-12);
  assert_rel(s.held_back_g, 154, 1e-12);
  assert_rel(s.target_pack, 140 / 120.0, 1e-12);
  ul_shots_opts o = two_litres();
  s = said(HEAD ",,150,,,140,,,,,,leak at seam\n,,152,,,142,,,,,,\n", &o);
  assert_rel(s.next_charge_g, 152, 1e-12);
  o.pack = 1.3;
  s = said(HEAD ",,150,,,140,,,,,,split\n", &o);
  assert_rel(s.next_charge_g, 166, 1e-12);
  assert_true(isnan(s.held_back_g) && !offers_charge(&s));
}

/* 180 g fell short at pack 1.42, and 166 g were advised. What went well since with less lowers
 * that, and so does a pack that is asked for. */
static void after_a_short_part_no_less_is_poured(void **state) {
  (void)state;
  for (int charge = 120; charge <= 240; charge += 2)
    for (int lost = 0; lost <= 40; lost += 5)
      assert_true(one_shot(charge, charge - lost, UL_SYMPTOM_SHORT).next_charge_g >= charge - 1e-9);
  ul_shots_said s = one_shot(180, 170, UL_SYMPTOM_SHORT);
  assert_rel(s.next_charge_g, 180, 1e-12);
  assert_rel(s.held_back_g, 166, 1e-12);
  assert_rel(s.target_pack, 170 / 120.0, 1e-12);
  ul_shots_opts o = two_litres();
  s = said(HEAD ",,180,,,170,,,,,,short\n,,172,,,162,,,,,,\n", &o);
  assert_rel(s.next_charge_g, 172, 1e-12);
  s = said(HEAD ",,1800,,,170,,,,,,short\n,,165,,,155,,,,,,\n", &o); /* a slip of the pen */
  assert_rel(s.next_charge_g, 165, 1e-12);
  o.pack = 1.1;
  s = said(HEAD ",,180,,,170,,,,,,short\n", &o);
  assert_true(isnan(s.held_back_g));
}

static bool remarked(const char *text, const ul_shots_opts *o, const char *words) {
  ul_shots *shots = table(text);
  ul_shots_said s;
  ul_error err = {0};
  char remark[UL_SHOTS_REMARKS][UL_SHOTS_REMARK];
  assert_ok(ul_shots_judge(shots, o, &s, &err), &err);
  size_t count = ul_shots_remarks(shots, o, &s, remark);
  ul_shots_free(shots);
  for (size_t i = 0; i < count; i++)
    if (strstr(remark[i], words)) return true;
  return false;
}

static void why_the_charge_is_no_cause_is_said(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  assert_true(remarked(HEAD ",,150,,,140,,,,,,split\n", &o,
                       "the usual pack would take 154 g. After a split no more than 150 g"));
  assert_true(remarked(
      HEAD ",,180,,,170,,,,,,short\n", &o,
      "It is not the charge: the usual pack would take 166 g, less than the 180 g of line 2, "
      "which fell short (pack 1.42 reached). No less than 180 g is advised"));
  assert_false(remarked(HEAD ",,180,,,170,,,,,,split\n", &o, "not the charge"));
  o.pack = 1.3;
  assert_true(remarked(HEAD ",,150,,,140,,,,,,split\n", &o, "wants more than the 150 g of line 2"));
  o.litres = 0;
  assert_true(remarked(HEAD ",,150,,,140,,,,,,short\n", &o, "without --litres"));
  o = two_litres();
  o.foam = NULL;
  assert_true(remarked(HEAD ",,150,,,140,,,,,,short\n", &o, "note cup_g and cup_ml"));
}

/* 130 g made pack 1.08 and missed a corner: 126 g + 10 for a pack of 1.05 that is asked for were
 * said to show that it is not the charge. */
static void a_pack_asked_for_does_not_clear_the_charge(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  const char *corner = HEAD ",,140,,,130,,,,,,missing corner\n",
             *split = HEAD ",,180,,,170,,,,,,split\n";
  o.pack = 1.05;
  assert_true(
      remarked(corner, &o,
               "It may be the charge: line 2 reached pack 1.08, under the usual 1.1 to 1.3, "
               "but what is asked for, 136 g, is no more than its 140 g."));
  assert_false(remarked(corner, &o, "not the charge"));
  o.pack = 0, o.want_kg_m3 = 63;
  assert_true(remarked(corner, &o, "what is asked for, 136 g, is no more than its 140 g"));
  o.pack = 1.5, o.want_kg_m3 = 0;
  assert_true(remarked(split, &o,
                       "It may be the charge: line 2 reached pack 1.42, over the usual 1.1 to 1.3, "
                       "but what is asked for, 190 g, is no less than its 180 g."));
  o.pack = 1.1;
  assert_true(remarked(HEAD ",,150,,,140,,,,,,missing corner\n", &o, "It is not the charge"));
  o.pack = 0;
  assert_false(remarked(corner, &o, "the charge:"));
  o.pack = 1.05, o.foam = NULL;
  assert_true(remarked(HEAD ",,140,,,130,60,1000,,,,missing corner\n", &o,
                       "pack 1.08, under the usual 1.15 to 1.3, but what is asked for, 136 g"));
}

/* 600 g of 60 kg/m3 split in 10 litres: pack 0.833 was advised, and called good. */
static void a_charge_held_back_under_a_free_rise_does_not_fill(void **state) {
  (void)state;
  ul_shots_opts o = ul_shots_opts_default();
  o.litres = 10;
  const char *split = HEAD ",,600,,,500,60,1000,,,,split\n";
  ul_shots_said s = said(split, &o);
  assert_rel(s.next_charge_g, 600, 1e-12);
  assert_rel(s.target_pack, 500 / 600.0, 1e-12);
  assert_false(s.aim_fills);
  assert_true(remarked(split, &o,
                       "no more than 600 g is advised until its cause is found, and that does not "
                       "fill: pack 0.833 is under 1."));
  assert_false(remarked(split, &o, "Does not fill"));
  s = said(HEAD ",,710,,,610,60,1000,,,,split\n", &o);
  assert_true(s.aim_fills && !isnan(s.held_back_g));
}

static ul_shots_said quarter_litre(const char *text, double pack) {
  ul_shots_opts o = ul_shots_opts_default();
  o.foam = ul_foam_generic(2);
  o.litres = 0.24;
  o.pack = pack;
  return said(text, &o);
}

/* A missed decimal point in charge_g was 97 g for the next one, in a mould that takes 24 g. At 60
 * kg/m3, 0.24 l and pack 1.2 the part takes 17.28 g. */
static void a_slip_of_the_pen_in_a_charge_is_not_poured_again(void **state) {
  (void)state;
  const char *slip = HEAD ",,24.3,,,19.2,,,,,,\n,,24.3,,,19.3,,,,,,\n,,243,,,19.2,,,,,,\n";
  ul_shots_opts o = ul_shots_opts_default();
  o.foam = ul_foam_generic(2), o.litres = 0.24;
  ul_shots_said s = said(slip, &o);
  assert_int_equal(s.lost_g.count, 2);
  assert_rel(s.next_charge_g, 17.28 + 5.05, 1e-12);
  assert_true(s.good);
  assert_true(remarked(slip, &o, "Line 4 lost 224 of 243 g: no cup, bleed and flash take that."));
  const char *alone[] = {HEAD ",,243,,,19.2,,,,,,\n", HEAD ",,100,,,19.2,,,,,,\n"};
  for (int i = 0; i < 2; i++) {
    s = said(alone[i], &o);
    assert_true(isnan(s.next_charge_g) && isnan(s.next_off_g) && !s.good);
    assert_true(remarked(alone[i], &o, "no line is left to reckon the next charge by"));
  }
  /* 15 g are lost where it is 5 elsewhere: not too much, but of three the odd one */
  s = said(HEAD ",,24.3,,,19.2,,,,,,\n,,24.3,,,19.3,,,,,,\n,,34.3,,,19.2,,,,,,\n", &o);
  assert_int_equal(s.lost_g.count, 2);
  s = said(HEAD ",,160,,,150,,,,,,\n,,162,,,150,,,,,,\n,,168,,,150,,,,,,\n", &o);
  assert_int_equal(s.lost_g.count, 3);
}

/* The charge of the shot with the fault is in doubt: nothing is measured by it. */
static void a_doubted_charge_holds_nothing_back_and_clears_nothing(void **state) {
  (void)state;
  const char *split = HEAD ",,24.3,,,19.2,,,,,,\n,,243,,,19.2,,,,,,split\n";
  ul_shots_said s = quarter_litre(split, 0);
  assert_rel(s.next_charge_g, 17.28 + 5.1, 1e-12);
  assert_true(isnan(s.held_back_g) && !s.good && !offers_charge(&s));
  ul_shots_opts o = ul_shots_opts_default();
  o.foam = ul_foam_generic(2), o.litres = 0.24;
  assert_true(remarked(split, &o, "cannot be told: that of line 3 is in doubt"));
  assert_false(remarked(split, &o, "not the charge"));
}

/* Whatever the way to it: what the packing formula makes of it, over 345 kPa, is not good.
 * Cushion-60, liquid 1070: P(1 - x)e/(1 - Px) with x = 60/1070. */
static void what_would_burst_the_mould_is_never_good(void **state) {
  (void)state;
  const char *row = HEAD ",,24.3,,,19.2,,,,,,\n";
  for (double pack = 1; pack < 17; pack += 0.5) {
    const double g = pack * 0.24 * 60 + 5.1, whole = (g - 5) / 0.24 / 60, x = 60 / 1070.0;
    const double ratio = whole * x < 1 ? whole * (1 - x) * 0.98 / (1 - whole * x) : INFINITY;
    ul_shots_said s = quarter_litre(row, pack);
    assert_rel(s.next_charge_g, g, 1e-12);
    if (isfinite(ratio)) assert_near(s.next_most_kpa, fmax(0, ratio - 1) * 101.325, 1e-9);
    assert_true(s.good == ((ratio - 1) * 101.325 <= 345));
  }
  ul_shots_opts o = ul_shots_opts_default();
  o.foam = ul_foam_generic(2), o.litres = 0.24;
  const char *cup = HEAD ",,24.3,,,19.2,30,50,,,,\n"; /* 50 for 500 ml: 144 g would be poured */
  assert_false(said(cup, &o).good);
  assert_true(remarked(cup, &o, "Dangerous: 178 g"));
  o.pack = 5;
  assert_true(remarked(row, &o, "Dangerous: 77.1 g, but for what a cup keeps, make"));
  assert_true(remarked(row, &o, "Do not pour it"));
  const char *more = HEAD ",,36,,,19.2,,,,,,\n";
  o.pack = 17.5; /* with what is lost it would be more than the cavity holds */
  assert_true(remarked(more, &o, "make liquid to the lid by the packing formula"));
  o.pack = 0, o.litres = 0.01; /* a cup's 5 g are no pressure, as in a charge */
  assert_true(said(HEAD ",,5.8,,,0.8,,,,,,\n", &o).good);
}

/* 64 and 128 kg/m3 in one table: 34 g, give or take 122, and not a word of it. Cushion-60 is 57 to
 * 63. */
static void cups_and_packs_that_cannot_be_right_are_said(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  const char *twice = HEAD ",,160,,,150,32,500,,,,\n,,160,,,150,64,500,,,,\n";
  assert_false(said(twice, &o).good);
  assert_true(remarked(twice, &o, "the lines differ too much to say anything"));
  assert_true(remarked(twice, &o,
                       "Line 3: The cup test makes 128 kg/m3, and the foam card says 57 "
                       "to 63;"));
  o.foam = NULL;
  assert_true(remarked(twice, &o, "the lines differ too much"));
  assert_false(remarked(twice, &o, "card says"));
  o = two_litres();
  assert_true(said(HEAD ",,160,,,150,31,500,,,,\n,,160,,,150,30,500,,,,\n", &o).good);
  assert_false(remarked(HEAD ",,160,,,150,37,500,,,,\n", &o, "cup test")); /* 74 */
  assert_true(remarked(HEAD ",,160,,,150,38,500,,,,\n", &o, "Line 2: The cup test makes 76"));
  assert_true(remarked(HEAD ",,160,,,150,22,500,,,,\n", &o, "Line 2: The cup test makes 44"));
  o.litres = 0.3;
  assert_true(remarked(HEAD ",,160,,,142,,,,,,\n", &o,
                       "Line 2 reached pack 7.89, and over 2 no part is packed by hand"));
}

static void judged_wrong(const char *text, const ul_shots_opts *o, ul_status code,
                         const char *says) {
  ul_shots *shots = table(text);
  ul_shots_said s;
  ul_error err = {0};
  assert_int_equal(ul_shots_judge(shots, o, &s, &err), code);
  if (!strstr(err.text, says)) print_message("said: %s\n", err.text);
  assert_non_null(strstr(err.text, says));
  ul_shots_free(shots);
}

/* A swapped cup gave a free rise of 16800 kg/m3 and a next charge of 40 kg. */
static void what_cannot_be_is_refused_with_its_line(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  const char *swapped = HEAD ",,150,,,140,31,520,,,,\n,,150,,,140,520,31,,,,\n";
  judged_wrong(swapped, &o, UL_E_READ,
               "line 3: cup test of 520 g in 31 ml is 16774 kg/m3: that is liquid");
  judged_wrong(HEAD ",,150,,,140,31,31000,,,,\n", &o, UL_E_READ,
               "line 2: cup test of 31 g in 31000");
  judged_wrong(HEAD ",,3000,,,2900,,,,,,\n", &o, UL_E_READ,
               "line 2: a part of 2900 g in 2 litres is 1450 kg/m3, denser than the liquid (1070)");
  o.litres = 0.002;
  judged_wrong(HEAD ",,150,,,140,,,,,,\n", &o, UL_E_READ, "denser than the liquid");
  o.litres = 2000;
  judged_wrong(HEAD ",,150,,,140,,,,,,short\n", &o, UL_E_READ, "lighter than any foam");
  o = two_litres();
  o.foam = NULL;
  judged_wrong(swapped, &o, UL_E_READ, "line 3: cup test of 520 g");
  o = two_litres();
  o.pack = 18;
  judged_wrong(HEAD ",,150,,,140,,,,,,\n", &o, UL_E_USAGE,
               "more than the cavity holds as liquid (17.8)");
  o.want_kg_m3 = 70;
  judged_wrong(HEAD ",,150,,,140,,,,,,\n", &o, UL_E_USAGE, "give one");
  ul_foam dense = *ul_foam_generic(2); /* nobody asked for that pack */
  dense.free_kg_m3 = (ul_span){1000, 1000};
  o = two_litres();
  o.foam = &dense;
  judged_wrong(HEAD ",,1500,,,1400,,,,,,\n", &o, UL_E_CARD, "1000 kg/m3 by the foam card, is more");
  o.foam = NULL;
  judged_wrong(HEAD ",,1500,,,1400,1000,1000,,,,\n", &o, UL_E_READ, "kg/m3 by the cups, is more");
}

/* Cups of 62 kg/m3, 75 wanted: 2 l weigh 150 g, whatever the card's 60 says. */
static void a_density_that_is_wanted_is_reached_by_the_cups(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  o.want_kg_m3 = 75;
  ul_shots_said s = said(HEAD ",,160,,,150,31,500,,,,\n", &o);
  assert_rel(s.next_charge_g, 160, 1e-12);
  assert_rel(s.target_pack, 75 / 62.0, 1e-12);
  assert_true(s.aim_fills);
  o.want_kg_m3 = 50;
  s = said(HEAD ",,160,,,150,31,500,,,,\n", &o);
  assert_false(s.aim_fills);
  assert_true(remarked(HEAD ",,160,,,150,31,500,,,,\n", &o,
                       "Does not fill: pack 0.806 is under 1: even in the open this charge would "
                       "not fill the mould; take 1.1 to 1.3, or 68.2 to 80.6 kg/m3."));
}

static void what_is_doubtful_is_said(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  o.card = "cushion-60";
  assert_true(remarked(HEAD ",,120,,,110,,,,,,\n", &o, "Line 2 reached pack 0.917, and under 1"));
  assert_false(remarked(HEAD ",,120,,,110,,,,,,short\n", &o, "under 1"));
  assert_true(remarked(HEAD ",,150,,,140,31,,,,,\n", &o, "Line 2 has cup_g without cup_ml"));
  assert_true(remarked(HEAD ",,150,,,140,,500,,,,\n", &o, "Line 2 has cup_ml without cup_g"));
  const char *rigid = HEAD ",rigid-40,150,,,140,,,,,,\n",
             *cushion = HEAD ",shop/Cushion-60.card,150,,,140,,,,,,\n,,150,,,140,,,,,,\n";
  assert_true(remarked(rigid, &o, "The card of line 2 is rigid-40; what is asked for, cushion-60"));
  assert_false(remarked(cushion, &o, "ard"));
  assert_true(remarked(HEAD ",rigid-40,150,,,140,,,,,,\n,cushion-60,150,,,140,,,,,,\n", &o,
                       "Line 2 is of rigid-40 and line 3 of cushion-60"));
  o.foam = NULL, o.card = NULL;
  assert_true(remarked(rigid, &o, "The card rigid-40 of line 2 is neither"));
  assert_true(remarked("part_g,liquid c,charge_g,Remarks,mold_c\n140,20,150,fine,22\n", &o,
                       "no column has that name here: Remarks, mold_c."));
}

static void a_table_does_with_the_columns_it_needs(void **state) {
  (void)state;
  ul_shots *shots = table("part_g,charge_g\n140,150\n");
  const ul_shot *s = shots->shot;
  assert_true(s->part_g == 140 && s->charge_g == 150 && !*s->card && !*shots->unknown);
  assert_true(isnan(s->cup_g) && isnan(s->cup_ml) && isnan(s->liquid_c) && isnan(s->mould_c));
  assert_int_equal(s->symptom, UL_SYMPTOM_NONE);
  ul_shots_free(shots);
}

static void the_last_fault_is_the_one_explained(void **state) {
  (void)state;
  ul_shots_opts o = two_litres();
  ul_shots_said s =
      said(HEAD ",,160,,,144,,,,,,soft\n,,160,,,144,,,,,,split\n,,160,,,144,,,,,,ok\n", &o);
  assert_int_equal(s.faulty, 1);
}

static void refused(const char *text, const char *says) {
  ul_shots *shots = NULL;
  ul_error err = {0};
  assert_int_equal(read_text(text, &shots, &err), UL_E_READ);
  assert_null(shots);
  if (!strstr(err.text, says)) print_message("said: %s\n", err.text);
  assert_non_null(strstr(err.text, says));
}

static void what_is_wrong_in_a_table_is_said_with_its_line(void **state) {
  (void)state;
  refused("date,card,charge_g\n1,2,3\n", "no column part_g (the part without flash)");
  refused("charge_g,liquid_c\n1,2\n",
          "no column part_g (the part without flash): the first line names date");
  refused("part_g,charge_g,vent_1_s,vent 1 s\n1,2,3,4\n",
          "vent_1_s stands twice in the first line");
  refused("charge_g,part_g,Charge (g)\n1,1,2\n",
          "charge_g stands twice in the first line: keep one");
  refused("charge_g,Charge (g)\n1,1\n", "charge_g stands twice, and no column part_g (the part");
  refused(HEAD, "no shot yet");
  refused(HEAD ",,heavy,,,150,,,,,,\n", "line 2: charge_g = heavy is no number");
  refused("charge_g;part_g\n1,000;950\n",
          "line 2: charge_g = 1,000: a comma of thousands or a decimal one? write 1000 or 1");
  refused(HEAD ",,160 g,,,150,,,,,,\n", "without a unit");
  refused(HEAD ",,,,,150,,,,,,\n", "line 2: no charge_g (all that was weighed in)");
  refused(HEAD ",,160,,,-3,,,,,,\n", "line 2: part_g = -3 is out of range");
  refused(HEAD ",,160,400,,150,,,,,,\n", "liquid_c = 400 is out of range");
  refused(HEAD ",,160,,,170,,,,,,\n", "are the two swapped?");
  refused(HEAD ",,160,,,150,,,,,,wobbly\n", "symptom wobbly is not known: use one of none, miss");
  refused(HEAD ",,160,5,,,150,,,,,,\n", "if a comma is your decimal mark");
}

static void senseless_questions_are_refused(void **state) {
  (void)state;
  ul_shots *shots = table(HEAD ",,160,,,150,,,,,,\n");
  ul_shots_opts o = ul_shots_opts_default();
  ul_shots_said s;
  o.litres = -1;
  assert_int_equal(ul_shots_judge(shots, &o, &s, NULL), UL_E_USAGE);
  o = ul_shots_opts_default();
  o.cookie = 0;
  assert_int_equal(ul_shots_judge(shots, &o, &s, NULL), UL_E_USAGE);
  o = ul_shots_opts_default();
  shots->count = 0;
  assert_int_equal(ul_shots_judge(shots, &o, &s, NULL), UL_E_USAGE);
  ul_shots_free(shots);
}

static void without_memory_it_says_so_and_leaks_nothing(void **state) {
  (void)state;
  ul_status status = UL_E_MEMORY;
  for (long n = 1; status == UL_E_MEMORY; n++) {
    ul_shots *shots = NULL;
    ul_memory_fail_at(n);
    status = read_text(HEAD ",,160,,,150,,,,,,\n", &shots, NULL);
    ul_memory_fail_at(0);
    assert_true(status == UL_OK || status == UL_E_MEMORY);
    ul_shots_free(shots);
    if (n == 1) assert_int_equal(status, UL_E_MEMORY);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_row_is_read_whole),
      cmocka_unit_test(a_spreadsheet_with_decimal_commas_says_the_same),
      cmocka_unit_test(the_next_charge_by_hand),
      cmocka_unit_test(one_cup_is_taken_to_be_good_to_a_twentieth),
      cmocka_unit_test(without_cups_the_card_speaks_and_without_both_nobody),
      cmocka_unit_test(without_litres_there_is_no_next_charge),
      cmocka_unit_test(a_short_part_asks_for_a_twentieth_more_up_to_the_card),
      cmocka_unit_test(what_the_numbers_show_comes_first),
      cmocka_unit_test(every_symptom_has_causes_and_drilling_is_never_first),
      cmocka_unit_test(the_charge_is_a_cause_only_where_the_next_one_goes_its_way),
      cmocka_unit_test(after_a_split_no_more_is_poured_until_its_cause_is_found),
      cmocka_unit_test(after_a_short_part_no_less_is_poured),
      cmocka_unit_test(why_the_charge_is_no_cause_is_said),
      cmocka_unit_test(a_pack_asked_for_does_not_clear_the_charge),
      cmocka_unit_test(a_charge_held_back_under_a_free_rise_does_not_fill),
      cmocka_unit_test(a_slip_of_the_pen_in_a_charge_is_not_poured_again),
      cmocka_unit_test(a_doubted_charge_holds_nothing_back_and_clears_nothing),
      cmocka_unit_test(what_would_burst_the_mould_is_never_good),
      cmocka_unit_test(cups_and_packs_that_cannot_be_right_are_said),
      cmocka_unit_test(what_cannot_be_is_refused_with_its_line),
      cmocka_unit_test(a_density_that_is_wanted_is_reached_by_the_cups),
      cmocka_unit_test(what_is_doubtful_is_said),
      cmocka_unit_test(a_table_does_with_the_columns_it_needs),
      cmocka_unit_test(the_last_fault_is_the_one_explained),
      cmocka_unit_test(what_is_wrong_in_a_table_is_said_with_its_line),
      cmocka_unit_test(senseless_questions_are_refused),
      cmocka_unit_test(without_memory_it_says_so_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
