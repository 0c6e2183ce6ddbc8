"""The likely map of a session's mesh, from what was read on the stretcher since the last click.

Loads numpy: import it where a map is asked for, not before.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchterm.core import cloth
from benchterm.core.planning import rod_and_gap_mm
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, Relief, State, Turned
from benchterm.core.stations import CORNERS, Axis, Pair, Station
from benchterm.mechanics.map_modes import Hold, modes
from benchterm.mechanics.takeup import POISSON, WRAPPED_MM
from benchterm.mechanics.tension_map import COLUMNS, ROWS, Spot, TensionMap, tension_map

UNMEASURED_GAP_SD_MM = 15.0
"""How far rods said to be cut to the inside of the frame may be off; common practice, no source."""
_LEAST_TAKE_UP_MM = 1.0


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
    left_out: tuple[Reading, ...]
    """To be read again: read before rollers were turned, or the corner was eased."""
    turned_since: bool
    """Rollers have been turned after the last of the readings it rests on."""
    rod_gap_mm: float
    """How far from the corner rods were taken to end."""
    gap_measured: bool
    """Otherwise it is that of rods cut to the inside of the frame."""
    like_simulated: bool
    """Whether meshes of such a size, held like this, were among those it was learned from."""

    def axis(self, axis: Axis) -> tuple[tuple[Cell, ...], ...] | None:
        """The map of one axis."""
        return self.along if axis is Axis.ALONG else self.across


def likely_map(state: State) -> LikelyMap | str:
    """The map, or the reason why there is none."""
    sorted_out = _sorted_out(state)
    readings = sorted_out.together
    if not readings:
        return "nothing has been read on the stretcher since the last click"
    if all(r.value_n_cm <= 0 for r in readings):
        return "the mesh is slack wherever it was read"
    spots = [_spot(state, r) for r in readings]
    told = {s.direction for s in spots if s.n_cm > 0}
    spots = [s for s in spots if s.direction in told]
    hold = held(state, spots)
    drawn = tension_map(spots, modes(hold))
    return LikelyMap(
        along=_cells(drawn, _direction(state, Axis.ALONG)),
        across=_cells(drawn, _direction(state, Axis.ACROSS)),
        readings=readings,
        left_out=sorted_out.left_out,
        turned_since=sorted_out.turned_since,
        rod_gap_mm=hold.gap_mm,
        gap_measured=not hold.gap_sd_mm,
        like_simulated=hold.is_like_simulated,
    )


def held(state: State, spots: Sequence[Spot]) -> Hold:
    """How the mesh is held, by the facts, what was eased, and what it was pulled to."""
    facts, frame = state.facts, state.facts.frame
    spans = facts.free_span_mm(Pair.FAR_NEAR), facts.free_span_mm(Pair.LEFT_RIGHT)
    eased = None
    if state.relieved:
        relief_mm = math.fsum(state.relief_mm[corner] for corner in CORNERS) / len(CORNERS)
        eased = relief_mm / max(_take_up_mm(state, spans, spots), _LEAST_TAKE_UP_MM)
    return Hold(
        gap_mm=min(rod_and_gap_mm(facts, pair)[1] for pair in Pair),
        span_mm=spans,
        inset_mm=(sum(spans) - frame.inner_depth_mm - frame.inner_width_mm) / 4,
        eased=eased,
        gap_sd_mm=UNMEASURED_GAP_SD_MM if facts.stretcher.rod_gap_mm is None else 0.0,
    )


def _take_up_mm(state: State, spans: tuple[float, float], spots: Sequence[Spot]) -> float:
    """Mean take-up of a roller that it takes to read this, by the nominal stiffness."""
    read = [[s.n_cm for s in spots if s.direction == d] for d in (0, 1)]
    means = [math.fsum(values) / len(values) if values else None for values in read]
    first, second = (mean or means[1 - d] or 0.0 for d, mean in enumerate(means))
    stiffness = cloth.stiffness_n_cm(state)
    strains = (first - POISSON * second) / stiffness, (second - POISSON * first) / stiffness
    return sum(max(e, 0) * (s + 2 * WRAPPED_MM) for e, s in zip(strains, spans, strict=True)) / 4


@dataclass(frozen=True, slots=True)
class _SortedOut:
    together: tuple[Reading, ...]
    """The last readings on the stretcher with no click, or easing of their corner, between them."""
    left_out: tuple[Reading, ...]
    turned_since: bool


def _sorted_out(state: State) -> _SortedOut:
    """What belongs together, of several readings at one station and axis the last."""
    together: dict[tuple[Station, Axis], Reading] = {}
    left_out: dict[tuple[Station, Axis], Reading] = {}
    turned = False
    # A reading that was asked back stands in the trail where it was kept, not where it was taken.
    for step in sorted(state.trail, key=lambda step: step.seq):
        match step:
            case Turned():
                turned = True
            case Relief(station=corner):
                for key in [key for key in together if key[0] is corner]:
                    left_out[key] = together.pop(key)
            case Reading(stage=stage) if stage <= Stage.CURE:
                if turned:
                    left_out |= together
                    together.clear()
                    turned = False
                key = step.station, step.axis
                left_out.pop(key, None)
                together[key] = step
    can_read = state.stage <= Stage.CURE
    return _SortedOut(
        tuple(together.values()), tuple(left_out.values()) if can_read else (), turned and can_read
    )


def _cells(drawn: TensionMap, direction: int) -> tuple[tuple[Cell, ...], ...] | None:
    if not drawn.read[direction]:
        return None
    rows = zip(drawn.likely[direction], drawn.sd[direction], strict=True)
    cells = [tuple(Cell(float(t), float(sd)) for t, sd in zip(*row, strict=True)) for row in rows]
    return tuple(reversed(cells))


def _direction(state: State, axis: Axis) -> int:
    return 0 if state.facts.pair_of(axis) is Pair.FAR_NEAR else 1


def _spot(state: State, reading: Reading) -> Spot:
    row = (reading.station.row + 1) * (ROWS - 1) // 2
    column = (reading.station.column + 1) * (COLUMNS - 1) // 2
    return Spot(_direction(state, reading.axis), row, column, reading.value_n_cm)
