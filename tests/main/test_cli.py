"""The program as a user or a script meets it: exit codes, one-line errors, JSON, files."""

import csv
import json
import math
import os
import pathlib
import struct
import subprocess
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
from program import PROGRAM, Case, box, stl, turned_inside_out, ullage

MESHES = sys.argv[2]


def prism(outline, deep):
    """From an outline (x, z), counter-clockwise and convex as seen from its first corner, along y."""
    near, far = ([(x, y, z) for x, z in outline] for y in (0, deep))
    out = [t for i in range(1, len(outline) - 1) for t in ((near[0], near[i], near[i + 1]), (far[0], far[i + 1], far[i]))]
    for i in range(len(outline)):
        a, b, c, d = near[i - 1], near[i], far[i], far[i - 1]
        out += [(a, c, b), (a, d, c)]
    return out


def in_four(a, b, c):
    """The triangle's quarters."""
    def middle(p, q):
        return tuple((i + k) / 2 for i, k in zip(p, q))
    d, e, f = middle(a, b), middle(b, c), middle(c, a)
    return (a, d, f), (d, b, e), (f, e, c), (d, e, f)


def cup_faces(x, y, z):
    """A box x0..x3 by y0..y3 by z0..z2 with a hollow x1..x2 by y1..y2 open below, up to z1."""
    def quad(a, b, c, d):
        return [(a, b, c), (a, c, d)]

    def ring(i, height):  # counter-clockwise from above
        return [(x[i], y[i], height), (x[3 - i], y[i], height), (x[3 - i], y[3 - i], height), (x[i], y[3 - i], height)]

    outer, inner, lid, hollow = ring(0, z[0]), ring(1, z[0]), ring(0, z[2]), ring(1, z[1])
    faces = quad(*lid) + quad(*hollow[::-1])
    for k in range(4):
        n = (k + 1) % 4
        faces += quad(outer[k], outer[n], lid[n], lid[k])
        faces += quad(inner[n], inner[k], hollow[k], hollow[n])
        faces += quad(outer[n], outer[k], inner[k], inner[n])
    return faces


