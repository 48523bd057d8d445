"""The man page and the completion: every verb and option of --help is in both."""

import re
import subprocess
import sys
import unittest

PROGRAM, PAGE, COMPLETION = sys.argv[1:4]


def run(*words, **more):
    return subprocess.run(words, capture_output=True, text=True, timeout=60, **more)


def verbs():
    return re.findall(r"^  ullage (\w+) ", run(PROGRAM, "--help").stdout, re.M)


def options(verb):
    return re.findall(r"^  (--?[a-z-]+)", run(PROGRAM, verb, "--help").stdout, re.M)


def complete(*words):
    """What bash offers for the last of these words."""
    line = " ".join(f"'{w}'" for w in (PROGRAM, *words))
    script = f"source '{COMPLETION}'; COMP_WORDS=({line}); COMP_CWORD={len(words)}; _ullage; printf '%s\\n' \"${{COMPREPLY[@]}}\""
    ran = run("bash", "-c", script)
    assert (ran.returncode, ran.stderr) == (0, ""), ran
    return ran.stdout.split()


def listed(verb, option):
    """The values that the help lists of it, read in another way than the completion's."""
    help_text = " ".join(run(PROGRAM, verb, "--help").stdout.split())
    value, said = re.search(rf" {option} (\S+) (.*?)(?= --?[a-z]|$)", help_text).groups()
    if re.fullmatch(r"[a-z0-9|-]+\|[a-z0-9|-]+", value):
        return value.split("|")
    words = re.search(r"(?:[a-z-]+, )+[a-z-]+ or [a-z-]+", said)
    return re.split(", | or ", words.group()) if words else None


class Manual(unittest.TestCase):
    def test_the_page_is_sound_and_holds_every_verb_and_option(self):
        source = open(PAGE).read().replace("\\-", "-")
        self.assertGreater(len(verbs()), 4)
        for verb in verbs():
            section = re.search(rf"^\.SS {verb}\n(.*?)(?=^\.S[SH])", source, re.M | re.S).group(1)
            self.assertGreater(len(options(verb)), 0)
            for option in options(verb):
                self.assertRegex(section, rf"(?m)^\.B {option}\b")
            self.assertIn("Examples:", section)
        groff = run("groff", "-man", "-Tutf8", "-Wbreak", PAGE)
        self.assertEqual((groff.returncode, groff.stderr), (0, ""))

    def test_what_the_help_shows_line_by_line_is_shown_so(self):
        """The table of shots was filled as prose."""
        shown = run("groff", "-man", "-Tascii", "-rLL=120n", "-P-cbou", PAGE).stdout
        for verb in verbs():
            blocks = run(PROGRAM, verb, "--help").stdout.split("\n\n")
            for block in blocks[3:]:
                lines = [line.strip() for line in block.splitlines()[1:]]
                self.assertTrue(lines)
                self.assertRegex(shown, r"\n *" + r"\n *".join(map(re.escape, lines)) + r"\n", verb)

    def test_bash_offers_verbs_options_and_values(self):
        self.assertEqual(complete(""), [*verbs(), "--help", "--version"])
        self.assertEqual(complete("pl"), ["plan"])
        for verb in verbs():
            self.assertEqual(complete(verb, "--"), [o for o in options(verb) if o.startswith("--")])
        self.assertEqual(complete("plan", "--paper", "l"), ["letter"])
        self.assertEqual(complete("plan", "--unit", ""), ["mm", "cm", "m", "in"])
        self.assertEqual(complete("plan", COMPLETION[:-3]), [COMPLETION])

    def test_bash_offers_the_values_of_every_option_that_has_some(self):
        self.assertEqual(complete("plan", "--drill-along", ""), ["draw", "normal", "up"])
        self.assertEqual(complete("charge", "--mould", ""),
                         ["aluminium", "cast-epoxy", "cast-urethane", "glass-laminate", "plaster", "silicone", "printed", "wood"])
        self.assertEqual(complete("charge", "--mould", "p"), ["plaster", "printed"])
        offered, seen = set(), {"-o", "--quiet", "--json", "--help", "--level", "--inch"}
        for verb in verbs():
            for option in options(verb):
                if option in seen:
                    continue
                seen.add(option)
                values = listed(verb, option)
                self.assertEqual(complete(verb, option, "no-such-v"), [])
                if values:
                    offered.add(option)
                    self.assertEqual(complete(verb, option, ""), values)
        self.assertEqual(offered, {"--unit", "--drawn", "--drill-along", "--mould", "--drills", "--mobility", "--paper"})

    def test_bash_completes_after_anything(self):
        """A slash, a parenthesis or a bracket before the cursor was an error of sed's on the terminal."""
        for before in ("/a/b.stl", "seat (1).stl", "a[b.stl", "x\\(y", "*", ".*", "--", "-", "--vent/", "--[", "a|b", "&"):
            for verb in ("plan", "rise"):
                self.assertEqual(complete(verb, before, COMPLETION[:-3]), [COMPLETION], before)
                self.assertEqual(complete(verb, before, "--quie"), ["--quiet"], before)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
