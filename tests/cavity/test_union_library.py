"""Volume and area of bodies that overlap, and of what inserts leave of one, against an independent library of mesh booleans from the npm registry."""

import itertools
import json
import math
import pathlib
import random
import struct
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import npm

PROGRAM, SCRIPT = sys.argv[1:3]
CASES = 40
BOX = [(0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4), (2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6), (1, 3, 5), (3, 7, 5)]


def as_float(x):
    return struct.unpack("<f", struct.pack("<f", x))[0]


def turned(points, dice, middle):
    """Turned at random about the origin, then moved; as a file of floats will hold it."""
    q = [dice.gauss(0, 1) for _ in range(4)]
    n = math.sqrt(sum(c * c for c in q))
    w, x, y, z = (c / n for c in q)
    rows = [
        (1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)),
        (2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)),
        (2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)),
    ]
    return [[as_float(sum(a * b for a, b in zip(row, p)) + m) for row, m in zip(rows, middle)] for p in points]


def box(dice):
    size = [dice.uniform(4, 40) for _ in range(3)]
    corners = [[(i >> c & 1) - 0.5 for c in range(3)] for i in range(8)]
    return [[a * b for a, b in zip(p, size)] for p in corners], BOX


def ball(dice):
    """A globe of rings of vertices, shared where they meet."""
    radius, rings, around = dice.uniform(5, 20), dice.randint(4, 12), dice.randint(5, 20)
    at = [[0, 0, radius], [0, 0, -radius]]
    for r, s in itertools.product(range(1, rings), range(around)):
        a, b = math.pi * r / rings, 2 * math.pi * s / around
        at.append([radius * math.sin(a) * math.cos(b), radius * math.sin(a) * math.sin(b), radius * math.cos(a)])

    def vertex(r, s):
        return 0 if r == 0 else 1 if r == rings else 2 + (r - 1) * around + s % around

    quads = [(vertex(r, s), vertex(r + 1, s), vertex(r + 1, s + 1), vertex(r, s + 1)) for r in range(rings) for s in range(around)]
    triangles = [(a, b, c) for a, b, c, _ in quads if b != c] + [(a, c, d) for a, _, c, d in quads if a != d]
    return at, triangles


def bodies(dice):
    made = []
    for _ in range(dice.randint(2, 6)):
        at, triangles = dice.choice([box, ball])(dice)
        made.append({"at": turned(at, dice, [dice.uniform(-15, 15) for _ in range(3)]), "triangles": triangles})
    return made


def write_stl(path, made):
    facets = [[body["at"][v] for v in t] for body in made for t in body["triangles"]]
    with open(path, "wb") as f:
        f.write(b"bodies".ljust(80) + struct.pack("<I", len(facets)))
        for facet in facets:
            f.write(struct.pack("<12fH", 0, 0, 0, *itertools.chain(*facet), 0))


class Booleans(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        dice = random.Random(11)
        cls.cases = [bodies(dice) for _ in range(CASES)]
        ran = subprocess.run(["node", SCRIPT, LIBRARY], input=json.dumps(cls.cases), capture_output=True, text=True, timeout=120)
        if ran.returncode != 0:
            raise AssertionError(ran.stderr[-500:])
        cls.want = json.loads(ran.stdout)

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name

    def check(self, cavity, inserts=()):
        write_stl(self.folder + "/cavity.stl", cavity)
        words = [PROGRAM, "check", self.folder + "/cavity.stl", "--json", "--quiet", "--cubes", "2000", "--drawn", "part"]
        for i, insert in enumerate(inserts):
            write_stl(f"{self.folder}/insert{i}.stl", [insert])
            words += ["--insert", f"{self.folder}/insert{i}.stl"]
        return subprocess.run(words, capture_output=True, text=True, timeout=60)

    def compare(self, told, want):
        self.assertAlmostEqual(sum(c["volume_cm3"] for c in told["cavities"]) * 1000 / want["volume"], 1, delta=1e-5)
        self.assertAlmostEqual(sum(c["area_cm2"] for c in told["cavities"]) * 100 / want["area"], 1, delta=1e-5)

    def test_volume_and_area_are_the_unions(self):
        overlapping = 0
        for made, want in zip(self.cases, self.want, strict=True):
            ran = self.check(made)
            self.assertEqual(ran.returncode, 0, ran.stderr)
            told = json.loads(ran.stdout)
            overlapping += any(f["kind"] == "overlapping-shells" for f in told["file"]["faults"])
            self.compare(told, want["union"])
        self.assertGreater(overlapping, CASES // 2)

    def test_volume_and_area_are_what_inserts_leave(self):
        compared = refused = 0
        for made, want in zip(self.cases, self.want, strict=True):
            ran = self.check(made[:1], made[1:])
            if not all(want["alone"]) or not want["left"]["volume"]:
                self.assertEqual(ran.returncode, 3)
                self.assertRegex(ran.stderr, "lies outside the cavity|fills? the cavity")
                refused += 1
                continue
            self.assertEqual(ran.returncode, 0, ran.stderr)
            told = json.loads(ran.stdout)
            self.compare(told, want["left"])
            for insert, displaced in zip(told["inserts"], want["displaced"], strict=True):
                self.assertAlmostEqual(insert["displaced_cm3"] * 1000, displaced, delta=1e-5 * want["union"]["volume"])
            compared += 1
        print(f"# {compared} compared, {refused} refused")
        self.assertGreater(compared, CASES // 2)


if __name__ == "__main__":
    LIBRARY = npm.fetch(*npm.BOOLEANS)
    if not LIBRARY:
        print("skipped: the npm registry cannot be reached")
        raise SystemExit(npm.SKIP)
    unittest.main(argv=sys.argv[:1])
