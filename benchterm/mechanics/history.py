"""What has been done to a mesh and read off it, as plain records and as arrays to compute with.

Two directions: 0 is along the roll of cloth (warp), 1 across it (weft). Each is pulled by two
opposite rollers, 0 and 1. Times are seconds, lengths mm, tensions N/cm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cached_property
from math import isfinite
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]

DIRECTIONS = (0, 1)
MOST_READINGS = 28
"""Readings fitted, the latest; what is older has been read again."""
MOST_STEPS = 20
"""Steps a direction; beyond it the oldest are taken as one."""
TOGETHER_S = 180.0
"""Turns in one direction closer than this, with no reading between, count as one step."""

LONGEST_S = 1e9
"""Later times count as this long after the first."""


class Place(Enum):
    """Where on the mesh a gauge sits, as far as it matters to what it shows."""

    CENTRE = "centre"
    SIDE = "side"
    """Middle of a side, read in the direction of that side's pull."""
    FLANK = "flank"
    """Middle of a side, read at right angles to its pull."""
    CORNER = "corner"


@dataclass(frozen=True, slots=True)
class Spot:
    """One place and direction of reading."""

    direction: int
    place: Place
    name: int = 0
    """Tells apart spots of one kind; any number."""


Slot = tuple[Spot, float]
"""A spot and how much mesh had been let back in there, mm; only at a corner more than 0."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Clicks on one roller; negative: let back."""

    at_s: float
    direction: int
    roller: int
    clicks: int


@dataclass(frozen=True, slots=True)
class Gauged:
    """A tension read."""

    at_s: float
    spot: Spot
    value_n_cm: float


@dataclass(frozen=True, slots=True)
class Eased:
    """Mesh let back in at a corner; ``name`` as in the spots there."""

    at_s: float
    name: int
    mm: float


Record = Turn | Gauged | Eased


@dataclass(frozen=True, eq=False)
class Steps:
    """The clicks of one direction. Row 0 is the start, before any."""

    at_s: Array
    clicks: Array
    """Net clicks of both rollers after each step, one row a step."""
    uncalled_mm: Array
    """Take-up beyond that after each step, which nobody called."""

    @cached_property
    def own(self) -> Array:
        """Clicks of both rollers in each step itself."""
        return np.diff(self.clicks, axis=0, prepend=0.0)

    @cached_property
    def number(self) -> Array:
        """Clicks in each step, those let back too."""
        number: Array = np.abs(self.own).sum(axis=1)
        return number

    def uncalled_at(self, step: int) -> float:
        """What came with a step that nobody called, mm."""
        before = self.uncalled_mm[step - 1] if step else 0.0
        return float(self.uncalled_mm[step] - before)


@dataclass(frozen=True, slots=True, eq=False)
class When:
    """Moments to look at the mesh: the time, and what has been done by then."""

    at_s: Array
    done: Array
    """Steps done: one row a moment, one column a direction; the start counts as a step."""
    eased_mm: Array
    """Mesh let back in, mean over four corners."""


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """Records as arrays, in the order in which things happened."""

    steps: tuple[Steps, Steps]
    when: When
    """Of the readings."""
    values: Array
    spots: tuple[Spot, ...]
    slots: tuple[Slot, ...]
    """Of the readings."""
    end_s: float
    """Time of the last record."""
    eased: dict[int, float]
    """Mesh let back in so far, by the corner's name."""

    @property
    def now(self) -> When:
        """The moment of the last record."""
        return self.after(self.end_s)

    def after(self, at_s: float) -> When:
        """A moment at or after the last record."""
        done = np.array([[len(self.steps[d].at_s) for d in DIRECTIONS]], dtype=np.int64)
        return When(np.array([max(at_s, self.end_s)]), done, np.array([self.eased_all_mm]))

    @property
    def eased_all_mm(self) -> float:
        """Mesh let back in so far, mean over four corners."""
        return sum(self.eased.values()) / 4

    def slot(self, spot: Spot) -> Slot:
        """The slot which a reading at a spot would fall in now."""
        return (spot, self.eased.get(spot.name, 0.0) if spot.place is Place.CORNER else 0.0)

    def with_uncalled(self, direction: int, step: int, mm: float) -> History:
        """The same with some take-up more that came with a step of a direction."""
        steps = list(self.steps)
        before = steps[direction]
        more = np.where(np.arange(len(before.at_s)) >= step, mm, 0.0)
        steps[direction] = replace(before, uncalled_mm=before.uncalled_mm + more)
        return replace(self, steps=(steps[0], steps[1]))

    def turned_since_read(self, direction: int) -> bool:
        """Whether there are clicks in a direction after the last reading in it."""
        return bool(self.blind_from(direction) < len(self.steps[direction].at_s))

    def blind_from(self, direction: int) -> int:
        """Steps of a direction which its last reading has seen; with none read, the start alone."""
        seen = [
            int(done[direction])
            for done, spot in zip(self.when.done, self.spots, strict=True)
            if spot.direction == direction
        ]
        return seen[-1] if seen else 1


