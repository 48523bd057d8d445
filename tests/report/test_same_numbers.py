"""Every number of plan.json is the same on the page, the bench card, in the table, the drawing and on the terminal.

test_same_numbers.py PROGRAM MESHES. The walk goes through all of plan.json: each number needs a rule that says where it is
told and how it is written there. A key without a rule fails, and so does a rule whose words are not found."""

import csv
import html.parser
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import unittest

import ezdxf

PROGRAM, MESHES = sys.argv[1:3]


# --- numbers as people read them ---


def figure(value):
    """Three figures, never an exponent, as all sentences have them."""
    if value == 0:
        return "0"
    decimals = 2 - math.floor(math.log10(abs(value)))
    text = f"{round(value, decimals):.{max(0, min(9, decimals))}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def bled(value):
    """But none that no scale shows."""
    return "under 0.01" if 0 < value < 0.01 else figure(value)


def place(at):
    return "x {:.1f} y {:.1f} z {:.1f}".format(*(0.0 if abs(c) < 0.05 else c for c in at))


def volume(cm3):
    return f"{figure(cm3)} cm3" if cm3 < 100 else f"{figure(cm3 / 1000)} litres ({figure(cm3)} cm3)"


def litres(cm3):
    return f"{figure(cm3)} cm3" if cm3 < 100 else f"{figure(cm3 / 1000)} litres"


def whole(value):
    return f"{value:.0f}"


def grams(value, step):
    return f"{value:.{0 if step >= 1 else 1}f} g"


# --- what people are handed, as plain text ---


class Words(html.parser.HTMLParser):
    """The text of a page, what is only for machines left out."""

    def __init__(self, text):
        super().__init__()
        self.said, self.silent = [], 0
        self.feed(text)

    def handle_starttag(self, tag, _):
        self.silent += tag in ("script", "style")

    def handle_endtag(self, tag):
        self.silent -= tag in ("script", "style")
        if tag in ("p", "dd", "dt", "li", "span", "text", "h1"):
            self.said.append(" ")

    def handle_data(self, data):
        if not self.silent:
            self.said.append(data)


def plain(text):
    return " ".join(text.replace("\N{MINUS SIGN}", "-").split())


class Plan:
    def __init__(self, folder, mesh, *words):
        ran = subprocess.run([PROGRAM, "plan", os.path.join(MESHES, mesh), "-o", folder, "--tries", "20", "--quiet", *words],
                             capture_output=True, text=True, timeout=300)
        assert ran.returncode in (0, 1), ran.stderr
        self.path = lambda name: os.path.join(folder, name)
        with open(self.path("plan.json"), encoding="utf-8") as file:
            self.json = json.load(file)
        with open(self.path("report.html"), encoding="utf-8") as file:
            page = file.read()
        card = subprocess.run(["pdftotext", "-layout", self.path("bench-card.pdf"), "-"], capture_output=True, text=True, timeout=60).stdout
        self.words = {"page": plain("".join(Words(page).said)), "card": plain(card), "terminal": plain(ran.stdout)}
        with open(self.path("vents.csv"), encoding="utf-8", newline="") as file:
            self.table = list(csv.DictReader(file))
        self.drawing = ezdxf.readfile(self.path("vent-layout.dxf")).modelspace()


# --- the rules ---

PAGE, CARD, TERMINAL = "page", "card", "terminal"
ALL = (PAGE, CARD, TERMINAL)
BY_FILE = ()  # told in plan.json alone


def column(name, decimals=3):
    """The vent's row of the table has it in that column."""
    def check(plan, at, value):
        got = float(plan.table[at[0]][name])
        return abs(got - value) <= 0.5001 * 10**-decimals
    return check


def columns(names):
    def check(plan, at, value):
        return column(names[at[1]])(plan, at, value)
    return check


def drawn(plan, at, _):
    """The vent is in the drawing, seen along an axis of the file: a circle, or a line from its mouth, and its number."""
    vent = plan.json["vents"][at[0]]
    view = plan.json.get("opening", {}).get("draw", vent["axis"])
    flat = sorted(abs(vent["at_mm"][c]) for c in range(3) if abs(view[c]) < 0.5)
    near = lambda p: all(abs(a - b) < 1e-5 for a, b in zip(sorted((abs(p.x), abs(p.y))), flat, strict=True))
    circles = [c for c in plan.drawing.query("CIRCLE") if near(c.dxf.center)]
    lines = [l for l in plan.drawing.query("LINE") if near(l.dxf.start)]
    numbers = [t.dxf.text.split()[0] for t in plan.drawing.query("TEXT") if t.dxf.text.split()]
    size = all(abs(2 * c.dxf.radius - vent["diameter_mm"]) < 1e-5 for c in circles)
    return bool(circles or lines) and size and str(vent["id"]) in numbers


