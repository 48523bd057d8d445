"""make_pictures.py PROGRAM - makes docs/pictures again, from the very runs that docs/first-plan.md tells of.

Needs Chromium and pdftoppm. Everything is planned afresh in a folder that is thrown away."""

import os
import subprocess
import sys
import tempfile

DOCS = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(DOCS)
sys.path.insert(0, os.path.join(ROOT, "tests", "report"))
import browser  # noqa: E402

PROGRAM = os.path.abspath(sys.argv[1])
PICTURES = os.path.join(DOCS, "pictures")


def commands():
    """The plans of the guide: its lines that begin with build/ullage plan, as lists of words."""
    with open(os.path.join(DOCS, "first-plan.md"), encoding="utf-8") as file:
        lines = [line.strip() for line in file]
    return [line.split("#")[0].split()[1:] for line in lines if line.startswith("build/ullage plan ")]


def keep(name, png):
    with open(os.path.join(PICTURES, name), "wb") as file:
        file.write(png)
    print(name, len(png))


def look(page, step):
    """Goes to a moment."""
    page.ask(f"[...document.querySelectorAll('.moment')].at({step}).click()")
    page.settle()


def photograph(report):
    with browser.Page(1180, 860) as page:
        page.open(report)
        keep("first-screen.png", page.picture(".first"))
        look(page, 3)
        keep("moment.png", page.picture(".spread"))
    with browser.Page(390, 844, dark=True, touch=True) as page:
        page.open(report)
        look(page, 3)
        page.ask("document.querySelector('.rise').scrollIntoView()")
        page.settle()
        keep("phone-dark.png", page.picture("#model"))


def photograph_card(card):
    stem = os.path.join(PICTURES, "bench-card")
    subprocess.run(["pdftoppm", "-r", "80", "-png", "-singlefile", card, stem], check=True)
    print("bench-card.png", os.path.getsize(stem + ".png"))


with tempfile.TemporaryDirectory() as folder:
    os.symlink(os.path.join(ROOT, "meshes"), os.path.join(folder, "meshes"))
    with open(os.path.join(folder, "ours.card"), "w", encoding="utf-8") as file:
        subprocess.run([PROGRAM, "foams", "rigid-100"], stdout=file, check=True)
    for words in commands():
        ran = subprocess.run([PROGRAM, *words, "--quiet"], cwd=folder, stdout=subprocess.DEVNULL)
        assert ran.returncode in (0, 1), words
    photograph(os.path.join(folder, "ball-foam", "report.html"))
    photograph_card(os.path.join(folder, "ball-foam", "bench-card.pdf"))
