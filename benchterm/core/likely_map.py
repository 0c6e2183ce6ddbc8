"""The likely map of a session's mesh, from what was read on the stretcher since the last click.

Loads numpy: import it where a map is asked for, not before.
"""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.planning import rod_and_gap_mm
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, State, Turned
from benchterm.core.stations import Axis, Pair, Station
from benchterm.mechanics.tension_map import (
    COLUMNS,
    ROWS,
    Spot,
    load_modes,
    rods_by,
    tension_map,
)


@dataclass(frozen=True, slots=True)
class Cell:
    """One point of the map, N/cm."""

    likely: float
    sd: float


@dataclass(frozen=True, slots=True)
class LikelyMap:
    """Both axes of a mesh as the operator sees it: the far row first, from left to right."""

    along: tuple[tuple[Cell, ...], ...] | None
    """``None``: not read along."""
    across: tuple[tuple[Cell, ...], ...] | None
    readings: tuple[Reading, ...]
    """What it rests on."""
    rod_gap_mm: float
    """How far from the corner rods were taken to end."""
    gap_measured: bool
    """Otherwise it is that of rods cut to the inside of the frame."""
    turned_since: bool
    """Rollers have been turned after the last of these readings."""

    def axis(self, axis: Axis) -> tuple[tuple[Cell, ...], ...] | None:
        """The map of one axis."""
        return self.along if axis is Axis.ALONG else self.across


def likely_map(state: State) -> LikelyMap | str:
    """The map, or the reason why there is none."""
    readings, turned_since = _together(state)
    if not readings:
        return "nothing has been read on the stretcher since the last click"
    if all(r.value_n_cm <= 0 for r in readings):
        return "the mesh is slack wherever it was read"
    gap = min(rod_and_gap_mm(state.facts, pair)[1] for pair in Pair)
    spots = [_spot(state, r) for r in readings]
    told = {s.direction for s in spots if s.n_cm > 0}
    drawn = tension_map(
        [s for s in spots if s.direction in told], load_modes(rods_by(gap), eased=state.relieved)
    )
    cells: dict[Axis, tuple[tuple[Cell, ...], ...] | None] = {}
    for axis in Axis:
        d = _direction(state, axis)
        cells[axis] = (
            tuple(
                tuple(
                    Cell(float(t), float(sd))
                    for t, sd in zip(drawn.likely[d, row], drawn.sd[d, row], strict=True)
                )
                for row in reversed(range(ROWS))
            )
            if drawn.read[d]
            else None
        )
    return LikelyMap(
        along=cells[Axis.ALONG],
        across=cells[Axis.ACROSS],
        readings=readings,
        rod_gap_mm=gap,
        gap_measured=state.facts.stretcher.rod_gap_mm is not None,
        turned_since=turned_since,
    )


def _together(state: State) -> tuple[tuple[Reading, ...], bool]:
    """The last readings on the stretcher with no click between them, and whether any came after.

    Of several at one station and axis the last.
    """
    found: dict[tuple[Station, Axis], Reading] = {}
    turned = False
    for step in state.trail:
        if isinstance(step, Turned):
            turned = True
        elif isinstance(step, Reading) and step.stage <= Stage.CURE:
            if turned:
                found.clear()
                turned = False
            found[step.station, step.axis] = step
    return tuple(found.values()), turned and state.stage <= Stage.CURE


def _direction(state: State, axis: Axis) -> int:
    return 0 if state.facts.pair_of(axis) is Pair.FAR_NEAR else 1


def _spot(state: State, reading: Reading) -> Spot:
    row = (reading.station.row + 1) * (ROWS - 1) // 2
    column = (reading.station.column + 1) * (COLUMNS - 1) // 2
    return Spot(_direction(state, reading.axis), row, column, reading.value_n_cm)
