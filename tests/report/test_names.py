"""Names from outside - of files, parts, sides, foams - are only ever names: in HTML, PDF, CSV, DXF, 3MF, GLB, JSON and on the
terminal. test_names.py PROGRAM"""

import csv
import html.parser
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree
import zipfile

import ezdxf

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import CORE, PROGRAM, box_corners, boxes_3mf

NAMES = [
    "bow ball, left",
    "\"double\" 'single' `back`",
    "<script>document.title=1</script><!--",
    "</style></svg>&lt;&amp;]]>",
    "=HYPERLINK(\"http://x\",\"y\")",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "Bugkugel größe \u6f22\u5b57 \U0001f6a3",
    "\u202eturned round",
    "n" * 200,
    "%s %n %d %x \\n \\ # ; |",
    "$(touch broken) `touch broken`",
]
# a file system takes these too; no XML does
LINES = ["two\nlines", "0\nEOF\n", "\ttab", "\x1b[31mred", "bell\x07", "carriage\rreturn"]


def make_3mf(path, names):
    return boxes_3mf(path, [(name, box_corners((30, 20, 25), (40 * i, 0, 0))) for i, name in enumerate(names)])


class Tags(html.parser.HTMLParser):
    """How many of each element a page has, and what its heading says."""

    def __init__(self, text):
        super().__init__()
        self.count, self.heading, self.inside = {}, "", False
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.count[tag] = self.count.get(tag, 0) + 1
        self.inside = tag == "h1"
        for name, _ in attributes:
            self.count["on"] = self.count.get("on", 0) + name.startswith("on")

    def handle_data(self, data):
        if self.inside:
            self.heading += data

    def handle_endtag(self, tag):
        self.inside = self.inside and tag != "h1"


def shown(name):
    """As the page shows it: what is a control is unknown."""
    return "".join("\ufffd" if ord(c) < 32 or ord(c) == 127 else c for c in name)


class Names(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        cls.plain = cls.made(cls.plan_of("plain", "plain")[1])

    @classmethod
    def plan_of(cls, name, out, part=None, *words):
        """What plan printed, and its folder, for a box in a file of that name."""
        mesh = make_3mf(os.path.join(cls.folder.name, name.replace("/", "_")[:240] + ".3mf"), [part or "box", "other"])
        folder = os.path.join(cls.folder.name, out)
        ran = subprocess.run([PROGRAM, "plan", mesh, "-o", folder, "--up", "0.1,0.2,1", "--cubes", "5000", "--tries", "20", "--scatter", "2",
                              *words], capture_output=True, timeout=120, cwd=cls.folder.name)
        assert ran.returncode in (0, 1), ran.stderr
        return ran.stdout + ran.stderr, folder

    @staticmethod
    def made(folder):
        """What each file holds, as others read it."""
        at = lambda name: os.path.join(folder, name)
        with open(at("report.html"), encoding="utf-8") as file:
            page = Tags(file.read())
        with open(at("vents.csv"), encoding="utf-8", newline="") as file:
            table = list(csv.reader(file))
        drawing = ezdxf.readfile(at("vent-layout.dxf"))
        with open(at("plan.json"), encoding="utf-8") as file:
            plan = json.load(file)
        card = subprocess.run(["pdftotext", "-layout", at("bench-card.pdf"), "-"], capture_output=True, text=True, timeout=60).stdout
        return page, table, drawing, plan, card

    def check(self, printed, folder, heading=None):
        page, table, drawing, plan, card = self.made(folder)
        plain = self.plain
        self.assertEqual(page.count, plain[0].count, "the same elements, and no more")
        if heading is not None:
            self.assertEqual(page.heading, heading)
        self.assertEqual({len(row) for row in table}, {27})
        for row in table[1:]:
            for cell in row:
                if cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
                    float(cell)  # a spreadsheet would take anything else for a formula
        self.assertEqual(drawing.audit().errors, [])
        kinds = lambda d: sorted(e.dxftype() for e in d.modelspace())
        self.assertEqual(kinds(drawing), kinds(plain[2]))
        self.assertEqual(len(plan["vents"]), len(plain[3]["vents"]))
        self.assertEqual(card.count("\f"), 1)
        self.assertNotRegex(printed.decode("utf-8", "replace").replace("\n", " "), r"[\x00-\x1f\x7f]")
        self.assertFalse(os.path.exists(os.path.join(self.folder.name, "broken")))

    def test_a_files_name(self):
        for i, name in enumerate(NAMES + LINES):
            with self.subTest(name):
                printed, folder = self.plan_of(name, f"file{i}")
                self.check(printed, folder, shown(name.replace("/", "_")[:240] + ".3mf"))

    def test_a_parts_name(self):
        for i, name in enumerate(NAMES):
            with self.subTest(name):
                printed, folder = self.plan_of("parts", f"part{i}", name)
                self.check(printed, folder)
                with zipfile.ZipFile(os.path.join(folder, "vent-flags.3mf")) as archive:
                    root = xml.etree.ElementTree.fromstring(archive.read("3D/3dmodel.model"))
                self.assertIn(name.replace("\u202e", "\ufffd"), [o.get("name") for o in root.iter(CORE + "object")])

    def test_a_sides_name(self):
        for i, name in enumerate(n for n in NAMES if "=" not in n[1:]):
            with self.subTest(name):
                printed, folder = self.plan_of("sides", f"side{i}", None, "--side", "+x=" + name)
                self.check(printed, folder)

    def test_a_foams_name(self):
        card = subprocess.run([PROGRAM, "foams", "rigid-40"], capture_output=True, text=True, timeout=60).stdout
        for i, name in enumerate((NAMES[2], NAMES[4], NAMES[8], NAMES[10][:100])):
            with self.subTest(name):
                path = os.path.join(self.folder.name, f"foam{i}.card")
                with open(path, "w", encoding="utf-8") as file:
                    file.write(re.sub(r"(?m)^name *=.*$", lambda _: "name = " + name, card))
                ran = subprocess.run([PROGRAM, "charge", os.path.join(self.folder.name, "plain.3mf"), "--foam", path, "--json"],
                                     capture_output=True, text=True, timeout=60)
                if ran.returncode == 3:  # refused, in one line
                    self.assertEqual(ran.stderr.count("\n"), 1)
                    continue
                self.assertEqual(json.loads(ran.stdout)["foam"]["name"], name)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
