"""What the value of a phrase is likely to be: what the ear makes of what the bench told it."""

from __future__ import annotations

from benchterm.core.stations import Axis, Station
from benchterm.phrases.meanings import Slots
from benchterm.voice.understand import Likely, Pending
from benchterm.voice.wire import Waits

_CLICK_SD_SHARE = 0.2
"""Scatter of what clicks give, as a share of it; as in ``core.expect``."""


def pending(waits: Waits) -> Pending:
    """What the bench waits for, as understanding takes it."""
    station = None if waits.station is None else Station(waits.station)
    return Pending(station, waits.question, waits.gauge, lambda slots: likely(waits, slots))


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