class Cli(Case):
    def box_file(self, size=(300, 200, 100), at=(0, 0, 0)):
        return self.mesh(box(size, at))

    def told(self, *words):
        return self.result((0, 1), *words)

    # --- results ---

    def test_check_measures_a_box_five_metres_from_the_origin(self):
        r = self.told("check", self.box_file(at=(5000, 5000, 5000)))
        self.assertTrue(r["file"]["closed"])
        self.assertEqual(r["file"]["triangles"], 12)
        (cavity,) = r["cavities"]
        self.assertAlmostEqual(cavity["volume_cm3"], 6000, delta=6000e-12)
        self.assertAlmostEqual(cavity["area_cm2"], 2200, delta=2200e-12)
        for got, want in zip(cavity["centroid_mm"], (5150, 5100, 5050)):
            self.assertAlmostEqual(got, want, delta=1e-9)
        self.assertEqual(cavity["box_mm"], [[5000, 5000, 5000], [5300, 5200, 5100]])

    def test_unit_and_grow_scale_the_file(self):
        path = self.box_file((30, 20, 10))
        volume = lambda *more: self.told("check", path, *more)["cavities"][0]["volume_cm3"]
        self.assertAlmostEqual(volume("--unit", "in"), 6 * 25.4**3, delta=1e-6)
        self.assertAlmostEqual(volume("--grow", "2"), 6 * 1.02**3, delta=1e-9)

    def test_two_cavities_are_numbered_as_in_the_file(self):
        path = self.mesh(box((10, 10, 10)) + box((30, 30, 30), (50, 0, 0)))
        r = self.told("check", path)
        self.assertEqual([round(c["volume_cm3"], 9) for c in r["cavities"]], [1, 27])
        (only,) = self.told("check", path, "--cavity", 2)["cavities"]
        self.assertAlmostEqual(only["volume_cm3"], 27, delta=1e-9)

    def test_a_cavity_looked_at_alone_keeps_its_number(self):
        path = self.mesh(box((30, 30, 30)) + box((30, 20, 30), (50, 0, 0)))
        alone = ("--cavity", 2)
        self.assertEqual(self.told("check", path, *alone)["cavities"][0]["id"], 2)
        self.assertEqual([p["cavity"] for p in self.told("peaks", path, *alone)["peaks"]], [2])
        self.assertEqual(self.told("rise", path, "--level", *alone)["cavities"][0]["id"], 2)
        out = self.path("out")
        plan = self.told("plan", path, *alone, "--tries", 20, "-o", out)
        self.assertEqual([c["id"] for c in plan["cavities"]], [2])
        self.assertEqual({v["cavity"] for v in plan["vents"] + plan["peaks"]}, {2})

    def test_a_foam_in_one_cavity_alone_is_told_under_its_number(self):
        """The second of two boxes; a core in it makes the foam part and meet."""
        second = box((60, 30, 30), (50, 0, 0)) + turned_inside_out(box((30, 26, 8), (65, 2, 6)))
        path = self.mesh(box((30, 30, 30)) + second)
        alone = ("--cavity", 2, "--foam", "rigid-40", "--mix-s", 15)
        table = self.path("series.csv")
        words = ("rise", path, *alone, "--cubes", 4000, "--pour", "53,15,0", "--vent", "110,0,30", "--vent", "110,30,30", "--series", table)
        rise = self.told(*words)
        self.assertEqual([c["id"] for c in rise["cavities"]], [2])
        for key in ("vents", "events", "meets"):
            self.assertEqual({told["cavity"] for told in rise[key]}, {2}, key)
        with open(table, newline="") as file:
            self.assertEqual({row["cavity"] for row in csv.DictReader(file)}, {"2"})
        self.assertRegex(ullage(*words).stdout, r"(?m)^cavity 2 +poured x 53\.0")
        self.assertRegex(ullage("charge", path, "--cavity", 2, "--cubes", 4000).stdout, r"(?m)^cavity 2 +47\.8 cm3$")
        litres = self.told("charge", path, "--cavity", 2, "--cubes", 4000)["charge"]
        self.assertEqual([c["cavity"] for c in litres], [2])
        plan = self.told("plan", path, *alone, "--cubes", 1000, "--tries", 5, "--scatter", 1, "--up", "0.2,0.1,1",
                           "--pour-hole", "53,15,30,8,plug", "-o", self.path("out"))
        for key in ("vents", "peaks", "events", "charge", "air"):
            self.assertEqual({told["cavity"] for told in plan[key]}, {2}, key)

    def test_a_raised_corner_is_the_one_peak_of_a_box(self):
        r = self.told("peaks", self.box_file(), "--raise", "+x=10,+y=5")
        (peak,) = r["peaks"]
        self.assertEqual(peak["at_mm"], [300, 200, 100])
        self.assertEqual(peak["kind"], "point")
        self.assertIsNone(peak["cut_off_height_mm"])
        self.assertAlmostEqual(peak["pocket_cm3"], 6000, delta=6)
        self.assertAlmostEqual(peak["height_mm"], sum(u * a for u, a in zip(r["tilt"]["up"], peak["at_mm"])), delta=1e-9)

    def test_a_level_lid_is_a_face(self):
        (peak,) = self.told("peaks", self.box_file())["peaks"]
        self.assertEqual(peak["kind"], "face")
        self.assertAlmostEqual(peak["extent_mm"], (300**2 + 200**2) ** 0.5, delta=1e-6)
        self.assertAlmostEqual(peak["at_mm"][2], 100, delta=1e-9)

    def test_level_rise_fills_a_raised_box_through_its_top_corner(self):
        r = self.told("rise", self.box_file(), "--level", "--raise", "+x=10,+y=5", "--vent", "300,200,100,3")
        (cavity,) = r["cavities"]
        self.assertGreater(cavity["outcome"]["filled_fraction"], 0.9999)
        self.assertEqual(cavity["outcome"]["trapped"], [])

    def test_a_level_rise_without_a_vent_keeps_its_air_and_says_so(self):
        """It told of 100 % and ended with 0 where the foam's rise says that no air can leave."""
        path = self.mesh(box((60, 40, 30)))
        r = self.result(1, "rise", path, "--level", "--cubes", 2000)
        foam = self.result(1, "rise", path, "--foam", "rigid-40", "--cubes", 2000)
        for told in (r, foam):
            self.assertFalse(told["good"])
            self.assertIn("does not fill: there is no vent, so no air can leave, and ", told["verdict"])
            self.assertIn("; give it vents (--vent), or let them be found (ullage plan)", told["verdict"])
        (outcome,) = (c["outcome"] for c in r["cavities"])
        self.assertEqual((outcome["filled_fraction"], outcome["last_reached_mm"]), (0, None))
        self.assertAlmostEqual(outcome["trapped"][0]["void_cm3"], 72, delta=1e-6)
        text = ullage("rise", path, "--level", "--cubes", 2000).stdout
        self.assertRegex(" ".join(text.split()), "verdict does not fill: there is no vent, so no air can leave, and 72.* cm3 stay at x ")
        self.assertIn("stays empty", text)
        for way_out in (("--vent", "60,40,30"), ("--pour-hole", "60,40,30,8")):
            r = self.result(0, "rise", path, "--level", "--up", "0.1,0.1,1", "--cubes", 2000, *way_out)
            self.assertEqual((r["good"], r["verdict"]), (True, "fills"))
        self.assertRegex(ullage("rise", path, "--level", "--up", "0.1,0.1,1", "--cubes", 2000, "--vent", "60,40,30").stdout, "(?m)^verdict    fills$")
        self.result(0, "rise", path, "--level", "--cubes", 2000, "--void-ok", 73)

    def test_a_level_rise_that_shuts_air_in_has_a_verdict(self):
        path = self.mesh(box((60, 40, 30)))
        words = ("rise", path, "--level", "--raise", "+x=20", "--cubes", 8000, "--vent", "0,20,30")
        r = self.result(1, *words)
        place = r["cavities"][0]["outcome"]["trapped"][0]
        self.assertFalse(r["good"])
        self.assertRegex(r["verdict"], rf"^does not fill: {place['void_cm3']:.3g} cm3 stay shut in at x {place['at_mm'][0]:.1f}  y .*; vent it there")
        self.assertIn("verdict does not fill: ", " ".join(ullage(*words).stdout.split()))
        two = self.file("pair.stl", stl(box((60, 40, 30)) + box((60, 40, 30), (80, 0, 0))))
        r = self.result(1, "rise", two, "--level", "--up", "0.1,0.1,1", "--cubes", 4000, "--vent", "60,40,30")
        self.assertIn("there is no vent in cavity 2, so no air can leave, and 72 cm3 stay", r["verdict"])

    def test_compare_judges_just_what_is_asked(self):
        r = self.told("tilts", self.box_file(), "--compare", "+x=0;+x=15;+x=90")
        self.assertEqual(len(r["tilts"]), 3)
        self.assertEqual(r["tried"], 3)
        self.assertAlmostEqual(r["tilts"][2]["up"][0], 1, delta=1e-12)

    def test_tilts_of_a_finely_meshed_cavity_are_those_of_the_same_one_in_few_triangles(self):
        """Over 24,000 vertices they were judged by columns, up to a tenth high, and nothing said so. A gable with a step in its
        roof: 60 wide, 90 deep."""
        plain = prism([(0, 0), (60, 0), (60, 20), (45, 40), (30, 30), (15, 45), (0, 20)], 90)
        fine = plain
        for _ in range(6):
            fine = [t for a, b, c in fine for t in in_four(a, b, c)]
        self.assertGreater(len(fine) // 2, 24000)
        few, many = (self.told("tilts", self.file(name, stl(mesh)), "--compare", "+x=0;+x=10,+y=5;+x=40", "--cubes", 20000)["tilts"]
                     for name, mesh in (("few.stl", plain), ("many.stl", fine)))
        for one, other in zip(few, many):
            for key in ("trapped_cm3", "trapped_if_2deg_off_cm3", "left_if_2deg_off_cm3"):
                self.assertAlmostEqual(one[key], other[key], delta=2e-3)
        self.assertGreater(few[0]["trapped_cm3"], 5)

    def test_why_a_tilt_is_good_has_three_figures_and_no_exponent(self):
        """"1.15e+04 cm3 may stay"."""
        wide = self.file("wide.stl", stl(box((1000, 600, 100))))
        (tilt,) = self.told("tilts", wide, "--vents-at-most", 1, "--compare", "+x=0", "--cubes", 3000)["tilts"]
        self.assertRegex(tilt["why"], r" [1-9]\d\d00 cm3 may stay when it lies 2 degrees off$")

    def test_the_page_lists_the_tilt_given_once(self):
        """Found by the search as well, it stood there twice, both as this plan props it."""
        out = self.path("once")
        r = self.result((0, 1), "plan", self.box_file(), "--raise", "+x=5", "--cubes", 3000, "--tries", 50, "-o", out)
        self.assertTrue(any(math.dist(t["up"], r["tilt"]["up"]) < 1e-9 for t in r["tilts"]), r["tilts"])
        page = pathlib.Path(out, "report.html").read_text()
        self.assertEqual(page.count("As this plan props it:"), 1)
        self.assertEqual(page.count('class="compared"'), len(r["tilts"]))

    def test_plan_writes_its_files_and_the_same_bytes_for_any_thread_count(self):
        mesh = os.path.join(MESHES, "rack-saddle.obj")
        texts = []
        for threads in (1, 2, 7):
            out = self.path(f"plan{threads}")
            ran = ullage("plan", mesh, "-o", out, "--threads", threads, "--tries", 300, "--cubes", 60000)
            self.assertIn(ran.returncode, (0, 1), ran.stderr)
            self.assertLessEqual(max(map(len, ran.stdout.replace(out, "D").splitlines())), 80)
            files = sorted(os.listdir(out))
            self.assertEqual(
                files,
                ["bench-card.pdf", "plan.json", "report.html", "vent-cutters.3mf", "vent-cutters.obj", "vent-cutters.stl", "vent-flags.3mf", "vent-flags.glb",
                 "vent-flags.ply", "vent-flags.stl", "vent-layout.dxf", "vents.csv"],
            )
            texts.append([pathlib.Path(out, f).read_bytes() for f in files])
        self.assertEqual(texts[0], texts[1])
        self.assertEqual(texts[0], texts[2])
        plan = json.loads(texts[0][files.index("plan.json")])
        for key in ("version", "verdict", "fills_in", "file", "cavities", "tilt", "tilts", "tried", "peaks", "vents", "props", "cube_mm"):
            self.assertIn(key, plan)
        served = {p for v in plan["vents"] for p in v["serves"]}
        self.assertTrue(served <= {p["id"] for p in plan["peaks"]})

    def test_a_cavity_drawn_in_a_block_is_vented_through_that_block(self):
        void = turned_inside_out(box((120, 80, 30)))
        path = self.file("block.stl", stl(box((180, 140, 100), (-30, -30, -30)) + void))
        r = self.told("plan", path, "--drawn", "block", "--up", "0.1,0.1,1", "--tries", 20, "-o", self.path("out"))
        self.assertEqual(r["tool"]["box_mm"], [[-30, -30, -30], [150, 110, 70]])
        (vent,) = r["vents"]
        self.assertAlmostEqual(vent["through_mm"][2], 70, delta=1e-9)
        self.assertEqual([c[2] for c in r["props"]["corners_at_mm"]], [-30] * 4)

    def test_sheets_that_the_cubes_resolve_are_not_called_thin(self):
        self.assertEqual(self.told("check", self.box_file((90, 60, 1.5)))["thin"], [])

    def test_a_nanoradian_changes_no_plan(self):
        mesh = os.path.join(MESHES, "rack-saddle.obj")
        plans = []
        for up in ("0.17,0.05,-0.98", "0.170000001,0.050000001,-0.98"):
            words = ("--up", up, "--tries", 50, "--cubes", 30000, "-o", self.path("out"))
            plans.append(self.told("plan", mesh, *words))
        one, other = plans
        self.assertEqual(one["verdict"], other["verdict"])
        self.assertEqual([p["kind"] for p in one["peaks"]], [p["kind"] for p in other["peaks"]])
        self.assertEqual([v["axis"] for v in one["vents"]], [v["axis"] for v in other["vents"]])
        for a, b in zip(one["vents"], other["vents"]):
            for x, y in zip(a["at_mm"], b["at_mm"]):
                self.assertAlmostEqual(x, y, delta=1e-5)

    # --- bad input: one line, what to do, exit 3 ---

    def test_a_box_opens_along_its_draw_with_straight_walls(self):
        r = self.told("check", self.box_file(), "--cubes", "20000", "--parting", "z=50")["opening"]
        self.assertEqual(r["draw"], [0, 0, 1])
        self.assertAlmostEqual(r["projected_cm2"], 600, delta=1e-9)
        self.assertEqual(r["undercuts"], [])
        self.assertEqual([w["area_cm2"] for w in r["little_draft"]], [300, 300, 200, 200])
        self.refused(3, "misses the cavity", "check", self.box_file(), "--parting", "z=101")

    def test_a_hole_off_the_wall_is_refused_in_words(self):
        words = ("--pour-hole", "150,100,50,20", "--raise", "+x=5", "-o", self.path("off"))
        self.refused(3, "pour hole", "plan", self.box_file(), *words)
        self.refused(3, "--vent 150,60,50 is 50 mm from", "rise", self.box_file(), "--level", "--vent", "150,60,50", "--cubes", "9000")

    def test_an_insert_is_taken_out_whether_it_is_free_or_on_the_wall(self):
        path = self.box_file()
        free = self.file("free.stl", stl(box((40, 40, 40), (100, 80, 30))))
        wall = self.file("wall.stl", stl(box((40, 40, 40), (200, 80, 80))))  # half in the cavity
        far = self.file("far.stl", stl(box((40, 40, 40), (400, 0, 0))))
        whole = self.file("whole.stl", stl(box((310, 210, 110), (-5, -5, -5))))
        r = self.told("check", path, "--cubes", "20000", "--insert", free)
        self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 6000 - 64, delta=1e-9)
        r = self.told("check", path, "--cubes", "20000", "--insert", wall, "--insert", free)
        self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 6000 - 64 - 32, delta=1e-9)
        self.assertAlmostEqual(r["cavities"][0]["area_cm2"], 2200 + 6 * 16 + 4 * 8, delta=1e-9)
        moments = 6000 * 150 - 64 * 120 - 32 * 220
        self.assertAlmostEqual(r["cavities"][0]["centroid_mm"][0], moments / (6000 - 64 - 32), delta=1e-9)
        self.assertAlmostEqual(r["inserts"][0]["displaced_cm3"], 32, delta=1e-9)
        self.assertAlmostEqual(r["inserts"][1]["displaced_cm3"], 64, delta=1e-9)
        self.assertAlmostEqual(r["inserts"][0]["area_from_below_cm2"], 16, delta=1e-9)
        self.assertAlmostEqual(r["inserts"][0]["lift_n_per_kpa"], 1.6, delta=1e-9)
        self.refused(3, ("far.stl lies outside", "x 400.0 to 440.0"), "check", path, "--insert", far)
        self.refused(3, "fills the cavity", "check", path, "--insert", whole)
        self.refused(3, "insert", "check", path, "--insert", "gone.stl")

    def test_what_inserts_share_is_taken_once(self):
        """Two of 4 cm3 in one place, or half in one another, were told to take 8 of the cavity that lost 4 or 6."""
        path = self.box_file()
        one, half = self.file("one.stl", stl(box((20, 20, 10), (100, 80, 30)))), self.file("half.stl", stl(box((20, 20, 10), (110, 80, 30))))
        within = self.file("within.stl", stl(box((10, 10, 5), (103, 83, 32))))
        touching = self.file("touching.stl", stl(box((20, 20, 10), (120, 80, 30))))
        for files, each in (((one, one), (4, 0)), ((one, half), (4, 2)), ((one, within), (4, 0)), ((within, one), (0.5, 3.5)),
                            ((one, half, one), (4, 2, 0)), ((one, touching), (4, 4)), ((one, touching, half), (4, 4, 0))):
            r = self.told("check", path, "--cubes", "20000", *sum((["--insert", f] for f in files), []))
            for got, want in zip(r["inserts"], each, strict=True):
                self.assertAlmostEqual(got["displaced_cm3"], want, delta=1e-6)
            self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 6000 - sum(each), delta=1e-6)
            notes = [n for n in r["file"]["notes"] if "is it given twice?" in n]
            self.assertEqual(len(notes), each.count(0), files)

    def test_an_insert_that_leaves_only_a_slit_is_said_to_fill_the_cavity_but_for_it(self):
        cavity = self.file("about.stl", stl(box((100, 100, 100), (-50, -50, -50))))
        for gap in (2e-5, 1e-4, 5e-4, 1e-3):
            insert = self.file("nearly.stl", stl(box((100 - 2 * gap,) * 3, (gap - 50,) * 3)))
            ran = self.refused(3, ("fills the cavity but for a gap about", "scale"), "check", cavity, "--insert", insert)
            told = float(ran.stderr.split("gap about ")[1].split(" mm")[0])
            self.assertAlmostEqual(told, gap, delta=0.2 * gap)  # float corners are 4e-6 mm apart

    def test_inserts_through_the_wall_leave_one_skin(self):
        """A pin through the lid, and a block on the floor that crosses another's side: peaks by arithmetic."""
        path = self.box_file()
        pin = self.file("pin.stl", stl(box((20, 20, 60), (140, 90, 60))))
        block = self.file("block.stl", stl(box((60, 40, 50), (30, 30, -10))))
        other = self.file("other.stl", stl(box((60, 40, 30), (60, 50, -10))))
        r = self.told("peaks", path, "--up", "0,0,-1", "--void-ok", "0", *sum((["--insert", f] for f in (pin, block, other)), []))
        self.assertEqual(r["notes"], [])
        self.assertEqual([p["kind"] for p in r["peaks"]], ["face"])
        left = 6000 - 16 - 96 - 48 + 30 * 20 * 20 / 1000
        self.assertAlmostEqual(r["peaks"][0]["pocket_cm3"], left, delta=1e-6 * left)
        cup = self.file("hung.stl", stl([t for t in cup_faces((100, 110, 170, 180), (60, 70, 130, 140), (50, 90, 110))]))
        r = self.told("peaks", path, "--insert", cup)  # it hangs through the lid, its hollow is shut above
        top, under = r["peaks"]
        self.assertAlmostEqual(top["pocket_cm3"], 6000 - 8 * 8 * 5 + 6 * 6 * 4, delta=1e-5)
        self.assertEqual((under["kind"], under["height_mm"], under["cut_off_height_mm"]), ("face", 90, 50))
        self.assertAlmostEqual(under["pocket_cm3"], 6 * 6 * 4, delta=1e-6)

    def test_patch_closes_an_insert_too(self):
        faces = box((40, 40, 40), (100, 80, 30))
        gap = self.file("gap.stl", stl(faces[2:]))
        self.refused(3, ("the insert", "try --patch"), "check", self.box_file(), "--insert", gap)
        r = self.told("check", self.box_file(), "--cubes", "20000", "--insert", gap, "--patch", "60")
        self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 6000 - 64, delta=1e-9)

    def test_a_grown_cavity_says_so(self):
        ran = ullage("check", self.box_file(), "--cubes", "20000", "--grow", "2")
        self.assertIn("Grown by 2 % from the file's origin", " ".join(ran.stdout.split()))
        self.assertNotIn("Grown", ullage("check", self.box_file(), "--cubes", "20000").stdout)

    def test_an_insert_that_parts_the_cavity_makes_two(self):
        path = self.box_file()
        wall = self.file("parts.stl", stl(box((10, 220, 120), (100, -10, -10))))
        r = self.told("check", path, "--cubes", "20000", "--insert", wall)
        self.assertEqual([c["id"] for c in r["cavities"]], [1, 2])
        for c, volume, area in zip(r["cavities"], (2000, 3800), (1000, 1540), strict=True):
            self.assertAlmostEqual(c["volume_cm3"], volume, delta=1e-9)
            self.assertAlmostEqual(c["area_cm2"], area, delta=1e-9)
        self.assertAlmostEqual(r["inserts"][0]["area_from_below_cm2"], 0, delta=1e-9)
        ran = ullage("check", path, "--cubes", "20000", "--insert", wall)
        self.assertIn("into 2 rooms without a way between them", " ".join(ran.stdout.split()))
        self.assertIn("foam gets nowhere under it", ran.stdout)
        floor = self.file("floor.stl", stl(box((320, 220, 5), (-10, -10, 20))))
        r = self.told("check", path, "--cubes", "20000", "--insert", floor, "--parting", "z=60")  # one room below it
        self.assertEqual(len(r["cavities"]), 2)

    def test_rooms_of_one_cavity_of_several_are_refused(self):
        two = self.file("two.stl", stl(box((100, 100, 50)) + box((100, 100, 50), (200, 0, 0))))
        wall = self.file("wall_in.stl", stl(box((10, 120, 70), (40, -10, -10))))
        r = self.told("check", two, "--cavity", "2", "--insert", wall, "--cubes", "5000")  # the other's: no fault
        self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 500, delta=1e-9)
        self.assertEqual(r["inserts"][0]["displaced_cm3"], 0)
        self.refused(2, ("cut cavity 1 into 2 rooms", "leave --cavity out"), "check", two, "--cavity", "1", "--insert", wall)
        r = self.told("check", two, "--insert", wall, "--cubes", "5000")
        for got, want in zip([c["volume_cm3"] for c in r["cavities"]], (200, 250, 500), strict=True):
            self.assertAlmostEqual(got, want, delta=1e-9)

    def test_a_bar_that_touches_the_lid_along_a_line_parts_its_air(self):
        """On edge, its upper edge in the lid: on either side the air is cut off where the bar is widest."""
        path = self.file("lid.stl", stl(box((60, 60, 50))))
        ends = [[(30, y, 50), (20, y, 40), (30, y, 30), (40, y, 40)] for y in (-5, 65)]
        bar = [(ends[0][0], ends[0][2], ends[0][1]), (ends[0][0], ends[0][3], ends[0][2])]
        bar += [(ends[1][0], ends[1][1], ends[1][2]), (ends[1][0], ends[1][2], ends[1][3])]
        for k in range(4):
            a, b, c, d = ends[0][k], ends[0][(k + 1) % 4], ends[1][(k + 1) % 4], ends[1][k]
            bar += [(a, b, c), (a, c, d)]
        insert = self.file("bar.stl", stl(bar))
        r = self.told("peaks", path, "--insert", insert, "--cubes", "20000")
        self.assertEqual(r["notes"], [])
        self.assertEqual([round(p["height_mm"], 9) for p in r["peaks"]], [50, 50])
        (under,) = (p for p in r["peaks"] if p["cut_off_height_mm"] is not None)
        self.assertAlmostEqual(under["cut_off_height_mm"], 30, delta=1e-6)
        self.assertAlmostEqual(under["pocket_cm3"], 6 * (2 * 3 - 0.5 * 2), delta=1e-5)

    def test_cavities_that_share_a_wall_rise_apart(self):
        two = self.file("abut.stl", stl(box((60, 60, 50)) + box((30, 60, 50), (60, 0, 0))))
        ran = ullage("rise", two, "--level", "--cubes", "2000", "--vent", "10,15,50", "--vent", "80,15,50", "--json")
        self.assertEqual(ran.returncode, 0, ran.stderr)
        for cavity in json.loads(ran.stdout)["cavities"]:
            self.assertAlmostEqual(cavity["outcome"]["filled_fraction"], 1, delta=1e-9)

    def test_a_hollow_in_an_insert_is_no_cavity(self):
        shell, core = box((60, 60, 60), (20, 20, 20)), box((50, 50, 50), (25, 25, 25))
        hollow = self.file("hollow.stl", stl(shell + [t[::-1] for t in core]))
        cup = self.file("over.stl", stl([t for t in cup_faces((210, 220, 270, 280), (20, 30, 80, 90), (50, 80, 90))]))
        block = self.file("under.stl", stl(box((80, 80, 20), (205, 15, 30))))  # shuts the cup from below
        r = self.told("check", self.box_file(), "--cubes", "20000", "--insert", hollow)
        self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 6000 - 216, delta=1e-9)
        self.assertAlmostEqual(r["inserts"][0]["displaced_cm3"], 216, delta=1e-9)
        self.assertAlmostEqual(r["inserts"][0]["area_from_below_cm2"], 36, delta=1e-9)
        self.assertEqual(len(r["cavities"]), 1)
        r = self.told("check", self.box_file(), "--cubes", "20000", "--insert", cup, "--insert", block)
        self.assertEqual(len(r["cavities"]), 1)
        self.assertAlmostEqual(r["cavities"][0]["volume_cm3"], 6000 - 7 * 7 * 4 - 8 * 8 * 2, delta=1e-9)

    def test_air_under_an_insert_is_a_peak(self):
        path = self.box_file()
        # A cup upside down: its hollow, 60 x 60 x 30, holds air up to z = 70.
        x, y, z = (100, 110, 170, 180), (60, 70, 130, 140), (40, 70, 80)
        cup = self.file("cup.stl", stl([t for t in cup_faces(x, y, z)]))
        r = self.told("peaks", path, "--insert", cup)
        under = [p for p in r["peaks"] if abs(p["height_mm"] - 70) < 1e-6]
        self.assertEqual(len(under), 1)
        self.assertAlmostEqual(under[0]["pocket_cm3"], 6 * 6 * 3, delta=1e-6)

    def test_a_plan_says_what_each_vent_is_and_what_none_reaches(self):
        x, y, z = (100, 110, 170, 180), (60, 70, 130, 140), (40, 70, 80)
        cup = self.file("cup.stl", stl(cup_faces(x, y, z)))
        words = ("--up", "0,0,1", "--tries", "30", "--cubes", "20000", "-o", self.path("plan"))
        r = self.told("plan", self.box_file(), "--insert", cup, "--parting", "z=100", *words)
        made = [v for v in r["vents"] if v["can_be_made"]]
        self.assertEqual([(v["kind"], v["half"], v["then"]) for v in made], [("groove", "lower", "leave")] * 4)
        for v in made:
            self.assertAlmostEqual(v["at_mm"][2], 100, delta=1e-9)
            self.assertEqual(v["face"], [0, 0, -1])
        (under,) = [v for v in r["vents"] if not v["can_be_made"]]
        self.assertIn("an insert is in the way", under["note"])
        self.assertEqual(r["opening"]["parting"]["normal"], [0, 0, 1])
        self.refused(2, "badge", "plan", self.box_file(), "--keep-off", "badge", *words)

    def test_files_that_are_no_cavity_are_refused_with_advice(self):
        good = stl(box((30, 20, 10)))
        self.refused(3, "no-such.stl", "check", self.path("no-such.stl"))
        self.refused(3, "empty", "check", self.file("empty.stl", b""))
        self.refused(3, "truncated.stl", "check", self.file("truncated.stl", good[:-60]))
        self.refused(3, "directory", "check", str(self.folder))
        self.refused(3, "unknown.xyz", "check", self.file("unknown.xyz", good))
        self.refused(3, "named.obj", "check", self.file("named.obj", good))
        self.refused(3, "none.stl", "check", self.file("none.stl", stl([])))
        nan = bytearray(good)
        struct.pack_into("<f", nan, 84 + 12, float("nan"))
        self.refused(3, "nan.stl", "check", self.file("nan.stl", bytes(nan)))
        flat = [tuple((v[0], v[1], 0) for v in t) for t in box((30, 20, 10))]
        self.refused(3, "flat.stl", "check", self.file("flat.stl", stl(flat)))

    def test_an_open_mesh_says_where_its_hole_is(self):
        path = self.file("open.stl", stl(box((30, 20, 10))[:-1]))
        ran = self.refused(3, ("not closed", "--patch"), "check", path)
        self.assertIn("open", ran.stdout)
        ran = ullage("check", path, "--json")
        self.assertEqual(ran.returncode, 3)
        r = json.loads(ran.stdout)
        self.assertFalse(r["file"]["closed"])
        self.assertEqual(r["cavities"], [])
        self.assertEqual(r["file"]["holes"][0]["edges"], 3)
        self.refused(3, "not closed", "peaks", path)
        self.assertAlmostEqual(self.told("check", path, "--patch", 40)["cavities"][0]["volume_cm3"], 6, delta=1e-9)

    def test_a_pour_or_vent_outside_says_how_far(self):
        path = self.box_file()
        self.refused(3, ("pour", "mm"), "rise", path, "--level", "--pour", "-40,100,50")
        self.refused(3, ("vent", "mm"), "rise", path, "--level", "--vent", "300,200,150,3")

    def test_a_tool_that_is_no_tool_is_named(self):
        path, out = self.box_file((30, 20, 10)), self.path("out")
        self.refused(3, "the tool no-such.stl: cannot be opened", "plan", path, "-o", out, "--tool", "no-such.stl")
        small = self.file("small.stl", stl(box((3, 2, 1))))
        self.refused(3, "small.stl: spans x 0.0 to 3.0 mm", "plan", path, "-o", out, "--tool", small)
        opened = self.file("opened.stl", stl(box((90, 90, 90), (-30, -30, -30))[:-1]))
        self.refused(3, ("the tool", "not closed"), "plan", path, "-o", out, "--tool", opened)

    def test_the_reading_taken_is_told(self):
        """It stood in the text alone."""
        path = self.mesh(box((80, 60, 40)) + turned_inside_out(box((40, 30, 20), (20, 15, 10))))
        for words, drawn, doubtful in (((), "part", True), (("--drawn", "block"), "block", False), (("--drawn", "part"), "part", False)):
            r = self.told("check", path, *words)["file"]
            self.assertEqual((r["drawn"], r["drawn_doubtful"]), (drawn, doubtful), words)
        r = json.loads(ullage("check", self.mesh(box((9, 9, 9))[:-1]), "--json").stdout)["file"]
        self.assertEqual((r["drawn"], r["drawn_doubtful"]), (None, False))

    def test_a_suspected_wrong_unit_is_a_warning(self):
        r = self.told("check", self.box_file((0.3, 0.2, 0.1)))
        self.assertTrue(any("unit" in note for note in r["file"]["notes"]))

    # --- usage and machine ---

    def test_usage_is_exit_2(self):
        path = self.box_file()
        self.refused(2, "did you mean", "chek", path)
        self.refused(2, "no length", "peaks", path, "--up", "0,0,0")
        self.refused(2, "give one", "peaks", path, "--up", "0,0,1", "--raise", "+x=5")
        self.refused(2, "the file has 1", "check", path, "--cavity", 3)
        self.assertEqual(ullage().returncode, 2)

    def test_help_is_on_stdout_and_ends_with_examples(self):
        for verb in ("check", "peaks", "tilts", "rise", "plan"):
            ran = ullage(verb, "--help")
            self.assertEqual((ran.returncode, ran.stderr), (0, ""))
            self.assertIn("examples\n  ullage " + verb, ran.stdout)

    def test_what_cannot_be_written_is_exit_4(self):
        path = self.box_file()
        with open("/dev/full", "w") as full:
            ran = subprocess.run([PROGRAM, "check", path], stdout=full, stderr=subprocess.PIPE, text=True)
        self.assertEqual(ran.returncode, 4, ran.stderr)
        self.refused(4, "folder", "plan", path, "-o", path, "--tries", 20)

    def test_numbers_do_not_follow_the_locale(self):
        path = self.box_file()
        plain = ullage("check", path, "--json").stdout
        for name in ("de_DE.UTF-8", "C"):
            ran = ullage("check", path, "--json", env={**os.environ, "LC_ALL": name})
            self.assertEqual(ran.stdout, plain)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
