"""The mould maker's files, each read by something that did not write it: zipfile and ElementTree, csv,
json, ezdxf, and the program's own import, which is another library's for most of these formats."""

import csv
import io
import itertools
import json
import math
import os
import pathlib
import re
import shutil
import struct
import sys
import tempfile
import unittest
import xml.etree.ElementTree
import zipfile

import ezdxf

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import BOX_FACES, CORE, box_corners, boxes_3mf, ullage

NASTY = [
    "hinge side",
    "\"quoted\" 'twice'",
    "<script>alert(1)</script> & ]]>",
    "=HYPERLINK(0)",
    "Bugkugel größe 球 \u202e",
    "n" * 200,
    "back\\slash # hash",
]


def data_of(path):
    with open(path, "rb") as file:
        return file.read()


def table_of(path):
    return io.StringIO(data_of(path).decode(), newline="")


def write_json(path, what):
    with open(path, "w") as out:
        json.dump(what, out)


def volume(triangles):
    """Signed; positive when they face outwards."""
    return sum(
        a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        for a, b, c in triangles
    ) / 6


def row_of_boxes(count):
    """The corners of boxes 40 mm apart, each a cavity of its own, the i-th 10 (i + 2) mm high."""
    return [box_corners((30, 20, 10 * (i + 2)), (40 * i, 0, 0)) for i in range(count)]


def boxes_obj(path, count):
    with open(path, "w") as out:
        for i, corners in enumerate(row_of_boxes(count)):
            out.write(f"o box{i}\n" + "".join("v %g %g %g\n" % v for v in corners))
            out.write("".join("f %d %d %d\n" % tuple(v + 1 + 8 * i for v in face) for face in BOX_FACES))
    return path


def read_stl(path):
    data = data_of(path)
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    rows = [struct.unpack_from("<12f", data, 84 + 50 * t)[3:] for t in range(count)]
    return [(r[0:3], r[3:6], r[6:9]) for r in rows]


def read_obj(path):
    vertices, objects = [], {}
    for line in data_of(path).decode().split("\n"):
        kind, _, rest = line.partition(" ")
        if kind == "v":
            vertices.append(tuple(map(float, rest.split())))
        elif kind == "o":
            here = objects.setdefault(rest.replace("_", " "), [])
        elif kind == "f":
            here.append(tuple(vertices[int(i) - 1] for i in rest.split()))
        else:
            assert kind in ("", "#"), line
    return objects


def read_3mf(path):
    """Triangles and colour by object's name."""
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        assert set(archive.namelist()) == {"[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"}
        root = xml.etree.ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    assert root.get("unit") == "millimeter"
    colours = [b.get("displaycolor") for b in root.iter(CORE + "base")]
    objects, ids = {}, set()
    for o in root.iter(CORE + "object"):
        at = [tuple(float(v.get(c)) for c in "xyz") for v in o.iter(CORE + "vertex")]
        shape = [tuple(at[int(t.get(k))] for k in ("v1", "v2", "v3")) for t in o.iter(CORE + "triangle")]
        objects[o.get("name")] = shape, colours[int(o.get("pindex"))] if o.get("pindex") else None
        ids.add(o.get("id"))
    assert {i.get("objectid") for i in root.iter(CORE + "item")} == ids
    return objects


def read_ply(path):
    """(vertices, their colours, faces, comments): as the format's description of 1994 has it, and no more."""
    data = data_of(path)
    header, body = data.split(b"end_header\n", 1)
    lines = header.decode().splitlines()
    assert lines[:2] == ["ply", "format binary_little_endian 1.0"]
    comments = [line[8:] for line in lines if line.startswith("comment ")]
    rest = [line for line in lines[2:] if not line.startswith("comment ")]
    vertices, faces = (int(line.split()[2]) for line in rest if line.startswith("element "))
    assert [line.split(" ", 1)[1] for line in rest if line.startswith("property ")] == [
        *(f"double {c}" for c in "xyz"), *(f"uchar {c}" for c in ("red", "green", "blue", "alpha")), "list uchar int vertex_indices"]
    assert len(body) == 28 * vertices + 13 * faces
    rows = list(struct.iter_unpack("<3d4B", body[: 28 * vertices]))
    corners = list(struct.iter_unpack("<B3i", body[28 * vertices :]))
    assert all(row[0] == 3 and 0 <= min(row[1:]) and max(row[1:]) < vertices for row in corners)
    return [r[:3] for r in rows], [r[3:] for r in rows], [r[1:] for r in corners], comments


