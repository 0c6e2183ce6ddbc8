"""What goes with a screen when it leaves the bench: how it stands and how it was made. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from benchterm.core.balance import PairBalance, Spread, balance, spread
from benchterm.core.cautions import CAVEAT
from benchterm.core.events import (
    CheckTicked,
    Event,
    GaugeChosen,
    Happening,
    JournalRepaired,
    MarkMade,
    NoteMade,
    ProductsChosen,
    SessionClosed,
    SessionOpened,
    SessionResumed,
    StageEntered,
    Undone,
)
from benchterm.core.facts import Calibration, Facts
from benchterm.core.fold import fold, undone_entries
from benchterm.core.settling import outlooks
from benchterm.core.stages import Stage
from benchterm.core.state import Reading, State
from benchterm.core.stations import Axis, Station
from benchterm.core.trust import Trusted, trusted_now


class Outcome(Enum):
    """How the session ended."""

    FINISHED = "finished"
    GIVEN_UP = "given up"
    OPEN = "not finished"


@dataclass(frozen=True, slots=True)
class Read:
    """A tension at one station on one axis, N/cm."""

    n_cm: float
    at_s: float
    current: bool
    """No roller that pulls this axis has turned since."""


@dataclass(frozen=True, slots=True)
class Place:
    """One station, as it was read last; net clicks since tension began, mm let back in."""

    station: Station
    along: Read | None
    across: Read | None
    clicks: int
    relief_mm: float

    def read(self, axis: Axis) -> Read | None:
        """The last reading on an axis."""
        return self.along if axis is Axis.ALONG else self.across


@dataclass(frozen=True, slots=True)
class Measured:
    """The nine stations at the end of a part of the work, and how even they were."""

    places: tuple[Place, ...]
    along: Spread | None
    """Of the readings that are current; ``None``: none is."""
    across: Spread | None
    far_near: PairBalance
    left_right: PairBalance
    along_trust: Trusted | None = None
    """The mean of the same readings after correction; ``None``: nothing can be said of it."""
    across_trust: Trusted | None = None
    along_no_trust: str = ""
    """Why nothing can be said; empty: something can, or none is current."""
    across_no_trust: str = ""

    def trust(self, axis: Axis) -> Trusted | str:
        """The mean on an axis with its uncertainty, or why there is none."""
        if axis is Axis.ALONG:
            return self.along_trust or self.along_no_trust
        return self.across_trust or self.across_no_trust

    def spread(self, axis: Axis) -> Spread | None:
        """The spread on one axis."""
        return self.along if axis is Axis.ALONG else self.across

    def is_even(self, tolerance_n_cm: float) -> bool | None:
        """Whether every current reading is within the tolerance of its axis' mean.

        ``None``: on no axis are there two to compare.
        """
        told = [
            all(abs(value - spread.mean) <= tolerance_n_cm for value in self.current(axis).values())
            for axis in Axis
            if (spread := self.spread(axis)) is not None and spread.n > 1
        ]
        return all(told) if told else None

    def current(self, axis: Axis) -> dict[Station, float]:
        """The readings on an axis since which no roller has turned, N/cm."""
        reads = ((place.station, place.read(axis)) for place in self.places)
        return {station: r.n_cm for station, r in reads if r is not None and r.current}


@dataclass(frozen=True, slots=True)
class Settled:
    """Worked out: the tension of an axis 24 h after its last click, still on the stretcher."""

    axis: Axis
    n_cm: float
    low_n_cm: float
    """Lower end of the interval that holds it with 90 %."""
    high_n_cm: float


@dataclass(frozen=True, slots=True)
class Visit:
    """A stage was entered; with what was passed over on the way, and why."""

    stage: Stage
    at_s: float
    utc: str
    passed_over: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """A caution that somebody said yes to."""

    stage: Stage
    text: str
    version: str
    operator: str
    at_s: float
    utc: str
    source: str


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge, from some time on."""

    name: str
    """Its address, or its name in the shop; empty: not named."""
    wired: bool
    """True: its readings were corrected on the way. False: they stand as somebody read them."""
    calibration: Calibration | None
    """In force from then on; ``None``: none."""
    at_s: float


@dataclass(frozen=True, slots=True)
class Glue:
    """Products, from some time on, and what they asked for."""

    names: tuple[str, ...]
    sheet_dates: tuple[str, ...]
    """Of their safety data sheets, in the same order; empty: not kept."""
    closed: tuple[str, ...]
    """Why no glue might be used with them."""
    cautions_version: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Remark:
    """A note, a numbered marker, or an interruption of the record."""

    text: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """The record of one screen."""

    session: str
    bench: str
    program: str
    opened_utc: str
    last_utc: str
    outcome: Outcome
    reason: str
    """Why it was given up."""
    stage: Stage
    facts: Facts
    """With the target as it stood at the end."""
    on_stretcher: Measured | None
    """As read last before it was cut out; ``None``: never read."""
    settled: tuple[Settled, ...]
    """Each axis that was read after its last click."""
    off_stretcher: Measured | None
    gauges: tuple[Gauge, ...]
    """Empty: which ones was not kept, nor any calibration."""
    visits: tuple[Visit, ...]
    glue: tuple[Glue, ...]
    acknowledged: tuple[Acknowledged, ...]
    remarks: tuple[Remark, ...]
    taken_back: tuple[tuple[Event, ...], ...]
    """Entries that do not count."""
    torn_bytes: int
    """Of a last entry cut off in mid-line, which never counted."""
    events: int
    caveat: str = CAVEAT


