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
    return run("bash", "-c", script).stdout.split()


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

    def test_bash_offers_verbs_options_and_values(self):
        self.assertEqual(complete(""), [*verbs(), "--help", "--version"])
        self.assertEqual(complete("pl"), ["plan"])
        for verb in verbs():
            self.assertEqual(complete(verb, "--"), [o for o in options(verb) if o.startswith("--")])
        self.assertEqual(complete("plan", "--paper", "l"), ["letter"])
        self.assertEqual(complete("plan", "--unit", ""), ["mm", "cm", "m", "in"])
        self.assertEqual(complete("plan", COMPLETION[:-3]), [COMPLETION])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
