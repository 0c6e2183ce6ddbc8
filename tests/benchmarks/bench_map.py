"""How near the likely map comes to simulated meshes it has not seen.

Run: ``python tests/benchmarks/bench_map.py [MESHES]``. Each mesh is held in one of six ways, has a
level of 16 to 28 N/cm, and is read in both directions at each place with a scatter of 0.3 and steps
of 0.5 N/cm. RMSE over 9 x 11 points and both directions; in brackets over the corners; coverage of
the 90 % intervals; root mean square of the field about its own mean.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from make_modes import mirrors
from sheets import Array, sheet

from benchterm.mechanics.settling import WITHIN_90
from benchterm.mechanics.tension_map import (
    COLUMNS,
    RODS_MM,
    ROWS,
    Spot,
    load_modes,
    tension_map,
)

FIRST_SEED = 1_000_000
MIDDLE = (ROWS // 2, COLUMNS // 2)
SIDES = ((0, MIDDLE[1]), (ROWS - 1, MIDDLE[1]), (MIDDLE[0], 0), (MIDDLE[0], COLUMNS - 1))
CORNERS = tuple((r, c) for r in (0, ROWS - 1) for c in (0, COLUMNS - 1))
PLACES = {
    "centre + mid-sides": (MIDDLE, *SIDES),
    "centre + corners": (MIDDLE, *CORNERS),
    "all 9": (MIDDLE, *SIDES, *CORNERS),
}


def main(meshes: int) -> None:
    """Measure and print."""
    truths = [mesh(FIRST_SEED + i, *held(i)) for i in range(meshes)]
    spread = np.sqrt(np.mean([(t - t.mean(axis=(1, 2), keepdims=True)) ** 2 for t in truths]))
    sys.stdout.write(f"{meshes} meshes, about their own mean {spread:.2f} N/cm\n")
    for name, places in PLACES.items():
        errors, inside, spent = [], [], 0.0
        for i, truth in enumerate(truths):
            rng = np.random.default_rng(FIRST_SEED + i)
            rods, eased = held(i)
            modes = load_modes(rods, eased=eased)
            readings = [
                Spot(d, r, c, np.round(2 * rng.normal(truth[d, r, c], 0.3)) / 2)
                for r, c in places
                for d in (0, 1)
            ]
            began = time.process_time()
            drawn = tension_map(readings, modes)
            spent += time.process_time() - began
            errors.append(drawn.likely - truth)
            inside.append(np.abs(drawn.likely - truth) <= WITHIN_90 * drawn.sd)
        off = np.array(errors)
        by_rods = [
            f"{rods} {np.sqrt((off[number :: len(RODS_MM)] ** 2).mean()):.2f}"
            for number, rods in enumerate(RODS_MM)
        ]
        at_corners = np.array([off[:, :, r, c] for r, c in CORNERS])
        sys.stdout.write(
            f"{name:20} {np.sqrt((off**2).mean()):.2f} ({np.sqrt((at_corners**2).mean()):.2f}) "
            f"{100 * np.mean(inside):.0f} %  {1000 * spent / meshes:.1f} ms  "
            f"rods {', '.join(by_rods)}\n"
        )


def held(number: int) -> tuple[str, bool]:
    """How a mesh is held: each way in turn."""
    return list(RODS_MM)[number % 3], number // 3 % 2 == 0


def mesh(seed: int, rods: str, eased: bool) -> Array:
    """The truth, N/cm."""
    rng = np.random.default_rng(seed)
    field = mirrors(sheet(rng, rods, eased=eased))[0]
    truth: Array = field * rng.uniform(16, 28) * np.array([1, rng.uniform(0.9, 1.1)])[:, None, None]
    return truth


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
