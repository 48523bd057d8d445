"""What tests of the program share: running it, on boxes, in a folder of the test's own."""

import itertools
import json
import pathlib
import struct
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree
import zipfile

PROGRAM = str(pathlib.Path(sys.argv[1]).resolve())  # the first argument of every such test
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"  # of 3MF
BOX_FACES = [  # of corners numbered x + 2 y + 4 z, outwards
    (0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4),
    (2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5),
]


def box_corners(size, at=(0, 0, 0)):
    return [tuple(at[c] + size[c] * (i >> c & 1) for c in range(3)) for i in range(8)]


def box(size, at=(0, 0, 0)):
    corner = box_corners(size, at)
    return [tuple(corner[v] for v in face) for face in BOX_FACES]


def cells(*grid_and_solid):
    """The walls of the solid cells of a grid x, y, z, one skin without T-junctions."""
    *grid, solid = grid_and_solid
    out = []
    count = [len(line) - 1 for line in grid]
    inside = lambda at: all(0 <= at[c] < count[c] for c in range(3)) and solid(*at)
    for at in itertools.product(*map(range, count)):
        for c, high in itertools.product(range(3), (0, 1)):
            beyond = tuple(at[k] + (2 * high - 1) * (k == c) for k in range(3))
            if not inside(at) or inside(beyond):
                continue
            corner = lambda a, b: tuple(grid[k][at[k] + {c: high, (c + 1) % 3: a, (c + 2) % 3: b}[k]] for k in range(3))
            ring = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)][:: 1 if high else -1]
            out += [(ring[0], ring[1], ring[2]), (ring[0], ring[2], ring[3])]
    return out


def turned_inside_out(triangles):
    """A hollow as a solid has it."""
    return [t[::-1] for t in triangles]


def stl(triangles):
    body = b"".join(struct.pack("<12fH", 0, 0, 0, *(x for v in t for x in v), 0) for t in triangles)
    return b"made by a test".ljust(80) + struct.pack("<I", len(triangles)) + body


def boxes_3mf(path, boxes):
    """An object a name, from its box's corners; by a library, which escapes as XML asks."""
    xml_of = xml.etree.ElementTree
    model = xml_of.Element(CORE + "model", unit="millimeter")
    resources, build = xml_of.SubElement(model, CORE + "resources"), xml_of.SubElement(model, CORE + "build")
    for i, (name, corners) in enumerate(boxes):
        solid = xml_of.SubElement(resources, CORE + "object", id=str(i + 1), name=name)
        mesh = xml_of.SubElement(solid, CORE + "mesh")
        vertices, triangles = (xml_of.SubElement(mesh, CORE + kind) for kind in ("vertices", "triangles"))
        for at in corners:
            xml_of.SubElement(vertices, CORE + "vertex", dict(zip("xyz", map(str, at))))
        for face in BOX_FACES:
            xml_of.SubElement(triangles, CORE + "triangle", dict(zip(("v1", "v2", "v3"), map(str, face))))
        xml_of.SubElement(build, CORE + "item", objectid=str(i + 1))
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("3D/3dmodel.model", xml_of.tostring(model, encoding="utf-8", xml_declaration=True))
    return path


def ullage(*words, **more):
    return subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=280, **more)


def unbalanced(told):
    """What a foam's rise lost of its mass or its air, and the steps in it that did not settle: (cavity, key, value) each."""
    return [(c["id"], key, c["outcome"][key]) for c in told.get("cavities", []) for key in ("mass_error", "air_error", "rough_steps")
            if abs(c.get("outcome", {}).get(key, 0)) > 1e-9]


class Case(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.folder = pathlib.Path(folder.name)

    @classmethod
    def path(cls, *names):
        return str(cls.folder.joinpath(*names))

    @classmethod
    def file(cls, name, content):
        pathlib.Path(cls.path(name)).write_bytes(content if isinstance(content, bytes) else content.encode())
        return cls.path(name)

    @classmethod
    def mesh(cls, triangles):
        return cls.file("mesh.stl", stl(triangles))

    def result(self, code, *words):
        """What it tells as JSON; `code`: how it ends, or how it may."""
        ran = ullage(*words, "--json")
        self.assertEqual(ran.stderr, "")
        self.assertIn(ran.returncode, code if isinstance(code, tuple) else (code,), ran.stdout)
        told = json.loads(ran.stdout)
        self.assertEqual(unbalanced(told), [])
        return told

    def refused(self, code, says, *words, **more):
        """Exit code, and one line on stderr that says these words; nothing on stdout but a report."""
        ran = ullage(*words, **more)
        self.assertEqual(ran.returncode, code, ran.stdout + ran.stderr)
        self.assertEqual(ran.stderr.count("\n"), 1, ran.stderr)
        self.assertTrue(ran.stderr.startswith("ullage: "), ran.stderr)
        for word in says if isinstance(says, tuple) else (says,):
            self.assertIn(word, ran.stderr)
        return ran
