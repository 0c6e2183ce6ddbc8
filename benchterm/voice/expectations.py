"""What readings are likely to be, from the bench to the ear, and there the prior of a phrase."""

from __future__ import annotations

from benchterm.core.expect import expected, step_n_cm
from benchterm.core.state import State
from benchterm.core.stations import ROLLERS_OF, Axis, Station
from benchterm.phrases.meanings import Slots
from benchterm.voice.understand import Likely, Pending
from benchterm.voice.wire import Place, Value, Waits

_CLICK_SD_SHARE = 0.2
"""Scatter of what clicks give, as a share of it; as in ``core.expect``."""


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


def pending(waits: Waits) -> Pending:
    """What the bench waits for, as understanding takes it."""
    station = None if waits.station is None else Station(waits.station)
    return Pending(station, waits.question, lambda slots: likely(waits, slots))


def likely(waits: Waits, slots: Slots) -> Likely | None:
    """What the value of a phrase is likely to be; ``None``: nothing is known."""
    place = waits.places.get(int(slots.station or waits.station or 0))
    if place is None:
        return None
    axis = slots.axis or place.usual
    value = place.along if axis is Axis.ALONG else place.across
    clicks = float(slots.clicks or 0) * (-1 if slots.back else 1)
    gained = clicks * value.a_click
    return Likely(max(0.0, value.value + gained), value.sd + _CLICK_SD_SHARE * abs(gained))


def _value(state: State, station: Station, axis: Axis, steps: dict[Axis, float]) -> Value:
    from_now = expected(state, station, axis)
    pulls = station in ROLLERS_OF[state.facts.pair_of(axis)]
    return Value(
        round(from_now.value_n_cm, 2), round(from_now.sd_n_cm, 2), steps[axis] if pulls else 0.0
    )
