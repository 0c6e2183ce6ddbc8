"""How near the likely map comes to simulated meshes it has not seen.

Run: ``python tests/benchmarks/bench_map.py [MESHES]``. Each mesh is held in one of six ways, has a
level of 16 to 28 N/cm, and is read in both directions at each place with a scatter of 0.3 and steps
of 0.5 N/cm. What the map is told of the hold is off as ``sheets.known`` says. RMSE over 9 x 11
points and both directions; in brackets over the corners; coverage of the 90 % intervals; root mean
square of the field about its own mean.

Then, rods whose gap was not measured: taken as cut to the inside of the frame, truly off that by
15 mm (standard deviation). Last, meshes of another simulator (``other_sheets``), half of them with
eased corners.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from make_modes import mirrors
from other_sheets import pulled_sheet
from sheets import Array, drawn, known, tensions

from benchterm.core.likely_map import UNMEASURED_GAP_SD_MM
from benchterm.mechanics.map_modes import Hold, modes
from benchterm.mechanics.settling import WITHIN_90
from benchterm.mechanics.tension_map import COLUMNS, RODS_MM, ROWS, Spot, tension_map

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
    seeds = range(FIRST_SEED, FIRST_SEED + meshes)
    measured = [mesh(seed, number) for number, seed in enumerate(seeds)]
    truths = np.array([truth for _, truth in measured])
    spread = np.sqrt(((truths - truths.mean(axis=(2, 3), keepdims=True)) ** 2).mean())
    sys.stdout.write(f"{meshes} meshes, about their own mean {spread:.2f} N/cm\n")
    for name, places in PLACES.items():
        compare(name, places, measured)
    unmeasured = [mesh(seed, number, measured=False) for number, seed in enumerate(seeds)]
    compare("gap not measured", PLACES["centre + corners"], unmeasured)
    others = [pulled_sheet(seed, eased=seed % 2 == 0) for seed in seeds]
    compare("another simulator", PLACES["centre + corners"], others)


def mesh(seed: int, number: int, *, measured: bool = True) -> tuple[Hold, Array]:
    """What is known of a mesh, held in each way in turn, and the truth, N/cm."""
    rng = np.random.default_rng(seed)
    sheet = drawn(rng, list(RODS_MM)[number % 3], eased=number // 3 % 2 == 0)
    if not measured:
        off = rng.normal(0, UNMEASURED_GAP_SD_MM)
        sheet = replace(sheet, gap=float(np.clip(sheet.inset + off, 1, 110)))
    level = rng.uniform(16, 28) * np.array([1, rng.uniform(0.9, 1.1)])
    hold = known(sheet, rng)
    if not measured:
        hold = replace(hold, gap_mm=sheet.inset, gap_sd_mm=UNMEASURED_GAP_SD_MM)
    return hold, mirrors(tensions(sheet))[0] * level[:, None, None]


def compare(name: str, places: Sequence[tuple[int, int]], meshes: list[tuple[Hold, Array]]) -> None:
    """Read each mesh at some places, draw its map and print how far that is off."""
    errors, inside, spent = [], [], 0.0
    for number, (hold, truth) in enumerate(meshes):
        rng = np.random.default_rng(FIRST_SEED + number)
        readings = [
            Spot(d, r, c, max(0.0, np.round(2 * rng.normal(truth[d, r, c], 0.3)) / 2))
            for r, c in places
            for d in (0, 1)
        ]
        began = time.process_time()
        likely = tension_map(readings, modes(hold))
        spent += time.process_time() - began
        errors.append(likely.likely - truth)
        inside.append(np.abs(likely.likely - truth) <= WITHIN_90 * likely.sd)
    off = np.array(errors)
    by_rods = ", ".join(
        f"{rods} {rms(off[[hold.rods == rods for hold, _ in meshes]]):.2f}" for rods in RODS_MM
    )
    at_corners = np.array([off[:, :, r, c] for r, c in CORNERS])
    sys.stdout.write(
        f"{name:20} {rms(off):.2f} ({rms(at_corners):.2f}) {100 * np.mean(inside):.0f} %  "
        f"{1000 * spent / len(meshes):.1f} ms  rods {by_rods}\n"
    )


def rms(off: Array) -> float:
    """Root mean square."""
    return float(np.sqrt((off**2).mean()))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
