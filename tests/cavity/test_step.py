"""STEP: volumes against closed forms, units, names, what is no solid, and a plan from end to end."""

import json
import math
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

PROGRAM, MAKE_STEP = sys.argv[1:3]
BALL = 4 / 3 * math.pi * 30**3
BLOCK = 120 * 80 * 60 - (4 - math.pi) * 10**2 * 60 - 4 * math.pi * 4**2 * 60 - 4 / 3 * math.pi * 15**3


def run(*words):
    return subprocess.run([PROGRAM, *words], capture_output=True, text=True, timeout=120)


class Step(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.at = pathlib.Path(cls.folder.name)
        subprocess.run([MAKE_STEP, cls.folder.name], check=True, timeout=120)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def check(self, name, *words):
        ran = run("check", str(self.at / name), "--json", "--quiet", "--cubes", "3000", *words)
        self.assertEqual(ran.returncode, 0, ran.stderr)
        got = json.loads(ran.stdout)
        self.assertTrue(got["file"]["closed"])
        return got

    def refused(self, name, text):
        (self.at / name).write_text(text)
        ran = run("check", str(self.at / name), "--quiet")
        self.assertEqual(ran.returncode, 3)
        self.assertEqual(ran.stderr.count("\n"), 1)
        return ran.stderr

    def volume(self, name, *words):
        return sum(c["volume_cm3"] for c in self.check(name, *words)["cavities"]) * 1000

    def test_plain_bodies_have_their_volume(self):
        """Flat faces exactly, curved ones from inside, so a little less."""
        self.assertAlmostEqual(self.volume("box.step") / 6000, 1, delta=1e-12)
        bodies = {
            "ball.step": BALL,
            "cylinder.step": math.pi * 20**2 * 50,
            "cone.step": math.pi * 40 / 3 * (20**2 + 20 * 5 + 5**2),
            "torus.step": 2 * math.pi**2 * 40 * 10**2,
        }
        for name, want in bodies.items():
            share = self.volume(name) / want
            self.assertTrue(0.999 < share < 1, (name, share))

    def test_a_block_with_rounded_edges_bores_and_a_core(self):
        got = self.check("block.step")
        self.assertEqual(len(got["cavities"]), 1)
        cavity = got["cavities"][0]
        self.assertAlmostEqual(cavity["volume_cm3"] * 1000 / BLOCK, 1, delta=1e-3)
        for got_mm, want_mm in zip(cavity["box_mm"][1], (120, 80, 60)):
            self.assertAlmostEqual(got_mm, want_mm, delta=0.01)

    def test_the_files_unit_is_said_and_changes_nothing(self):
        mm = self.volume("block.step")
        for name, unit in (("block-in-inches.stp", "in"), ("block-in-metres.step", "m")):
            got = self.check(name)
            self.assertEqual(got["file"]["unit"], unit)
            self.assertAlmostEqual(got["cavities"][0]["volume_cm3"] * 1000 / mm, 1, delta=1e-6)

    def test_triangles_do_not_grow_with_the_unit(self):
        text = (self.at / "block.step").read_text()
        (self.at / "huge.step").write_text(text.replace("SI_UNIT(.MILLI.,.METRE.)", "SI_UNIT($,.METRE.)"))
        huge, plain = self.check("huge.step"), self.check("block.step")
        self.assertAlmostEqual(huge["cavities"][0]["volume_cm3"] / 1e9 / plain["cavities"][0]["volume_cm3"], 1, delta=1e-3)
        self.assertLess(huge["file"]["triangles"], 1.1 * plain["file"]["triangles"])

    def test_solids_go_by_their_names(self):
        two = self.at / "two.step"
        two.write_text(re.sub(r"'(fender|ball) \d+'", r"'\1'", two.read_text()))  # the writer numbers its products
        self.assertAlmostEqual(self.volume("two.step") / (6000 + BALL), 1, delta=1e-3)
        self.assertAlmostEqual(self.volume("two.step", "--part", "fender") / 6000, 1, delta=1e-12)
        self.assertAlmostEqual(self.volume("two.step", "--part", "ball") / BALL, 1, delta=1e-3)
        self.assertAlmostEqual(self.volume("two.step", "--part", "ball", "--part", "fender") / (6000 + BALL), 1, delta=1e-3)
        ran = run("check", str(self.at / "two.step"), "--part", "bal", "--quiet")
        self.assertEqual(ran.returncode, 2)
        self.assertIn('it has "fender", "ball"', ran.stderr)

    def test_a_solid_with_a_face_too_few_is_refused_with_the_place(self):
        text = (self.at / "box.step").read_text()
        shell = re.search(r"CLOSED_SHELL\('',\((#\d+),", text)
        self.assertIn("x 0.0 y 10.0 z 5.0 mm", self.refused("gap.step", text[: shell.start(1)] + text[shell.end(1) + 1 :]))

    def test_faces_that_do_not_close_are_refused_with_the_place(self):
        self.assertIn("x 5.0 y 10.0 z 30.0 mm", self.refused("faces.step", (self.at / "open.step").read_text()))

    def test_damaged_text_is_refused(self):
        text = (self.at / "block.step").read_text()
        self.assertIn("damaged", self.refused("header.step", text[:300]))
        self.refused("half.step", text[: len(text) // 2])
        self.assertIn("rename it to end in .step", self.refused("block.stl", text))

    def test_the_plan_works_from_end_to_end(self):
        with tempfile.TemporaryDirectory() as out:
            ran = run("plan", str(self.at / "block.step"), "-o", out, "--quiet", "--cubes", "20000", "--tries", "50", "--drawn", "part")
            self.assertIn(ran.returncode, (0, 1), ran.stderr)
            plan = json.loads(pathlib.Path(out, "plan.json").read_text())
            self.assertAlmostEqual(plan["cavities"][0]["volume_cm3"] * 1000 / BLOCK, 1, delta=1e-3)
            self.assertGreater(len(plan["vents"]), 0)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
