"""Peaks by ullage against 0-dimensional persistence by GUDHI, on the same cubes.

    gudhi_peaks.py LIST_PEAKS MESH|bunny CUBES ATTITUDES

GUDHI is given the graph of cube centres with an edge between face neighbours, and the height of
each centre; its persistence pairs are the peaks and their cut-offs, by code that shares nothing
with ours. (Its cubical complex would join cubes through corners, where no air passes.)

Every peak that stands more than two cubes above its cut-off, on either side, must have a partner of
its own on the other side at the same height and with the same cut-off, to a cube. GUDHI sees centres
only. The pockets of a search end where the columns do: they may differ by a cube's extent along up.
The peaks that people are told of lie on the mesh, at tips too narrow to hold a centre: they may
differ by a cube's diagonal.
"""

import math
import pathlib
import subprocess
import sys

import gudhi
import numpy as np

import bunny

SKIP = 77  # what meson takes for "skipped"


class Cubes:
    """The cubes inside a cavity, and which of them are neighbours."""

    def __init__(self, lattice, runs):
        *origin, self.size = lattice[:4]
        inside = np.zeros([int(n) for n in lattice[4:]], bool)
        for i, j, first, end in runs:
            inside[i, j, first:end] = True
        number = np.full(inside.shape, -1)
        number[inside] = np.arange(inside.sum())
        self.centre = np.array(origin) + (np.argwhere(inside) + 0.5) * self.size
        pairs = []
        for axis in range(3):
            along = np.moveaxis(number, axis, 0)
            low, high = along[:-1], along[1:]
            both = (low >= 0) & (high >= 0)
            pairs.append(np.stack([low[both], high[both]]))
        self.pair = np.concatenate(pairs, axis=1)

    def peaks(self, up):
        """[height, cut-off] of every peak by GUDHI; the cut-off of a part's highest is -inf."""
        depth = -self.centre @ up
        tree = gudhi.SimplexTree()
        tree.insert_batch(np.arange(len(depth)).reshape(1, -1), depth)
        tree.insert_batch(self.pair, depth[self.pair].max(axis=0))
        tree.compute_persistence()
        return -tree.persistence_intervals_in_dimension(0)


def read(lines):
    """The cubes, and per attitude its direction and what each way of finding peaks found there."""
    lattice, runs, attitudes = None, [], []
    for line in lines:
        word, *values = line.split()
        if word == "run":
            runs.append([int(value) for value in values])
            continue
        values = [float(value) for value in values]
        if word == "lattice":
            lattice = values
        elif word == "up":
            attitudes.append((np.array(values), {"peak": [], "pocket": []}))
        else:
            height, cut_off = values
            found = attitudes[-1][1][word]
            found.append((height, -math.inf if math.isnan(cut_off) else cut_off))
    return Cubes(lattice, runs), attitudes


def near(a, b, tolerance):
    return all(x == y or abs(x - y) <= tolerance for x, y in zip(a, b))


def without_partner(these, those, floor, tolerance):
    """Peaks of `these` that stand above `floor` and are left over when as many of them as possible
    each have a partner in `those` (augmenting paths)."""
    partner_of = {}

    def pair(one, tried):
        for other in range(len(those)):
            if other in tried or not near(these[one], those[other], tolerance):
                continue
            tried.add(other)
            if other not in partner_of or pair(partner_of[other], tried):
                partner_of[other] = one
                return True
        return False

    tall = [k for k, (height, cut_off) in enumerate(these) if height - cut_off > floor]
    return [tuple(these[k]) for k in tall if not pair(k, set())]


def differences(cubes, up, found, theirs):
    """A line for each way of finding peaks that disagrees with GUDHI's in this attitude."""
    floor = 2 * cubes.size
    to_a_cube = {"pocket": cubes.size * np.abs(up).sum(), "peak": cubes.size * math.sqrt(3)}
    for way, ours in found.items():
        tolerance = to_a_cube[way]
        only_theirs = without_partner(theirs, ours, floor, tolerance)
        only_ours = without_partner(ours, theirs, floor, tolerance)
        if only_theirs or only_ours:
            yield f"{way}s, up {up}: only GUDHI {only_theirs}, only ullage {only_ours}"


def main(program, mesh, count, attitude_count):
    if mesh == "bunny":
        try:
            mesh = bunny.obj(pathlib.Path.cwd())
        except bunny.Unreachable as reason:
            print("skipped: the npm registry cannot be reached:", reason)
            return SKIP
    listed = subprocess.run(
        [pathlib.Path(program).resolve(), mesh, count, attitude_count], stdout=subprocess.PIPE, text=True, check=True
    )
    cubes, attitudes = read(listed.stdout.splitlines())
    lines, tall = [], 0
    for up, found in attitudes:
        theirs = cubes.peaks(up)
        tall += sum(height - cut_off > 2 * cubes.size for height, cut_off in theirs)
        lines += differences(cubes, up, found, theirs)
    print(*lines, sep="\n")
    print(
        f"{len(attitudes)} attitudes, {len(cubes.centre)} cubes of {cubes.size:.3g} mm, {tall} peaks"
        f" above two cubes by GUDHI: {len(lines)} differences"
    )
    return 1 if lines or tall < len(attitudes) else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
