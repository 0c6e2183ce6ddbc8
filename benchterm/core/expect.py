"""What a reading is likely to be, from the last one and the clicks since."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from benchterm.core.cloth import nominal_step_n_cm
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, State
from benchterm.core.stations import Axis, Station

_LEARN_FROM = 16
"""Readings looked back on to learn what a click gives."""
_TAUT_N_CM = 5.0
"""Below this the mesh still has slack in it and a click gives little."""
_READING_SD_N_CM = 0.5
"""Scatter of one reading: gauge, its resolution and where it was put."""
_ELSEWHERE_SD_N_CM = 1.5
"""Further scatter when the last reading on the axis was at another station."""
_CLICK_SD_SHARE = 0.2
"""Scatter of what clicks give, as a share of it."""

_OFF_SHARE = 0.9
"""What a screen off the stretcher still reads of it (common practice, no source)."""
_OFF_SD_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Expectation:
    """A likely value and its standard deviation, N/cm."""

    value_n_cm: float
    sd_n_cm: float
    rests_on: int | None = None
    """``seq`` of the reading it starts from."""

    def is_far_from(self, value_n_cm: float, at_least_n_cm: float) -> bool:
        """Whether a value is out of line: over 2.5 standard deviations and a least distance."""
        return abs(value_n_cm - self.value_n_cm) > max(2.5 * self.sd_n_cm, at_least_n_cm)


def step_n_cm(state: State, axis: Axis) -> float:
    """Tension which one click adds on an axis: learned from this screen's clicks if it can be.

    The middle of what the last taut readings gave, with the worked-out step counted as one more.
    """
    nominal = nominal_step_n_cm(state, state.facts.pair_of(axis))
    readings = [
        step
        for step in state.trail[-4 * _LEARN_FROM :]
        if isinstance(step, Reading) and step.axis is axis
    ][-_LEARN_FROM:]
    seen: dict[Station, Reading] = {}
    steps = [nominal]
    for reading in readings:
        before = seen.get(reading.station)
        seen[reading.station] = reading
        if before is None or before.value_n_cm < _TAUT_N_CM:
            continue
        clicks = reading.pair_clicks - before.pair_clicks
        if clicks:
            steps.append((reading.value_n_cm - before.value_n_cm) / clicks)
    return min(max(median(steps), nominal / 5), nominal * 3)


def expected(state: State, station: Station, axis: Axis) -> Expectation:
    """What a gauge laid at a station on an axis is likely to show now.

    From the last reading there, else from the latest elsewhere on the axis, plus what the clicks
    since have given. With nothing read on the axis yet: somewhere on the way to the target. Off the
    stretcher: less than was last read on it.
    """
    readings = state.readings(axis)
    start = readings[station]
    sd = _READING_SD_N_CM
    if start is None:
        start = max((r for r in readings if r is not None), key=lambda r: r.seq, default=None)
        sd += _ELSEWHERE_SD_N_CM
    if start is None:
        return _unread(state, axis)
    clicks = state.clicks_since(start)
    gained = clicks * step_n_cm(state, axis)
    sd += _CLICK_SD_SHARE * abs(gained)
    if clicks > 0 and start.value_n_cm < state.facts.target.of(axis) / 2:
        # Slack, and crimp not yet pulled straight, take up any part of these clicks.
        gained, sd = gained / 2, sd + gained / 4
    if station.is_corner and state.relief_mm[station] > 0:
        sd += _ELSEWHERE_SD_N_CM
    return Expectation(max(0.0, start.value_n_cm + gained), sd, start.seq)


def _unread(state: State, axis: Axis) -> Expectation:
    if state.stage >= Stage.READ_AGAIN:
        for step in reversed(state.trail):
            if isinstance(step, Reading) and step.axis is axis:
                sd = _OFF_SD_SHARE * step.value_n_cm + _READING_SD_N_CM
                return Expectation(_OFF_SHARE * step.value_n_cm, sd, step.seq)
    target = state.facts.target.of(axis)
    return Expectation(target / 2, target / 3)