def read_glb(path):
    """Triangles in metres, +y up, and material by node's name."""
    data = data_of(path)
    magic, version, length, json_bytes, json_kind = struct.unpack_from("<4sIIII", data)
    assert (magic, version, length, json_kind) == (b"glTF", 2, len(data), 0x4E4F534A)
    scene = json.loads(data[20 : 20 + json_bytes])
    binary_bytes, binary_kind = struct.unpack_from("<II", data, 20 + json_bytes)
    assert binary_kind == 0x004E4942 and binary_bytes == scene["buffers"][0]["byteLength"]
    binary = data[28 + json_bytes :]
    assert len(binary) == binary_bytes and json_bytes % 4 == 0

    def numbers(accessor, kind, width):
        a = scene["accessors"][accessor]
        view = scene["bufferViews"][a["bufferView"]]
        count = a["count"] * width
        assert view["byteLength"] == 4 * count
        return struct.unpack_from(f"<{count}{kind}", binary, view["byteOffset"])

    objects = {}
    for n in scene["scenes"][scene["scene"]]["nodes"]:
        node = scene["nodes"][n]
        (primitive,) = scene["meshes"][node["mesh"]]["primitives"]
        flat = numbers(primitive["attributes"]["POSITION"], "f", 3)
        at = [flat[i : i + 3] for i in range(0, len(flat), 3)]
        limits = scene["accessors"][primitive["attributes"]["POSITION"]]
        for c in range(3):
            for limit, of in (("min", min), ("max", max)):
                assert abs(limits[limit][c] - of(v[c] for v in at)) < 1e-6
        index = numbers(primitive["indices"], "I", 1)
        shape = [tuple(at[i] for i in index[t : t + 3]) for t in range(0, len(index), 3)]
        objects[node["name"]] = shape, scene["materials"][primitive["material"]]
    return objects


