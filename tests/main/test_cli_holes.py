"""Holes as a mould maker gets them: what drill, through what tool, how far, and clear of what."""

import json
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import Case, box, stl, turned_inside_out, ullage

SMALL = ("--cubes", 8000, "--scatter", 2, "--tries", 20)
RAISED = ("--raise", "+x=10", "--draw", "0,0,1")
INCH = 25.4


class Holes(Case):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.box = cls.file("box.stl", stl(box((100, 60, 40))))

    def planned(self, mesh, *words):
        return self.result((0, 1), "plan", mesh, *SMALL, *words, "-o", self.path("out"))

    # --- which drill ---

    def test_without_a_card_a_vent_is_a_drill_of_the_set_asked_for(self):
        """It was 3 mm whatever the set: "0.118 in hole" with a relief of 1/4 in."""
        for name, vent_mm, relief_mm in (("shop", 3, 6), ("metric", 3, 6), ("inch", INCH / 8, INCH / 4), ("number", 0.12 * INCH, 0.242 * INCH)):
            with self.subTest(name):
                for vent in self.planned(self.box, *RAISED, "--drills", name)["vents"]:
                    self.assertAlmostEqual(vent["diameter_mm"], vent_mm, delta=1e-9)
                    self.assertAlmostEqual(vent["relief_mm"], relief_mm, delta=1e-9)

    # --- where the tool ends ---

    def test_a_block_is_drilled_to_its_own_outside(self):
        block = self.file("block.stl", stl(box((180, 140, 110), (-40, -40, -40)) + turned_inside_out(box((100, 60, 40)))))
        for vent in self.planned(block, *RAISED, "--drawn", "block")["vents"]:
            self.assertAlmostEqual(vent["through_mm"][2], 70, delta=1e-6)
        self.refused(2, ("--wall 10", "leave out --wall"), "plan", block, "--drawn", "block", "--wall", 10, "-o", self.path("out"))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
