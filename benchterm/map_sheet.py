"""A likely map as rows of text: numbers, a shade beside each, no colour."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from benchterm.core.facts import Target
from benchterm.core.likely_map import Cell, LikelyMap
from benchterm.core.state import Reading
from benchterm.core.stations import CORNERS, Axis, Station
from benchterm.mechanics.settling import WITHIN_90

HEADING = "LIKELY TENSION"
WIDTH = 78
SHADES = (("  ", "slack"), ("░░", "low"), ("▒▒", "even"), ("▓▓", "tight"), ("██", "very tight"))
"""From less than three tolerances under the target to more than three over it."""
_TITLE_LINES = 2
_LABELS = (*("",) * _TITLE_LINES, "far", *("",) * 9, "near")
_MARGIN = 5
_BETWEEN = "   "
_UNSURE_SHARE = 0.10


def rows(drawn: LikelyMap, target: Target, width: int = WIDTH) -> list[str]:
    """The whole sheet, one axis below the other."""
    stacked = [line for block in _blocks(drawn, target) for line in [*_beside([block]), ""]]
    return [*_notices(drawn, width), *stacked, *_foot(drawn, target, width)]


def page(drawn: LikelyMap, target: Target, width: int, height: int) -> list[str]:
    """The sheet so that both axes are seen at once.

    Side by side if that fits; else one below the other if that does; else side by side with every
    second column only.
    """
    heading, whole = HEADING, rows(drawn, target, width)
    beside = _beside(_blocks(drawn, target))
    if max(map(len, beside)) > width:
        if len(whole) < height or drawn.along is None or drawn.across is None:
            return [heading, *whole]
        heading += ", every second column"
        beside = _beside(_blocks(drawn, target, every=2))
    return [heading, *_notices(drawn, width), *beside, *_foot(drawn, target, width)]


def shade(n_cm: float, wanted_n_cm: float, tolerance_n_cm: float) -> tuple[str, str]:
    """Symbol and word for a tension."""
    off = (n_cm - wanted_n_cm) / tolerance_n_cm
    steps = (-3, -1, 1, 3)
    return SHADES[sum(off > step for step in steps)]


def _blocks(drawn: LikelyMap, target: Target, every: int = 1) -> list[list[str]]:
    """The map of each axis, the far side on top, with the columns that are asked for."""
    return [_block(drawn.axis(axis), axis, target, every) for axis in Axis]


def _block(
    cells: Sequence[Sequence[Cell]] | None, axis: Axis, target: Target, every: int
) -> list[str]:
    name = axis.value.upper()
    if cells is None:
        return [f"{name}: not read, so nothing is known of it."]
    wanted, tolerance = target.of(axis), target.tolerance_n_cm
    likely = [cell.likely for row in cells for cell in row]
    half = [WITHIN_90 * cell.sd for row in cells for cell in row]
    mean = math.fsum(likely) / len(likely)
    return [
        f"{name} N/cm   target {wanted:g}, mean {mean:.1f}",
        f"likely {min(likely):.1f} to {max(likely):.1f}, ±{min(half):.1f} to ±{max(half):.1f}",
        *("".join(_cell(c, wanted, tolerance) for c in row[::every]) for row in cells),
    ]


def _cell(cell: Cell, wanted: float, tolerance: float) -> str:
    unsure = "?" if WITHIN_90 * cell.sd > max(_UNSURE_SHARE * wanted, tolerance) else " "
    return f"{cell.likely:4.1f}{shade(cell.likely, wanted, tolerance)[0]}{unsure}"


def _beside(blocks: Sequence[Sequence[str]]) -> list[str]:
    """Blocks side by side, with the sides of the mesh before them."""
    wide = [max(map(len, block)) for block in blocks]
    lines = []
    for number, parts in enumerate(zip_longest(*blocks, fillvalue="")):
        cells = (f"{part:<{w}}" for part, w in zip(parts, wide, strict=True))
        lines.append(f"{_LABELS[number]:<{_MARGIN}}{_BETWEEN.join(cells)}".rstrip())
    return lines


def _notices(drawn: LikelyMap, width: int) -> Iterator[str]:
    if drawn.turned_since:
        yield "Rollers have been turned since: read again."
    if drawn.left_out:
        places = _places(drawn.left_out)
        yield from textwrap.wrap(
            f"Left out, as read before the last clicks or easing: {places}. Read them again.", width
        )


def _places(readings: Sequence[Reading]) -> str:
    """Where readings were taken; the axis only where it is but one."""
    axes: dict[Station, str] = {}
    for reading in sorted(readings, key=lambda r: r.station):
        is_second = reading.station in axes
        axes[reading.station] = "" if is_second else f" {reading.axis.value}"
    at_corners = {axes.get(corner) for corner in CORNERS}
    named = []
    if len(at_corners) == 1 and None not in at_corners:
        named.append(f"the four corners{at_corners.pop()}")
        axes = {station: axis for station, axis in axes.items() if not station.is_corner}
    return ", ".join([*named, *(f"{station.label}{axis}" for station, axis in axes.items())])


def _foot(drawn: LikelyMap, target: Target, width: int) -> Iterator[str]:
    tolerance = target.tolerance_n_cm
    steps = ", ".join(f"{symbol.strip() or 'blank'} {word}" for symbol, word in SHADES)
    whence = "measured" if drawn.gap_measured else "if cut to the inside of the frame"
    paragraphs = [
        f"{steps}: {tolerance:g} and {3 * tolerance:g} N/cm off the target. "
        "? not known to a tenth of it (90 % interval).",
        f"Rests on, along / across: {_rests_on(drawn.readings)}.",
        f"Rods stop {drawn.rod_gap_mm:.0f} mm short, {whence}. Edges of the map lie a palm's width "
        "inside the frame. Likely, by simulated meshes, never checked on real mesh: what counts is "
        "read with a gauge.",
    ]
    if not drawn.like_simulated:
        paragraphs.append("No mesh of this size, held like this, was simulated: trust it less.")
    for paragraph in paragraphs:
        yield from textwrap.wrap(paragraph, width)


def _rests_on(readings: Sequence[Reading]) -> str:
    values: dict[Station, dict[Axis, str]] = {}
    for reading in readings:
        values.setdefault(reading.station, {})[reading.axis] = f"{reading.value_n_cm:g}"
    return ", ".join(
        f"{station.label} {' / '.join(read.get(axis, '-') for axis in Axis)}"
        for station, read in values.items()
    )
