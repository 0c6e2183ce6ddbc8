"""What happened: past tense, immutable, timed. A session is nothing but its events in order."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from benchterm.core.cautions import Briefing
from benchterm.core.facts import Calibration, Facts
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station


class Source(Enum):
    """Where an event came from."""

    KEYPAD = "keypad"
    VOICE = "voice"
    GAUGE = "gauge"
    PIPE = "pipe"
    BENCH = "bench"
    """The program itself."""


@dataclass(frozen=True, slots=True)
class SessionOpened:
    """A screen was begun."""

    session: str
    """Unique in the shop, file-name safe."""
    bench: str
    program: str
    """Version of the program that wrote it."""
    facts: Facts = field(default_factory=Facts)
    practice: Practice = field(default_factory=Practice)
    briefing: Briefing = field(default_factory=Briefing)
    """What its products ask for."""


@dataclass(frozen=True, slots=True)
class ProductsChosen:
    """Other glue is used from here on, or the shop's word on the same glue has changed."""

    products: tuple[str, ...]
    """As in ``Facts.products``."""
    briefing: Briefing


@dataclass(frozen=True, slots=True)
class GaugeChosen:
    """Readings come from this gauge from here on, under this calibration."""

    gauge: str
    """Its address, or the name it has in the shop; empty: not named."""
    wired: bool
    """True: readings come over its wire and are corrected. False: somebody reads them off it, and
    they are kept as they were read."""
    calibration: Calibration | None = None
    """``None``: it has not been calibrated here."""


@dataclass(frozen=True, slots=True)
class SessionResumed:
    """The session was taken up again after the program had stopped."""

    program: str
    away_s: float
    """How long nobody wrote, by the wall clock."""


@dataclass(frozen=True, slots=True)
class JournalRepaired:
    """Half a line at the end of the file was moved aside on opening."""

    moved_bytes: int
    moved_to: str
    """Name of the file the bytes are in."""


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """A tension that counts."""

    station: Station
    axis: Axis
    value_n_cm: float


@dataclass(frozen=True, slots=True)
class ReadingHeld:
    """A tension that does not count yet, because it is out of line; asked back."""

    station: Station
    axis: Axis
    value_n_cm: float
    expected_n_cm: float
    spread_n_cm: float
    """Standard deviation of the expectation."""


@dataclass(frozen=True, slots=True)
class HeldReadingKept:
    """The operator said that the reading asked about is right."""

    reading: int
    """``seq`` of the ``ReadingHeld``."""


@dataclass(frozen=True, slots=True)
class HeldReadingDropped:
    """The operator said that it was not, or read again."""

    reading: int


@dataclass(frozen=True, slots=True)
class RollerTurned:
    """A roller was clicked on (positive) or let back (negative)."""

    station: Station
    clicks: int


@dataclass(frozen=True, slots=True)
class CornerRelieved:
    """Mesh was let back in at a corner."""

    station: Station
    mm: float
    measured: bool
    """False: the shop's usual amount was assumed."""


@dataclass(frozen=True, slots=True)
class CheckTicked:
    """A line of a check-list was done, or a caution acknowledged."""

    stage: Stage
    check: str
    text: str
    """The sentence as it stood on the screen."""
    version: str = ""
    """Of the words, if it is a caution."""
    operator: str = ""
    """Who acknowledged it, if it is a caution."""


@dataclass(frozen=True, slots=True)
class StageEntered:
    """The work moved to a stage."""

    stage: Stage
    passed_over: tuple[str, ...] = ()
    """What was still open in what was left: checks, waits, whole stages."""
    reason: str = ""
    """Why; never empty when something was passed over."""


@dataclass(frozen=True, slots=True)
class ReasonAsked:
    """The way on was held until a reason is given for what would be passed over."""

    to: Stage
    open_items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReasonWithheld:
    """The operator stayed after all."""

    question: int
    """``seq`` of the ``ReasonAsked``."""


@dataclass(frozen=True, slots=True)
class TimerStarted:
    """A wait was begun."""

    stage: Stage
    minutes: float


@dataclass(frozen=True, slots=True)
class TimerStopped:
    """The wait was ended by hand."""

    stage: Stage


@dataclass(frozen=True, slots=True)
class NoteMade:
    """A remark."""

    text: str


@dataclass(frozen=True, slots=True)
class MarkMade:
    """A numbered marker to come back to."""

    number: int


@dataclass(frozen=True, slots=True)
class TargetChanged:
    """Another tension is wanted on an axis."""

    axis: Axis
    value_n_cm: float


@dataclass(frozen=True, slots=True)
class Undone:
    """An earlier entry no longer counts. Undoing this one makes it count again."""

    entry: int
    """``entry`` of the events concerned."""


@dataclass(frozen=True, slots=True)
class Heard:
    """Something was said and taken for these words, whatever came of it; it counts for nothing."""

    words: str
    """As the grammar knows them; empty: nothing was understood."""
    decision: str
    """``sure``, ``ask`` or ``reject``: how far the hearing believed itself."""
    score: float
    """How likely it is to be right, 0 to 1."""
    became: str
    """What was done about it, in a word or two; if nothing, why."""


@dataclass(frozen=True, slots=True)
class SessionClosed:
    """Nothing more will be written."""

    finished: bool
    """True: cut out, released, read again. False: given up."""
    reason: str = ""


Happening = (
    SessionOpened
    | ProductsChosen
    | GaugeChosen
    | SessionResumed
    | JournalRepaired
    | ReadingTaken
    | ReadingHeld
    | HeldReadingKept
    | HeldReadingDropped
    | RollerTurned
    | CornerRelieved
    | CheckTicked
    | StageEntered
    | ReasonAsked
    | ReasonWithheld
    | TimerStarted
    | TimerStopped
    | NoteMade
    | MarkMade
    | TargetChanged
    | Undone
    | Heard
    | SessionClosed
)


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened, with when and by whom."""

    seq: int
    """From 1, without gaps, in one session."""
    entry: int
    """``seq`` of its entry's first event; what was entered together is undone together."""
    at_s: float
    """Session time: seconds since the session was opened, never falling."""
    utc: str
    """Wall clock, ISO 8601 with Z."""
    source: Source
    what: Happening
    heard: str = ""
    """What was said, keyed or received, word for word."""
