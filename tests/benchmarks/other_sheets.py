"""Meshes of another simulator, which the likely map was not made from: ``tests/simulated``.

Its mesh is locked in unevenly, creeps along the rods, slips, relaxes, and is read by a gauge whose
zero is off. Rollers are turned a click each in turn until the centre is at the target; corners are
eased on the way, by what a nominal stiffness says of the take-up.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from sheets import Array

from benchterm.mechanics.map_modes import Hold
from benchterm.mechanics.mesh import stiffness_n_cm
from benchterm.mechanics.takeup import POISSON, WRAPPED_MM
from benchterm.mechanics.tension_map import COLUMNS, PALM_MM, ROWS

sys.path.append(str(Path(__file__).parents[1]))

from simulated.bench import Bench, Draw, draw

NOMINAL_GPA = 7.4
"""Thread modulus times what crimp leaves of it; truly 4.4 to 11.2."""
PAIRS = ((4, 6), (2, 8))
"""Left and right, near and far."""
MOST_CLICKS = 400
CORNERS = (1, 3, 7, 9)


def pulled_sheet(seed: int, *, eased: bool) -> tuple[Hold, Array]:
    """What is known of a mesh, and what a gauge without scatter would show all over it, N/cm."""
    bench = Bench(draw(seed), seed)
    is_, rng = bench.is_, np.random.default_rng(seed)
    target, share = is_.target_n_cm, None
    if eased:
        _pull(bench, 0.7 * target)
        share = rng.uniform(0.25, 0.75)
        strain = (1 - POISSON) * target / stiffness_n_cm(*is_.mesh, NOMINAL_GPA)
        take_up = strain * (sum(is_.span_mm) + 4 * WRAPPED_MM) / 4
        for corner in CORNERS:
            bench.ease(corner, share * take_up, 0)
    _pull(bench, target)
    inset = rng.uniform(0, min(110, 0.15 * min(is_.span_mm)))
    across, along = is_.span_mm
    return Hold(is_.gap_said_mm, (along, across), inset, share), _shown(bench, is_, inset)


def _pull(bench: Bench, n_cm: float) -> None:
    for _ in range(MOST_CLICKS):
        low = [pair for pair in (0, 1) if bench.true(5, _axis(bench.is_, pair), 0) < n_cm]
        if not low:
            return
        for roller in (roller for pair in low for roller in PAIRS[pair]):
            bench.turn(roller, 1, 0)


def _axis(is_: Draw, pair: int) -> str:
    return "along" if (pair == 1) == is_.along_is_y else "across"


def _shown(bench: Bench, is_: Draw, inset: float, at_s: float = 900) -> Array:
    near = PALM_MM + inset
    xs, ys = (
        np.linspace(near, span - near, points)
        for span, points in zip(is_.span_mm, (COLUMNS, ROWS), strict=True)
    )
    shown = [
        [[bench.true_at(x, y, _axis(is_, pair), at_s) for x in xs] for y in ys] for pair in (1, 0)
    ]
    return np.maximum(shown, 0.0)
