"""Bad input: every row of table.tsv gives the exit code and the words that it says, soon and in little memory."""

import pathlib
import resource
import shlex
import subprocess
import sys
import tempfile
import unittest

PROGRAM, HAS_STEP, SANITIZER = str(pathlib.Path(sys.argv[1]).resolve()), sys.argv[2] == "yes", sys.argv[3]
HERE = pathlib.Path(__file__).resolve().parent
FILES = HERE / "files"
TAKES_NO_QUIET = ("shots", "foams", "markers", "polish")
MOST_S, MOST_KIB = 10, 1 << 20


def rows():
    for line in (HERE / "table.tsv").read_text().splitlines():
        if not line.startswith("#"):
            words, code, says = line.split("\t")
            yield words, int(code), says


class Bad(unittest.TestCase):
    def run_row(self, words, folder):
        words = [w.replace("OUT", folder) for w in shlex.split(words)]
        quiet = [] if words[0] in TAKES_NO_QUIET else ["--quiet"]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        ran = subprocess.run([PROGRAM, *words[:1], *quiet, *words[1:]], cwd=FILES, capture_output=True, text=True, timeout=120)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.assertLess(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, MOST_S)
        return ran

    def test_every_row(self):
        done = 0
        for words, code, says in rows():
            if ".step" in words and not HAS_STEP:
                continue
            if "chunk-beyond" in words and SANITIZER != "none":
                continue  # whose allocator ends the child that asks for too much, where others say no
            with self.subTest(words), tempfile.TemporaryDirectory() as folder:
                ran = self.run_row(words, folder + "/plan")
                self.assertEqual(ran.returncode, code, ran.stderr)
                if code >= 2:
                    self.assertIn(says.replace("OUT", folder + "/plan"), ran.stderr)
                    self.assertEqual(ran.stderr.count("\n"), 1, ran.stderr)
                    self.assertTrue(ran.stderr.startswith("ullage: "), ran.stderr)
                    self.assertEqual(list(pathlib.Path(folder).rglob("plan.json")), [])
                else:
                    self.assertEqual(ran.stderr, "")
                    self.assertIn(says, " ".join(ran.stdout.split()))
                done += 1
        self.assertLess(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, MOST_KIB)
        print(f"{done} rows", file=sys.stderr)

    def test_every_file_is_in_the_table(self):
        used = {word for words, _, _ in rows() for word in shlex.split(words)}
        self.assertEqual({path.name for path in FILES.iterdir()} - used, set())


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