class Files(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.mesh = boxes_obj(os.path.join(cls.folder.name, "boxes.obj"), 3)
        cls.dir = os.path.join(cls.folder.name, "plan")
        ran = ullage("plan", cls.mesh, "-o", cls.dir, "--up", "0.1,0.2,1", "--draw", "0,0,1", "--cubes", 20000, "--tries", 50)
        assert ran.returncode in (0, 1), ran.stderr
        cls.plan = json.loads(data_of(cls.path("plan.json")))
        cls.vents = cls.plan["vents"]
        assert len(cls.vents) == 3 and all(v["can_be_made"] for v in cls.vents)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    @classmethod
    def path(cls, name):
        return os.path.join(cls.dir, name)

    def near(self, got, want, within):
        self.assertEqual(len(got), len(want))
        for g, w in zip(got, want):
            self.assertLessEqual(abs(g - w), within, (got, want))

    def again(self, *words, name="again"):
        out = os.path.join(self.folder.name, name)
        ran = ullage("markers", self.path("plan.json"), "-o", out, *words)
        self.assertEqual((ran.returncode, ran.stderr), (0, ""))
        return out

    # --- every format ---

    def test_cutters_are_the_same_solids_in_stl_obj_and_3mf(self):
        names = [f"vent {v['id']}" for v in self.vents]
        objects, package = read_obj(self.path("vent-cutters.obj")), read_3mf(self.path("vent-cutters.3mf"))
        self.assertEqual(list(objects), names)
        self.assertEqual(list(package), names)
        flat = [t for name in names for t in objects[name]]
        for got, want in zip(read_stl(self.path("vent-cutters.stl")), flat, strict=True):
            for a, b in zip(got, want):
                self.near(a, b, 1e-4)
        for name, vent in zip(names, self.vents):
            self.assertEqual(package[name][0], objects[name])  # to the last digit
            length = vent["length_mm"] + vent["back_mm"] + vent["past_mm"] + 2
            land = vent["land_mm"] + vent["back_mm"] if vent["relief_mm"] else length
            wide = vent["relief_mm"] or 0
            want = 48 * math.tan(math.pi / 48) / 4 * (vent["diameter_mm"] ** 2 * land + wide**2 * (length - land))
            self.assertAlmostEqual(volume(objects[name]), want, delta=1e-9 * want)

    def test_the_import_finds_them_sound_and_of_one_volume(self):
        found = []
        for ending in ("stl", "obj", "3mf"):
            checked = json.loads(ullage("check", self.path("vent-cutters." + ending), "--json").stdout)
            self.assertEqual(checked["file"]["faults"], [])
            self.assertEqual(checked["file"]["unit"], "mm")
            self.assertEqual(checked["file"]["unit_from_file"], ending == "3mf")
            found.append([c["volume_cm3"] for c in checked["cavities"]])
        self.assertEqual(len(found[0]), 3)
        self.near(found[0], found[1], 1e-6)
        self.near(found[2], found[1], 1e-6)

    def test_flags_stand_on_the_mouths_beside_the_cavity(self):
        flat = read_stl(self.path("vent-flags.stl"))
        package, scene = read_3mf(self.path("vent-flags.3mf")), read_glb(self.path("vent-flags.glb"))
        names = [f"vent {v['id']}" for v in self.vents]
        self.assertEqual(list(package), list(scene))
        self.assertEqual([n for n in package if n in names], names)
        self.assertEqual(len(package), len(names) + 3)
        flags = [t for n in names for t in package[n][0]]
        self.assertEqual(len(flat), len(flags))
        for vent, name in zip(self.vents, names):
            nearest = min(math.dist(v, vent["at_mm"]) for t in package[name][0] for v in t)
            self.assertLess(nearest, 1e-9)
        cavity = [volume(shape) for n, (shape, _) in package.items() if n not in names]
        self.near(sorted(cavity), [30 * 20 * 10 * h for h in (2, 3, 4)], 1e-6)
        for name in package:
            shape, colour = package[name]
            self.assertRegex(colour, "^#[0-9A-F]{8}$")
            turned, material = scene[name]
            self.assertEqual(material["alphaMode"], "OPAQUE" if name in names else "BLEND")
            for a, b in zip(shape, turned, strict=True):
                for (x, y, z), v in zip(a, b):
                    self.near(v, (x / 1000, z / 1000, -y / 1000), 1e-7)
        self.assertEqual(len({package[n][1] for n in names}), 1)
        self.assertNotEqual(package[names[0]][1], package[list(package)[-1]][1])

    def test_the_ply_has_the_same_triangles_and_colours_as_the_3mf(self):
        package = read_3mf(self.path("vent-flags.3mf"))
        vertices, colours, faces, comments = read_ply(self.path("vent-flags.ply"))
        starts = [re.fullmatch(r"faces from (\d+) on: (.*)", line).groups() for line in comments[1:]]
        self.assertEqual(comments[0], "millimetres")
        self.assertEqual([name for _, name in starts], list(package))
        ends = [int(first) for first, _ in starts[1:]] + [len(faces)]
        for (first, name), end in zip(starts, ends):
            shape, colour = package[name]
            for face, want in zip(faces[int(first) : end], shape, strict=True):
                for corner, place in zip(face, want):
                    self.near(vertices[corner], place, 1e-9)
                    self.assertEqual("#%02X%02X%02X%02X" % colours[corner], colour)
        checked = json.loads(ullage("check", self.path("vent-flags.ply"), "--json").stdout)
        self.assertEqual(checked["file"]["triangles"], len(faces))

    def test_the_glb_comes_back_through_the_import_in_millimetres(self):
        checked = json.loads(ullage("check", self.path("vent-flags.glb"), "--json").stdout)
        self.assertEqual(checked["file"]["triangles"], sum(len(s) for s, _ in read_glb(self.path("vent-flags.glb")).values()))
        low = [min(c["box_mm"][0][k] for c in checked["cavities"]) for k in range(3)]
        self.near(low, (0, 0, 0), 1e-3)

    def test_the_table_says_what_the_plan_says(self):
        rows = list(csv.DictReader(table_of(self.path("vents.csv"))))
        self.assertEqual(len(rows), len(self.vents))
        for row, vent in zip(rows, self.vents):
            self.assertEqual((int(row["id"]), int(row["cavity"])), (vent["id"], vent["cavity"]))
            for key, want in (("at", vent["at_mm"]), ("through", vent["through_mm"])):
                self.near([float(row[f"{key}_{c}_mm"]) for c in "xyz"], want, 5.1e-4)
            self.near([float(row["axis_" + c]) for c in "xyz"], vent["axis"], 1e-6)
            self.assertEqual([int(p) for p in row["serves_peaks"].split()], vent["serves"])
            self.assertEqual((row["note"], row["measured_from"]), (vent["note"], "the file's origin and axes"))
            for key in ("width_mm", "depth_mm", "land_mm", "relief_mm"):  # empty for none: 0.000 was a drill's size
                got, want = row[key], vent.get(key)
                self.assertEqual(got, f"{want:.3f}" if want else "")

    def test_the_drawing_is_r12_with_a_layer_a_size_and_a_circle_a_hole(self):
        drawing = ezdxf.readfile(self.path("vent-layout.dxf"))
        self.assertEqual(drawing.dxfversion, "AC1009")
        self.assertEqual(drawing.audit().errors, [])
        leader = {l.dxf.layer for l in drawing.modelspace().query("LINE")} & {"LEADER"}  # only where a label had to move
        self.assertEqual({l.dxf.name for l in drawing.layers} - {"0", "Defpoints"}, {"OUTLINE", "DATUM", "DRILL-3_0-MM"} | leader)
        circles = list(drawing.modelspace().query("CIRCLE"))
        labels = [t for t in drawing.modelspace().query("TEXT") if t.dxf.layer == "DRILL-3_0-MM"]
        self.assertEqual(len(circles), 3)
        self.demand_clear(drawing.modelspace().query("TEXT"))
        for circle, label, vent in zip(circles, labels, self.vents, strict=True):
            self.assertEqual(circle.dxf.layer, "DRILL-3_0-MM")
            self.near(circle.dxf.center, (*vent["through_mm"][:2], 0), 1e-6)
            self.assertAlmostEqual(circle.dxf.radius, vent["diameter_mm"] / 2, delta=1e-6)
            self.assertEqual(label.dxf.text.split()[0], str(vent["id"]))
            wider = f"{vent['relief_mm']:g} MM FROM OUTSIDE BUT FOR THE LAST {vent['land_mm']:g}" if vent["relief_mm"] else "DEEP"
            self.assertTrue(label.dxf.text.endswith(wider), label.dxf.text)
        self.assertTrue(any(vent["relief_mm"] for vent in self.vents))
        outline = [tuple(round(c, 6) for c in p) for l in drawing.modelspace().query("LINE") if l.dxf.layer == "OUTLINE" for p in (l.dxf.start, l.dxf.end)]
        low, high = self.plan["tool"]["box_mm"]
        self.assertEqual({p[:2] for p in outline}, {(x, y) for x in (low[0], high[0]) for y in (low[1], high[1])})

    def test_a_hole_across_the_view_is_its_axis(self):
        mesh = boxes_obj(os.path.join(self.folder.name, "side.obj"), 1)
        out = os.path.join(self.folder.name, "side")
        ullage("plan", mesh, "-o", out, "--up", "0.1,0.2,1", "--draw", "0,1,0", "--cubes", 20000, "--tries", 50)
        vent = json.loads(data_of(out + "/plan.json"))["vents"][0]
        model = ezdxf.readfile(out + "/vent-layout.dxf").modelspace()
        if vent["axis"] == [0, 1, 0]:
            self.assertEqual(len(model.query("CIRCLE")), 1)
        out2 = os.path.join(self.folder.name, "side2")
        plan = json.loads(data_of(out + "/plan.json"))
        plan["opening"]["draw"] = [1, 0, 0]
        os.mkdir(out2)
        write_json(out2 + "/plan.json", plan)
        self.assertEqual(ullage("markers", out2 + "/plan.json").returncode, 0)
        model = ezdxf.readfile(out2 + "/vent-layout.dxf").modelspace()
        self.assertEqual(len(model.query("CIRCLE")), 0)
        (line,) = [l for l in model.query("LINE") if l.dxf.layer == "DRILL-3_0-MM"][:1]
        # seen from +x, the datum's y runs to the right and its z up
        self.near(line.dxf.start, (vent["at_mm"][1], vent["at_mm"][2], 0), 1e-6)
        self.near(line.dxf.end, (vent["through_mm"][1], vent["through_mm"][2], 0), 1e-6)

    # --- again, and from a datum ---

    def test_markers_makes_the_plans_files_again(self):
        out = self.again()
        self.assertEqual(sorted(os.listdir(out)), sorted(f for f in os.listdir(self.dir) if f.startswith("vent")))
        for name in ("vents.csv", "vent-layout.dxf", "vent-cutters.stl", "vent-flags.stl"):
            self.assertEqual(data_of(self.path(name)), data_of(os.path.join(out, name)), name)
        before, after = read_obj(self.path("vent-cutters.obj")), read_obj(out + "/vent-cutters.obj")
        for name in before:
            for a, b in zip(before[name], after[name], strict=True):
                for p, q in zip(a, b):
                    self.near(p, q, 1e-9)
        self.assertEqual(len(read_glb(out + "/vent-flags.glb")), 3)  # no cavity in a plan.json

    def test_a_datum_moves_and_turns_table_and_drawing_and_no_mesh(self):
        out = self.again("--datum", "10,-5,2", "--datum-axes", "+y;-x", name="datum")
        rows = list(csv.DictReader(table_of(out + "/vents.csv")))
        model = ezdxf.readfile(out + "/vent-layout.dxf").modelspace()
        for row, circle, vent in zip(rows, model.query("CIRCLE"), self.vents, strict=True):
            x, y, z = vent["at_mm"]
            self.near([float(row[f"at_{c}_mm"]) for c in "xyz"], (y + 5, 10 - x, z - 2), 5.1e-4)
            self.near([float(row["axis_" + c]) for c in "xyz"], (vent["axis"][1], -vent["axis"][0], vent["axis"][2]), 1e-6)
            self.assertEqual(row["measured_from"], "datum at 10.000 -5.000 2.000; x along +y; y along -x")
            self.near(circle.dxf.center, (y + 5, 10 - x, 0), 1e-6)
        self.assertEqual(data_of(self.path("vent-cutters.stl")), data_of(out + "/vent-cutters.stl"))
        named = self.again("--datum", "10,-5,2", "--datum-axes", "hinge;-x", "--side", "+y=hinge", name="named")
        self.assertEqual(data_of(named + "/vents.csv"), data_of(out + "/vents.csv"))
        skew = ullage("markers", self.path("plan.json"), "--datum-axes", "1,0,0;1,1,0")
        self.assertEqual(skew.returncode, 2)
        self.assertIn("45 degrees off a right angle", skew.stderr)
        for bad in ("+x", "+x;", "+x;+y;", "a;b", "1,2;3,4,5", "0,0,0;+y"):
            self.assertEqual(ullage("markers", self.path("plan.json"), "--datum-axes", bad).returncode, 2, bad)

    def test_flags_written_over_keep_the_cavity_and_elsewhere_say_that_they_have_none(self):
        """They were replaced without a word by flags without the cavity: 240 faces for 356."""
        own = os.path.join(self.folder.name, "own")
        shutil.copytree(self.dir, own)
        for words in ((), ("-o", own + "/."), ("--datum", "1,2,3")):
            ran = ullage("markers", own + "/plan.json", *words)
            self.assertEqual((ran.returncode, ran.stderr), (0, ""))
            self.assertNotIn("without the cavity", ran.stdout)
            before, after = read_3mf(self.path("vent-flags.3mf")), read_3mf(own + "/vent-flags.3mf")
            self.assertEqual(list(after), list(before))
            for name in before:
                self.assertEqual(after[name][1], before[name][1])
                flat = lambda shape: sorted(sorted(tuple(round(x, 6) for x in v) for v in t) for t in shape)
                self.assertEqual(flat(after[name][0]), flat(before[name][0]))
            self.assertEqual(list(read_glb(own + "/vent-flags.glb")), list(before))
        os.remove(own + "/vent-flags.3mf")
        for words in ((), ("-o", os.path.join(self.folder.name, "other"))):
            ran = ullage("markers", own + "/plan.json", *words)
            self.assertIn("flags are without the cavity", " ".join(ran.stdout.split()))

    def test_parts_named_like_a_vent_stay_in_the_cavity(self):
        """Any part called "vent 1 side" or "vent 7" was taken for a flag and dropped."""
        names = ["vent 1 side", "vent 7", "vent 1", "vent 1, upper half", "core"]
        mesh = boxes_3mf(os.path.join(self.folder.name, "named.3mf"),
                         [(name, box_corners((30, 20, 10 + i), (50 * i, 0, 0))) for i, name in enumerate(names)])
        own = os.path.join(self.folder.name, "named-plan")
        ullage("plan", mesh, "-o", own, "--up", "0.1,0.2,1", "--draw", "0,0,1", "--cubes", 20000, "--tries", 50)
        self.assertLess(len(json.loads(data_of(own + "/plan.json"))["vents"]), 7)

        def parts():
            with zipfile.ZipFile(own + "/vent-flags.3mf") as package:
                model = xml.etree.ElementTree.fromstring(package.read("3D/3dmodel.model"))
            return [(o.get("name"), len(o.findall(f".//{CORE}triangle"))) for o in model.iter(CORE + "object")]

        before = parts()
        self.assertEqual([name for name, _ in before[-len(names):]], names)
        ran = ullage("markers", own + "/plan.json")
        self.assertEqual((ran.returncode, ran.stderr), (0, ""))
        self.assertEqual(parts(), before)

    def drawn_from(self, axes, name, plan=None):
        """(rows of the table, circles, lines, texts) with that datum, of that plan."""
        out = os.path.join(self.folder.name, name)
        where = self.path("plan.json")
        if plan:
            os.makedirs(out, exist_ok=True)
            where = out + "/plan.json"
            write_json(where, plan)
        ran = ullage("markers", where, "-o", out, "--datum", "3,4,5", "--datum-axes", axes)
        self.assertEqual((ran.returncode, ran.stderr), (0, ""))
        drawing = ezdxf.readfile(out + "/vent-layout.dxf")
        self.assertEqual(drawing.audit().errors, [])
        model = drawing.modelspace()
        return list(csv.DictReader(table_of(out + "/vents.csv"))), model.query("CIRCLE"), model.query("LINE"), model.query("TEXT")

    def test_the_drawing_has_the_places_of_the_table_in_any_datum(self):
        """It was mirrored for a datum whose z points down: (138.45, -78.45) in the table, (138.45, +78.45) drawn."""
        seen = {"x": ("yz", "+X"), "y": ("xz", "-Y"), "z": ("xy", "+Z")}
        axis = {"+x": (1, 0, 0), "-x": (-1, 0, 0), "+y": (0, 1, 0), "-y": (0, -1, 0), "+z": (0, 0, 1), "-z": (0, 0, -1),
                "0.6,0.8,0": (0.6, 0.8, 0), "0.8,-0.6,0": (0.8, -0.6, 0)}
        cross = lambda a, b: (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
        for x, y in (("+x", "+y"), ("+x", "-y"), ("-x", "+y"), ("+y", "-x"), ("+y", "+x"), ("+x", "+z"), ("-x", "+z"), ("+z", "+x"), ("-z", "+x"),
                     ("+y", "+z"), ("+z", "-y"), ("0.6,0.8,0", "0.8,-0.6,0")):
            with self.subTest(f"{x};{y}"):
                frame = (axis[x], axis[y], cross(axis[x], axis[y]))
                along = "xyz"[[abs(v[2]) > 0.5 for v in frame].index(True)]  # the halves open along the file's z
                (right, up), side = seen[along]
                rows, circles, lines, texts = self.drawn_from(f"{x};{y}", "datums")
                self.assertEqual(len(circles), len(rows))
                for row, circle in zip(rows, circles):
                    self.near(circle.dxf.center, (float(row[f"through_{right}_mm"]), float(row[f"through_{up}_mm"]), 0), 5.1e-4)
                says = [t.dxf.text for t in texts]
                self.assertEqual([s for s in says if "SEEN" in s], [f"MM. SEEN FROM THE DATUM'S {side}: {right} AND {up} ARE THE TABLE'S".upper()])
                # drilled from behind the sheet where the vents' axis points away from the eye
                eye = frame["xyz".index(along)][2] * (-1 if side[0] == "-" else 1)
                self.assertEqual(sum(s.endswith("FROM THE FAR SIDE") for s in says), len(rows) if eye < 0 else 0)
                at = {t.dxf.text.lower(): t.dxf.insert for t in texts if t.dxf.text in "XYZ"}
                self.assertEqual(set(at), {right, up})
                self.assertTrue(at[right].x > 1 and at[right].y == 0 and at[up].y > 1 and at[up].x == 0)
                ends = {(l.dxf.end.x > 1, l.dxf.end.y > 1) for l in lines if l.dxf.layer == "DATUM" and l.dxf.start == (0, 0, 0)}
                self.assertEqual(ends, {(True, False), (False, True)})

    def demand_clear(self, texts):
        """No label in another's place, a letter taken as nine tenths of its height wide; all of one height."""
        at = [(t.dxf.insert.x, t.dxf.insert.y, 0.9 * t.dxf.height * len(t.dxf.text), t.dxf.height, t.dxf.text) for t in texts]
        for a, b in itertools.combinations(at, 2):
            self.assertTrue(a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0] or a[1] + a[3] <= b[1] or b[1] + b[3] <= a[1], (a, b))

    def test_labels_are_clear_of_one_another_and_holes_over_one_another_say_which_is_which(self):
        """Two on one line seen from above had both labels at one place; others were 1.6 mm apart with text 5.8 mm high."""
        for places in ([(0, 0, 40), (0, 0, 95)], [(0, 0, 0), (1, 1.6, 3), (2, 3.2, 6), (3, 4.8, 9)],
                       [(17 * i % 23, 29 * i % 31, 5 * i) for i in range(40)]):
            plan = json.loads(json.dumps(self.plan))
            like = plan["vents"][0]
            plan["vents"] = [{**like, "id": i + 1, "at_mm": [x, y, z], "through_mm": [x, y, z + like["length_mm"]]}
                             for i, (x, y, z) in enumerate(places)]
            _, circles, lines, texts = self.drawn_from("+x;+y", f"clear-{len(places)}", plan)
            self.demand_clear(texts)
            labels = [t for t in texts if t.dxf.layer.startswith("DRILL")]
            self.assertEqual(len(labels), len(places))
            leaders = [l for l in lines if l.dxf.layer == "LEADER"]
            for circle, label, (x, y, z) in zip(circles, labels, places, strict=True):
                beside = math.dist(label.dxf.insert, circle.dxf.center) < 2 * circle.dxf.radius + 2 * label.dxf.height
                led = any(math.dist(l.dxf.end, circle.dxf.center) < 1e-6 and math.dist(l.dxf.start, label.dxf.insert) < label.dxf.height
                          for l in leaders)
                self.assertTrue(beside or led, label.dxf.text)
                over = sum(math.dist((x, y), p[:2]) < like["diameter_mm"] for p in places) > 1
                self.assertEqual(f", ENDS AT Z {z - 5:.1f}" in label.dxf.text, over, label.dxf.text)

    def test_slanted_holes_are_drawn_in_the_datums_own_axes_when_nobody_said_how_the_halves_open(self):
        """With an axis a hole the drawing was seen along the first one's, and no number in it was one of the table."""
        plan = json.loads(json.dumps(self.plan))
        del plan["opening"]
        for i, vent in enumerate(plan["vents"]):
            a = math.radians(10 + 10 * i)
            vent["axis"] = [math.sin(a), 0, math.cos(a)]
        rows, circles, lines, texts = self.drawn_from("+x;+y", "slanted", plan)
        self.assertEqual(len(circles), 0)
        self.assertTrue(any(t.dxf.text.startswith("MM. SEEN FROM THE DATUM'S +Z:") for t in texts))
        for row in rows:
            want = (float(row["at_x_mm"]), float(row["at_y_mm"]), 0)
            self.assertTrue(any(math.dist(l.dxf.start, want) < 1e-3 for l in lines), row)

    def test_a_plan_saved_with_a_byte_order_mark_is_read(self):
        path = os.path.join(self.folder.name, "marked.json")
        with open(path, "wb") as out:
            out.write(b"\xef\xbb\xbf" + json.dumps(self.plan).encode())
        ran = ullage("markers", path, "-o", os.path.join(self.folder.name, "marked"))
        self.assertEqual(ran.returncode, 0, ran.stderr)

    # --- what is no plan ---

    def test_a_file_that_is_no_plan_is_refused_with_the_place(self):
        def refused(content, *says):
            path = os.path.join(self.folder.name, "bad.json")
            with open(path, "w") as out:
                out.write(content if isinstance(content, str) else json.dumps(content))
            ran = ullage("markers", path, "-o", os.path.join(self.folder.name, "none"))
            self.assertEqual(ran.returncode, 3, ran.stderr)
            self.assertEqual(ran.stderr.count("\n"), 1)
            for word in ("bad.json", *says):
                self.assertIn(word, ran.stderr)

        def changed(**keys):
            plan = json.loads(json.dumps(self.plan))
            plan["vents"][1].update(keys)
            return plan

        refused("", "line 1, column 0")
        refused('{\n  "vents": [,]\n}', "line 2, column 13")
        refused("[1]", "tool.box_mm")
        refused({}, "tool.box_mm is not two corners")
        refused({**self.plan, "vents": 3}, "vents is not a list")
        refused({**self.plan, "vents": [3]}, "vents[0].can_be_made")
        refused({**self.plan, "opening": {"draw": [0, 0, 0]}}, "opening.draw is not a direction")
        refused({**self.plan, "datum": {"at_mm": [0, 0, 0], "x": [1, 0, 0], "y": [1, 0, 0]}}, "right angle")
        refused(changed(diameter_mm=0), "vents[1].diameter_mm")
        refused(changed(diameter_mm="3"), "vents[1].diameter_mm")
        refused(changed(axis=[0, 0, 2]), "vents[1].axis is not a direction of length 1")
        refused(changed(at_mm=[0, 0]), "vents[1].at_mm is not three numbers")
        refused(changed(id=0), "vents[1].id")
        refused(changed(serves=list(range(1, 40))), "vents[1].serves")
        refused(changed(back_mm=None), "vents[1].back_mm")
        refused(changed(closed="true"), "vents[1].closed is not true or false")
        refused(changed(exists=1), "vents[1].exists is not true or false")
        refused(changed(half="Upper"), "vents[1].half is not lower or upper")
        refused(changed(then="plugged"), "vents[1].then is not leave or plug")
        refused(changed(id=self.plan["vents"][0]["id"]), "vents[1].id is not above that of the vent before")
        refused(changed(relief_mm=6, land_mm=1e6), "vents[1].land_mm is not within length_mm")
        refused(changed(relief_mm=0.5, land_mm=1), "vents[1].relief_mm is not diameter_mm or more")
        upside_down = {**self.plan["tool"], "box_mm": self.plan["tool"]["box_mm"][::-1]}
        refused({**self.plan, "tool": upside_down}, "tool.box_mm is not a lowest and a highest corner")
        self.assertEqual(ullage("markers", self.folder.name).returncode, 3)
        self.assertEqual(ullage("markers", "/no/such/plan.json").returncode, 3)
        self.assertEqual(ullage("markers").returncode, 2)

    def test_without_a_hole_the_old_files_are_taken_away(self):
        out = self.again(name="none-left")
        write_json(out + "/plan.json", {**self.plan, "vents": []})
        self.assertEqual(ullage("markers", out + "/plan.json").returncode, 0)
        self.assertEqual(sorted(os.listdir(out)), ["plan.json", "vents.csv"])

    # --- names ---

    def test_names_are_only_ever_names(self):
        mesh = boxes_3mf(os.path.join(self.folder.name, "a \"b\" <script>, ü.3mf"), zip(NASTY, row_of_boxes(len(NASTY))))
        out = os.path.join(self.folder.name, "nasty 'dir' <&> ü")
        ran = ullage("plan", mesh, "-o", out, "--up", "0.1,0.2,1", "--cubes", 20000, "--tries", 20, "--side", "+x=<b>\"hinge\"</b>")
        self.assertIn(ran.returncode, (0, 1), ran.stderr)
        vents = json.loads(data_of(out + "/plan.json"))["vents"]
        package, scene = read_3mf(out + "/vent-flags.3mf"), read_glb(out + "/vent-flags.glb")
        self.assertEqual(len(package), len(vents) + len(NASTY))
        self.assertEqual(list(package), list(scene))
        want = [name.replace("\u202e", "\ufffd") for name in NASTY]
        self.assertEqual([n for n in package if not n.startswith("vent ")], want)
        self.assertTrue(data_of(out + "/vent-layout.dxf").isascii())
        self.assertEqual(ezdxf.readfile(out + "/vent-layout.dxf").audit().errors, [])
        rows = list(csv.reader(table_of(out + "/vents.csv")))
        self.assertEqual({len(r) for r in rows}, {27})


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
