"""When the machine fails: memory, threads, processes, disks, names; and when somebody stops the program. The answer is one
line and an exit code, and on disk there is all of a plan or nothing of it."""

import filecmp
import os
import pathlib
import resource
import signal
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM, FAULTS, FILES, MESHES = (str(pathlib.Path(p).resolve()) for p in sys.argv[1:5])
EVERY = os.environ.get("ULLAGE_EVERY_FAULT")  # else a sample of the allocations of a plan
BOX = FILES + "/box.stl"
QUICK = ("--cubes", "2000", "--quiet")
WHOLE = sorted("bench-card.pdf plan.json report.html vent-cutters.3mf vent-cutters.obj vent-cutters.stl vent-flags.3mf vent-flags.glb vent-flags.ply vent-flags.stl vent-layout.dxf vents.csv".split())
PLAN = (*QUICK, "--tries", "5", "--scatter", "2")


class Faults(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.out = pathlib.Path(self.folder.name, "plan")

    def ullage(self, *words, fault=None, **more):
        env = dict(os.environ)
        if fault:
            env |= {"LD_PRELOAD": FAULTS, "ULLAGE_FAULT": fault, "ULLAGE_COUNT": self.folder.name + "/count"}
        env |= more.pop("env", {})
        more = {"stdout": subprocess.PIPE} | more
        return subprocess.run([PROGRAM, *words], stderr=subprocess.PIPE, text=True, timeout=120, env=env, **more)

    def count(self, call, *words):
        """How many such calls a run makes that nothing fails in."""
        self.assertIn(self.ullage(*words, fault=call + " 0").returncode, (0, 1))
        return int(pathlib.Path(self.folder.name, "count").read_text())

    def files(self):
        return sorted(os.listdir(self.out)) if self.out.exists() else []

    def fails(self, code, says, *words, **more):
        ran = self.ullage(*words, **more)
        self.assertEqual(ran.returncode, code, ran.stderr)
        self.assertEqual(ran.stderr.count("\n"), 1, ran.stderr)
        self.assertIn(says, ran.stderr)
        self.assertEqual(self.files(), [])

    def each(self, call, numbers, *words):
        """Every one of these calls fails in turn."""
        failed = 0
        for n in numbers:
            ran = self.ullage(*words, fault=f"{call} {n}")
            with self.subTest(call=call, n=n):
                if ran.returncode in (0, 1):  # it could be done without
                    self.assertEqual(ran.stderr, "")
                    continue
                failed += 1
                self.assertEqual(ran.returncode, 4, ran.stderr)
                self.assertEqual(ran.stderr.count("\n"), 1, ran.stderr)
                self.assertIn(self.files(), ([], WHOLE))  # whole: it failed while it told of it
            for name in self.files():
                (self.out / name).unlink()
        self.assertGreater(failed, 0.9 * len(numbers))

    # -- memory --

    def test_every_allocation_of_a_check_fails_in_turn(self):
        words = ("check", BOX, "--threads", "1", *QUICK)
        self.each("malloc", range(1, self.count("malloc", *words) + 1), *words)

    def test_allocations_of_a_plan_fail_in_turn(self):
        words = ("plan", BOX, "-o", str(self.out), "--threads", "1", *PLAN)
        count = self.count("malloc", *words)
        for name in self.files():
            (self.out / name).unlink()
        numbers = range(1, count + 1) if EVERY else sorted({int(1.1**i) for i in range(200) if 1.1**i <= count})
        self.each("malloc", numbers, *words)

    def test_no_memory_from_some_time_on(self):
        words = ("plan", BOX, "-o", str(self.out), "--threads", "1", *PLAN)
        for n in (1, 10, 100, 1000):
            ran = self.ullage(*words, fault=f"malloc {n}+")
            self.assertEqual(ran.returncode, 4)
            self.assertEqual(self.files(), [])

    # -- threads, processes, descriptors --

    def test_a_thread_that_cannot_start_changes_nothing(self):
        words = ("rise", BOX, "--foam", "rigid-40", "--cubes", "1000", "--threads", "4", "--json", "--quiet")
        whole = self.ullage(*words)
        for fault in ("pthread_create 1", "pthread_create 2", "pthread_create 1+"):
            ran = self.ullage(*words, fault=fault)
            self.assertEqual((ran.returncode, ran.stdout, ran.stderr), (whole.returncode, whole.stdout, ""))

    def test_no_process_for_the_reader(self):
        self.fails(4, "no process for the reader", "check", BOX, *QUICK, fault="fork 1")

    def test_no_descriptors_for_the_reader(self):
        self.fails(4, "no memory file or pipe", "check", BOX, *QUICK, fault="memfd_create 1")
        self.fails(4, "no memory file or pipe", "check", BOX, *QUICK, fault="pipe2 1")

    # -- disks --

    def test_a_file_that_cannot_be_made(self):
        words = ("plan", BOX, "-o", str(self.out), *PLAN)
        for n in range(1, self.count("open", *words) + 1):
            for name in self.files():
                (self.out / name).unlink()
            self.out.rmdir() if n == 1 else self.assertFalse(self.out.exists())  # nor the folder, which was not there
            self.fails(4, "No space left", *words, fault=f"open {n}")

    def test_a_disk_that_fills_up_half_way(self):
        for kib in (1, 20, 100, 600):
            def limit(kib=kib):
                resource.setrlimit(resource.RLIMIT_FSIZE, (kib << 10, kib << 10))

            self.fails(3 if kib == 1 else 4, "needs more than" if kib == 1 else "cannot be written", "plan", BOX, "-o", str(self.out), *PLAN, preexec_fn=limit)

    def test_an_older_plan_stays_whole_when_a_new_one_fails(self):
        self.assertIn(self.ullage("plan", BOX, "-o", str(self.out), *PLAN).returncode, (0, 1))
        older = tempfile.TemporaryDirectory()
        self.addCleanup(older.cleanup)
        subprocess.run(["cp", "-a", self.out, older.name], check=True)
        for fault in ("open 1", "open 5", "rename 1", "malloc 2000"):
            ran = self.ullage("plan", MESHES + "/dock-fender.stl", "-o", str(self.out), *PLAN, fault=fault)
            self.assertEqual(ran.returncode, 4, ran.stderr)
            match, mismatch, errors = filecmp.cmpfiles(self.out, older.name + "/plan", self.files(), shallow=False)
            self.assertEqual((mismatch, errors), ([], []))
            self.assertEqual(match, sorted(os.listdir(older.name + "/plan")))

    def test_a_name_that_cannot_be_given(self):
        words = ("plan", BOX, "-o", str(self.out), *PLAN)
        for n in (1, 4, self.count("rename", *words)):
            for name in self.files():
                (self.out / name).unlink()
            ran = self.ullage(*words, fault=f"rename {n}")
            self.assertEqual(ran.returncode, 4)
            self.assertIn("cannot be written", ran.stderr)
            self.assertNotIn("plan.json", self.files())  # comes last
            self.assertEqual([name for name in self.files() if name.endswith(".tmp")], [])

    def test_full_disks_and_closed_pipes_behind_stdout(self):
        for words in (("check", BOX, "--json", *QUICK), ("foams",), ("--help",), ("check", "--help")):
            with open("/dev/full", "w") as full:
                self.fails(4, "standard output", *words, stdout=full)
            self.assertEqual(self.ullage(*words, stdout=None, preexec_fn=lambda: os.close(1)).returncode, 4)
            there, here = os.pipe()
            os.close(there)
            self.fails(4, "standard output", *words, stdout=here)
            os.close(here)

    def test_a_folder_where_nothing_can_be_written(self):
        self.out.mkdir()
        self.out.chmod(0o500)
        if os.access(self.out, os.W_OK):  # root may write anywhere but there
            self.out = pathlib.Path("/proc/self")
            ran = self.ullage("plan", BOX, "-o", "/proc/self", *PLAN)
        else:
            ran = self.ullage("plan", BOX, "-o", str(self.out), *PLAN)
        self.assertEqual(ran.returncode, 4)
        self.assertIn("cannot be written", ran.stderr)

    # -- surroundings --

    def test_surroundings_change_no_byte(self):
        words = ("check", BOX, "--json", *QUICK)
        whole = self.ullage(*words)
        self.assertEqual(whole.returncode, 0)

        def small_stack():
            resource.setrlimit(resource.RLIMIT_STACK, (256 << 10, 256 << 10))

        comma = {"LC_ALL": "de_DE.UTF-8", "LOCPATH": str(self.out)}
        self.out.mkdir()
        made = ["localedef", "-i", "de_DE", "-f", "UTF-8", str(self.out / "de_DE.UTF-8")]
        subprocess.run(made, check=True, capture_output=True)
        point = subprocess.run(["locale", "decimal_point"], env={**os.environ, **comma}, capture_output=True, text=True)
        self.assertEqual(point.stdout, ",\n")

        for more in (
            {"env": comma},
            {"env": {"LC_ALL": "no-such-locale"}},
            {"env": {"HOME": "/no/such/folder", "TMPDIR": "/no/such/folder"}},
            {"preexec_fn": small_stack},
            {"preexec_fn": lambda: os.close(0)},
            {"cwd": "/"},
        ):
            ran = self.ullage(*words, **more)
            self.assertEqual((ran.returncode, ran.stdout, ran.stderr), (0, whole.stdout, ""), more)
        bare = subprocess.run([PROGRAM, *words], env={}, capture_output=True, text=True, timeout=60)
        self.assertEqual(bare.stdout, whole.stdout)

    def test_a_plan_with_a_tiny_stack_and_no_home(self):
        def small_stack():
            resource.setrlimit(resource.RLIMIT_STACK, (512 << 10, 512 << 10))

        ran = self.ullage("plan", BOX, "-o", str(self.out), "--foam", "rigid-40", *PLAN, preexec_fn=small_stack, env={"HOME": "/no/such/folder"})
        self.assertIn(ran.returncode, (0, 1), ran.stderr)
        self.assertIn("plan.json", self.files())

    # -- being stopped --

    def stopped_after(self, seconds, number, *words, before=signal.SIG_DFL):
        """`before`: what the caller left that signal at; a suite under nohup leaves SIGHUP ignored."""
        program = subprocess.Popen([PROGRAM, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                                   preexec_fn=lambda: signal.signal(number, before))
        time.sleep(seconds)
        program.send_signal(number)
        out, err = program.communicate(timeout=60)
        return program.returncode, out, err

    def test_a_plan_that_is_stopped_leaves_nothing(self):
        words = ("plan", MESHES + "/seat-pad.stl", "-o", str(self.out), "--foam", "rigid-40", "--cubes", "400000", "--quiet")
        for seconds, number in ((0.3, signal.SIGINT), (2, signal.SIGINT), (4, signal.SIGTERM), (6, signal.SIGHUP)):
            code, out, err = self.stopped_after(seconds, number, *words)
            self.assertEqual(code, -number, err)
            self.assertEqual(err.count("\n"), 1, err)
            self.assertEqual((out, self.files()), ("", []))

    def test_a_plan_that_was_told_to_ignore_a_signal_goes_on(self):
        words = ("plan", BOX, "-o", str(self.out), "--foam", "rigid-40", "--cubes", "4000", "--quiet")
        code, _, err = self.stopped_after(0.05, signal.SIGHUP, *words, before=signal.SIG_IGN)
        self.assertIn(code, (0, 1), err)
        self.assertIn("plan.json", self.files())


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
