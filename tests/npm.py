"""Fetching a package from the npm registry for a test."""

import pathlib
import re
import subprocess

UNREACHABLE = re.compile(r"ENOTFOUND|EAI_AGAIN|ECONN|ETIMEDOUT|ENETUNREACH|network|E40[13]|E5\d\d")
BOOLEANS = "manifold-3d@3.5.4", "manifold.wasm"
SKIP = 77  # what meson takes for "skipped"


def fetch(package, has):
    """The package's folder, in the working directory; None when the registry cannot be reached."""
    folder = pathlib.Path(package.partition("@")[0])
    if not (folder / "package" / has).exists():
        folder.mkdir(exist_ok=True)
        fetched = subprocess.run(["npm", "pack", "--silent", package], cwd=folder, capture_output=True, text=True)
        if fetched.returncode != 0:
            if UNREACHABLE.search(fetched.stderr):
                return None
            raise SystemExit(fetched.stderr)
        subprocess.run(["tar", "-xzf", fetched.stdout.split()[-1]], cwd=folder, check=True)
    return (folder / "package").resolve()
