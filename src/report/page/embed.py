"""embed.py OUT THREE.JS FOLDER: the page's template with its styles and scripts inlined, as C."""

import pathlib
import re
import sys

out, three, folder = map(pathlib.Path, sys.argv[1:])


def inlined(match):
    name = match.group(1)
    text = (three if name == "three" else folder / name).read_text(encoding="utf-8")
    if re.search(r"</(script|style)|<!--", text, re.I):
        sys.exit(f"embed.py: {name} holds what would end its element")
    return text


page = re.sub(r"/\*inline:([\w.]+)\*/", inlined, (folder / "page.html").read_text(encoding="utf-8"))
data = page.encode()
with out.open("w") as c:
    c.write("/* Made by embed.py from src/report/page/ and three.js. */\n#include \"report/page_parts.h\"\n\n")
    c.write("const unsigned char ul_page_template[] = {\n")
    for i in range(0, len(data), 24):
        c.write(",".join(map(str, data[i : i + 24])) + ",\n")
    c.write("};\nconst size_t ul_page_template_size = sizeof ul_page_template;\n")