def sheet_of(events: Sequence[Event], torn_bytes: int = 0) -> Sheet:
    """The sheet of a session, finished or not.

    Args:
        events: all of them, in order.
        torn_bytes: how much of a last entry was cut off in mid-line; it never counted.

    Raises:
        ValueError: no session is opened in these events.
    """
    if not any(isinstance(event.what, SessionOpened) for event in events):
        raise ValueError("no session is opened here")
    gone = undone_entries(events)
    counted = [event for event in events if event.entry not in gone]
    on, now = _states(event for event in counted if not isinstance(event.what, Undone))
    opened = next(e.what for e in events if isinstance(e.what, SessionOpened))
    closed = next((e.what for e in counted if isinstance(e.what, SessionClosed)), None)
    off = now if now.stage >= Stage.READ_AGAIN else None
    return Sheet(
        session=now.session,
        bench=now.bench,
        program=opened.program,
        opened_utc=events[0].utc,
        last_utc=events[-1].utc,
        outcome=_outcome(closed),
        reason=closed.reason if closed else "",
        stage=now.stage,
        facts=now.facts,
        on_stretcher=_measured(on),
        settled=tuple(_settled(on)),
        off_stretcher=None if off is None else _measured(off),
        gauges=tuple(_gauges(counted)),
        visits=tuple(_visits(counted)),
        glue=tuple(_glue(counted)),
        acknowledged=tuple(_acknowledged(counted)),
        remarks=tuple(_remarks(counted)),
        torn_bytes=torn_bytes,
        taken_back=tuple(_entries(e for e in events if e.entry in gone)),
        events=len(events),
    )


def _states(events: Iterable[Event]) -> tuple[State, State]:
    """The last state with the mesh on the stretcher, and the very last one."""
    on = now = State()
    for event in events:
        now = fold(now, event)
        if now.stage <= Stage.CURE:
            on = now
    return on, now


def _outcome(closed: SessionClosed | None) -> Outcome:
    if closed is None:
        return Outcome.OPEN
    return Outcome.FINISHED if closed.finished else Outcome.GIVEN_UP


def _measured(state: State) -> Measured | None:
    if not any((*state.along, *state.across)):
        return None
    places = tuple(
        Place(
            station,
            _read(state, state.along[station]),
            _read(state, state.across[station]),
            state.net_clicks(station) if station.is_roller else 0,
            state.relief_mm[station],
        )
        for station in Station
    )
    even = balance(state)
    measured = Measured(places, None, None, even.far_near, even.left_right)
    along, across = (spread(measured.current(axis)) for axis in Axis)
    trusts = (_trust(state, axis) for axis in Axis)
    (along_trust, along_why), (across_trust, across_why) = trusts
    return replace(
        measured,
        along=along,
        across=across,
        along_trust=along_trust,
        across_trust=across_trust,
        along_no_trust=along_why,
        across_no_trust=across_why,
    )


def _trust(state: State, axis: Axis) -> tuple[Trusted | None, str]:
    found = trusted_now(state, axis)
    return (None, found) if isinstance(found, str) else (found, "")


def _read(state: State, reading: Reading | None) -> Read | None:
    if reading is None:
        return None
    return Read(reading.value_n_cm, reading.at_s, state.is_current(reading))


def _settled(state: State) -> Iterator[Settled]:
    for axis, outlook in outlooks(state).items():
        told = outlook.tomorrow
        yield Settled(axis, told.value, told.low, told.high)


def _visits(events: Iterable[Event]) -> Iterator[Visit]:
    for event in events:
        if isinstance(event.what, StageEntered):
            what = event.what
            yield Visit(what.stage, event.at_s, event.utc, what.passed_over, what.reason)


def _acknowledged(events: Iterable[Event]) -> Iterator[Acknowledged]:
    for event in events:
        what = event.what
        if isinstance(what, CheckTicked) and what.version:
            yield Acknowledged(
                what.stage,
                what.text,
                what.version,
                what.operator,
                event.at_s,
                event.utc,
                event.source.value,
            )


def _gauges(events: Iterable[Event]) -> Iterator[Gauge]:
    for event in events:
        what = event.what
        if isinstance(what, GaugeChosen):
            yield Gauge(what.gauge, what.wired, what.calibration, event.at_s)


def _glue(events: Iterable[Event]) -> Iterator[Glue]:
    for event in events:
        if isinstance(event.what, SessionOpened | ProductsChosen):
            asked = event.what.briefing
            yield Glue(asked.products, asked.sheet_dates, asked.closed, asked.version, event.at_s)


def _remarks(events: Iterable[Event]) -> Iterator[Remark]:
    for event in events:
        text = _remark(event.what)
        if text:
            yield Remark(text, event.at_s)


def _remark(what: Happening) -> str:
    match what:
        case NoteMade(text):
            return text
        case MarkMade(number):
            return f"mark {number}"
        case SessionResumed(_, away_s):
            return f"taken up again after {away_s / 60:.0f} min away"
        case JournalRepaired(moved, to):
            return f"{moved} bytes cut off in mid-line were set aside in {to}"
        case _:
            return ""


def _entries(events: Iterable[Event]) -> Iterator[tuple[Event, ...]]:
    entry: list[Event] = []
    for event in events:
        if entry and event.entry != entry[0].entry:
            yield tuple(entry)
            entry = []
        entry.append(event)
    if entry:
        yield tuple(entry)