def rules(plan):
    """(path as a regular expression, media, value -> words, more checks). The first that fits counts."""
    j = plan.json
    foam = j["rise"] == "foam"
    step = lambda: j["charge"][0]["scale_g"]
    vent = lambda at: j["vents"][at[0]]
    outcome = lambda at: j["cavities"][at[0]]["outcome"]
    few = lambda n: (lambda at: at[0] < n)
    each = [
        (r"fills_in\.good", ALL, lambda v, at: f"{v} of {j['fills_in']['tries']} tries"),
        (r"fills_in\.tries", ALL, lambda v, at: f"of {v} tries"),
        (r"fills_in\.void_cm3", (PAGE, TERMINAL), lambda v, at: f"{'seen' if j['verdict'].startswith('fills') else 'see voids'} from {volume(v)}", lambda at: foam),
        (r"fills_in\.misses_mm", (PAGE, TERMINAL), lambda v, at: f"places under {figure(v)} mm", lambda at: foam),
        (r"fills_in\.(cube_mm|list\[\]\..*)", BY_FILE, None),
        (r"file\.triangles", (TERMINAL,), lambda v, at: f"{v} triangles"),
        (r"file\.shells|cube_mm|thin\[\]\.needs_cube_mm", BY_FILE, None),
        (r"thin\[\]\.thick_mm", (PAGE, TERMINAL), lambda v, at: f"{figure(v)} mm", few(1)),
        (r"thin\[\]\.at_mm\[\]", (PAGE, TERMINAL), lambda v, at: place(j["thin"][at[0]]["at_mm"]), few(1)),
        (r"cavities\[\]\.volume_cm3", (PAGE, TERMINAL), lambda v, at: volume(v)),
        (r"cavities\[\]\.(id|area_cm2|centroid_mm\[\]|inertia_cm5\[\]\[\]|half_gap_mm\.\w+)", BY_FILE, None),
        (r"cavities\[\]\.box_mm\[\]\[\]", BY_FILE, None),
        (r"cavities\[\]\.outcome\.pour_mm\[\]", ALL, lambda v, at: place(outcome(at)["pour_mm"])),
        (r"cavities\[\]\.outcome\.trapped\[\]\.void_cm3", (PAGE,), lambda v, at: f"{volume(v)} stay", lambda at: at[1] < 6),
        (r"cavities\[\]\.outcome\.trapped\[\]\.at_mm\[\]", (PAGE,), lambda v, at: f"stay at {place(outcome(at)['trapped'][at[1]]['at_mm'])}",
         lambda at: at[1] < 6),
        (r"cavities\[\]\.outcome\.trapped\[\]\.id", (PAGE,), lambda v, at: f"air {v} ", lambda at: at[1] < 6),
        (r"cavities\[\]\.outcome\.trapped\[\]\.cut_off_s", (PAGE,), lambda v, at: f"cut off after {whole(v)} s", lambda at: at[1] < 6),
        (r"cavities\[\]\.outcome\.trapped\[\]\.cut_off_fraction", (PAGE,), lambda v, at: f"cut off when it is {whole(100 * v)} % full",
         lambda at: at[1] < 6),
        (r"cavities\[\]\.outcome\.end_s", (PAGE,), lambda v, at: f"{whole(v)} s It sets"),
        (r"cavities\[\]\.outcome\..*", BY_FILE, None),
        (r"tilt\.raise_deg\.(x|y)", (PAGE, TERMINAL), lambda v, at: f"x {figure(round(j['tilt']['raise_deg']['x'], 1))}, y "
                                                                   f"{figure(round(j['tilt']['raise_deg']['y'], 1))} degrees"),
        (r"tilts?(_given)?(\[\])?\..*|tried", BY_FILE, None),
        (r"peaks\[\]\.at_mm\[\]", (TERMINAL,), lambda v, at: place(j["peaks"][at[0]]["at_mm"]), few(3)),
        (r"peaks\[\]\..*", BY_FILE, None),
        (r"vents\[\]\.id", ALL, lambda v, at: str(v), None, column("id")),
        (r"vents\[\]\.cavity", (), None, None, column("cavity")),
        (r"vents\[\]\.at_mm\[\]", ALL, lambda v, at: place(vent(at)["at_mm"]), None, columns(["at_x_mm", "at_y_mm", "at_z_mm"]), drawn),
        (r"vents\[\]\.axis\[\]", (), None, None, columns(["axis_x", "axis_y", "axis_z"])),
        (r"vents\[\]\.diameter_mm", ALL, lambda v, at: f"{figure(v)} mm", None, column("diameter_mm"), drawn),
        (r"vents\[\]\.length_mm", (CARD,), lambda v, at: f"{place(vent(at)['at_mm'])} mm, {figure(v)} mm deep", None, column("length_mm")),
        (r"vents\[\]\.through_mm\[\]", (), None, None, columns(["through_x_mm", "through_y_mm", "through_z_mm"])),
        (r"vents\[\]\.air_cm3", (PAGE, TERMINAL), lambda v, at: f"ets out {volume(v)}", None, column("air_cm3")),
        (r"vents\[\]\.moved_mm", (), None, None, column("moved_mm")),
        (r"vents\[\]\.land_mm", (TERMINAL,), lambda v, at: f"the last {figure(v)} mm" if vent(at)["relief_mm"] else f"{v:.0f} mm deep",
         None, column("land_mm")),
        (r"vents\[\]\.relief_mm", (TERMINAL,), lambda v, at: f"open it to {figure(v)} mm", None, column("relief_mm")),
        (r"vents\[\]\.stays_cm3", (), None, None, column("stays_cm3")),
        (r"vents\[\]\.foam_shows_s", (CARD, TERMINAL), lambda v, at: f"{whole(v)} s"),
        (r"vents\[\]\.(pocket\..*|plug_order|case_mm)", BY_FILE, None),
        (r"vent_size\.diameter_mm", (TERMINAL,), lambda v, at: f"drill size {j['vent_size']['drill']} for all"),
        (r"vent_size\..*", BY_FILE, None),
        (r"proof\.rows\[\]\.(voids_cm3|short_cm3|peak_kpa|bled_g)", (TERMINAL,), lambda v, at: " ".join(
            [*(figure(j["proof"]["rows"][at[0]][key]) for key in ("voids_cm3", "short_cm3", "peak_kpa")),
             bled(j["proof"]["rows"][at[0]]["bled_g"])])),
        (r"proof\..*", BY_FILE, None),
        (r"pack\.taken", (TERMINAL,), lambda v, at: f"pack {figure(v)}"),
        (r"pack\.least", (TERMINAL,), lambda v, at: f"fills this cavity, lying so, is {figure(v)}"),
        (r"pack\..*", BY_FILE, None),
        (r"vents\[\]\.(clogs_s|bled_g|back_mm|past_mm|serves\[\]|liquid_over_mm)", BY_FILE, None),
        (r"rise_cube_mm", (TERMINAL,), lambda v, at: f"cubes of {v:.2g} mm"),
        (r"events\[\]\.s", (PAGE,), lambda v, at: f"{whole(v)} s", lambda at: j["events"][at[0]]["what"] in ("poured", "cream", "gel", "set")),
        (r"(events|meets|foam)\b.*", BY_FILE, None),
        (r"charge\[\]\.(a_g|b_g)", ALL, lambda v, at: grams(v, step())),
        (r"charge\[\]\.pigment_g", ALL, lambda v, at: grams(v, step())),
        (r"charge\[\]\.total_g", (PAGE, TERMINAL), lambda v, at: f"together {grams(v, step())}"),
        (r"charge\[\]\.litres", (PAGE, TERMINAL), lambda v, at: volume(1000 * v)),
        (r"charge\[\]\.in_cavity_g", (TERMINAL,), lambda v, at: f"{figure(v + j['charge'][at[0]]['bleed_g'])} g go in"),
        (r"charge\[\]\.bleed_g", (TERMINAL,), lambda v, at: f"{bled(v)} g of them"),
        (r"charge\[\]\.cup_g", (TERMINAL,), lambda v, at: f"{figure(v)} g more stay in the cup"),
        (r"charge\[\]\.pack", (TERMINAL,), lambda v, at: f"{figure(v)}"),
        (r"charge\[\]\..*", BY_FILE, None),
        (r"clock\.(poured_s|shut_s|turned_s)", ALL, lambda v, at: f"{whole(v)} s"),
        (r"clock\.margins_s\.\w+", ALL, lambda v, at: f"{whole(abs(v))} s"),
        (r"clock\.(cream_s|half_full_s)", (TERMINAL,), lambda v, at: f"{whole(v)} s"),
        (r"clock\..*", BY_FILE, None),
        (r"hold\.clamp_n", (CARD, TERMINAL), lambda v, at: f"with {figure(v)} N"),
        (r"hold\.peak_kpa", (CARD, TERMINAL), lambda v, at: f"{figure(v)} kPa"),
        (r"hold\.bolts_m6", (CARD, TERMINAL), lambda v, at: f"{v} bolts M6"),
        (r"hold\.bolts_m8", (CARD, TERMINAL), lambda v, at: f"{v} M8"),
        (r"hold\.(packing_kpa|rise_kpa)", (TERMINAL,), lambda v, at: f"{figure(v)} kPa"),
        (r"hold\.projected_cm2", (TERMINAL,), lambda v, at: f"{figure(v)} cm2", lambda at: foam),
        (r"hold\.(opening_n|toggles_n)", (TERMINAL,), lambda v, at: f"{figure(v)} N"),
        (r"(hold|air)\b.*", BY_FILE, None),
        (r"props\.corners_mm\[\]", ALL, lambda v, at: f"{whole(v)} mm", lambda at: j["props"]["corners_mm"][at[0]] >= 0.5),
        (r"props\.level_reads_deg\.(x|y)", (PAGE, TERMINAL), lambda v, at: figure(round(v, 1))),
        (r"props\..*", BY_FILE, None),
        (r"tool\.wall_mm", ALL, lambda v, at: f"{figure(v)} mm", lambda at: j["tool"]["assumed"]),
        (r"tool\.box_mm\[\]\[\]", BY_FILE, None),
        (r"opening\.projected_cm2", (TERMINAL,), lambda v, at: f"{figure(v)} cm2"),
        (r"opening\.undercuts\[\]\.(depth_mm|area_cm2)", (PAGE, TERMINAL), lambda v, at: figure(v), few(1)),
        (r"opening\..*|datum\..*|inserts\[\]\..*", BY_FILE, None),
    ]
    return [(re.compile(path), media, words, (more or [None])[0], more[1:]) for path, media, words, *more in each]


