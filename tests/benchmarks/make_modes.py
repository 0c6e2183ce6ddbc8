"""Make ``benchterm/mechanics/map_modes.npz`` from simulated meshes. Run from the repository's top.

``python tests/benchmarks/make_modes.py [MESHES]``: so many for each way of holding the mesh, 1500
by default, every one also mirrored left to right and near to far. Seeds are below 1,000,000. Spans
and easing are varied more widely than in the benchmark, so that frames of either shape are covered.
"""

from __future__ import annotations

import sys
from itertools import product

import numpy as np
from sheets import Array, Variety, drawn, known, tensions

from benchterm.mechanics.map_modes import FILE, SPAN_MM, Hold, name, terms
from benchterm.mechanics.tension_map import COLUMNS, RODS_MM, ROWS

KEPT = 24
"""Modes kept of each."""
WIDER = Variety(SPAN_MM, SPAN_MM, (0.05, 0.95))


def main(meshes: int) -> None:
    """Simulate, boil down and write."""
    kept = {}
    for rods, eased in product(RODS_MM, (False, True)):
        holds, fields = [], []
        for seed in range(meshes):
            rng = np.random.default_rng(seed)
            sheet = drawn(rng, rods, eased=eased, variety=WIDER)
            holds.append(known(sheet, rng))
            fields.append(mirrors(tensions(sheet)))
        for part, value in boiled_down(holds, np.array(fields), rods).items():
            kept[name(rods, part, eased=eased)] = value.astype(np.float16)
    np.savez_compressed(FILE, **kept)
    sys.stdout.write(f"{FILE}: {FILE.stat().st_size} bytes\n")


def mirrors(field: Array) -> list[Array]:
    """A field and its mirror images, each direction over its centre."""
    whole = field / field[:, ROWS // 2, COLUMNS // 2][:, None, None]
    return [whole, whole[:, ::-1], whole[:, :, ::-1], whole[:, ::-1, ::-1]]


def boiled_down(holds: list[Hold], fields: Array, rods: str) -> dict[str, Array]:
    """Mean, modes and the rest of some fields and their mirror images."""
    shape = fields.shape[2:]
    known_terms = np.array([terms(hold, rods) for hold in holds])
    flat = fields.reshape(*fields.shape[:2], -1)
    mean = np.linalg.lstsq(known_terms, flat.mean(axis=1), rcond=None)[0]
    apart = (flat - (known_terms @ mean)[:, None]).reshape(-1, flat.shape[-1])
    _, size, rows = np.linalg.svd(apart, full_matrices=False)
    modes = rows[:KEPT] * (size[:KEPT] / np.sqrt(len(apart) - 1))[:, None]
    rest = apart - apart @ rows[:KEPT].T @ rows[:KEPT]
    return {
        "mean": mean.reshape(-1, *shape),
        "modes": modes.reshape(-1, *shape),
        "rest": rest.std(axis=0).reshape(shape),
    }


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1500)
