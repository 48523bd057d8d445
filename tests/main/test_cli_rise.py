"""What a foam's rise tells, value by value, against arithmetic of the test's own."""

import csv
import math
import os
import pathlib
import pty
import re
import select
import signal
import subprocess
import sys
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import PROGRAM, Case, box, stl, ullage

P0 = 101.325  # kPa
CUBE = 5
LIQUID, FREE, CREAM, GEL, RISE, DONE = 1100, 60, 45, 120, 140, 0.98  # of the card below, and of docs/foam-card.md
CARD = (f"name = ball\nclass = rigid\nliquid density = {LIQUID} kg/m3\nfree-rise density = {FREE} kg/m3\nviscosity = 1 Pa s\n"
        f"a to b = 100:100\ncream = {CREAM} s\ngel = {GEL} s\nrise = {RISE} s\ntemperature = 20 C\n")
PACK = 1.3
SIZE = (120, 80, 50)
LITRES = 0.48
CORNERS = [w for x in (0, 120) for y in (0, 80) for w in ("--vent", f"{x},{y},50")]
BOTH = box((60, 40, 50)) + box((60, 40, 50), (80, 0, 0))
BOTH_CM3 = 120


def level_foam_is_there(share, pack):
    """When a charge that rises freely has filled that share."""
    x = FREE / LIQUID
    progress = (share / pack - x) / (1 - x)
    return CREAM + (RISE - CREAM) * math.sqrt(math.log(1 - progress) / math.log(1 - DONE))


def packed_kpa(pack):
    """Gauge, of a charge shut in with no air."""
    x = FREE / LIQUID
    return P0 * (pack * (1 - x) * DONE / (1 - pack * x) - 1)


def density_at(kpa):
    return LIQUID / (1 + (LIQUID / FREE - 1) * DONE * P0 / (P0 + kpa))


def empty_cm3(outcome):
    return sum(t["void_cm3"] for t in outcome["trapped"]) + outcome["small_voids_cm3"] + outcome["short_cm3"]


def leaves(value, path=""):
    """(path, value) of everything that is neither object nor list."""
    if isinstance(value, (dict, list)):
        for key, below in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(below, f"{path}.{key}")
    else:
        yield path, value


