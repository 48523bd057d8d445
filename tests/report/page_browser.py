"""report.html as people meet it: opened in a headless Chromium, stepped through, clicked, printed.

page_browser.py PROGRAM MESHES. Without Chromium it says so and is skipped (exit 77)."""

import json
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import zlib

import browser

PROGRAM, MESHES = sys.argv[1:3]
CAVITIES = ["bow-ball.3mf", "dock-fender.stl", "rack-saddle.obj", "rigger-float.stl", "seat-pad.stl"]
QUICK = ["--cubes", "20000", "--tries", "20", "--scatter", "2", "--quiet"]


def plan(mesh, folder, *more):
    """The page and plan.json of a plan."""
    ran = subprocess.run([PROGRAM, "plan", mesh, "-o", folder, *QUICK, *more], capture_output=True, timeout=300)
    assert ran.returncode in (0, 1), ran.stderr
    with open(os.path.join(folder, "plan.json"), encoding="utf-8") as file:
        return os.path.join(folder, "report.html"), json.load(file)


def pixels(png):
    """(width, bytes of one pixel, rows) of an 8-bit PNG (RFC 2083)."""
    width, height, _, kind = struct.unpack(">IIBB", png[16:26])
    each, at, packed = {2: 3, 6: 4}[kind], 8, b""
    while at < len(png):
        (size,) = struct.unpack(">I", png[at : at + 4])
        if png[at + 4 : at + 8] == b"IDAT":
            packed += png[at + 8 : at + 8 + size]
        at += size + 12
    raw, rows, last = zlib.decompress(packed), [], bytearray(width * each)
    for y in range(height):
        start = y * (width * each + 1)
        row = bytearray(raw[start + 1 : start + 1 + width * each])
        for i in range(len(row)):
            left, above, corner = (row[i - each], last[i], last[i - each]) if i >= each else (0, last[i], 0)
            guess = left + above - corner
            paeth = min((left, above, corner), key=lambda v: abs(guess - v))
            row[i] = (row[i] + (0, left, above, (left + above) // 2, paeth)[raw[start]]) & 255
        rows.append(row)
        last = row
    return each, rows


def foam_share(png):
    """The share of pixels that have the foam's colour, light or shaded: the only yellow on the page."""
    each, rows = pixels(png)
    foam = total = 0
    for row in rows:
        for i in range(0, len(row), each):
            r, g, b = row[i : i + 3]
            foam += r > 120 and b < 0.78 * r and g > 0.82 * r
            total += 1
    return foam / total


class Demo(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        cls.pages = {name: plan(os.path.join(MESHES, name), os.path.join(cls.folder.name, name)) for name in CAVITIES}
        cls.foam = plan(os.path.join(MESHES, "rack-saddle.obj"), os.path.join(cls.folder.name, "foam"), "--foam", "rigid-100",
                        "--mould", "aluminium", "--cubes", "2000", "--up", "0,0,1", "--vents-at-most", "1")
        cls.pages["rack-saddle.obj with a foam"] = cls.foam
        cls.shut_in = plan(os.path.join(MESHES, "rack-saddle.obj"), os.path.join(cls.folder.name, "shut-in"),
                           "--up", "0,0,1", "--vents-at-most", "1")

    def open(self, path, **how):
        page = browser.Page(**how)
        self.addCleanup(page.close)
        page.open(path)
        return page

    def assert_sound(self, page):
        self.assertEqual(page.problems, [])
        self.assertEqual(page.ask("performance.getEntriesByType('resource').length"), 0, "it loads nothing")

    def told(self, page):
        return page.ask("document.getElementById('told').textContent")

    def step(self, page, index):
        page.ask(f"document.querySelectorAll('.moment')[{index}].click()")
        page.settle()

    # --- the model ---

    def test_every_demo_cavity_fills_up_from_moment_to_moment(self):
        for name, (path, _) in self.pages.items():
            with self.subTest(name), browser.Page(width=700, height=600) as page:
                page.open(path)
                self.assertTrue(page.ask("document.getElementById('model').classList.contains('solid')"))
                count = page.ask("document.querySelectorAll('.moment').length")
                self.assertGreaterEqual(count, 3)
                shares, pictures = [], []
                for i in range(count):
                    self.step(page, i)
                    pictures.append(page.picture("#canvas", scale=0.35))
                    shares.append(foam_share(pictures[-1]))
                self.assertNotEqual(pictures[0], pictures[count // 2])
                self.assertGreater(shares[-1], shares[0] + 0.005)
                for before, after in zip(shares, shares[1:]):
                    self.assertGreaterEqual(after, before - 0.002)
                self.assert_sound(page)

    def test_turning_coming_closer_and_moving_the_cut_change_the_picture(self):
        page = self.open(self.pages["rack-saddle.obj"][0])
        self.step(page, 2)
        page.ask("document.getElementById('canvas').focus()")
        seen = [page.picture("#canvas")]
        for key in ("ArrowLeft", "+", "]"):
            page.key(key)
            seen.append(page.picture("#canvas"))
        for selector in ("#turn-cut", "#close-cut"):
            page.click(selector)
            seen.append(page.picture("#canvas"))
        self.assertEqual(len(set(seen)), len(seen))
        self.assert_sound(page)

    def test_a_click_on_a_vent_tells_of_it(self):
        page = self.open(self.pages["rack-saddle.obj"][0])
        page.click(".vent-letter")
        self.assertTrue(self.told(page).startswith("Hole 1"))
        self.assertTrue(page.ask("document.querySelector('.hole').classList.contains('now')"))
        page.key("n")
        page.click(".hole")
        self.assertTrue(self.told(page).startswith("Hole 1"))
        self.assert_sound(page)

    def test_air_that_stays_is_called_out_once_it_is_cut_off(self):
        path, result = self.shut_in
        page = self.open(path)
        shown = "[...document.querySelectorAll('.air-letter')].filter(e => !e.hidden).length"
        self.assertEqual(page.ask(shown), 0)
        self.step(page, page.ask("document.querySelectorAll('.moment').length") - 1)
        trapped = result["cavities"][0]["outcome"]["trapped"]
        self.assertGreater(len(trapped), 0)
        self.assertEqual([air["id"] for air in trapped], list(range(1, len(trapped) + 1)))
        called = page.ask("[...document.querySelectorAll('.air-letter')].filter(e => !e.hidden).map(e => e.textContent)")
        self.assertEqual(called, [f"air {air['id']}" for air in trapped])
        inside = ("(() => { const s = document.getElementById('stage').getBoundingClientRect(),"
                  " a = document.querySelector('.air-letter').getBoundingClientRect();"
                  " return a.left >= s.left && a.right <= s.right; })()")
        self.assertTrue(page.ask(inside))
        self.assert_sound(page)

    # --- stepping, by hand and by keyboard ---

    def test_the_moments_can_be_stepped_through_by_keyboard(self):
        page = self.open(self.pages["seat-pad.stl"][0])
        first = self.told(page)
        page.key("n")
        second = self.told(page)
        self.assertNotEqual(first, second)
        self.assertEqual(page.ask("document.querySelectorAll('[aria-current=step]').length"), 1)
        page.key("b")
        self.assertEqual(self.told(page), first)
        page.ask("document.querySelectorAll('.moment')[1].focus()")
        page.key("Enter")
        self.assertEqual(self.told(page), second)
        page.key("Tab")
        self.assertTrue(page.ask("document.activeElement.classList.contains('moment')"))
        self.assert_sound(page)

    def test_playing_ends_at_the_last_moment(self):
        page = self.open(self.pages["seat-pad.stl"][0])
        page.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": "reduce"}])
        self.step(page, page.ask("document.querySelectorAll('.moment').length") - 2)
        page.click("#play")
        page.ask("new Promise(done => { const wait = () => document.getElementById('play').textContent === 'Play' ?"
                 " done() : setTimeout(wait, 50); wait(); })")
        self.assertTrue(page.ask("document.getElementById('on').disabled"))
        self.assert_sound(page)

    def test_each_compared_way_up_tells_its_words(self):
        path, result = self.shut_in
        page = self.open(path)
        count = page.ask("document.querySelectorAll('.compared').length")
        self.assertEqual(count, min(8, 1 + len(result["tilts"])))
        for i in range(count):
            page.click(f".strip li:nth-child({i + 1}) .compared")
            why = (result["tilt_given"] if i == 0 else result["tilts"][i - 1])["why"]
            self.assertIn(why, page.ask("document.getElementById('why').textContent"))
            self.assertEqual(page.ask("document.querySelectorAll('.compared[aria-pressed=true]').length"), 1)
        self.assert_sound(page)

    # --- a foam ---

    def test_a_foam_is_told_in_seconds_and_grams(self):
        path, result = self.foam
        page = self.open(path)
        self.assertEqual(page.ask("[...document.querySelectorAll('.first dt')].map(e => e.textContent)")[:6],
                         ["Fills in", "Weigh", "It holds", "Lay it", "Holes", "Time"])
        marks = page.ask("[...document.querySelectorAll('.mark')].map(e => e.textContent)")
        for mark in marks:
            self.assertRegex(mark, r"^\d+( to \d+)? s$")
        seconds = [int(mark.split()[-2]) for mark in marks]
        self.assertEqual(seconds, sorted(seconds))
        words = page.ask("[...document.querySelectorAll('.tells')].map(e => e.textContent).join(' ')")
        for said in ("poured", "shut", "creams", "Foam shows at hole 1", "gels", "sets"):
            self.assertIn(said, words)
        self.step(page, len(marks) - 1)
        letters = page.ask("[...document.querySelectorAll('.tide-letter')].filter(e => !e.hidden).map(e => e.textContent)")
        self.assertGreater(len(letters), 0)
        for letter in letters:
            self.assertRegex(letter, r"^\d+ s$")
        self.assertTrue(page.ask("document.querySelector('.curves .pressure') !== null"))
        self.assert_sound(page)

    def test_air_has_the_same_number_in_the_model_the_words_the_stills_and_on_the_card(self):
        path, result = self.foam
        page = self.open(path)
        ids = [air["id"] for air in result["cavities"][0]["outcome"]["trapped"]]
        self.assertGreater(len(ids), 1)
        self.assertEqual(page.ask("[...document.querySelectorAll('.air-letter')].map(e => e.textContent)"), [f"air {i}" for i in ids])
        self.assertEqual(page.ask("[...document.querySelectorAll('.air-number')].map(e => e.textContent)"), [f"air {i}" for i in ids[:6]])
        tags = page.ask("[...document.querySelectorAll('.moments li:last-child .air-tag text')].map(e => e.textContent)")
        self.assertTrue(set(tags) <= {f"air {i}" for i in ids} and "air 1" in tags)
        card = subprocess.run(["pdftotext", "-layout", os.path.join(os.path.dirname(path), "bench-card.pdf"), "-"],
                              capture_output=True, text=True, timeout=60).stdout
        for told in page.ask("[...document.querySelectorAll('.airs li')].map(e => e.textContent)")[:2]:
            name, rest = told[:5], told[5:].split(" stay")[0].split(" (")[0]
            self.assertIn(f"{name}: {rest} stay", card)
        self.step(page, page.ask("document.querySelectorAll('.moment').length") - 1)
        page.click(".air-letter:not([hidden])")
        self.assertTrue(self.told(page).startswith("Air "))
        self.assert_sound(page)

    def test_words_over_the_model_do_not_cover_each_other(self):
        for path, _ in (self.foam, self.shut_in):
            page = self.open(path)
            self.step(page, page.ask("document.querySelectorAll('.moment').length") - 1)
            for _ in range(4):
                boxes = page.ask("[...document.querySelectorAll('.letters > :not(svg):not(.place-letter)')].filter(e => !e.hidden)"
                                 ".map(e => { const r = e.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; })")
                self.assertGreater(len(boxes), 2)
                for i, (l, t, r, b) in enumerate(boxes):
                    for k, u, v, w in boxes[:i]:
                        self.assertFalse(l < v - 1 and k < r - 1 and t < w - 1 and u < b - 1)
                page.ask("document.getElementById('canvas').focus()")
                page.key("ArrowLeft")

    # --- what is cast in, and the names of parts ---

    def test_what_is_cast_in_is_drawn_and_parts_can_be_named(self):
        board = os.path.join(self.folder.name, "oak <board>.obj")
        faces = [(0, 2, 3), (0, 3, 1), (4, 5, 7), (4, 7, 6), (0, 1, 5), (0, 5, 4), (2, 6, 7), (2, 7, 3), (0, 4, 6), (0, 6, 2), (1, 3, 7), (1, 7, 5)]
        with open(board, "w", encoding="utf-8") as out:
            for k in range(8):
                out.write("v %g %g %g\n" % ((-40, 40)[k & 1], (-20, 20)[k >> 1 & 1], (-5, 25)[k >> 2 & 1]))
            for face in faces:
                out.write("f %d %d %d\n" % tuple(v + 1 for v in face))
        path, _ = plan(os.path.join(MESHES, "rack-saddle.obj"), os.path.join(self.folder.name, "cast"), "--insert", board, "--up", "0,0,-1")
        page = self.open(path)
        self.assertTrue(page.ask("document.querySelector('.meanings').textContent.includes('cast in')"))
        self.assertGreater(len(page.ask("document.getElementById('cast').getAttribute('d')")), 10)
        shown = "[...document.querySelectorAll('.name-letter')].filter(e => !e.hidden).map(e => e.textContent)"
        self.assertEqual(page.ask(shown), [])
        page.click("#names")
        names = page.ask(shown)
        self.assertIn("oak <board>.obj", names)
        self.assertTrue({"cradle", "foot-sole", "strap-slots"} & set(names))
        self.assert_sound(page)

    # --- without the model ---

    def test_without_webgl_the_moments_are_still_pictures_with_the_same_words(self):
        path, _ = self.pages["rack-saddle.obj"]
        page, other = self.open(path), self.open(path, webgl=False)
        self.assertFalse(other.ask("document.getElementById('model').classList.contains('solid')"))
        seen = set()
        for i in range(page.ask("document.querySelectorAll('.moment').length")):
            self.step(page, i)
            self.step(other, i)
            self.assertEqual(self.told(page), self.told(other))
            self.assertGreater(other.ask("document.querySelector('#still svg').getBoundingClientRect().height"), 100)
            seen.add(other.picture("#still"))
        self.assertGreaterEqual(len(seen), 3)
        self.assertEqual(other.problems, [])

    def test_without_scripts_every_word_and_still_is_there(self):
        path, result = self.pages["rack-saddle.obj"]
        page = browser.Page()
        self.addCleanup(page.close)
        page.call("Emulation.setScriptExecutionDisabled", value=True)
        page.call("Page.navigate", url="file://" + path)
        while not page.loads:
            page.hear()
        root = page.call("DOM.getDocument", depth=-1, pierce=False)["root"]["nodeId"]
        stills = page.call("DOM.querySelectorAll", nodeId=root, selector=".moment svg.still")["nodeIds"]
        whys = page.call("DOM.querySelectorAll", nodeId=root, selector=".why")["nodeIds"]
        self.assertGreaterEqual(len(stills), 3)
        self.assertEqual(len(whys), len(result["tilts"]))
        for node in stills + whys:
            self.assertGreater(page.call("DOM.getBoxModel", nodeId=node)["model"]["height"], 10)

    def test_on_paper_every_still_and_every_word_is_printed(self):
        path, _ = self.pages["rack-saddle.obj"]
        page = self.open(path)
        page.call("Emulation.setEmulatedMedia", media="print")
        page.settle()
        self.assertEqual(page.ask("getComputedStyle(document.getElementById('model')).display"), "none")
        for selector in (".moment svg.still", ".why", ".holes li"):
            self.assertTrue(page.ask(f"[...document.querySelectorAll('{selector}')].every(e => e.getBoundingClientRect().height > 10)"))
        self.assertGreater(len(page.call("Page.printToPDF")["data"]), 10000)

    # --- words, widths, colours ---

    def test_the_first_screen_answers_in_the_order_of_the_hands(self):
        path, result = self.pages["rack-saddle.obj"]
        page = self.open(path)
        self.assertEqual(page.ask("[...document.querySelectorAll('.first dt')].map(e => e.textContent)")[:5],
                         ["Fills in", "It holds", "Lay it", "Holes", "Time"])
        words = page.ask("document.querySelector('.first').textContent")
        self.assertIn(f"{result['fills_in']['good']} of {result['fills_in']['tries']}", words)
        for vent in result["vents"]:
            self.assertIn("x {:.1f}  y {:.1f}  z {:.1f} mm".format(*(v + 0.0 for v in vent["at_mm"])), words)
        self.assertEqual(page.ask("document.querySelectorAll('.holes li').length"), len(result["vents"]))

    def test_a_phone_needs_no_scrolling_sideways(self):
        for name, (path, _) in self.pages.items():
            with self.subTest(name), browser.Page(width=360, height=740, touch=True) as page:
                page.open(path)
                self.assertLessEqual(page.ask("document.documentElement.scrollWidth"), 360)
                self.assert_sound(page)

    def test_dark_rooms_get_dark_paper_in_the_model_too(self):
        path, _ = self.pages["rack-saddle.obj"]
        for dark in (False, True):
            page = self.open(path, dark=dark)
            each, rows = pixels(page.picture("#canvas", scale=0.2))
            self.assertEqual(sum(rows[3][3 * each : 3 * each + 3]) < 200, dark)
            self.assert_sound(page)

    def test_ink_stands_out_from_paper(self):
        """Contrast as WCAG 2.1 has it: 4.5 or more for everything that is read."""
        contrast = """(() => {
          const value = name => getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim();
          const light = hex => [1, 3, 5].map(i => parseInt(hex.slice(i, i + 2), 16) / 255)
            .map(c => c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
            .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
          const paper = light(value('paper'));
          return ['ink', 'faint', 'tide', 'air', 'vent'].map(name => {
            const other = light(value(name));
            return (Math.max(paper, other) + 0.05) / (Math.min(paper, other) + 0.05); });
        })()"""
        for dark in (False, True):
            page = self.open(self.pages["rack-saddle.obj"][0], dark=dark)
            for ratio in page.ask(contrast):
                self.assertGreaterEqual(ratio, 4.5)

    # --- size ---

    def test_a_page_of_250000_cubes_is_under_6_MB(self):
        folder = os.path.join(self.folder.name, "many")
        ran = subprocess.run([PROGRAM, "plan", os.path.join(MESHES, "rigger-float.stl"), "-o", folder, "--tries", "20", "--scatter", "2",
                              "--cubes", "250000", "--quiet"], capture_output=True, timeout=300)
        self.assertIn(ran.returncode, (0, 1), ran.stderr)
        path = os.path.join(folder, "report.html")
        self.assertLess(os.path.getsize(path), 6e6)
        page = self.open(path)
        self.step(page, 2)
        self.assertGreater(foam_share(page.picture("#canvas", scale=0.35)), 0.005)
        self.assert_sound(page)

    # --- names ---

    def test_no_name_breaks_or_enters_the_page(self):
        names = ["a \"b\" 'c' <script>document.title=1<!--.stl", "&lt;b&gt; $& {{}} <!--slot:scene-->.stl",
                 "Bugkugel \u00fc\u00f1 \u6f22\u5b57 \U0001f6a3.stl", "n" * 200 + ".stl"]
        for name in names:
            with self.subTest(name), browser.Page() as page:
                mesh = os.path.join(self.folder.name, name)
                shutil.copy(os.path.join(MESHES, "rigger-float.stl"), mesh)
                path, _ = plan(mesh, os.path.join(self.folder.name, "named"))
                page.open(path)
                self.assertEqual(page.ask("document.querySelector('h1').textContent"), name)
                self.assertEqual(page.ask("document.title"), name + ": how to fill it")
                self.assertEqual(page.ask("document.querySelectorAll('script').length"), 7)
                self.assertLessEqual(page.ask("document.documentElement.scrollWidth"), 1280)
                self.assert_sound(page)

    def test_bytes_that_are_no_text_are_shown_as_unknown(self):
        mesh = os.path.join(self.folder.name.encode(), b"\xff\xc0\x80.stl")
        shutil.copy(os.path.join(MESHES, "rigger-float.stl"), mesh)
        path, _ = plan(mesh, os.path.join(self.folder.name, "bytes"))
        page = self.open(path)
        self.assertEqual(page.ask("document.querySelector('h1').textContent"), "\ufffd\ufffd\ufffd.stl")
        self.assert_sound(page)


if __name__ == "__main__":
    if not browser.find():
        print("page_browser: no chromium here, so report.html was not opened: install chromium")
        sys.exit(77)
    unittest.main(argv=sys.argv[:1])
