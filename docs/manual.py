"""manual.py PROGRAM VERSION: the man page, from what the program's own --help says."""

import re
import subprocess
import sys

PROGRAM, VERSION = sys.argv[1:3]


def say(*words):
    return subprocess.run([PROGRAM, *words, "--help"], capture_output=True, text=True, check=True).stdout


def roff(text):
    """Text as roff: no request, no escape, and hyphens as typed."""
    lines = text.replace("\\", "\\e").replace("-", "\\-").splitlines()
    return "\n".join("\\&" + line if line[:1] in (".", "'") else line for line in lines)


def verb(name, help_text):
    """One verb's section: its line of use, its options, its examples."""
    title, use, *rest = [block for block in help_text.split("\n\n") if block.strip()]
    yield f".SS {roff(name)}"
    yield roff(title.partition(" - ")[2])
    yield f".PP\n.B {roff(use.strip())}"
    for block in rest:
        if block.startswith("examples"):
            yield f".PP\nExamples:\n.PP\n.nf\n{roff(block.partition(chr(10))[2].rstrip())}\n.fi"
            continue
        if not block.lstrip("\n").startswith(" "):  # a sentence, and what it is about, as it is shown
            sentence, _, shown = block.partition("\n")
            yield f".PP\n{roff(sentence)}\n.PP\n.nf\n{roff(shown.rstrip())}\n.fi"
            continue
        for line in block.splitlines():
            option = re.match(r"  (-.*?)(?:  +(.*))?$", line)
            if option:
                yield f".TP\n.B {roff(option.group(1))}"
                yield roff(option.group(2) or "")
            else:
                yield roff(line.strip())


general = say()
verbs = re.findall(r"^  ullage (\w+) ", general, re.M)
files = general.split("\n\n")[-1]
print(f'.TH ULLAGE 1 "" "ullage {VERSION}" "User Commands"')
print(f".SH NAME\nullage {roff('- ' + general.splitlines()[0].partition(' - ')[2])}")
print(".SH SYNOPSIS\n.B ullage\n.I VERB FILE\n.RI [ options ]")
print(f".SH DESCRIPTION\n{roff(files.strip())}")
print(".SH VERBS")
for name in verbs:
    print("\n".join(verb(name, say(name))))
print(".SH EXIT STATUS\n0 good; 1 done, but not good (the verdict says why); 2 usage; 3 input; 4 machine.")
print(".SH ENVIRONMENT\n.TP\n.B SOURCE_DATE_EPOCH\ndate put into the bench card, in seconds since 1970")
