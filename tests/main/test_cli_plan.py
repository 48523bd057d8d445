"""A plan with a foam as a user or a script meets it: vents, their size, the table, the tries, what exists already."""

import csv
import json
import os
import pathlib
import re
import subprocess
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import Case, box, cells, stl, ullage

SIZE = (120, 80, 40)
QUICK = ("--foam", "cushion-60", "--mix-s", 8, "--pour-s", 5, "--close-s", 5)  # hands quick enough for the card
SMALL = ("--cubes", 2000, "--scatter", 4, "--tries", 20)


def boss():
    """A block of 160 x 100 x 40 mm with one of 40 x 30 x 25 on it, as one skin."""
    return cells((0, 100, 140, 160), (0, 50, 80, 100), (0, 40, 65), lambda x, y, z: z == 0 or (x, y) == (1, 1))


class Plan(Case):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.box = cls.file("box.stl", stl(box(SIZE)))
        cls.level = cls.path("level")
        ran = ullage("plan", cls.box, *QUICK, *SMALL, "--up", "0,0,1", "-o", cls.level)
        cls.code, cls.text = ran.returncode, ran.stdout
        cls.plan = json.loads(pathlib.Path(cls.level, "plan.json").read_text())

    def planned(self, mesh, *words):
        return self.result((0, 1), "plan", mesh, *words, "-o", self.path("out"))

    # --- one plan looked at from all sides ---

    def test_a_level_lid_is_vented_in_its_corners(self):
        """Small holes in the corners of the lid beat one in its middle: common practice, no source."""
        self.assertEqual(self.code, 0, self.text)
        corners = set()
        for vent in self.plan["vents"]:
            x, y, z = vent["at_mm"]
            self.assertTrue(vent["can_be_made"])
            self.assertLess(min(x, SIZE[0] - x) + min(y, SIZE[1] - y) + SIZE[2] - z, 10)
            corners.add((x > SIZE[0] / 2, y > SIZE[1] / 2))
        self.assertEqual(len(corners), 4)
        self.assertEqual(self.plan["cavities"][0]["outcome"]["trapped"], [])

    def test_the_tries_are_rises_and_say_what_differed(self):
        tries = self.plan["fills_in"]
        self.assertEqual((tries["tries"], tries["by"], len(tries["list"])), (4, "foam", 4))
        self.assertEqual(tries["good"], sum(t["good"] for t in tries["list"]))
        for t in tries["list"]:
            self.assertLessEqual(abs(t["pack"] / self.plan["pack"]["taken"] - 1), 0.05 + 1e-9)
            self.assertEqual(t["good"], max(t["void_cm3"], t["short_cm3"]) <= tries["void_cm3"])
        self.assertEqual(len({t["pack"] for t in tries["list"]}), 4)
        for vent in self.plan["vents"]:
            self.assertEqual(vent["pocket"]["tries"], 4)
            self.assertEqual(vent["pocket"]["there"] == 4, vent["pocket"]["else_at_mm"] is None)
        self.assertTrue(self.text.startswith(f"fills in   {tries['good']} of 4 tries with the foam"), self.text[:80])

    def test_the_table_has_the_plan_beside_what_it_might_have_been(self):
        rows = {r["what"]: r for r in self.plan["proof"]["rows"]}
        self.assertEqual(list(rows), ["as planned", "one vent fewer", "one vent more", "next size up", "all left open",
                                      "all plugged when foam shows"])  # there is no size under the thinnest
        planned, fewer = rows["as planned"], rows["one vent fewer"]
        self.assertEqual(planned["voids_cm3"], 0)
        self.assertGreater(fewer["voids_cm3"], 0.1)  # or that vent would have been spared
        self.assertEqual((planned["vents"], fewer["vents"], rows["one vent more"]["vents"]), (4, 3, 5))
        self.assertEqual((planned["diameter_mm"], rows["next size up"]["diameter_mm"]), (1.5, 2))
        self.assertLessEqual(rows["all plugged when foam shows"]["bled_g"], rows["all left open"]["bled_g"])
        for words in rows:
            self.assertIn(words, self.text)
        self.assertLessEqual(max(map(len, self.text.replace(self.level, "D").splitlines())), 80)

    def test_one_size_serves_all_and_stays_open(self):
        size = self.plan["vent_size"]
        self.assertEqual({v["diameter_mm"] for v in self.plan["vents"]}, {size["diameter_mm"]})
        self.assertGreaterEqual(size["diameter_mm"], 1.5)
        self.assertTrue(size["enough"])
        self.assertLessEqual(size["back_kpa"], 1)  # cushion: 0.2 to 1 kPa

    def test_the_charge_has_the_bleed_that_the_rise_saw(self):
        (charge,) = self.plan["charge"]
        self.assertEqual(charge["bleed_from"], "rise")
        self.assertAlmostEqual(charge["bleed_g"], sum(v["bled_g"] for v in self.plan["vents"]), delta=1e-12)

    def test_the_same_bytes_for_any_number_of_threads(self):
        out = self.path("threads")
        ullage("plan", self.box, *QUICK, *SMALL, "--up", "0,0,1", "-o", out, "--threads", 3)
        self.assertEqual(pathlib.Path(out, "plan.json").read_bytes(), pathlib.Path(self.level, "plan.json").read_bytes())

    # --- the least pack ---

    def test_a_slender_cavity_needs_more_and_gets_it(self):
        """A slender upright cavity needs more than a stout one: common practice, no source."""
        stout = self.result((0,), "charge", self.box, *QUICK)["pack"]
        self.assertEqual((stout["from"], stout["taken"]), ("card", 1.2))
        tall = self.mesh(box((20, 20, 450)))
        pack = self.result((0, 1), "charge", tall, *QUICK)["pack"]
        self.assertEqual(pack["from"], "least that fills")
        self.assertGreater(pack["least"], stout["least"] + 0.1)
        self.assertTrue(1.05 * pack["least"] - 1e-9 <= pack["taken"] <= 1.05 * pack["least"] + 0.01)
        given = self.result((1,), "charge", tall, *QUICK, "--pack", 1.15)
        self.assertEqual((given["pack"]["from"], given["pack"]["taken"]), ("given", 1.15))
        self.assertIn("needs", given["verdict"])

    # --- a tilt that it can be poured in ---

    def test_a_plan_is_not_poured_in_a_tilt_in_which_it_runs_out(self):
        """An open block with a boss in its lid: by heights the best sixteen tilts stood it on edge, 15 to 22 mm over its rim."""
        path = self.mesh(boss())
        plan = self.result(0, "plan", path, "--foam", "rigid-40", "--parting", "z=40", "--cubes", 2000, "--scatter", 4, "--tries", 100,
                           "-o", self.path("boss"))
        self.assertGreater(plan["tilt"]["up"][2], 0.9)
        self.assertFalse([t["why"] for t in plan["tilts"] if "liquid stands" in t["why"]])
        plain = [t for t in plan["tilts"] if t["ease"] in ("flat", "one side raised") and t["up"][2] > 0.99]
        self.assertTrue(plain, plan["tilts"])  # as a shop would lie it anyway

    def test_a_tilt_that_runs_out_is_told_with_a_level_one_that_holds(self):
        path = self.mesh(boss())
        on_edge = self.result(1, "plan", path, "--foam", "rigid-40", "--parting", "z=40", "--cubes", 2000, "--scatter", 1, "--tries", 100,
                              "--up", "0,1,0", "-o", self.path("boss"))
        self.assertRegex(on_edge["verdict"], r"^runs out.*; lying as drawn, \+z up \(0,0,1\), the mould holds it$")
        all_low = self.result(1, "plan", path, "--foam", "rigid-40", "--parting", "z=0", "--cubes", 2000, "--scatter", 1, "--tries", 100,
                              "--up", "0,1,0", "-o", self.path("boss"))
        self.assertRegex(all_low["verdict"], r"^runs out.*; lying upside down, -z up \(0,0,-1\), the mould holds it$")

    def test_what_is_judged_on_heights_alone_says_whether_it_can_be_poured(self):
        """With a parting nothing was said of a mould that stands on its open edge; an answer with its hole underneath was as good as any."""
        low = r"; but poured so, (all|\d+ %) of the cavity stands over the rim"
        path = self.mesh(boss())
        small = ("--cubes", 2000, "--scatter", 1, "--tries", 100, "-o", self.path("boss"))
        plan = self.result((0, 1), "plan", path, "--parting", "z=40", "--up", "0,1,0", *small)
        self.assertRegex(plan["verdict"], low + r" at x .*\(--poured-up 0,0,1\)")
        self.assertTrue("of the cavity stands over the rim" in pathlib.Path(self.path("boss", "report.html")).read_text())
        level = self.result((0, 1), "plan", path, "--parting", "z=40", "--up", "0,0,1", *small)
        self.assertNotIn("poured so", level["verdict"])
        turned = self.result((0, 1), "plan", path, "--parting", "z=40", "--up", "0,1,0", "--poured-up", "0,0,1", *small)
        self.assertNotIn("poured so", turned["verdict"])
        found = self.result((0, 1), "plan", self.mesh(box((60, 60, 60))), "--pour-hole", "30,30,60,20", *small)
        self.assertNotIn("pour hole", found["verdict"])
        self.assertGreater(found["tilt"]["up"][2], 0)  # of equals one that pours well

    # --- without a card ---

    def test_a_level_lid_is_vented_where_air_stays_when_it_lies_a_little_off(self):
        """One vent in the middle of its top filled in 0 of 20 tries, with seven more allowed."""
        ell = self.mesh(cells((0, 40, 120), (0, 40), (0, 40, 110), lambda x, y, z: x == 0 or z == 0))
        words = ("plan", ell, "--up", "0,0,1", "--cubes", 20000, "-o", self.path("ell"))
        plan = self.result(0, *words)
        self.assertEqual(plan["fills_in"]["good"], 20)
        self.assertLessEqual(len(plan["vents"]), 5)
        self.assertTrue([v for v in plan["vents"] if v["at_mm"][0] > 110], "over the foot's end")
        self.assertFalse([v for v in plan["vents"] if 10 < v["at_mm"][0] < 30], "in the middle of the lid")
        self.assertIn("with the plan's 4 it fills in 20 of 20 tries", plan["tilt_given"]["why"])
        one = self.result(1, *words, "--vents-at-most", 1)
        self.assertEqual((len(one["vents"]), one["fills_in"]["good"]), (1, 0))

    # --- what exists already ---

    def test_vents_that_exist_stay_and_one_new_one_at_most_is_proposed(self):
        raised = self.path("raised")
        first = self.result((0, 1), "plan", self.box, *SMALL, "--raise", "+x=10,+y=10", "-o", raised)
        kept = os.path.join(raised, "plan.json")
        for words in ((), QUICK):
            with self.subTest(foam=bool(words)):
                again = self.planned(self.box, *SMALL, *words, "--keep", kept, "--up", "0,0,1")
                old = [v for v in again["vents"] if v["exists"]]
                self.assertEqual([v["at_mm"] for v in old], [v["at_mm"] for v in first["vents"]])
                self.assertEqual([v["axis"] for v in old], [v["axis"] for v in first["vents"]])
                self.assertLessEqual(len(again["vents"]) - len(old), 1)
        lies = self.planned(self.box, *SMALL, "--keep", kept)["tilt"]["up"]  # as it was drilled for
        for got, want in zip(lies, first["tilt"]["up"], strict=True):
            self.assertAlmostEqual(got, want, delta=1e-14)

    def test_what_was_plugged_for_good_stays_plugged(self):
        plan = json.loads(pathlib.Path(self.level, "plan.json").read_text())
        plan["vents"][1]["closed"] = True
        kept = self.file("closed.json", json.dumps(plan).encode())
        for words in ((), QUICK):
            with self.subTest(foam=bool(words)):
                again = self.planned(self.box, *words, *SMALL, "--keep", kept, "--up", "0,0,1")["vents"]
                self.assertTrue(again[1]["closed"])
                self.assertFalse(again[0]["closed"])
                if words:
                    self.assertIsNone(again[1]["foam_shows_s"])

    def test_a_cavity_no_vent_of_which_can_be_made_does_not_fill(self):
        """On heights alone, too: kept off everywhere, it was told as full by its highest cube."""
        r = self.result((1,), "plan", self.box, *SMALL, "--up", "0,0,1", "--keep-off", "-1,-1,-1,121,81,41", "-o", self.path("out"))
        self.assertEqual(r["cavities"][0]["outcome"]["filled_fraction"], 0)
        self.assertTrue(r["verdict"].startswith("does not fill: "), r["verdict"])
        self.assertIn("cannot be made", r["verdict"])

    def test_the_limit_is_for_each_void_also_in_several_cavities(self):
        """Each leaves 0.36 cm3 in a boss; twice as much, in two places, is no more than was let be."""
        one = box((100, 30, 40)) + box((20, 30, 40), (80, 0, 30)) + box((6, 10, 10), (20, 10, 36))
        two = one + [[[x, y + 60, z] for x, y, z in t] for t in one]
        for made in (one, two):
            words = ("--void-ok", 0.6, "--raise", "+x=5,+y=5", "--tries", 20, "-o", self.path("out"))
            r = self.result((0,), "plan", self.mesh(made), *words)
            self.assertEqual(r["fills_in"]["good"], 20)
            self.assertEqual({v["cavity"] for v in r["vents"]}, {c["id"] for c in r["cavities"]})

    def test_a_small_void_may_not_lie_on_a_face_that_shows(self):
        """A boss of 0.048 cm3 on the lid, less than is let be: but not where it shows."""
        mesh = self.mesh(box((60, 40, 20)) + box((4, 4, 4), (20, 20, 19)))
        words = ("--raise", "+x=8,+y=8", "--tries", 10, "--cubes", 40000, "-o", self.path("out"))
        self.assertTrue(self.result((0,), "plan", mesh, *words)["verdict"].startswith("fills: "))
        verdict = self.result((1,), "plan", mesh, *words, "--show-side", "+z")["verdict"]
        self.assertRegex(verdict, r"fills, but 0.04\d* cm3 stay at .*, on a face that shows")
        self.assertTrue(self.result((0,), "plan", mesh, *words, "--show-side", "-z")["verdict"].startswith("fills: "))

    def test_not_sure_is_told_before_a_void_that_shows(self):
        """"fills, but 0.025 cm3 stay ... on a face that shows" hid that it fills in 6 of 20 tries."""
        words = ("--up", "0.001,1,0.001", "--vents-at-most", 1, "--cubes", 40000, "--tries", 10, "--show-side", "+z")
        r = self.result((1,), "plan", self.mesh(box((60, 40, 20))), *words, "-o", self.path("out"))
        self.assertGreater(r["cavities"][0]["outcome"]["trapped"][0]["void_cm3"], 0.005)
        self.assertLess(2 * r["fills_in"]["good"], r["fills_in"]["tries"])
        self.assertTrue(r["verdict"].startswith("fills only when it lies just so: "), r["verdict"])

    def test_a_mould_that_does_not_hold_names_the_air_that_raises_the_pressure(self):
        """Two legs, one vent: 52.6 kPa were told as the mould's trouble, 88 cm3 shut in were not. And where that air
        was, when not at the vent, was told as half way between the legs, in the tool."""
        def rooms(x, y, z):
            return z == 0 or x == 2 or (x == 0 and z == 1)
        legs = self.mesh(cells((0, 40, 110, 150), (0, 60), (0, 40, 95, 120), rooms))
        words = ("--foam", "rigid-100", "--up", "0,0,1", "--mould", "wood", "--cubes", 20000, "--scatter", 4, "-o", self.path("out"))
        r = self.result((1,), "plan", legs, *words, "--vents-at-most", 1)
        worst = r["cavities"][0]["outcome"]["trapped"][0]
        self.assertGreater(worst["void_cm3"], 50)
        self.assertRegex(r["verdict"], r"^the mould does not hold: \S+ kPa in wood, which may carry 50 kPa; "
                                       rf"{worst['void_cm3']:.3g} cm3 shut in at x {worst['at_mm'][0]:.1f}  y .* raise it: "
                                       r"another vent lowers it \(--vents-at-most\)$")
        for vent in r["vents"]:
            x, y, z = vent["pocket"]["else_at_mm"]
            self.assertTrue((0 <= x <= 40 and z <= 95) or 110 <= x <= 150 or z <= 40, (x, y, z))
            self.assertGreater(vent["pocket"]["wanders_mm"], 60)  # from one leg to the other
        packed = self.result((1,), "plan", legs, *words, "--cubes", 3000, "--pack", 3)  # the charge alone is too much
        self.assertRegex(packed["verdict"], r"^the mould does not hold: \S+ kPa in wood, which may carry 50 kPa$")

    def test_the_tool_is_round_what_is_drawn_not_round_what_inserts_leave(self):
        liner = self.file("liner.stl", stl(box((20, 80, 40))))
        r = self.result((0, 1), "plan", self.box, *SMALL, "--wall", 12, "--insert", liner, "-o", self.path("out"))
        self.assertEqual(r["tool"]["box_mm"], [[-12, -12, -12], [132, 92, 52]])
        ran = ullage("check", self.box, "--insert", liner, "--cubes", 2000)
        self.assertIn("120.00 x 80.00 x 40.00 mm, from 0.0 0.0 0.0", ran.stdout)

    def test_vents_of_a_lid_that_shows_stay_in_its_corners(self):
        """Beside the lid, under its rim: by rounding all four once wandered to its middle."""
        lid = self.mesh(box((400, 300, 40)))
        r = self.result((0, 1), "plan", lid, "--cubes", 4000, "--tries", 10, "--up", "0,0,1", "--show-side", "+z", "-o", self.path("out"))
        corners = set()
        for vent in r["vents"]:
            x, y, z = vent["at_mm"]
            self.assertLess(min(x, 400 - x) + min(y, 300 - y) + 40 - z, 6)
            corners.add((x > 200, y > 150))
        self.assertEqual(len(corners), 4)

    def test_low_holes_that_bleed_are_plugged_in_the_order_of_the_foam(self):
        """Beside the four good ones, two of 6 mm low in the walls: foam is there long before the mould is full."""
        plan = json.loads(pathlib.Path(self.level, "plan.json").read_text())
        low = {**plan["vents"][0], "diameter_mm": 6, "relief_mm": None, "land_mm": 25}
        for i, (at, axis) in enumerate((([120, 40, 12], [1, 0, 0]), ([0, 40, 8], [-1, 0, 0]))):
            through = [at[c] + 25 * axis[c] for c in range(3)]
            plan["vents"].append({**low, "id": 5 + i, "at_mm": at, "axis": axis, "through_mm": through})
        kept = self.file("low.json", json.dumps(plan).encode())
        vents = self.planned(self.box, *QUICK, *SMALL, "--keep", kept, "--up", "0,0,1")["vents"]
        plugged = [v for v in vents if v["then"] == "plug"]
        self.assertEqual([v["id"] for v in plugged], [5, 6])
        in_order = sorted(plugged, key=lambda v: v["plug_order"])
        self.assertEqual([v["plug_order"] for v in in_order], [1, 2])
        self.assertLess(in_order[0]["foam_shows_s"], in_order[1]["foam_shows_s"])
        self.assertTrue(all(v["plug_order"] is None for v in vents if v not in plugged))
        self.assertLess(sum(v["bled_g"] for v in vents), 0.01)  # left open, these two bleed 0.05 g

    def test_every_hole_to_plug_is_told_also_those_of_one_moment(self):
        """Two alike, either side of the pour: of those that foam reached in one step the first alone was told."""
        plan = json.loads(pathlib.Path(self.level, "plan.json").read_text())
        low = {**plan["vents"][0], "diameter_mm": 6, "relief_mm": None, "land_mm": 25}
        for i, (at, axis) in enumerate((([120, 40, 8], [1, 0, 0]), ([0, 40, 8], [-1, 0, 0]))):
            through = [at[c] + 25 * axis[c] for c in range(3)]
            plan["vents"].append({**low, "id": 5 + i, "at_mm": at, "axis": axis, "through_mm": through})
        kept = self.file("alike.json", json.dumps(plan).encode())
        ran = ullage("plan", self.box, *QUICK, *SMALL, "--keep", kept, "--up", "0,0,1", "-o", self.path("alike"))
        vents = json.loads(pathlib.Path(self.path("alike"), "plan.json").read_text())["vents"]
        plugged = {v["id"]: v["foam_shows_s"] for v in vents if v["then"] == "plug"}
        self.assertEqual(plugged[5], plugged[6])
        told = re.findall(r"vent (\d+) when foam shows, at", ran.stdout)
        self.assertEqual(sorted(map(int, told)), sorted(plugged))

    def test_a_hole_that_is_plugged_for_good_is_said_to_be_wherever_holes_are_told(self):
        """It was to be opened and cleaned, and cut again: only plan.json and the terminal knew."""
        plan = json.loads(pathlib.Path(self.level, "plan.json").read_text())
        plan["vents"][1]["closed"] = True
        out = pathlib.Path(self.path("shut"))
        ran = ullage("plan", self.box, *SMALL, "--keep", self.file("shut.json", json.dumps(plan).encode()), "--up", "0,0,1", "-o", out)
        self.assertIn("is there already, plugged for good", ran.stdout)
        with open(out / "vents.csv", newline="") as table:
            rows = list(csv.DictReader(table))
        self.assertEqual([row["note"] for row in rows[:2]], ["is there already", "is there already, plugged for good"])
        self.assertEqual([row["then"] for row in rows[:2]], ["leave", "plugged"])
        self.assertNotRegex((out / "vent-cutters.obj").read_text(), r"vent.2\b")
        self.assertRegex((out / "vent-cutters.obj").read_text(), r"vent.1\b")
        self.assertRegex((out / "vent-layout.dxf").read_text(), r"\n2  .*, PLUGGED FOR GOOD\n")
        self.assertRegex((out / "vent-layout.dxf").read_text(), r"\n1  .*, IS THERE\n")
        page = (out / "report.html").read_text()
        self.assertRegex(page, r">2: [^<]*, which is there: plugged for good\.")
        self.assertRegex(page, r">1: [^<]*, which is there already\.")

    def test_moments_of_two_cavities_are_told_once_or_say_whose_they_are(self):
        two = self.mesh(box((60, 40, 30)) + box((40, 40, 30), (80, 0, 0)))
        out = pathlib.Path(self.path("pair"))
        holes = ("--pour-hole", "30,20,30,10,plug", "--pour-hole", "100,20,30,10,plug")
        ran = ullage("plan", two, *QUICK, *SMALL, "--up", "0,0,1", *holes, "-o", out)
        page = (out / "report.html").read_text()
        for words in ("All of it is poured.", "It creams: from here on it rises.", "It gels: it hardly flows any more."):
            self.assertEqual(page.count(f'"text":"{words}"'), 1, words)
        for cavity in (1, 2):
            self.assertIn(f"foam shows at the pour hole of cavity {cavity} after", ran.stdout)
            self.assertIn(f"Foam shows at the pour hole of cavity {cavity}.", page)
        self.assertIn("Cavity 1 is half full: foam stands", page)

    def test_a_groove_has_its_width_on_card_and_page(self):
        """Both gave the hole of its area: 1.5 mm where 2 mm are scraped."""
        out = pathlib.Path(self.path("groove"))
        ullage("plan", self.box, *SMALL, "--parting", "z=40", "--up", "0,0,1", "--datum", "0,0,0", "-o", out)
        vents = json.loads((out / "plan.json").read_text())["vents"]
        page = (out / "report.html").read_text()
        card = " ".join(subprocess.run(["pdftotext", "-layout", out / "bench-card.pdf", "-"], capture_output=True, text=True).stdout.split())
        self.assertEqual({v["kind"] for v in vents}, {"groove"})
        for v in vents:
            self.assertIn(f">{v['id']}: {v['width_mm']:.3g} mm groove at ", page)
            self.assertIn(f"{v['width_mm']:.3g} mm groove at x {v['at_mm'][0]:.1f} ", card)
            self.assertRegex((out / "vent-layout.dxf").read_text(), rf"\n{v['id']}  {v['width_mm']:.3g} MM WIDE, 1 DEEP, {v['length_mm']:.3g} LONG")
        self.assertNotIn(" hole at ", card)

    def test_a_plan_that_cannot_be_kept_is_refused(self):
        for name, says in (("none.json", "cannot be read"), ("box.stl", "not JSON")):
            ran = ullage("plan", self.box, *SMALL, "--keep", self.path(name), "-o", self.path("out"))
            self.assertEqual(ran.returncode, 3, ran.stderr)
            self.assertEqual(ran.stderr.count("\n"), 1)
            self.assertIn(says, ran.stderr)
            self.assertIn(name, ran.stderr)

    # --- how they are made ---

    def test_vents_come_into_a_tool_as_its_material_lets_them(self):
        """Common practice, no source."""
        for mould, made, cased in (("wood", "drilled", False), ("silicone", "punched", True), ("plaster", "cast in", False)):
            (vent,) = self.planned(self.box, *SMALL, "--up", "0.1,0.1,1", "--mould", mould)["vents"]
            self.assertEqual(vent["made"], made)
            self.assertEqual(vent["case_mm"] is not None, cased)
            if cased:
                self.assertGreaterEqual(vent["case_mm"], vent["diameter_mm"] + 3)
                self.assertIn("case", vent["note"])

    def test_a_cavity_left_out_is_not_drilled_through(self):
        path = self.mesh(box((60, 60, 20)) + box((60, 60, 10), (0, 0, 30)))
        (vent,) = self.planned(path, *SMALL, "--cavity", 1, "--up", "0.1,0.1,1")["vents"]
        self.assertTrue(vent["can_be_made"])
        at, axis = vent["at_mm"], vent["axis"]
        past = [at[c] + (30 - at[2]) / axis[2] * axis[c] for c in range(2)] if axis[2] > 0.2 else [99, 99]
        self.assertGreater(max(past), 61.5)  # beside the upper one before it is as high

    # --- several cavities, bad input ---

    def test_two_cavities_share_one_tilt_and_one_size_and_each_is_vented(self):
        path = self.mesh(box((40, 40, 40)) + box((60, 50, 30), (90, 0, 0)))
        both = self.planned(path, *QUICK, *SMALL, "--up", "0.17,0.17,1")
        self.assertEqual({v["cavity"] for v in both["vents"]}, {1, 2})
        self.assertEqual(len({v["diameter_mm"] for v in both["vents"]}), 1)
        self.assertEqual([c["cavity"] for c in both["charge"]], [1, 2])
        for cavity, charge in zip(both["cavities"], both["charge"], strict=True):
            bled = sum(v["bled_g"] for v in both["vents"] if v["cavity"] == cavity["id"])
            self.assertAlmostEqual(charge["bleed_g"], bled, delta=1e-12)
        # one drill for both: it quoted the air of the first, were it the weaker one
        self.assertEqual(both["vent_size"]["litres_s"], max(a["litres_s"] for a in both["air"]))
        alone = self.planned(path, *QUICK, *SMALL, "--up", "0.17,0.17,1", "--cavity", 2)
        self.assertEqual({v["cavity"] for v in alone["vents"]}, {2})

    def test_what_is_poured_too_late_has_one_time(self):
        """The moments said "20 s All of it is poured", the same page "Poured at 35 s, 15 s too late"."""
        words = (*SMALL, "--foam", "self-skinning-250", "--up", "0,0.1,1", "-o", self.path("late"))
        plan = self.result(1, "plan", self.box, *words)
        clock = plan["clock"]
        self.assertEqual((clock["cream_s"], clock["poured_s"]), (20, 35))
        self.assertEqual(plan["events"][0]["what"], "poured")
        self.assertEqual([e["s"] for e in plan["events"]], sorted(e["s"] for e in plan["events"]))
        page = pathlib.Path(self.path("late", "report.html")).read_text()
        self.assertNotIn("All of it is poured", page)
        self.assertIn("takes all of it as poured by now, as it creams; poured at 35 s it would be 15 s too late.", page)
        self.assertIn("All of it is poured.", pathlib.Path(self.level, "report.html").read_text())
        told = ullage("rise", self.box, *SMALL[:2], "--foam", "self-skinning-250", "--vent", "60,40,40").stdout
        self.assertRegex(" ".join(told.split()), r"20 s poured \(taken so by cream; by the clock too late\), x ")

    def test_air_that_stays_is_told_whatever_the_verdict_is_about(self):
        """A mould that breaks took the verdict, and the terminal never said where air lies."""
        words = ("--cubes", 8000, *SMALL[2:], *QUICK, "--up", "0,0,1", "--vents-at-most", 1, "--mould", "silicone", "-o", self.path("air"))
        ran = ullage("plan", self.box, *words)
        self.assertEqual(ran.returncode, 1)
        self.assertRegex(ran.stdout, r"(?m)^verdict +the mould does not hold")
        trapped = json.loads(pathlib.Path(self.path("air", "plan.json")).read_text())["cavities"][0]["outcome"]["trapped"]
        self.assertTrue(trapped[0]["id"])
        place = " +".join(f"{c} {round(v, 1) + 0.0}" for c, v in zip("xyz", trapped[0]["at_mm"]))
        self.assertRegex(ran.stdout, rf"(?m)^air 1 +\S+ cm3 stay shut in at {place}")

    def test_a_finer_cube_that_is_asked_for_is_one(self):
        """A rib of 1 mm in cubes of 2.9: "too coarse for the 0 mm there; ask for --cube 0"."""
        mesh = self.file("ribs.stl", stl(cells((0, 80, 105), (0, 10, 50, 60), (0, 30, 31, 60, 61, 90, 91, 120),
                                               lambda x, y, z: x == 0 or (y == 1 and z % 2 == 1))))
        plan = self.planned(mesh, "--foam", "rigid-40", "--up", "0,0,1", "--scatter", 2)
        self.assertRegex(plan["verdict"], "too coarse for the 1 mm there; ask for --cube 1,")

    def test_too_little_foam_is_said_and_exits_1(self):
        plan = self.result((1,), "plan", self.box, *QUICK, *SMALL, "--up", "0,0,1", "--pack", 0.9, "-o", self.path("out"))
        self.assertTrue(plan["verdict"].startswith("does not fill: the foam sets with"), plan["verdict"])
        self.assertIn("--pack", plan["verdict"])
        self.assertEqual(plan["fills_in"]["good"], 0)

    def test_words_on_the_propped_drawing_are_clear_of_one_another(self):
        """A side's name lay over the height of the blocks before it. A letter is taken half as wide as its 23 px."""
        long = self.file("long.stl", stl(box((600, 130, 107))))
        for up in ("0.996,0.087,0", "0.996,0,0.087", "0.08,0.087,0.99", "0.087,0.996,0"):
            ullage("plan", long, *SMALL[:2], "--tries", 20, "--up", up, "-o", self.path("prop"))
            page = pathlib.Path(self.path("prop", "report.html")).read_text()
            drawing = page[page.index('class="propped"'):].split("</svg>")[0]
            words = [(int(x), int(y), len(text) * 23 / 4) for x, y, text in
                     re.findall(r'<text class="(?:side|size)" x="(-?\d+)" y="(-?\d+)">([^<]*)<', drawing)]
            self.assertGreater(len(words), 3, drawing)
            for i, (x, y, half) in enumerate(words):
                for other_x, other_y, other_half in words[:i]:
                    self.assertTrue(abs(x - other_x) >= half + other_half or abs(y - other_y) >= 23, (up, words))

    def test_bad_input_of_plan(self):
        card = ullage("foams", "cushion-60").stdout
        heavy = self.file("heavy.card", card.replace("57 to 63", "5000").encode())
        fills_it = self.file("fills.stl", stl(box((140, 100, 60), (-10, -10, -10))))
        for code, says, words in (
            (3, "did you mean", ("--foam", "cushin-60")),
            (3, "heavy.card", ("--foam", heavy)),
            (2, "perhaps", ("--mould", "plastr")),
            (3, "parting plane misses", ("--parting", "z=400")),
            (3, "insert", ("--insert", fills_it)),
            (3, "outside the cavity", ("--foam", "cushion-60", "--pour", "500,0,0")),
            (2, "out of range", ("--foam", "cushion-60", "--pack", -1)),
            (2, "out of range", ("--scatter", 0)),
            (2, "needs a plan", ("--keep", "")),
        ):
            ran = ullage("plan", self.box, *SMALL[:2], "--tries", 20, *words, "-o", self.path("bad"))
            self.assertEqual(ran.returncode, code, (words, ran.stdout[-300:], ran.stderr))
            self.assertEqual(ran.stderr.count("\n"), 1, ran.stderr)
            self.assertIn(says, ran.stderr)
        ran = ullage("rise", self.box, "--cubes", 2000, "--vent", "500,0,0")
        self.assertEqual(ran.returncode, 3)
        self.assertIn("vent 1", ran.stderr)
        self.assertFalse(os.path.exists(self.path("bad")))  # nothing half written


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
