"""`meson install` puts everything in its place. test_install.py BUILD MESON..."""

import os
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

BUILD, MESON = os.path.abspath(sys.argv[1]), sys.argv[2:]


class Install(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        ran = subprocess.run([*MESON, "install", "-C", BUILD, "--no-rebuild", "--quiet", "--destdir", cls.folder.name],
                             capture_output=True, text=True, timeout=120)
        assert ran.returncode == 0, ran.stdout + ran.stderr
        prefix = [os.path.join(at, "ullage") for at, _, files in os.walk(cls.folder.name) if "ullage" in files and at.endswith("/bin")]
        assert len(prefix) == 1, prefix
        cls.program = prefix[0]
        cls.prefix = os.path.dirname(os.path.dirname(cls.program))

    def installed(self, *parts):
        path = os.path.join(self.prefix, *parts)
        self.assertTrue(os.path.isfile(path), path)
        with open(path, encoding="utf-8") as file:
            return file.read()

    def test_the_program_runs_from_there(self):
        ran = subprocess.run([self.program, "--version"], capture_output=True, text=True, timeout=60)
        self.assertEqual(ran.returncode, 0, ran.stderr)

    def test_the_man_page_is_found_by_its_path(self):
        self.installed("share", "man", "man1", "ullage.1")
        rendered = subprocess.run(["groff", "-man", "-Tascii", os.path.join(self.prefix, "share/man/man1/ullage.1")],
                                  capture_output=True, text=True, timeout=60).stdout
        self.assertIn("ullage", rendered)

    def test_bash_completes_it(self):
        script = self.installed("share", "bash-completion", "completions", "ullage")
        ask = f"{script}\nCOMP_WORDS=({self.program} pl); COMP_CWORD=1; _ullage; echo \"${{COMPREPLY[@]}}\""
        ran = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, timeout=60)
        self.assertEqual(ran.stdout.strip(), "plan", ran.stderr)

    def test_every_page_of_the_docs_is_there_with_its_pictures(self):
        docs = pathlib.Path(__file__).resolve().parents[2] / "docs"
        pages = sorted(path.name for path in docs.glob("*.md"))
        self.assertIn("security.md", pages)
        for page in pages:
            text = self.installed("share", "doc", "ullage", page)
            for picture in re.findall(r"\]\((pictures/[^)]+)\)", text):
                self.assertTrue(os.path.isfile(os.path.join(self.prefix, "share", "doc", "ullage", picture)), picture)

    def test_headers_and_both_libraries_are_there(self):
        self.installed("include", "ullage", "ullage.h")
        libraries = [name for _, _, files in os.walk(self.prefix) for name in files if name.startswith("libullage.")]
        self.assertIn("libullage.a", libraries)
        self.assertTrue(any(name.startswith("libullage.so") for name in libraries))
        self.assertTrue(any("ullage.pc" in files for _, _, files in os.walk(self.prefix)))


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
