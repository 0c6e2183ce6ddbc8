"""A simple mesh in a roller stretcher, to have something to read a gauge on. It is no estimator.

Tension in a direction depends on what both opposite rollers have wound up, less the slack, with a
soft toe; part of it is lost with the log of time; each direction pulls some of the other along; the
corners run ahead of the centre until mesh is let back in there. Numbers are made up, of the size
that simulated benches give (take-up, coupling and corner ratio as in ``benchterm.mechanics``). The
mesh rubs on the frame, so that a side shows something of its own roller: an invention of ours,
without a source, that makes opposite sides differ when their clicks do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random

from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.core.stations import ROLLERS_OF, Axis, Pair, Station
from benchterm.mechanics import mesh, takeup

TOE_MM = 1.2
"""Take-up over which slack turns into tension."""
LOST_IN_A_DAY = 0.12
"""Share of the tension lost in the first 24 hours at fixed length."""
LOSS_BEGINS_S = 25.0
RUB = 0.4
"""Share of a click that a roller's own side shows beyond the middle."""
CORNER_CONTRAST = 0.04
"""How far the corners at a side run ahead for each click its roller is ahead of the opposite."""
EASED_BY_RELIEF = 0.45
"""Drop of the corner ratio for relief as large as the take-up."""
KEPT_BY_FRAME = {Pair.FAR_NEAR: 0.99, Pair.LEFT_RIGHT: 0.94}
"""Share of the tension left off the stretcher: the long bars bow in, the short ones hardly.

Of the size that slope-deflection gives a 580 x 840 mm frame of 40 x 40 x 2 mm aluminium tube.
"""
READING_SD_N_CM = 0.25
GAUGE_STEP_N_CM = 0.5


@dataclass
class Membrane:
    """Mesh, rollers, frame and the gauge laid on them. Time is session time in seconds."""

    facts: Facts
    seed: int
    slack_mm: dict[Pair, float]
    corner_ratio: dict[Station, float] = field(default_factory=dict)
    """Corner over centre before relief; 1.1 if not named."""
    off_stretcher: bool = False

    def __post_init__(self) -> None:
        cloth = self.facts.mesh
        nominal = mesh.stiffness_n_cm(cloth.threads_cm, cloth.thread_um, Practice().modulus_gpa)
        self._stiffness_n_cm = takeup.coupled_stiffness_n_cm(nominal)
        self._click_mm = takeup.click_mm(self.facts.stretcher.roller_mm, self.facts.stretcher.teeth)
        self._clicks = dict.fromkeys(Station, 0)
        self._relief_mm = dict.fromkeys(Station, 0.0)
        self._taken_up: dict[Pair, list[tuple[float, float]]] = {pair: [] for pair in Pair}
        self._random = Random(self.seed)

    def turn(self, roller: Station, clicks: int, now_s: float) -> None:
        """Turn a roller; back if negative."""
        pair = roller.pair
        assert pair is not None
        before = self._effective_mm(pair)
        self._clicks[roller] += clicks
        self._taken_up[pair].append((now_s, self._effective_mm(pair) - before))

    def relieve(self, corner: Station, mm: float) -> None:
        """Let mesh back in at a corner."""
        self._relief_mm[corner] += mm

    def step_n_cm(self, pair: Pair) -> float:
        """Tension which one click of one roller of a pair adds, once taut."""
        return self._stiffness_n_cm * self._click_mm / self._length_mm(pair)

    def read(self, station: Station, axis: Axis, now_s: float) -> float:
        """What the gauge shows, N/cm."""
        shown = self._random.gauss(self.tension(station, axis, now_s), READING_SD_N_CM)
        return max(0.0, round(shown / GAUGE_STEP_N_CM) * GAUGE_STEP_N_CM)

    def tension(self, station: Station, axis: Axis, now_s: float) -> float:
        """The tension there, N/cm."""
        pair = self.facts.pair_of(axis)
        coupled = self._strain(pair, now_s) + takeup.POISSON * self._strain(pair.other, now_s)
        level = self._stiffness_n_cm * coupled
        if self.off_stretcher:
            level *= KEPT_BY_FRAME[pair]
        if station.is_corner:
            level *= self._corner_ratio(station, pair)
        elif station.pair is pair and not self.off_stretcher:
            ahead = self._clicks[station] - self._clicks[station.opposite]
            level += RUB * self.step_n_cm(pair) * ahead / 2
        return max(0.0, level)

    def _corner_ratio(self, corner: Station, pair: Pair) -> float:
        side = next(s for s in corner.neighbours if s.pair is pair)
        contrast = CORNER_CONTRAST * (self._clicks[side] - self._clicks[side.opposite])
        taken_up = sum(self._effective_mm(p) for p in Pair) / 4
        eased = self._relief_mm[corner] / taken_up if taken_up > 1 else 0.0
        return self.corner_ratio.get(corner, 1.1) + contrast - EASED_BY_RELIEF * min(eased, 1.0)

    def _effective_mm(self, pair: Pair) -> float:
        wound = self._click_mm * sum(self._clicks[roller] for roller in ROLLERS_OF[pair])
        taut = (wound - self.slack_mm[pair]) / TOE_MM
        return TOE_MM * (taut if taut > 30 else math.log1p(math.exp(taut)))

    def _strain(self, pair: Pair, now_s: float) -> float:
        length_mm = self._length_mm(pair)
        return sum(mm * _kept(now_s - at_s) for at_s, mm in self._taken_up[pair]) / length_mm

    def _length_mm(self, pair: Pair) -> float:
        return self.facts.free_span_mm(pair) + 2 * takeup.WRAPPED_MM


def _kept(age_s: float) -> float:
    """Share of a stretch's tension left after a time."""
    day = math.log1p(86400 / LOSS_BEGINS_S)
    return 1 - LOST_IN_A_DAY * math.log1p(max(age_s, 0.0) / LOSS_BEGINS_S) / day
