"""The cutters subtracted from the tool by an independent library of mesh booleans, from the npm registry:
every hole is through, and nothing else of the tool changes."""

import json
import math
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree
import zipfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import npm

PROGRAM, MESHES, SCRIPT = sys.argv[1:4]
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def objects_of(path):
    """Name and triangles, as places, of each object of a 3MF."""
    with zipfile.ZipFile(path) as archive:
        root = xml.etree.ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    for o in root.iter(CORE + "object"):
        at = [tuple(float(v.get(c)) for c in "xyz") for v in o.iter(CORE + "vertex")]
        yield o.get("name"), [[at[int(t.get(k))] for k in ("v1", "v2", "v3")] for t in o.iter(CORE + "triangle")]


def one_mesh(shapes):
    """Objects that share places, joined there."""
    number = {}
    triangles = [[number.setdefault(v, len(number)) for v in t] for shape in shapes for t in shape]
    return {"at": list(number), "triangles": triangles}


class Subtract(unittest.TestCase):
    def drill(self, mesh, *words):
        with tempfile.TemporaryDirectory() as out:
            ran = subprocess.run([PROGRAM, "plan", mesh, "-o", out, "--cubes", "20000", "--tries", "50", *words], capture_output=True, text=True, timeout=120)
            self.assertIn(ran.returncode, (0, 1), ran.stderr)
            plan = json.loads(pathlib.Path(out, "plan.json").read_text())
            cutters = [one_mesh([shape]) for _, shape in objects_of(out + "/vent-cutters.3mf")]
            cavity = one_mesh(s for name, s in objects_of(out + "/vent-flags.3mf") if not name.startswith("vent "))
        job = {"tool": {"box_mm": plan["tool"]["box_mm"], "cavity": cavity}, "cutters": cutters}
        ran = subprocess.run(["node", SCRIPT, LIBRARY], input=json.dumps(job), capture_output=True, text=True, timeout=120)
        self.assertEqual(ran.returncode, 0, ran.stderr[-500:])
        return [v for v in plan["vents"] if v["can_be_made"]], json.loads(ran.stdout)

    def check(self, mesh, *words):
        vents, cut = self.drill(os.path.join(MESHES, mesh), *words)
        self.assertGreater(len(vents), 0)
        self.assertEqual(cut["holes"], len(vents))  # each a way from the cavity to the outside
        grain = 1e-6 * cut["tool"]  # the library's floats
        self.assertAlmostEqual(cut["drilled"], cut["tool"] - sum(cut["inside"]), delta=grain)
        self.assertAlmostEqual(cut["back"], cut["tool"], delta=grain)
        for vent, inside, whole in zip(vents, cut["inside"], cut["whole"], strict=True):
            face = 48 * math.tan(math.pi / 48) * (vent["diameter_mm"] / 2) ** 2
            self.assertLess(inside, whole - 1.999 * face)  # 2 mm and more are past the outside
            self.assertGreater(inside, face * vent["length_mm"] / 2)

    def test_bow_ball(self):
        self.check("bow-ball.3mf")

    def test_seat_pad(self):
        self.check("seat-pad.stl")

    def test_rack_saddle_lying_level_with_many_vents(self):
        self.check("rack-saddle.obj", "--up", "0,0,1")

    def test_dock_fender(self):
        self.check("dock-fender.stl", "--up", "0.1,0.1,1")


if __name__ == "__main__":
    LIBRARY = npm.fetch(*npm.BOOLEANS)
    if not LIBRARY:
        print("skipped: the npm registry cannot be reached")
        raise SystemExit(npm.SKIP)
    unittest.main(argv=sys.argv[:1])
