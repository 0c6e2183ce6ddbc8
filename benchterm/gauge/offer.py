"""Where a gauge's value meets a station: pure, for screen and pipe alike.

Either way round: the person names a station and the next value that settles is read there; or a
value has settled and the person says where. A value is used once. Passing values never come here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchterm.core.intents import Read
from benchterm.core.stations import Axis, Station
from benchterm.gauge.listener import Moved, News, Settled
from benchterm.gauge.reading import GaugeReading

STATION_WAITS_S = 60.0
"""Named so long ago, a station is no longer meant."""
VALUE_WAITS_S = 30.0
"""A value that a button sent, or that still stands, is offered for so long without being asked."""
LIFTED_WAITS_S = 10.0
"""Taken off the mesh, the gauge's last value can be spoken for so long."""
PLACES = 2
"""Decimals of a tension that is taken; no gauge for mesh tells less."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a value is wanted."""

    station: Station
    axis: Axis | None = None
    """``None``: as usual at that station."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A value that met its place."""

    read: Read
    reading: GaugeReading
    """What the gauge sent, its line word for word in it."""


@dataclass(frozen=True, slots=True)
class Offer:
    """What waits: a place for a value, a value for a place, or nothing; never both."""

    place: Place | None = None
    reading: GaugeReading | None = None
    stands: bool = False
    """The gauge still shows the value, so that it does not grow old."""
    until_s: float = 0.0
    """When what waits is forgotten."""
    lies_on: Station | None = None
    """Where the gauge lay when its last value was taken, if it has not been lifted since."""


def name(offer: Offer, place: Place, now_s: float) -> tuple[Offer, Taken | None]:
    """A place was named."""
    offer = pass_time(offer, now_s)
    if offer.reading is not None and _may_be(offer, place):
        return _take(offer, place, offer.reading)
    return Offer(place, until_s=now_s + STATION_WAITS_S, lies_on=offer.lies_on), None


def hear(offer: Offer, news: News, now_s: float, *, stream: bool) -> tuple[Offer, Taken | None]:
    """News came from the gauge; ``stream``: it goes on showing what it shows."""
    offer = pass_time(offer, now_s)
    match news:
        case Settled(reading) if offer.place is not None:
            if _may_be(offer, offer.place):
                return _take(replace(offer, stands=stream), offer.place, reading)
        case Settled(reading):
            until_s = now_s + VALUE_WAITS_S
            return Offer(None, reading, stands=stream, until_s=until_s, lies_on=offer.lies_on), None
        case Moved(lifted=True):
            offer = replace(offer, lies_on=None)
            if offer.stands:
                offer = replace(offer, stands=False, until_s=now_s + LIFTED_WAITS_S)
        case Moved(lifted=False) if offer.reading is not None:
            return Offer(lies_on=offer.lies_on), None
    return offer, None


def pass_time(offer: Offer, now_s: float) -> Offer:
    """What is left of an offer at a later moment."""
    waits = offer.place is not None or offer.reading is not None
    over = waits and not offer.stands and now_s >= offer.until_s
    return Offer(lies_on=offer.lies_on) if over else offer


def cancel(offer: Offer) -> Offer:
    """No place is meant any longer; a value goes on being offered."""
    return offer if offer.place is None else Offer(lies_on=offer.lies_on)


def give_back(offer: Offer, taken: Taken, now_s: float) -> Offer:
    """A value that could not be written down is offered again, unless something else waits."""
    if offer.place is not None or offer.reading is not None:
        return offer
    return Offer(None, taken.reading, until_s=now_s + VALUE_WAITS_S, lies_on=offer.lies_on)


def told(offer: Offer) -> str:
    """One line for the person at the bench; empty if nothing waits."""
    if offer.place is not None:
        axis = f" {offer.place.axis.value}" if offer.place.axis else ""
        where = f"{offer.place.station.label}{axis}"
        if offer.lies_on is None or _may_be(offer, offer.place):
            return f"{where}: waiting for the gauge"
        return f"{where}: lift the gauge off {offer.lies_on.label} first"
    if offer.reading is not None:
        return f"gauge {offer.reading.n_cm:.1f}: at which station?"
    return ""


def _may_be(offer: Offer, place: Place) -> bool:
    """Whether the gauge can lie at a place: not while it still lies at another.

    Mesh that relaxes under it would else bring a new value of the old place to the next one.
    """
    return offer.lies_on in (None, place.station)


def _take(offer: Offer, place: Place, reading: GaugeReading) -> tuple[Offer, Taken]:
    read = Read(place.station, round(reading.n_cm, PLACES), place.axis)
    return Offer(lies_on=place.station if offer.stands else None), Taken(read, reading)
