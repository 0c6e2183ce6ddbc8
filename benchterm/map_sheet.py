"""A likely map as rows of text: numbers, a shade beside each, no colour, no wider than 80."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence

from benchterm.core.facts import Target
from benchterm.core.likely_map import Cell, LikelyMap
from benchterm.core.stations import Axis
from benchterm.mechanics.settling import WITHIN_90

WIDTH = 78
SHADES = (("  ", "slack"), ("░░", "low"), ("▒▒", "even"), ("▓▓", "tight"), ("██", "very tight"))
"""From less than three tolerances under the target to more than three over it."""
_MARGIN = 8
_UNSURE_SHARE = 0.10


def rows(drawn: LikelyMap, target: Target) -> list[str]:
    """The whole sheet."""
    lines: list[str] = []
    for axis in Axis:
        cells = drawn.axis(axis)
        if cells is None:
            lines += [f"{axis.value.upper()}: not read, so nothing is known of it.", ""]
        else:
            lines += [*axis_rows(cells, axis, target), ""]
    return lines + list(_foot(drawn, target))


def axis_rows(cells: Sequence[Sequence[Cell]], axis: Axis, target: Target) -> list[str]:
    """The map of one axis, the far side on top."""
    wanted, tolerance = target.of(axis), target.tolerance_n_cm
    every = [cell for row in cells for cell in row]
    low, high = (pick(c.likely for c in every) for pick in (min, max))
    mean = math.fsum(c.likely for c in every) / len(every)
    half = [WITHIN_90 * c.sd for c in every]
    title = (
        f"{axis.value.upper()} N/cm   target {wanted:g}   likely {low:.1f} to {high:.1f}, "
        f"mean {mean:.1f}   ±{min(half):.1f} to ±{max(half):.1f}"
    )
    labels = {0: "far", len(cells) // 2: "", len(cells) - 1: "near"}
    body = [
        f"{labels.get(number, ''):<{_MARGIN}}" + "".join(_cell(c, wanted, tolerance) for c in row)
        for number, row in enumerate(cells)
    ]
    return [title, *(line.rstrip() for line in body)]


def shade(n_cm: float, wanted_n_cm: float, tolerance_n_cm: float) -> tuple[str, str]:
    """Symbol and word for a tension."""
    off = (n_cm - wanted_n_cm) / tolerance_n_cm
    steps = (-3, -1, 1, 3)
    return SHADES[sum(off > step for step in steps)]


def _cell(cell: Cell, wanted: float, tolerance: float) -> str:
    unsure = "?" if WITHIN_90 * cell.sd > max(_UNSURE_SHARE * wanted, tolerance) else " "
    return f"{cell.likely:4.1f}{unsure}{shade(cell.likely, wanted, tolerance)[0]}"


def _foot(drawn: LikelyMap, target: Target) -> Iterator[str]:
    tolerance = target.tolerance_n_cm
    steps = [f"{symbol.strip() or 'blank'} {word}" for symbol, word in SHADES]
    yield f"{', '.join(steps)};"
    yield f"steps at {tolerance:g} and {3 * tolerance:g} N/cm off the target."
    yield "?: not known to a tenth of the target (90 % interval)."
    read = ", ".join(f"{r.station.label} {r.axis.value} {r.value_n_cm:g}" for r in drawn.readings)
    yield from textwrap.wrap(f"Rests on {read}.", WIDTH)
    if drawn.turned_since:
        yield "Rollers have been turned since: read again."
    whence = "measured" if drawn.gap_measured else "if cut to the inside of the frame"
    yield from textwrap.wrap(
        f"Rods stop {drawn.rod_gap_mm:.0f} mm short, {whence}. Edges of the map lie a "
        "palm's width inside the frame. Likely, by meshes simulated on a computer, never checked "
        "on real mesh: what counts is read with a gauge.",
        WIDTH,
    )
