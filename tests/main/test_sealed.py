"""Air that is shut in. Every generic foam in every demo cavity, without a vent, three ways up and in few cubes: the
hardest a rise has to do. The shared reader asks each for its mass, its air and unsettled steps; here, that no pressure
comes that is not there at the end (foam that grows presses ever harder; a step of one of the 90 was seen a tenth above,
the others within 3 %)."""

import csv
import itertools
import json
import math
import pathlib
import re
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import Case, box, ullage

MESHES = sorted(p for p in pathlib.Path(sys.argv[2]).iterdir() if p.suffix in (".stl", ".obj", ".3mf"))
FOAMS = [foam["name"] for foam in json.loads(ullage("foams", "--json").stdout)["foams"]]
UPS = ("0,0,1", "0.3,0.2,0.9", "1,0.1,0")
IN_TIME = ("--mix-s", 5, "--pour-s", 3, "--close-s", 3)


def revolved(profile, sides):
    """A body of revolution, from its outline (radius, height) on the axis to one on the axis."""
    def at(k, p):
        return (p[0] * math.cos(2 * math.pi * k / sides), p[0] * math.sin(2 * math.pi * k / sides), p[1])
    quads = [(at(k, p), at(k + 1, p), at(k + 1, q), at(k, q)) for k in range(sides) for p, q in zip(profile, profile[1:])]
    return [t for a, b, c, d in quads for t in ((a, b, c), (a, c, d)) if len(set(t)) == 3]


class Sealed(Case):
    def test_a_wide_hole_at_a_neck_has_no_blows_of_pressure(self):
        """Much foam grows behind the few cubes of the mouth. They ended with less than no foam, and the rise in steps that did not
        settle: 292 of them in 4,000 cubes, with 75 kPa for 34, and no end within five minutes in 16,000."""
        bottle = self.mesh(revolved([(0, 0), (36, 0), (40, 6), (40, 90), (36, 104), (24, 118), (14, 128), (14, 150), (17, 150), (17, 158), (0, 158)], 16))
        for cubes in (4000, 8000, 16000):
            table = self.path(f"{cubes}.csv")
            told = self.result(1, "rise", bottle, "--foam", "self-skinning-250", "--cubes", cubes, "--pour-hole", "0,0,158,20",
                               "--pack", 1.8, "--mix-s", 8, "--pour-s", 6, "--close-s", 4, "--series", table)
            self.assertAlmostEqual(told["cavities"][0]["outcome"]["peak_kpa"], 34.2, delta=1)
            with open(table) as rows:
                kpa = [float(row["peak_kpa"]) for row in csv.DictReader(rows)]
            for before, at, after in zip(kpa, kpa[1:], kpa[2:]):
                self.assertLess(at, 1.1 * max(before, after) + 0.2)

    def test_foam_shut_in_presses_no_harder_than_it_does_at_the_end(self):
        self.assertEqual((len(MESHES), len(FOAMS)), (5, 6))
        for mesh, foam, up in itertools.product(MESHES, FOAMS, UPS):
            with self.subTest(mesh=mesh.name, foam=foam, up=up):
                told = self.result(1, "rise", mesh, "--foam", foam, "--up", up, "--cubes", 1000, *IN_TIME)
                outcome = told["cavities"][0]["outcome"]
                self.assertGreater(outcome["end_kpa"], 10)
                self.assertLess(outcome["peak_kpa"], 1.15 * outcome["end_kpa"])

    def test_a_heap_that_runs_down_presses_no_harder_than_the_end(self):
        """Poured when it creams, it lies in a heap; or it is turned as it grows. Of 222 such rises of one kind six ended in a
        system that nothing solves and four told of pressures that never were, of the other kind five and sixteen."""
        plain = self.mesh(box((100, 100, 50)))
        for mesh, foam, turned in itertools.product((plain, *MESHES), FOAMS, (False, True)):
            with self.subTest(mesh=mesh, foam=foam, turned=turned):
                words = ("--up", "1,0.1,0", "--poured-up", "0,0,1") if turned else ("--up", "0,0,1")
                told = self.result(1, "rise", mesh, "--foam", foam, *words, "--cubes", 3000)
                outcome = told["cavities"][0]["outcome"]
                self.assertLess(outcome["rough_steps"], 3)
                self.assertLess(outcome["peak_kpa"], 1.05 * outcome["end_kpa"])

    def test_bubbles_that_are_let_be_are_counted_not_listed(self):
        ball = next(mesh for mesh in MESHES if mesh.name == "bow-ball.3mf")
        words = ("rise", ball, "--foam", "rigid-40", "--vent", "0,0,63.2,3")
        cut_off = [e for e in self.result(1, *words)["events"] if e["what"] == "air cut off"]
        for limit in (0.05, 1000):
            text = ullage(*words, "--void-ok", limit).stdout
            (more,) = re.findall(r"(\d+) more bubbles? under", text)
            self.assertEqual(int(more) + text.count("air cut off"), len(cut_off))
            self.assertEqual(text.count("air cut off") > 0, limit < 1000)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
