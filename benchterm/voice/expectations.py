"""What readings are likely to be: what the bench tells the ear."""

from __future__ import annotations

from benchterm.core.expect import expected, step_n_cm
from benchterm.core.state import State
from benchterm.core.stations import ROLLERS_OF, Axis, Station
from benchterm.voice.wire import Place, Value


def places(state: State) -> dict[int, Place]:
    """What a gauge is likely to show at each station."""
    steps = {axis: step_n_cm(state, axis) for axis in Axis}
    return {
        int(station): Place(
            state.facts.usual_axis(station),
            _value(state, station, Axis.ALONG, steps),
            _value(state, station, Axis.ACROSS, steps),
        )
        for station in Station
    }


def _value(state: State, station: Station, axis: Axis, steps: dict[Axis, float]) -> Value:
    from_now = expected(state, station, axis)
    pulls = station in ROLLERS_OF[state.facts.pair_of(axis)]
    return Value(
        round(from_now.value_n_cm, 2), round(from_now.sd_n_cm, 2), steps[axis] if pulls else 0.0
    )
