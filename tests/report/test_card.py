"""The bench card read back by poppler: one page, its text as text, the same numbers as plan.json."""

import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import BOX_FACES, PROGRAM, box_corners

MESHES, MAKE_CARD = sys.argv[2:4]


def run(*words, **more):
    return subprocess.run([str(w) for w in words], capture_output=True, text=True, timeout=120, **more)


def words_of(pdf):
    """The text, a blank wherever it has any white space."""
    return " ".join(run("pdftotext", "-layout", pdf, "-").stdout.split())


def info_of(pdf):
    return dict(line.split(":", 1) for line in run("pdfinfo", "-isodates", pdf).stdout.splitlines())


class Card(unittest.TestCase):
    def setUp(self):
        made = tempfile.TemporaryDirectory()
        self.addCleanup(made.cleanup)
        self.folder = pathlib.Path(made.name)

    def plan(self, mesh, *words, name="plan", **more):
        """The plan, and the card's path."""
        out = self.folder / name
        ran = run(PROGRAM, "plan", mesh, "-o", out, "--cubes", 20000, "--tries", 50, *words, **more)
        self.assertIn(ran.returncode, (0, 1), ran.stderr)
        return json.loads((out / "plan.json").read_text()), out / "bench-card.pdf"

    def boxes(self, count, name="boxes.obj", size=(30, 20, 40)):
        path = self.folder / name
        with open(path, "w") as out:
            for i in range(count):
                for corner in box_corners(size, ((size[0] + 10) * i, 0, 0)):
                    out.write("v %g %g %g\n" % corner)
                for face in BOX_FACES:
                    out.write("f %d %d %d\n" % tuple(v + 1 + 8 * i for v in face))
        return path

    def test_it_says_what_the_plan_says(self):
        plan, card = self.plan(os.path.join(MESHES, "dock-fender.stl"), "--up", "0.1,0.2,1", "--side", "+x=hinge", "--wall", 30)
        text = words_of(card)
        self.assertIn("dock-fender.stl", text)
        self.assertIn(f"Fills in {plan['fills_in']['good']} of {plan['fills_in']['tries']} tries, on heights alone.", text)
        self.assertIn(plan["verdict"][1:], text)
        rows = re.findall(r"(\d+) (\S+) mm hole at x (\S+) y (\S+) z (\S+) mm, (\S+) mm deep", text)
        for row, vent in zip(rows, plan["vents"], strict=True):
            want = [vent["id"], vent["diameter_mm"], *vent["at_mm"], vent["length_mm"]]
            for got, value in zip(map(float, row), want, strict=True):
                self.assertLessEqual(abs(got - value), 0.0501)
        for block in plan["props"]["corners_mm"]:
            if block > 0.5:
                self.assertIn(f" {block:.0f} mm where ", text)
        self.assertIn(f"a level reads {plan['tilt']['raise_deg']['x']:.1f}°, hinge side up", text)
        self.assertIn(f"{plan['cavities'][0]['volume_cm3'] / 1000:.3g} litres to fill", text)
        pour = [round(c, 1) + 0.0 for c in plan["cavities"][0]["outcome"]["pour_mm"]]
        self.assertIn("Pour at x %.1f y %.1f z %.1f mm" % tuple(pour), text)
        self.assertNotIn("assumed", text)
        self.assertNotIn("nobody measured", text)

    def test_a_wall_that_nobody_gave_is_said(self):
        _, card = self.plan(self.boxes(1))
        self.assertIn("a tool wall of 25 mm, which nobody measured", words_of(card))

    def test_a_mould_that_stands_flat_has_no_blocks_to_doubt(self):
        _, card = self.plan(self.boxes(1), "--up", "0,0,1")
        text = words_of(card)
        self.assertIn("no blocks: it stands flat", text)
        self.assertNotIn("nobody measured", text)

    def test_paper_inches_and_the_datum(self):
        plan, card = self.plan(self.boxes(1), "--paper", "letter", "--inch", "--datum", "1,2,3", "--up", "0.1,0.2,1")
        self.assertIn("612 x 792", info_of(card)["Page size"])
        text = words_of(card)
        self.assertNotIn("°C", text)
        self.assertIn("mould °F", text)
        (vent,) = plan["vents"]
        x, y, z = ((vent["at_mm"][c] - (1, 2, 3)[c]) / 25.4 for c in range(3))
        self.assertIn(f"x {x:.2f} y {y:.2f} z {z:.2f} in", text)
        self.assertIn("measured from datum at 1.000 2.000 3.000", text)
        # beside the drawing and in words a block is cut to the hundredth: it was 0.51 in one, 0.515 in the other
        for block in plan["props"]["corners_mm"]:
            if block > 1:
                self.assertGreater(text.count(f" {block / 25.4:.2f} in"), 1)
                self.assertNotIn(f" {block / 25.4:.3g} in", text)
        _, card = self.plan(self.boxes(1), name="metric")
        self.assertIn("A4", info_of(card)["Page size"])
        self.assertEqual(run(PROGRAM, "plan", self.boxes(1), "-o", self.folder / "x", "--paper", "a5").returncode, 2)

    def test_same_plan_same_bytes_and_the_date_that_is_given(self):
        plain = {k: v for k, v in os.environ.items() if k != "SOURCE_DATE_EPOCH"}
        cards = [self.plan(self.boxes(1), name=f"again{i}", env=plain)[1].read_bytes() for i in range(2)]
        self.assertEqual(*cards)
        _, card = self.plan(self.boxes(1), name="dated", env={**plain, "SOURCE_DATE_EPOCH": "1700000000"})
        self.assertEqual(info_of(card)["CreationDate"].strip()[:19], "2023-11-14T22:13:20")

    def test_many_cavities_and_vents_still_make_one_page(self):
        plan, card = self.plan(self.boxes(12), "--up", "0.1,0.2,1", "--vents-at-most", 20)
        self.assertEqual(info_of(card)["Pages"].strip(), "1")
        text = words_of(card)
        self.assertIn("12 cavities", text)
        self.assertIn("and 5 more: see plan.json", text)
        self.assertRegex(text, r"and \d+ more: see vents.csv")
        self.assertEqual(len(plan["vents"]), 12)

    def test_holes_stand_closer_before_they_are_left_out(self):
        plan, card = self.plan(self.boxes(5), "--up", "0.1,0.2,1")
        text = words_of(card)
        self.assertEqual(len(plan["vents"]), 5)
        self.assertEqual(len(re.findall(r"mm hole at x", text)), 5)  # were 3
        self.assertNotIn("more: see vents.csv", text)

    def test_nasty_names_stay_names(self):
        name = "a \"b\" 'c' <script> (x) \\ größe\u202e\n" + "n" * 150 + ".obj"
        _, card = self.plan(self.boxes(1, name), "--side", "+x=<i>\"left\"</i>", "--raise", "+x=5")
        text = words_of(card)
        self.assertIn("a \"b\" 'c' <script> (x)", text)
        self.assertIn("<i>\"left\"</i> side raised 5 degrees", text)
        self.assertIn("größe", info_of(card)["Title"])
        broken = os.fsencode(self.folder) + b"/not \xff utf8.obj"
        os.rename(self.boxes(1), broken)
        _, card = self.plan(os.fsdecode(broken), name="bytes")
        self.assertIn("utf8.obj", words_of(card))

    def test_with_a_foam_it_gives_grams_seconds_and_the_clamp(self):
        card = self.folder / "foam.pdf"
        made = run(MAKE_CARD, card)
        self.assertEqual(made.returncode, 0, made.stderr)
        a, b, pigment, step, poured, shut, turned, clamp, kpa, m6, m8 = map(float, made.stdout.split())
        text = words_of(card)
        places = 0 if step >= 1 else 1
        self.assertIn(f"A {a:.{places}f} g, B {b:.{places}f} g, pigment into B {pigment:.{places}f} g.", text)
        self.assertIn(f"Poured by {poured:.0f} s from the start of mixing", text)
        self.assertIn(f"Shut by {shut:.0f} s", text)
        self.assertIn(f"in this position by {turned:.0f} s", text)
        clamped = re.search(r"Clamp with (\d+) N in all \((\d+) bolts M6, or (\d+) M8\); (\S+) kPa inside", text)
        self.assertAlmostEqual(float(clamped.group(1)), clamp, delta=0.006 * clamp)
        self.assertEqual((int(clamped.group(2)), int(clamped.group(3))), (m6, m8))
        self.assertAlmostEqual(float(clamped.group(4)), kpa, delta=0.006 * kpa)
        self.assertIn("block 88 mm under both corners of the +x side", text)  # 340 sin 15

    def test_cups_are_told_one_by_one_as_the_scale_weighs_them(self):
        """The card and the page told only what all cups take together, the terminal cups of 84.75 g to a scale of 1 g."""
        coarse = ("--cubes", 3000, "--scatter", 2, "--up", "0.05,0.1,1", "--foam", "cushion-60")
        for count in (1, 2):
            boxes = self.boxes(count, size=(120, 100, 90))
            plan, card = self.plan(boxes, *coarse, "--cup-max", 60, "--scale-g", 1, name=f"cups-{count}")
            text, page = words_of(card), (card.parent / "report.html").read_text()
            for c in plan["charge"]:
                each = c["each"]
                self.assertEqual((c["cups"], c["scale_g"]), (2, 1))
                self.assertEqual(each["a_g"] + each["b_g"] + each["pigment_g"], each["total_g"])
                for key in ("total_g", "a_g", "b_g", "pigment_g"):
                    self.assertEqual((each[key] % 1, c[key]), (0, 2 * each[key]))
                grams = [round(c[key]) for key in ("a_g", "b_g", "pigment_g", "total_g")]
                cup = [round(each[key]) for key in ("total_g", "a_g", "b_g", "pigment_g")]
                self.assertIn("2 cups, in each A %d g, B %d g, pigment into B %d g" % tuple(cup[1:]), text)
                self.assertIn("A %d g, B %d g, pigment into B %d g" % tuple(grams[:3]), text)
                self.assertIn("A %d g, B %d g, and %d g of pigment stirred into the B: together %d g." % tuple(grams), page)
                self.assertIn("2 cups of %d g each (A %d, B %d, pigment %d), mixed by 2 people" % tuple(cup), page)
        self.assertEqual(text.count("2 cups, in each"), 2)
        self.assertIn("ach its own charge: as listed below", text)

    def test_a_scale_too_coarse_is_told_where_one_weighs(self):
        plan, card = self.plan(self.boxes(2, size=(60, 50, 90)), "--cubes", 3000, "--scatter", 2, "--up", "0.05,0.1,1",
                               "--foam", "cushion-60", "--scale-g", 5)
        (percent,) = re.findall(r"Steps of 5 g put A to B ([\d.]+ % \w+) the card's ratio: use a finer scale", words_of(card))  # once, though of both
        coarse = f"teps of 5 g put A to B {percent} the card's ratio: use a finer scale"
        page = (card.parent / "report.html").read_text()
        for cavity in (1, 2):
            self.assertIn(f"Cavity {cavity}: s{coarse}".replace("'", "&#39;"), page.replace("'", "&#39;"))
        self.assertIn("make the pigment 0 g where", words_of(card))

    def test_vents_are_plugged_in_the_order_of_the_foam_and_only_those_to_be_plugged(self):
        card = self.folder / "foam.pdf"
        run(MAKE_CARD, card)
        text = words_of(card)
        self.assertIn("Plug when foam shows, in this order: 3 at 41 s, 1 at 62 s. Leave the others.", text)
        self.assertIn("foam shows at 62 s, plug it", text)
        self.assertIn("foam shows at 55 s 3", text)  # of vent 2, which is left
        _, card = self.plan(self.boxes(1))
        self.assertNotIn("lug", words_of(card))

    def test_no_vent_loses_what_is_to_be_done_with_it(self):
        """It read "foam shows at 46 s, plu..."."""
        card = self.folder / "eight.pdf"
        run(MAKE_CARD, card, "eight")
        text = words_of(card)
        self.assertNotIn("...", text)
        for i in range(8):
            what = ": cannot be made, see vents.csv" if i == 6 else ", 118 mm deep"
            self.assertIn(f"2.38 mm hole at x -{1298.4 + i:.1f} y -1100.2 z -1040.8 mm{what}; plug it at {148 - i} s", text)

    def test_ounces_are_as_fine_as_the_scale(self):
        """To a hundredth of an ounce, 0.28 g, pigment of 0.1 g was 0.00 oz and A to B off by a twentieth."""
        card = self.folder / "small.pdf"
        a, b, pigment, step = map(float, run(MAKE_CARD, card, "fills").stdout.split()[:4])
        self.assertEqual(step, 0.1)
        ounces = re.search(r"A (\S+) oz, B (\S+) oz, pigment into B (\S+) oz\.", words_of(card))
        for got, grams in zip(ounces.groups(), (a, b, pigment), strict=True):
            self.assertLessEqual(abs(float(got) * 28.349523125 - grams), step / 2)

    def test_a_hole_that_is_plugged_for_good_is_not_to_be_opened(self):
        card = self.folder / "shut.pdf"
        run(MAKE_CARD, card, "fills")
        text = words_of(card)
        self.assertIn("Plugged for good: 2. Open and clean the others before the pour.", text)
        self.assertRegex(text, r"0\.787 in deep; foam shows at 55 s, plugged for good|0\.787 in deep, plugged for good")

    def test_the_first_caution_stands_however_long_the_rest_is(self):
        """Where holes took the last line of its three it fell off, on every third card with many holes."""
        for lines in range(1, 9):
            card = self.folder / "long.pdf"
            run(MAKE_CARD, card, "not good for a reason that takes one line of the card and hardly a word of the next one, as " * lines)
            with self.subTest(lines=lines):
                self.assertIn("The A side is isocyanate", words_of(card))
                self.assertIn("more: see vents.csv", words_of(card))

    def test_air_that_stays_has_its_number_volume_and_place(self):
        card = self.folder / "foam.pdf"
        run(MAKE_CARD, card)
        text = words_of(card)
        self.assertIn("air 1: 1.26 cm3 stay at x 250.0 y 150.0 z 39.0 mm", text)
        self.assertIn("and 1 smaller", text)
        self.assertEqual(text.count("air 2"), 3)  # both views and the list
        self.assertEqual(text.count("air 3"), 0)
        plan, card = self.plan(os.path.join(MESHES, "rack-saddle.obj"), "--up", "0,0,1", "--vents-at-most", "1", name="shut-in")
        text = words_of(card)
        trapped = plan["cavities"][0]["outcome"]["trapped"]
        for air in trapped[:2]:
            x, y, z = (round(c, 1) + 0.0 for c in air["at_mm"])
            self.assertRegex(text, rf"air {air['id']}: \S+ (cm3|litres) stay at x {x} y {y} z {z} mm")

    def test_air_is_told_largest_first_also_over_several_cavities(self):
        """In the order of the cavities it left out the largest of three: "and 1 smaller"."""
        path = self.folder / "boxes.obj"
        with open(path, "w") as out:
            for i in range(4):  # the last one takes the only vent
                for corner in box_corners((20 + 10 * i, 20, 40), (100 * i, 0, 0)):
                    out.write("v %g %g %g\n" % corner)
                for face in BOX_FACES:
                    out.write("f %d %d %d\n" % tuple(v + 1 + 8 * i for v in face))
        plan, card = self.plan(path, "--up", "0,0,1", "--vents-at-most", 1)
        volume = {a["id"]: a["void_cm3"] for c in plan["cavities"] for a in c["outcome"]["trapped"]}
        order = sorted(volume, key=lambda i: -volume[i])
        self.assertEqual(order, [3, 2, 1], volume)
        text = words_of(card)
        self.assertEqual(re.findall(r"air (\d): \S+ cm3 stay", text), ["3", "2"])
        self.assertIn("and 1 smaller", text)
        page = (card.parent / "report.html").read_text()
        self.assertEqual(re.findall(r'<li id="air-(\d)"', page), ["3", "2", "1"])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
