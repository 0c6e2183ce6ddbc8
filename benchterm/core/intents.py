"""What the operator asks of the bench, however it was said. Nothing here has happened yet."""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.stages import Stage
from benchterm.core.stations import Axis, Station


@dataclass(frozen=True, slots=True)
class Read:
    """The gauge shows a tension at a station."""

    station: Station
    value_n_cm: float
    axis: Axis | None = None
    """``None``: as usual at that station (``Facts.usual_axis``)."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A roller was turned, and perhaps read afterwards."""

    station: Station
    clicks: int
    """Positive: tightened. Negative: let back."""
    then_n_cm: float | None = None
    """The reading the clicks gave at that side, if called in the same breath."""
    then_axis: Axis | None = None


@dataclass(frozen=True, slots=True)
class Relieve:
    """Mesh was let back in at a corner."""

    station: Station
    mm: float | None = None


@dataclass(frozen=True, slots=True)
class Undo:
    """An entry no longer counts."""

    back: int = 1
    """1: the last entry that still counts, 2: the one before, and so on."""
    station: Station | None = None
    """If given, only entries at this station are counted back through."""


@dataclass(frozen=True, slots=True)
class Redo:
    """The last undo was a mistake: what it took away counts again."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A line of the stage's check-list is done, or its caution understood."""

    item: int | None = None
    """Its number in the list from 1; ``None``: the first open one."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Yes or no to the question that is open. Yes with no question open ticks the next check."""

    yes: bool


@dataclass(frozen=True, slots=True)
class Choose:
    """A numbered choice of the open question."""

    number: int


@dataclass(frozen=True, slots=True)
class Go:
    """To another stage."""

    to: Stage | None = None
    """``None``: the next one."""
    reason: str = ""
    """Why checks or stages are passed over, if any are."""


@dataclass(frozen=True, slots=True)
class GoBack:
    """To the stage before this one."""


@dataclass(frozen=True, slots=True)
class Note:
    """A remark for the record."""

    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A numbered note marker, for a hand that has no letters; told apart later in the record."""

    number: int | None = None
    """``None``: the next free number."""


@dataclass(frozen=True, slots=True)
class StartTimer:
    """Start the stage's timer."""

    minutes: float | None = None
    """``None``: as long as the shop's table says for this stage."""


@dataclass(frozen=True, slots=True)
class StopTimer:
    """Stop the timer that is running."""


@dataclass(frozen=True, slots=True)
class Aim:
    """Another target from here on."""

    value_n_cm: float
    axis: Axis | None = None
    """``None``: both axes."""


@dataclass(frozen=True, slots=True)
class Close:
    """End the session, finished or not."""

    reason: str = ""


@dataclass(frozen=True, slots=True)
class Ask:
    """A question to the bench; it changes nothing."""

    topic: str
    """``next`` (what to do), ``apart`` (opposite sides), ``time`` (left), ``again`` (repeat it)."""


@dataclass(frozen=True, slots=True)
class Listen:
    """Hearing on or off; it changes nothing in the record."""

    on: bool


Intent = (
    Read
    | Turn
    | Relieve
    | Undo
    | Redo
    | Tick
    | Answer
    | Choose
    | Go
    | GoBack
    | Note
    | Mark
    | StartTimer
    | StopTimer
    | Aim
    | Close
    | Ask
    | Listen
)