class Rise(Case):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.card = cls.file("ball.card", CARD)
        cls.box = cls.file("box.stl", stl(box(SIZE)))
        cls.two = cls.file("two.stl", stl(BOTH))
        cls.known = ("--foam", cls.card)
        cls.usual = ("--cube", CUBE, "--pack", PACK)
        # all that can happen: in two cavities, turned, with a seam, a vent that goes under and one too few
        cls.eventful = ("--poured-up", "-1,0,1", "--up", "0.1,0.05,1", "--pour", "10,20,0", "--pour", "100,20,0",
                        "--vent", "60,40,50", "--vent", "0,0,2,2,plug", "--vent", "82,20,50,2", "--vent", "0,0,50",
                        "--vent", "0,40,50", "--vent", "60,0,50", "--parting", "z=30", "--seam-gap", 0.02)
        cls.hands = ("--mix-s", 8, "--pour-s", 5, "--close-s", 5, "--turn-s", 5)

    def rise(self, code, mesh, *words):
        return self.result(code, "rise", mesh, *self.usual, *self.known, *words)

    def table(self, name):
        with open(self.path(name), newline="") as file:
            return list(csv.DictReader(file))

    def near(self, got, want, share):
        self.assertLess(abs(got / want - 1), share, (got, want))

    # --- a box that fills ---

    def test_a_full_box_weighs_what_went_in_and_stands_at_the_packing_pressure(self):
        r = self.rise(0, self.box, *CORNERS)
        self.assertEqual([r[key] for key in ("rise", "foam", "pack", "mobility", "cube_mm", "good", "verdict", "meets")],
                         ["foam", "ball", PACK, "whole", CUBE, True, "fills", []])
        self.assertEqual(r["tilt"], {"up": [0, 0, 1], "raise_deg": {"x": 0, "y": 0}})
        (cavity,) = r["cavities"]
        self.assertEqual(cavity["id"], 1)
        o = cavity["outcome"]
        self.near(o["mass_in_g"], LITRES * FREE * PACK, 1e-9)
        self.near(o["mass_out_g"], sum(v["bled_g"] for v in r["vents"]), 1e-9)
        self.assertEqual([o[key] for key in ("trapped", "filled_fraction", "end_s", "seam", "pour_end_mm")], [[], 1, RISE, None, None])
        self.assertEqual([o[key] for key in ("short_cm3", "small_voids_cm3", "unreached_cm3", "rim_over_mm")], [0] * 4)
        held = 1 - o["mass_out_g"] / o["mass_in_g"]
        density = o["density_kg_m3"]
        self.near(density["mean"], FREE * PACK * held, 1e-6)
        self.assertTrue(density["min"] < density["mean"] < density["max"])
        self.near(density["max"], density["min"], 0.01)
        self.near(o["end_kpa"], packed_kpa(PACK * held), 1e-3)
        self.near(density["mean"], density_at(o["end_kpa"]), 1e-3)
        self.assertAlmostEqual(o["peak_kpa"], o["end_kpa"] + density["mean"] * 9.81 * 0.025 / 1000, delta=0.01)  # on the floor
        self.assertEqual(o["last_reached_mm"][2], SIZE[2] - CUBE / 2)
        (full,) = (e["s"] for e in r["events"] if e["what"] == "full")
        self.assertTrue(0 <= full - level_foam_is_there(1, PACK) < 3, full)
        for vent in r["vents"]:  # what is full has covered its vents
            self.assertLessEqual(vent["foam_shows_s"], vent["clogs_s"])
            self.assertLessEqual(vent["clogs_s"], full)

    def test_what_is_not_said_is_as_the_help_says(self):
        plain = self.rise(0, self.box, *CORNERS)
        said = [word + ",3,leave" if word[0] != "-" else word for word in CORNERS]
        self.assertEqual(self.rise(0, self.box, *said, "--pour", "auto", "--mobility", "whole", "--void-ok", 0.05, "--wall", 25, "--up", "0,0,1",
                                   "--mix-s", 25, "--pour-s", 10, "--close-s", 10, "--turn-s", 5), plain)
        self.assertEqual([(v["diameter_mm"], v["then"], v["kind"]) for v in plain["vents"]], [(3, "leave", "vent")] * 4)
        self.assertEqual(plain["cavities"][0]["outcome"]["pour_mm"][2], 0)  # its lowest place

    def test_a_cup_and_the_liquids_temperature_change_the_foam(self):
        r = self.rise((0, 1), self.box, *CORNERS, "--cup-test", "25,500", "--liquids-c", 30)
        self.near(r["cavities"][0]["outcome"]["mass_in_g"], LITRES * 50 * PACK, 1e-9)
        s = {e["what"]: e["s"] for e in r["events"]}
        self.assertEqual([s[what] for what in ("cream", "gel", "set")], [CREAM / 2, GEL / 2, RISE / 2])  # twice as fast for 10 K
        r = self.rise((0, 1), self.box, *CORNERS, "--pack", 1.25, "--void-ok", 5)
        self.near(r["cavities"][0]["outcome"]["mass_in_g"], LITRES * FREE * 1.25, 1e-9)

    # --- one with a vent too few ---

    def test_shut_in_air_keeps_to_boyle_and_is_told_by_volume(self):
        words = ("--raise", "+x=4,+y=2", "--vent", "60,40,50", "--mix-s", 20)
        r = self.rise(1, self.box, *words)
        x, y = math.sin(math.radians(4)), math.sin(math.radians(2))
        for got, want in zip(r["tilt"]["up"], (x, y, math.sqrt(1 - x * x - y * y)), strict=True):
            self.assertAlmostEqual(got, want, delta=1e-12)
        self.assertAlmostEqual(r["tilt"]["raise_deg"]["x"], 4, delta=1e-9)
        self.assertAlmostEqual(r["tilt"]["raise_deg"]["y"], 2, delta=1e-9)
        self.assertFalse(r["good"])
        o = r["cavities"][0]["outcome"]
        air = o["trapped"][0]
        self.near(air["air_cm3"] * P0, air["void_cm3"] * (P0 + air["kpa"]), 2e-3)
        self.near(air["kpa"], o["end_kpa"], 0.01)
        self.assertEqual(air["cut_off_s"], r["vents"][0]["clogs_s"])  # the only way out
        self.assertEqual(air["at_mm"][2], SIZE[2])
        self.assertLess(abs(air["across_mm"] - math.hypot(120, 80)), 4 * CUBE)  # under the lid from corner to corner
        room = 1 - empty_cm3(o) / (1000 * LITRES)
        self.assertAlmostEqual(o["filled_fraction"], room, delta=1e-9)
        self.near(o["end_kpa"], packed_kpa(PACK / room * (1 - o["mass_out_g"] / o["mass_in_g"])), 2e-3)
        self.assertRegex(r["verdict"], f"does not fill: {air['void_cm3']:.3g} cm3 stay shut in at x ")
        let_be = self.rise(0, self.box, *words, "--void-ok", air["void_cm3"] + 1)
        self.assertEqual(let_be["cavities"][0]["outcome"], {**o, "trapped": [], "small_voids_cm3": empty_cm3(o)})
        self.assertEqual((let_be["good"], let_be["verdict"]), (True, "fills"))
        text = ullage("rise", self.box, *self.usual, *self.known, *words, "--void-ok", air["void_cm3"] + 1).stdout
        self.assertIn(f"{empty_cm3(o):.3g} cm3 more in voids too small to matter", text)

    # --- what happens, in order ---

    def happened(self, r, cavity):
        """(what, vent, s) of all but the air cut off and the end of the air, from the other keys."""
        o = cavity["outcome"]
        yield from ((what, None, s) for what, s in (("poured", 13), ("turned", 23), ("cream", CREAM), ("gel", GEL), ("set", o["end_s"]),
                                                    ("foam shows at the seam", o["seam"]["foam_shows_s"])))
        for v in r["vents"]:
            if v["cavity"] == cavity["id"]:
                for what, key in (("foam shows at a vent", "foam_shows_s"), ("vent covered", "clogs_s")):
                    if v[key]:
                        yield what, v["id"], v[key]
                if v["liquid_over_mm"]:
                    yield "liquid stands over an opening", v["id"], 23

    def test_every_event_is_at_the_time_and_place_that_the_other_keys_say(self):
        r = self.rise(1, self.two, *self.eventful, *self.hands)
        self.assertEqual([c["id"] for c in r["cavities"]], [1, 2])
        self.assertEqual([v["cavity"] for v in r["vents"]], [1, 1, 2, 1, 1, 1])
        self.assertEqual([e["s"] for e in r["events"]], sorted(e["s"] for e in r["events"]))
        seen = set()
        for cavity in r["cavities"]:
            o = cavity["outcome"]
            mine = [e for e in r["events"] if e["cavity"] == cavity["id"]]
            seen |= {e["what"] for e in mine}
            whats = {"air cut off", "full"}
            self.assertEqual(sorted((e["what"], e["vent"] or 0, e["s"]) for e in mine if e["what"] not in whats),
                             sorted((what, vent or 0, s) for what, vent, s in self.happened(r, cavity)))
            cut_off = {e["s"] for e in mine if e["what"] == "air cut off"}
            self.assertLessEqual({t["cut_off_s"] for t in o["trapped"]}, cut_off)
            self.assertEqual([e["what"] for e in mine].count("full"), o["filled_fraction"] == 1)
            for e in mine:
                where = {"poured": o["pour_mm"]}.get(e["what"])
                if e["vent"]:
                    where = r["vents"][e["vent"] - 1]["at_mm"]
                if where:
                    self.assertLessEqual(max(abs(a - b) for a, b in zip(e["at_mm"], where)), CUBE, e)
                elif e["what"] in ("air cut off", "foam shows at the seam"):
                    self.assertTrue(all(lo < a < hi for a, lo, hi in zip(e["at_mm"], (80 * cavity["id"] - 80, 0, 0), (140, 40, 50))), e)
                else:
                    self.assertIsNone(e["at_mm"], e)
        self.assertEqual(len(seen), 11)  # every word there is
        under = r["vents"][1]
        self.assertEqual((under["then"], under["bled_g"], under["foam_shows_s"]), ("plug", 0, CREAM))
        self.assertEqual([v["liquid_over_mm"] > 0 for v in r["vents"]], [v is under for v in r["vents"]])

    def test_a_seam_shows_foam_when_it_stands_there(self):
        r = self.rise(1, self.two, *self.eventful, *self.hands)
        for cavity in r["cavities"]:
            o = cavity["outcome"]
            self.assertAlmostEqual(o["seam"]["length_mm"], 200, delta=1e-3)
            # lying 6 degrees off, foam is at the low side first
            low, high = (level_foam_is_there(z / 50, PACK) for z in (30 - 60 * 0.1 / 2 - CUBE, 30 + CUBE))
            self.assertTrue(low < o["seam"]["foam_shows_s"] < high, (low, o["seam"]["foam_shows_s"], high))
            bled = sum(v["bled_g"] for v in r["vents"] if v["cavity"] == cavity["id"])
            self.near(o["mass_out_g"], bled + o["seam"]["bled_g"], 1e-9)
            self.near(o["mass_in_g"], BOTH_CM3 / 1000 * FREE * PACK, 1e-9)
        self.assertEqual(r["clock"]["turn_before"], "it creams")

    # --- the table of its steps ---

    def test_a_series_ends_in_what_the_result_says(self):
        r = self.rise(1, self.two, *self.eventful, *self.hands, "--series", self.path("series.csv"))
        rows = self.table("series.csv")
        self.assertEqual([row["cavity"] for row in rows], sorted(row["cavity"] for row in rows))
        for cavity in r["cavities"]:
            o = cavity["outcome"]
            mine = [{key: float(value) for key, value in row.items()} for row in rows if row["cavity"] == str(cavity["id"])]
            self.assertEqual((mine[0]["time_s"], mine[-1]["time_s"]), (CREAM, RISE))
            self.assertEqual([row["time_s"] for row in mine], sorted(row["time_s"] for row in mine))
            self.assertAlmostEqual(mine[0]["filled"], PACK * FREE / LIQUID, delta=1e-6)
            self.assertAlmostEqual(max(row["peak_kpa"] for row in mine), o["peak_kpa"], delta=1e-4)
            self.assertAlmostEqual(mine[-1]["air_cm3"], empty_cm3(o), delta=1e-4)
            self.assertAlmostEqual(mine[-1]["shut_in_cm3"], empty_cm3(o) - o["short_cm3"], delta=1e-4)
            cut_off = min((e["s"] for e in r["events"] if (e["what"], e["cavity"]) == ("air cut off", cavity["id"])), default=math.inf)
            for row in mine:
                self.assertAlmostEqual(row["filled"], 1 - row["air_cm3"] / BOTH_CM3, delta=2e-6)
                self.assertEqual(row["shut_in_cm3"] > 0, row["time_s"] >= cut_off - 1e-4 and row["air_cm3"] > 0)
            full = [e["s"] for e in r["events"] if (e["what"], e["cavity"]) == ("full", cavity["id"])]
            self.assertEqual([row["time_s"] for row in mine if row["air_cm3"] == 0][:1], [round(s, 4) for s in full])

    # --- without a card ---

    def test_without_a_card_no_output_has_grams_clock_or_pressure(self):
        words = ("rise", self.two, *self.usual, *self.eventful, "--series", self.path("none.csv"))
        r = self.result(1, *words)
        self.assertIsNone(r["clock"])
        untold = [path for path, value in leaves(r) if re.search(r"(_s|\.s|_g|kpa|density_kg_m3\.\w+)$", path)]
        self.assertGreater(len(untold), 40)
        self.assertEqual([path for path, value in leaves(r) if path in untold and value is not None], [])
        self.assertGreater(len(r["cavities"][1]["outcome"]["trapped"]), 0)
        text = ullage(*words).stdout
        self.assertNotRegex(text.split("name a card")[1], r"\d g\b|\d s\b|kPa|kg/m3|second|gram|clock")
        for cavity in "12":
            mine = [row for row in self.table("none.csv") if row["cavity"] == cavity]
            self.assertEqual({row["peak_kpa"] for row in mine}, {""})
            shares = [float(row["share_of_the_rise"]) for row in mine]
            self.assertEqual(shares, sorted(shares))
            self.assertEqual((shares[0] > 0, shares[-1]), (True, 1))
        self.assertNotIn("time_s", mine[0])

    # --- in words ---

    def test_the_hands_and_sides_are_told_as_given_or_as_assumed(self):
        words = ("rise", self.box, *self.usual, *self.known, *CORNERS, "--raise", "+x=4")
        text = " ".join(ullage(*words).stdout.split())
        self.assertIn("(from the start of mixing; mix 25, pour 10, close 10, turn 5 s are assumed)", text)
        self.assertIn("+x side raised 4 degrees", text)
        text = " ".join(ullage(*words, "--side", "+x=hinge", "--mix-s", 20).stdout.split())
        self.assertNotIn("assumed", text)
        self.assertIn("hinge side raised 4 degrees", text)
        self.assertNotIn("+x side", text)

    def test_of_several_cavities_each_event_says_which(self):
        words = ("rise", self.two, *self.usual, *self.known, *self.eventful, *self.hands)
        text = ullage(*words).stdout
        for cavity in "12":
            self.assertRegex(text, rf"(?m)^140 s +cavity {cavity}: set$")
            self.assertRegex(text, rf"(?m)^\d+ s +cavity {cavity}: foam shows at the seam, x ")
        self.assertRegex(text, r"(?m)^23 s +cavity 1: liquid stands over vent 2, x 0.0  y 0.0  z 2.0 mm$")
        self.assertLessEqual(max(map(len, text.splitlines())), 80)
        self.assertNotIn("cavity 1: ", ullage("rise", self.box, *self.usual, *CORNERS).stdout)

    # --- what is poured runs out ---

    def test_liquid_over_the_rim_or_a_pour_hole_is_told_with_its_depth(self):
        deep = self.mesh(box((60, 50, 90)))
        vents = [w for x in (0, 60) for y in (0, 50) for w in ("--vent", f"{x},{y},90,3,plug")]
        quick = ("--mix-s", 5, "--pour-s", 5)
        depth = 3 * FREE / LIQUID * 90
        for up, over, x in (("0,0,1", depth - 10, 2.5), ("0.1,0,1", (depth + 30 * 0.1 - 10) / math.hypot(1, 0.1), 0)):
            r = self.rise(1, deep, *vents, *quick, "--pack", 3, "--parting", "z=10", "--up", up)
            o = r["cavities"][0]["outcome"]
            self.assertAlmostEqual(o["rim_over_mm"], over, delta=1e-9 if up == "0,0,1" else CUBE / 200)
            self.assertRegex(r["verdict"], f"^runs out: poured, the liquid stands {o['rim_over_mm']:.3g} mm over the rim at x {x:.1f}  y .*  z 10.0 mm; "
                                           r"pour it in another attitude \(--poured-up\) or through a hole \(--pour-hole\)$")
            self.assertFalse(r["good"])
            (wet,) = (e for e in r["events"] if e["what"] == "liquid stands over an opening")
            self.assertEqual((wet["s"], wet["vent"], wet["at_mm"][2]), (10, None, 10))
        under = self.rise(0, deep, *vents, *quick, "--pack", 3, "--parting", "z=25")
        self.assertEqual(under["cavities"][0]["outcome"]["rim_over_mm"], 0)
        shut = ("--pack", 3, "--parting", "z=10", "--pour-hole", "30,25,90,12,plug")  # poured shut: its rim lets nothing out
        r = self.rise(0, deep, *vents, *quick, *shut)
        self.assertEqual(r["cavities"][0]["outcome"]["rim_over_mm"], 0)
        self.assertNotIn("liquid stands over an opening", [e["what"] for e in r["events"]])
        self.assertNotIn("over the rim", ullage("rise", deep, *self.usual, *vents, *quick, *shut).stdout)
        r = self.rise((0, 1), deep, *vents, *quick, *shut, "--seam-gap", 0.05)  # but for a seam that gapes
        self.assertAlmostEqual(r["cavities"][0]["outcome"]["rim_over_mm"], depth - 10, delta=1e-9)
        r = self.rise(1, deep, *vents, *quick, "--pour-hole", "0,25,4,6")
        over = PACK * FREE / LIQUID * 90 - 4
        self.assertAlmostEqual(r["vents"][4]["liquid_over_mm"], over, delta=1e-9)
        self.assertRegex(r["verdict"], f"^runs out: before it creams the liquid stands {over:.3g} mm over the pour hole at x 0.0  y 25.0  z 4.0 mm")

    # --- what leaves by the holes ---

    def test_a_charge_that_leaves_by_a_hole_is_told_on_the_terminal_and_in_the_verdict(self):
        """A hole of 20 mm low in the side, left open: it said "fills", and of the grams only how many went in."""
        words = ("rise", self.box, *self.usual, *self.known, *CORNERS, "--pour-hole", "120,40,10,20")
        told = self.result(1, *words)
        o = told["cavities"][0]["outcome"]
        hole = told["vents"][4]["bled_g"]
        share = 100 * o["mass_out_g"] / o["mass_in_g"]
        self.assertGreater(share, 5)
        self.assertFalse(told["good"])
        self.assertEqual(o["trapped"], [])
        said = (f"loses {share:.0f} % of its charge, {o['mass_out_g']:.3g} of {o['mass_in_g']:.3g} g, by the pour hole at x 120.0  y 40.0  z 10.0 mm; "
                'plug it when foam shows (",plug"), make it smaller, or weigh more (--pack)')
        self.assertEqual(told["verdict"], said)
        text = " ".join(ullage(*words).stdout.split())
        self.assertIn(f"{o['mass_in_g']:.3g} g in, {o['mass_out_g']:.3g} g of it out by the holes, highest pressure", text)
        self.assertIn(f"{hole:.3g} g ({100 * hole / o['mass_in_g']:.0f} %) leave by the pour hole", text)
        self.assertNotRegex(text, r"leave by vent \d")  # a few milligrams each
        bare = self.result(1, "rise", self.box, *self.usual, *CORNERS, "--pour-hole", "120,40,10,20")["verdict"]
        self.assertRegex(bare, "^loses .* % of its charge by the pour hole")  # no card: no grams
        self.assertEqual(self.result(0, *words[:-1], words[-1] + ",plug")["verdict"], "fills")

    def test_what_is_lost_is_told_also_where_something_else_is_wrong(self):
        slow = self.rise(1, self.box, *CORNERS, "--pour-hole", "120,40,10,20", "--mix-s", 90)
        self.assertRegex(slow["verdict"], "^too slow for this foam: .*[.] Also: loses .* % of its charge, .* g, by the pour hole at")
        many = self.rise(1, self.two, "--vent", "0,0,2,9", "--vent", "0,40,2,9", "--vent", "60,20,50", "--vent", "110,20,50")
        self.assertRegex(many["verdict"], "loses .* % of the charge of cavity 1, .* g, by its holes, most by vent [12] at .*; plug them when")

    def test_a_pressure_that_hurts_is_told_as_charge_tells_it(self):
        """517 kPa was said to fill."""
        shut = [w + ",3,plug" if w[0] != "-" else w for w in CORNERS]
        for pack, more in (5, shut), (8, CORNERS):  # what bleeds makes less, until a hole is blocked
            charged = self.result(1, "charge", self.box, *self.known, "--cubes", 9000, "--pack", pack)
            self.assertRegex(charged["verdict"], "^dangerous: ")
            told = self.rise(1, self.box, *more, "--pack", pack)
            self.assertRegex(told["verdict"], "^dangerous: .* kPa.*, where foam moulds usually see no more than 345; lower --pack")
        self.assertRegex(told["verdict"], r"Also: loses .*or make them smaller$")  # and not: weigh more
        self.assertNotIn("dangerous", self.rise((0, 1), self.box, *shut, "--pack", 3)["verdict"])
        self.assertNotIn("dangerous", self.result((0, 1), "rise", self.box, *self.usual, "--pack", 8)["verdict"])  # no card, no pressure

    def test_a_level_rise_lists_its_vents_and_then_its_pour_holes(self):
        told = self.result(0, "rise", self.box, "--cube", CUBE, "--level", "--vent", "60,40,50", "--pour-hole", "30,20,50,8")
        self.assertEqual([(v["id"], v["at_mm"], v["diameter_mm"], v["kind"]) for v in told["vents"]],
                         [(1, [60, 40, 50], 3, "vent"), (2, [30, 20, 50], 8, "pour hole")])

    def test_a_level_rise_never_fills_more_than_all(self):
        """Sums of shares came to 1 + 3e-13: a script that asks for no more than 1 failed."""
        for sides in ((30, 25, 40), (37.3, 28.1, 38.3), (44.6, 31.2, 36.6)):
            told = self.result(0, "rise", self.mesh(box(sides)), "--cubes", 8000, "--level", "--vent", ",".join(map(str, sides)))
            self.assertTrue(1 - 1e-9 < told["cavities"][0]["outcome"]["filled_fraction"] <= 1)

    def test_a_hole_wider_than_the_cavity_is_refused(self):
        far = math.hypot(*SIZE)
        self.refused(2, (f"--vent 60,40,50 is 1e+06 mm wide, but its cavity {far:.4g} mm from corner to corner", "in mm"),
                     "rise", self.box, *self.usual, "--vent", "60,40,50,1e6")
        self.refused(2, "--pour-hole 60,40,50 is 160 mm wide", "rise", self.box, "--cube", CUBE, "--level", "--pour-hole", "60,40,50,160")
        self.refused(2, "from corner to corner", "rise", self.two, *self.usual, "--vent", "110,20,50,100")  # of its own cavity, 88 mm

    # --- round an insert ---

    def test_foam_round_an_insert_meets_behind_it(self):
        """From floor to lid through the middle of a flat box, poured beside it: two ways of one length."""
        pin = self.file("pin.stl", stl(box((60, 40, 50), (30, 20, -10))))
        thick = self.file("thick.card", CARD.replace("viscosity = 1 Pa s", "viscosity = 20 Pa s\ngel cap = 10"))
        r = self.result(1, "rise", self.mesh(box((120, 80, 30))), "--foam", thick, "--cube", 4, "--pack", PACK, "--insert", pin,
                        "--pour", "10,40,0", "--vent", "120,40,30")
        o = r["cavities"][0]["outcome"]
        cm3 = 12 * 8 * 3 - 6 * 4 * 3
        self.near(o["mass_in_g"], cm3 / 1000 * FREE * PACK, 1e-6)
        self.assertAlmostEqual(o["filled_fraction"], 1 - empty_cm3(o) / cm3, delta=1e-6)
        self.assertGreater(o["small_voids_cm3"], 0)
        (meet,) = r["meets"]
        self.assertTrue(90 < meet["at_mm"][0] < 120, meet)
        self.assertLess(abs(meet["at_mm"][1] - 40), 4)
        self.assertTrue(90 < meet["angle_deg"] < 180, meet)
        self.assertTrue(0.5 * 9 < meet["area_cm2"] < 9, meet)  # it is 30 by 30 mm there
        self.assertEqual(meet["cavity"], 1)
        self.assertTrue(level_foam_is_there(0.8, PACK) < meet["s"] < level_foam_is_there(1, PACK), meet)

    # --- the machine ---

    def test_the_same_bytes_for_any_number_of_threads(self):
        told = []
        for threads in (1, 2, 7):
            files = [self.path(name) for name in ("same.csv", "same.vti")]
            ran = ullage("rise", self.two, "--cubes", 8000, "--pack", PACK, *self.known, *self.eventful, *self.hands, "--threads", threads,
                         "--series", files[0], "--field", files[1], "--json")
            self.assertEqual(ran.returncode, 1, ran.stderr)
            told.append([ran.stdout, *(pathlib.Path(file).read_bytes() for file in files)])
        self.assertEqual(told[1:], told[:1] * 2)

    def test_a_terminal_sees_how_long_it_will_take_and_nobody_else_does(self):
        """Three that would take long, stopped when the first has told."""
        words = [PROGRAM, "rise", self.box, "--cubes", 200000, *self.known, *CORNERS, "--threads", 1]
        seen = {}
        ends = {name: pty.openpty() for name in ("terminal", "quiet")}
        ends["file"] = os.pipe()
        runs = [subprocess.Popen([*map(str, words), *(["--quiet"] if name == "quiet" else [])], stdout=subprocess.DEVNULL, stderr=write)
                for name, (_, write) in ends.items()]
        bar = re.compile(r"\r(\w[\w ]*?) +#*\.* +\d+ %  \d+ s left ")
        until = time.monotonic() + 60
        while not bar.search(seen.get("terminal", "")) and time.monotonic() < until:
            for name, (read, _) in ends.items():
                if select.select([read], [], [], 0.1)[0]:
                    seen[name] = seen.get(name, "") + os.read(read, 65536).decode()
        for run in runs:
            self.assertIsNone(run.poll())
            run.send_signal(signal.SIGINT)
        self.assertEqual([run.wait(timeout=60) for run in runs], [-signal.SIGINT] * 3)
        for read, write in ends.values():
            os.close(read)
            os.close(write)
        self.assertRegex(seen["terminal"], bar)
        self.assertEqual(list(seen), ["terminal"])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
