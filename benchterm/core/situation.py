"""What the rules look at: the state at one moment, with the figures they share."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from benchterm.core.balance import Balance, balance
from benchterm.core.estimate import estimated, planned
from benchterm.core.expect import expected, step_n_cm
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, State, Turned
from benchterm.core.stations import CORNERS, ROLLERS, ROLLERS_OF, Axis, Pair, Station

if TYPE_CHECKING:
    from benchterm.mechanics.estimator import Estimate
    from benchterm.mechanics.planner import Plan

_LOOK_BACK = 64
"""Steps looked back through; what is older has been read again or does not matter."""


@dataclass(frozen=True)
class Situation:
    """The state at a session time; figures are worked out when a rule first asks for them."""

    state: State
    now_s: float

    @cached_property
    def balance(self) -> Balance:
        """How even the tension is."""
        return balance(self.state)

    @cached_property
    def steps_n_cm(self) -> dict[Axis, float]:
        """Tension which one click adds on each axis."""
        return {axis: step_n_cm(self.state, axis) for axis in Axis}

    @cached_property
    def tensions_n_cm(self) -> dict[Axis, float | None]:
        """Likely tension now on each axis: the mean over its two sides; ``None`` if not read."""
        return {axis: self._tension(axis) for axis in Axis}

    @cached_property
    def estimate(self) -> Estimate | None:
        """What clicks and readings amount to; ``None`` off the stretcher."""
        return estimated(self.state)

    @cached_property
    def plan(self) -> Plan | None:
        """The next move; ``None`` outside the tensioning stages."""
        return planned(self.state)

    @property
    def tensioning(self) -> bool:
        """Whether rollers are being turned towards a tension now."""
        return Stage.FIRST_TENSION <= self.state.stage <= Stage.FINAL_TENSION

    @property
    def loaded(self) -> bool:
        """Whether the mesh is on the stretcher under tension."""
        return Stage.FIRST_TENSION <= self.state.stage <= Stage.CURE

    def aim_n_cm(self, axis: Axis) -> float:
        """The tension this stage works towards on an axis."""
        target = self.state.facts.target.of(axis)
        if self.state.stage <= Stage.FIRST_TENSION:
            return target * self.state.practice.first_share
        return target

    def side_readings(self) -> list[Reading]:
        """The last readings at the four sides, each in the direction of its pull."""
        found = (self.state.reading(side) for side in ROLLERS)
        return [r for r in found if r is not None]

    def corner_readings(self) -> list[Reading]:
        """The last readings at the corners, both axes."""
        found = (self.state.reading(c, axis) for c in CORNERS for axis in Axis)
        return [r for r in found if r is not None]

    def is_turned_between(self, readings: list[Reading | None]) -> bool:
        """Whether any roller has turned between the first and the last of some readings."""
        seqs = [r.seq for r in readings if r is not None]
        return any(
            isinstance(step, Turned) and min(seqs) < step.seq < max(seqs)
            for step in self.state.trail[-_LOOK_BACK:]
        )

    def turns(self, pair: Pair) -> tuple[int, ...]:
        """``seq`` of the latest turns of a pair's rollers."""
        turns = [
            step.seq
            for step in self.state.trail[-_LOOK_BACK:]
            if isinstance(step, Turned) and step.station.pair is pair
        ]
        return tuple(turns[-4:])

    def lagging(self, pair: Pair) -> Station:
        """The roller of a pair with fewer clicks; with equal ones, the one not turned last."""
        first, second = ROLLERS_OF[pair]
        apart = self.state.net_clicks(first) - self.state.net_clicks(second)
        if apart == 0:
            last = self.state.run[0] if self.state.run else None
            return second if last is first else first
        return second if apart > 0 else first

    def _tension(self, axis: Axis) -> float | None:
        sides = ROLLERS_OF[self.state.facts.pair_of(axis)]
        readings = self.state.readings(axis)
        if all(r is None for r in readings):
            return None
        return sum(expected(self.state, side, axis).value_n_cm for side in sides) / 2


def clicks(number: int) -> str:
    """``1 click``, ``2 clicks``."""
    return f"{number} click" if number == 1 else f"{number} clicks"


def listed(stations: list[Station]) -> str:
    """``far, near and left``."""
    names = [s.label for s in stations]
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
