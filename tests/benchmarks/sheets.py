"""Meshes in a stretcher, simulated by the membrane model: what a gauge would show all over them.

What is varied: span 45 to 90 x 55 to 120 cm, stiffness of warp over weft, coupling, shear, a weave
that leans, take-up of either axis, rods that pull more at one end or in the middle, opposite
rollers turned by different amounts, rods in to the corner or inside, corners eased or not, and how
far the frame's opening lies inside the rollers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from benchterm.mechanics.membrane import Field, Weave, pulled
from benchterm.mechanics.tension_map import COLUMNS, PALM_MM, RODS_MM, ROWS

Array = npt.NDArray[Any]
GRID_MM = 20.0


@dataclass(frozen=True)
class Rod:
    """How one rod moves: outward, more at one end, more in the middle, sideways; mm."""

    out: float
    tilt: float
    bow: float
    slide: float

    def outward(self, along: Array) -> Array:
        """Along the rod from -1 to 1."""
        moved: Array = self.out + self.tilt * along + self.bow * (along**2 - 1 / 3)
        return moved


def sheet(rng: np.random.Generator, rods: str, *, eased: bool) -> Array:
    """Tension on the map's points, N/cm; first axis the pull of far-near, then of left-right."""
    wide, deep = rng.uniform(450, 900), rng.uniform(550, 1200)
    gap = 0.0 if rods == "in" else rng.uniform(*RODS_MM[rods])
    inset = rng.uniform(0, min(110, 0.15 * min(wide, deep)))
    warp = rng.uniform(700, 1600)
    weave = Weave(
        warp,
        warp * rng.uniform(0.8, 1.25),
        rng.uniform(0.1, 0.3),
        warp * 10 ** rng.uniform(-2.5, -1.5),
        np.radians(rng.normal(0, 1.0)),
    )
    strain = rng.uniform(0.012, 0.03)
    take_up = {"x": strain * rng.uniform(0.85, 1.15) * wide, "y": strain * deep}
    relief = rng.uniform(0.25, 0.75) * np.mean(list(take_up.values())) / 2 if eased else 0.0
    reach = rng.uniform(80, 200)
    rods = {}
    for axis, low, high in (("x", "left", "right"), ("y", "near", "far")):
        share = 0.5 + rng.normal(0, 0.06)
        for side, part in ((low, share), (high, 1 - share)):
            out = take_up[axis] * part
            uneven = take_up[axis] / 2
            rods[side] = Rod(
                out,
                uneven * rng.normal(0, 0.05),
                uneven * rng.normal(0, 0.05),
                uneven * rng.normal(0, 0.05),
            )
    field = _solved(weave, wide, deep, gap, rods, relief, reach)
    return _read(field, wide, deep, inset)


def _solved(
    weave: Weave,
    wide: float,
    deep: float,
    gap: float,
    rods: dict[str, Rod],
    relief: float,
    reach: float,
) -> Field:
    x, y = (np.linspace(0, size, round(size / GRID_MM) + 1) for size in (wide, deep))
    on_x, on_y = (x >= gap) & (x <= wide - gap), (y >= gap) & (y <= deep - gap)
    held = np.zeros((len(y), len(x)), dtype=bool)
    held[0, on_x] = held[-1, on_x] = True
    held[on_y, 0] = held[on_y, -1] = True

    def eased(at: Array, size: float) -> Array:
        from_end = np.minimum(at, size - at) - gap
        less: Array = relief * np.clip(1 - from_end / reach, 0, 1)
        return less

    def moved(at_x: Array, at_y: Array) -> tuple[Array, Array]:
        ux, uy = np.zeros_like(at_x), np.zeros_like(at_y)
        sx, sy = 2 * at_x / wide - 1, 2 * at_y / deep - 1
        for side, axis, edge, sign in (
            ("near", "y", 0.0, -1),
            ("far", "y", deep, 1),
            ("left", "x", 0.0, -1),
            ("right", "x", wide, 1),
        ):
            rod = rods[side]
            on = (at_y if axis == "y" else at_x) == edge
            if axis == "y":
                uy[on] += sign * (rod.outward(sx[on]) - eased(at_x[on], wide))
                ux[on] += rod.slide
            else:
                ux[on] += sign * (rod.outward(sy[on]) - eased(at_y[on], deep))
                uy[on] += rod.slide
        return ux, uy

    return pulled(weave, x, y, held, moved)


def _read(field: Field, wide: float, deep: float, inset: float) -> Array:
    near = PALM_MM + inset
    xs = np.linspace(near, wide - near, COLUMNS)
    ys = np.linspace(near, deep - near, ROWS)
    shown: Array = np.array([[field.gauged(px, py) for px in xs] for py in ys])
    return np.maximum(np.moveaxis(shown, -1, 0)[::-1], 0.0)  # Mesh goes slack; it cannot push.
