"""Files that are written, and files that cannot be: nothing of the user's is lost, and the reason is the real one."""

import os
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import Case, box, stl, ullage

SMALL = ("--cubes", 500, "--quiet")
PLAN = (*SMALL, "--tries", 5, "--scatter", 1, "--up", "0,0,1")
WHOLE = sorted("bench-card.pdf plan.json report.html vent-cutters.3mf vent-cutters.obj vent-cutters.stl vent-flags.3mf vent-flags.glb "
               "vent-flags.ply vent-flags.stl vent-layout.dxf vents.csv".split())


class Files(Case):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.box = cls.file("box.stl", stl(box((60, 40, 30))))
        cls.card = cls.file("our.card", ullage("foams", "rigid-40").stdout)
        cls.insert = cls.file("core.stl", stl(box((10, 10, 10), (20, 10, 0))))

    def kept(self, code, says, *words):
        """Refused, and every file here is as it was."""
        before = {path: path.read_bytes() for path in self.folder.rglob("*") if path.is_file()}
        self.refused(code, says, *words)
        self.assertEqual({path: path.read_bytes() for path in self.folder.rglob("*") if path.is_file()}, before)

    # --- what would be written over ---

    def test_a_rise_writes_over_nothing_that_it_reads(self):
        """`--field mine.stl` destroyed the CAD file."""
        os.symlink(self.box, self.path("linked.stl"))
        os.link(self.card, self.path("other.card"))
        there = ("rise", self.box, "--foam", self.card, "--insert", self.insert, *SMALL)
        for option in ("--field", "--series"):
            for path in (self.box, str(self.folder) + "/./box.stl", self.path("linked.stl"), os.path.relpath(self.box)):
                self.kept(2, (option + " " + path, "would be written over the file that is read: name another file"), *there, option, path)
            for path in (self.card, self.path("other.card")):
                self.kept(2, "would be written over the foam card", *there, option, path)
            self.kept(2, "would be written over an insert's mesh", *there, option, self.insert)

    def test_a_rises_two_files_are_two(self):
        there = ("rise", self.box, "--foam", "rigid-40", *SMALL)
        old = self.file("old.csv", "mine")
        for a, b in ((self.path("new"), str(self.folder) + "/./new"), (old, old), ("no-folder/x", "no-folder/x")):
            self.kept(2, ("--series and --field", "name two files"), *there, "--series", a, "--field", b)
        ran = ullage(*there, "--series", "/dev/null", "--field", "/dev/null")  # where nothing is lost
        self.assertEqual((ran.returncode, ran.stderr), (1, ""))

    def test_a_card_that_is_generic_is_no_file(self):
        ran = ullage("rise", "box.stl", "--foam", "rigid-40", *SMALL, "--series", "rigid-40", cwd=self.folder)
        self.assertEqual((ran.returncode, ran.stderr), (1, ""))
        self.folder.joinpath("rigid-40").unlink()

    def test_no_file_of_a_plan_replaces_what_it_is_made_from(self):
        out = pathlib.Path(self.path("plan"))
        self.assertIn(ullage("plan", self.box, "--foam", "rigid-40", *PLAN, "-o", out).returncode, (0, 1))
        self.assertEqual(sorted(os.listdir(out)), WHOLE)
        for name in WHOLE:
            self.kept(2, (f"{name} would be written over the file that is read", "name another folder with -o"), "plan", out / name, *PLAN, "-o", out)
            self.kept(2, "written over the foam card", "plan", self.box, "--foam", out / name, *PLAN, "-o", str(out) + "/")
            self.kept(2, "written over an insert's mesh", "plan", self.box, "--insert", out / name, *PLAN, "-o", out)
            self.kept(2, "written over the tool's mesh", "plan", self.box, "--tool", out / name, *PLAN, "-o", out)
        again = ("plan", self.box, *PLAN, "--keep", out / "plan.json", "-o", out)  # the new plan stands in for the old one
        self.assertIn(ullage(*again).returncode, (0, 1))
        (out / "vents.csv").write_bytes((out / "plan.json").read_bytes())
        self.kept(2, "vents.csv would be written over the file that is read", "markers", out / "vents.csv", "-o", out)
        self.assertEqual(ullage("markers", out / "plan.json", "-o", out).returncode, 0)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
