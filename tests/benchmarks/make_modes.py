"""Make ``benchterm/mechanics/map_modes.npz`` from simulated meshes. Run from the repository's top.

``python tests/benchmarks/make_modes.py [MESHES]``: so many for each way of holding the mesh, 300 by
default, every one also mirrored left to right and near to far. Seeds are below 1,000,000.
"""

from __future__ import annotations

import sys
from itertools import product

import numpy as np
from sheets import Array, sheet

from benchterm.mechanics.tension_map import COLUMNS, MODES_FILE, RODS_MM, ROWS, modes_name

KEPT = 32
"""Modes kept of each."""


def main(meshes: int) -> None:
    """Simulate, boil down and write."""
    kept = {}
    for rods, eased in product(RODS_MM, (False, True)):
        fields = np.array(
            [
                mirrored
                for seed in range(meshes)
                for mirrored in mirrors(sheet(np.random.default_rng(seed), rods, eased=eased))
            ]
        )
        name = modes_name(rods, eased=eased)
        kept |= {f"{name}_{part}": value for part, value in boiled_down(fields).items()}
    np.savez_compressed(MODES_FILE, **kept)
    sys.stdout.write(f"{MODES_FILE}: {MODES_FILE.stat().st_size} bytes\n")


def mirrors(field: Array) -> list[Array]:
    """A field and its mirror images, each direction over its centre."""
    whole = field / field[:, ROWS // 2, COLUMNS // 2][:, None, None]
    return [whole, whole[:, ::-1], whole[:, :, ::-1], whole[:, ::-1, ::-1]]


def boiled_down(fields: Array) -> dict[str, Array]:
    """Mean, modes and the rest of some fields."""
    mean = fields.mean(axis=0)
    apart = (fields - mean).reshape(len(fields), -1)
    _, size, rows = np.linalg.svd(apart, full_matrices=False)
    modes = rows[:KEPT] * (size[:KEPT] / np.sqrt(len(fields) - 1))[:, None]
    rest = apart - apart @ rows[:KEPT].T @ rows[:KEPT]
    shape = mean.shape
    return {
        "mean": mean.astype(np.float32),
        "modes": modes.reshape(-1, *shape).astype(np.float32),
        "rest": rest.std(axis=0).reshape(shape).astype(np.float32),
    }


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
