"""Meshes in a stretcher, simulated by the membrane model: what a gauge would show all over them.

What is varied: span 45 to 90 x 55 to 120 cm, stiffness of warp over weft, coupling, shear, a weave
that leans, take-up of either axis, rods that pull more at one end or in the middle, opposite
rollers turned by different amounts, rods in to the corner or inside, corners eased or not and how
far along the rods, and how far the frame's opening lies inside the rollers.

Grid lines go through the ends of the rods. With rods far short such a field is 0.1 N/cm (root mean
square) from that of a grid of 5 mm; one on lines 20 mm apart that miss the rods' ends was 0.9 off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from benchterm.mechanics.map_modes import Hold
from benchterm.mechanics.membrane import Field, Weave, pulled
from benchterm.mechanics.tension_map import COLUMNS, PALM_MM, RODS_MM, ROWS

Array = npt.NDArray[Any]
FINE_MM, COARSE_MM = 10.0, 20.0
"""Grid by the edge and in the middle."""
FINE_LINES = 6
"""That many fine steps from the end of a rod inward."""


@dataclass(frozen=True)
class Variety:
    """What sheets are drawn from."""

    wide_mm: tuple[float, float] = (450, 900)
    deep_mm: tuple[float, float] = (550, 1200)
    eased: tuple[float, float] = (0.25, 0.75)
    """Mesh let back in at each corner over the mean take-up of a roller."""


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


@dataclass(frozen=True)
class Sheet:
    """A mesh and how it is held; lengths mm."""

    weave: Weave
    wide: float
    deep: float
    gap: float
    """From the ends of the rods to the corner."""
    inset: float
    """From the rollers to the frame's opening."""
    rods: dict[str, Rod]
    eased: float
    """Share of the mean take-up of a roller that is let back in at each corner."""
    relief: float
    """The same in mm, at the ends of the rods."""
    reach: float
    """How far along the rods it is felt."""


def drawn(
    rng: np.random.Generator, rods: str, *, eased: bool, variety: Variety | None = None
) -> Sheet:
    """A sheet held in one of the ways of ``RODS_MM``."""
    within = variety or Variety()
    wide, deep = rng.uniform(*within.wide_mm), rng.uniform(*within.deep_mm)
    gap = rng.uniform(*RODS_MM[rods])
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
    share_eased = rng.uniform(*within.eased) if eased else 0.0
    reach = rng.uniform(80, 200)
    held = {}
    for axis, low, high in (("x", "left", "right"), ("y", "near", "far")):
        share = 0.5 + rng.normal(0, 0.06)
        for side, part in ((low, share), (high, 1 - share)):
            uneven = take_up[axis] / 2
            held[side] = Rod(
                take_up[axis] * part,
                uneven * rng.normal(0, 0.05),
                uneven * rng.normal(0, 0.05),
                uneven * rng.normal(0, 0.05),
            )
    relief = share_eased * sum(take_up.values()) / 4
    return Sheet(weave, wide, deep, gap, inset, held, share_eased, relief, reach)


def known(sheet: Sheet, rng: np.random.Generator) -> Hold:
    """What a bench knows of it.

    The gap to the millimetre; millimetres eased within -15 and +10 %, over a take-up worked out
    from tension and a nominal stiffness that is off by 12 % (standard deviation).
    """
    off = rng.uniform(0.85, 1.10) * np.exp(rng.normal(0, 0.12))
    return Hold(
        gap_mm=float(np.round(sheet.gap)),
        span_mm=(sheet.deep, sheet.wide),
        inset_mm=sheet.inset,
        eased=float(sheet.eased * off) if sheet.eased else None,
    )


def tensions(sheet: Sheet) -> Array:
    """Tension on the map's points, N/cm; first axis the pull of far-near, then of left-right."""
    field = _solved(sheet)
    near = PALM_MM + sheet.inset
    xs = np.linspace(near, sheet.wide - near, COLUMNS)
    ys = np.linspace(near, sheet.deep - near, ROWS)
    shown: Array = np.array([[field.gauged(px, py) for px in xs] for py in ys])
    return np.maximum(np.moveaxis(shown, -1, 0)[::-1], 0.0)  # Mesh goes slack; it cannot push.


def _solved(sheet: Sheet) -> Field:
    wide, deep, gap = sheet.wide, sheet.deep, sheet.gap
    x, y = _lines(wide, gap), _lines(deep, gap)
    hair = 1e-6  # What sums of steps may be off.
    on_x = (x >= gap - hair) & (x <= wide - gap + hair)
    on_y = (y >= gap - hair) & (y <= deep - gap + hair)
    held = np.zeros((len(y), len(x)), dtype=bool)
    held[0, on_x] = held[-1, on_x] = True
    held[on_y, 0] = held[on_y, -1] = True

    def eased(at: Array, size: float) -> Array:
        from_end = np.minimum(at, size - at) - gap
        less: Array = sheet.relief * np.clip(1 - from_end / sheet.reach, 0, 1)
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
            rod = sheet.rods[side]
            on = (at_y if axis == "y" else at_x) == edge
            if axis == "y":
                uy[on] += sign * (rod.outward(sx[on]) - eased(at_x[on], wide))
                ux[on] += rod.slide
            else:
                ux[on] += sign * (rod.outward(sy[on]) - eased(at_y[on], deep))
                uy[on] += rod.slide
        return ux, uy

    return pulled(sheet.weave, x, y, held, moved)


def _lines(size: float, gap: float) -> Array:
    """Grid lines from edge to edge, one through the end of each rod, closer by the edges."""
    fine = gap + FINE_LINES * FINE_MM
    free = np.linspace(0, gap, max(1, round(gap / FINE_MM)) + 1)
    edge = np.concatenate([free, np.linspace(gap, fine, FINE_LINES + 1)[1:]])
    middle = np.linspace(fine, size - fine, round((size - 2 * fine) / COARSE_MM) + 1)
    return np.concatenate([edge, middle[1:-1], (size - edge)[::-1]])
