"""Files that are written, and files that cannot be: nothing of the user's is lost, and the reason is the real one."""

import ctypes
import os
import pathlib
import subprocess
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import PROGRAM, Case, box, stl, ullage

SMALL = ("--cubes", 500, "--quiet")
PLAN = (*SMALL, "--tries", 5, "--scatter", 1, "--up", "0,0,1")
WHOLE = sorted("bench-card.pdf plan.json report.html vent-cutters.3mf vent-cutters.obj vent-cutters.stl vent-flags.3mf vent-flags.glb "
               "vent-flags.ply vent-flags.stl vent-layout.dxf vents.csv".split())


def like_anybody():
    """Root, too, has no more rights to a file than its mode says (capabilities 1 and 2, of what the program starts with)."""
    for capability in (1, 2):
        ctypes.CDLL(None).prctl(24, capability, 0, 0, 0)


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
        self.kept(2, "vents.csv would be written over the file that is read", "markers", out / "vents.csv")
        self.assertEqual(ullage("markers", out / "plan.json", "-o", out).returncode, 0)

    # --- the real reason, and what to do ---

    def test_a_folder_that_cannot_be_made_says_why(self):
        """The last of several that were to be made was never tried where the first could not be: "No such file or directory"."""
        locked = self.folder / "locked"
        locked.mkdir(mode=0o500)
        for dir in (locked / "new", locked / "new" / "deeper" / "yet"):
            self.refused(4, ("cannot be made a folder: Permission denied: name another with -o",), "plan", self.box, *PLAN, "-o", dir, preexec_fn=like_anybody)
        self.file("a-file", "")
        self.refused(4, "cannot be made a folder: Not a directory", "plan", self.box, *PLAN, "-o", self.path("half", "..", "a-file", "x"))
        self.assertFalse(self.folder.joinpath("half").exists())  # what was made on the way is gone again

    def test_a_card_that_cannot_be_opened_is_not_called_missing(self):
        card, loop = self.file("locked.card", "name = x\n"), self.path("loop.card")
        os.chmod(card, 0)
        os.symlink(loop, loop)
        for path, why in ((card, "Permission denied"), (loop, "Too many levels of symbolic links")):
            table = self.file("locked.csv", f"card,charge_g,part_g\n{path},380,365\n")
            for words in (("charge", self.box, "--foam", path), ("foams", path), ("shots", table), ("shots", table, "--foam", path)):
                self.refused(3, f"foam card {path} cannot be opened: {why}: check your rights to it, or name another", *words, preexec_fn=like_anybody)
        os.remove(card)
        self.refused(3, "neither a file nor a generic card", "foams", card)

    def test_a_table_of_shots_that_is_none_says_what_to_name(self):
        self.refused(3, "is a directory: name the table of shots in it, a CSV file", "shots", self.folder)
        self.refused(3, "cannot be opened: No such file or directory: name the table of shots, a CSV file", "shots", self.path("none.csv"))

    def test_a_binary_file_as_a_card_puts_no_bytes_of_it_on_the_terminal(self):
        for content, told in ((b"\xff\xfe\x80 = \x9b31m\n", "unknown key '???'"), (b"class = \x9b31m\xc2\x9b\x7f\n", "class = ?31m???: give"),
                              ("class = starr-é\n".encode(), "class = starr-é: give")):
            card = self.file("binary.card", content)
            ran = subprocess.run([PROGRAM, "foams", card], capture_output=True, timeout=60)
            self.assertEqual(ran.returncode, 3)
            self.assertIn(told, ran.stderr.decode("utf-8"))
            self.assertTrue(ran.stderr.decode("utf-8")[:-1].isprintable(), ran.stderr)
        name = os.path.join(os.fsencode(self.path()), b"\x9bname")
        ran = subprocess.run([PROGRAM, "check", name], capture_output=True, timeout=60)
        self.assertIn("/?name: cannot be opened", ran.stderr.decode("utf-8"))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