def leaves(value, path="", at=()):
    """(path, places in the lists on the way, number)"""
    if isinstance(value, dict):
        for key, below in value.items():
            yield from leaves(below, f"{path}.{key}" if path else key, at)
    elif isinstance(value, list):
        for i, below in enumerate(value):
            yield from leaves(below, path + "[]", (*at, i))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, at, value


def walk(plan):
    """What is wrong, a line each; and how many numbers were looked for in words."""
    wrong, looked = [], 0
    known = rules(plan)
    for path, at, value in leaves(plan.json):
        rule = next((r for r in known if r[0].fullmatch(path)), None)
        if rule is None:
            wrong.append(f"{path}: no rule says where it is told")
            continue
        _, media, words, told, more = rule
        if told and not told(at):
            continue
        for medium in media:
            looked += 1
            if words(value, at) not in plan.words[medium]:
                wrong.append(f"{path} {at}: the {medium} does not say {words(value, at)!r}")
        for check in more:
            looked += 1
            if not check(plan, at, value):
                wrong.append(f"{path} {at}: {value} differs in the table or the drawing")
    return wrong, looked


# --- the tests ---


class SameNumbers(unittest.TestCase):
    maxDiff = None

    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        at = lambda name: os.path.join(cls.folder.name, name)
        cls.plans = {
            "a foam": Plan(at("foam"), "rack-saddle.obj", "--foam", "rigid-100", "--mould", "aluminium", "--cubes", "2000", "--draw", "0,1,0"),
            "a foam, in cubes of other sizes than the heights": Plan(at("cubes"), "bow-ball.3mf", "--foam", "rigid-40", "--draw", "0,0,1", "--scatter", "2"),
            "heights": Plan(at("heights"), "dock-fender.stl", "--cubes", "20000", "--parting", "z=50", "--up", "0.1,0.2,1"),
            "air that stays": Plan(at("stays"), "rack-saddle.obj", "--cubes", "20000", "--up", "0,0,1", "--vents-at-most", "1"),
        }

    def test_every_number_is_the_same_wherever_it_is_told(self):
        for name, plan in self.plans.items():
            with self.subTest(name):
                wrong, looked = walk(plan)
                self.assertEqual(wrong, [])
                self.assertGreater(looked, 40)

    def test_the_walk_would_notice_a_number_that_differs(self):
        plan = self.plans["a foam"]
        for keys in (("fills_in", "good"), ("charge", 0, "a_g"), ("clock", "margins_s", "shut"), ("hold", "clamp_n"),
                     ("vents", 0, "at_mm", 1), ("vents", 0, "diameter_mm"), ("vents", 0, "foam_shows_s"), ("vents", 0, "air_cm3"),
                     ("cavities", 0, "volume_cm3"), ("cavities", 0, "outcome", "pour_mm", 0), ("tilt", "raise_deg", "y")):
            holder = plan.json
            for key in keys[:-1]:
                holder = holder[key]
            before = holder[keys[-1]]
            holder[keys[-1]] = 1.1 * before + 1 if isinstance(before, float) else before + 1
            self.assertNotEqual(walk(plan)[0], [], keys)
            holder[keys[-1]] = before

    def test_no_number_has_an_exponent_or_a_long_tail(self):
        for name, plan in self.plans.items():
            for medium in ALL:
                with self.subTest(name, medium=medium):
                    self.assertNotRegex(plan.words[medium], r"\d[eE][+-]\d|\bnan\b|\binf\b")
                    for number in re.findall(r"\d+\.\d+", plan.words[medium]):
                        self.assertLessEqual(len(number.replace(".", "").lstrip("0")), 5, number)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