def history(records: Sequence[Record]) -> History:
    """Records in order as arrays. A time before the last one's counts as the last one's.

    Records that hold no finite number are passed over.
    """
    at_s = start_s = _first_time(records)
    steps: tuple[list[_Step], list[_Step]] = ([_Step(start_s)], [_Step(start_s)])
    closed = [True, True]
    read: list[tuple[float, tuple[int, int], Gauged, Slot, float]] = []
    eased: dict[int, float] = {}
    for record in records:
        if not isfinite(record.at_s):
            continue
        at_s = max(at_s, min(record.at_s, start_s + LONGEST_S))
        match record:
            case Turn(direction=d, roller=roller, clicks=clicks):
                last = steps[d][-1]
                if closed[d] or at_s - last.at_s > TOGETHER_S:
                    last = _Step(at_s, last.clicks)
                    steps[d].append(last)
                    closed[d] = False
                last.turn(roller, clicks, at_s)
            case Gauged(spot=spot, value_n_cm=value) if isfinite(value):
                closed = [True, True]
                slot = (spot, eased.get(spot.name, 0.0) if spot.place is Place.CORNER else 0.0)
                so_far = (len(steps[0]), len(steps[1]))
                read.append((at_s, so_far, record, slot, sum(eased.values()) / 4))
            case Eased(name=name, mm=mm) if isfinite(mm):
                eased[name] = eased.get(name, 0.0) + mm
    read = read[-MOST_READINGS:]
    kept = [_shortened(s) for s in steps]
    done = np.array([d for _, d, *_ in read], dtype=np.int64).reshape(-1, 2)
    for d in DIRECTIONS:
        done[:, d] = np.maximum(done[:, d] - (len(steps[d]) - len(kept[d])), 1)
    return History(
        (_arrays(kept[0]), _arrays(kept[1])),
        When(
            np.array([at for at, *_ in read], dtype=float),
            done,
            np.array([mm for *_, mm in read], dtype=float),
        ),
        np.array([g.value_n_cm for _, _, g, *_ in read], dtype=float),
        tuple(g.spot for _, _, g, *_ in read),
        tuple(slot for *_, slot, _ in read),
        at_s,
        eased,
    )


class _Step:
    def __init__(self, at_s: float, clicks: tuple[int, int] = (0, 0)) -> None:
        self.at_s = at_s
        self.clicks = clicks

    def turn(self, roller: int, clicks: int, at_s: float) -> None:
        first, second = self.clicks
        self.clicks = (first + clicks, second) if roller == 0 else (first, second + clicks)
        self.at_s = at_s


def _first_time(records: Sequence[Record]) -> float:
    return next((float(r.at_s) for r in records if isfinite(r.at_s)), 0.0)


def _shortened(steps: list[_Step]) -> list[_Step]:
    """The latest steps; the first of them stands for all before, with the clicks they came to."""
    return steps if len(steps) <= MOST_STEPS else [steps[0], *steps[-(MOST_STEPS - 1) :]]


def _arrays(steps: list[_Step]) -> Steps:
    return Steps(
        np.array([s.at_s for s in steps], dtype=float),
        np.array([s.clicks for s in steps], dtype=float),
        np.zeros(len(steps)),
    )
