"""What the events so far amount to. Only ``fold`` makes a new one."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchterm.core.cautions import Briefing
from benchterm.core.events import Event, GaugeChosen
from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.stations import CORNERS, ROLLERS_OF, Axis, Pair, Station

UNDO_DEPTH = 64
"""How many events back an undo can reach."""
GLUED_LENGTH = 20
"""How many visits to the adhesive stage are kept; far above any real job."""
BY_EYE, BY_WIRE = GaugeChosen("", wired=False), GaugeChosen("", wired=True)
"""Gauges of which nothing is known."""
TRAIL_LENGTH = 1000
"""How many readings, turns and reliefs are kept for working things out; far above any real job."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A tension that counts, with how far its axis had been turned at the time."""

    seq: int
    at_s: float
    station: Station
    axis: Axis
    value_n_cm: float
    pair_clicks: int
    """Net clicks of the pair which pulls this axis, both rollers added, when it was read."""
    stage: Stage
    gauge: GaugeChosen = field(default=BY_EYE, compare=False)
    """Where it came from. What is worked out of readings does not go by it."""


NOTHING_READ: tuple[Reading | None, ...] = (None,) * 10
"""No reading at any station."""


@dataclass(frozen=True, slots=True)
class Turned:
    """Clicks on one roller."""

    seq: int
    at_s: float
    station: Station
    clicks: int


@dataclass(frozen=True, slots=True)
class Relief:
    """Mesh let back in at a corner."""

    seq: int
    at_s: float
    station: Station
    mm: float


Step = Reading | Turned | Relief


@dataclass(frozen=True, slots=True)
class Held:
    """A reading that waits for yes or no."""

    seq: int
    at_s: float
    station: Station
    axis: Axis
    value_n_cm: float
    expected_n_cm: float
    pair_clicks: int
    """As in ``Reading``: clicks made while the question is open do not belong to it."""
    gauge: GaugeChosen = field(default=BY_EYE, compare=False)


@dataclass(frozen=True, slots=True)
class WayOn:
    """A step forward that waits for a reason."""

    seq: int
    to: Stage
    open_items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Timer:
    """A wait."""

    seq: int
    stage: Stage
    started_s: float
    minutes: float

    def left_s(self, now_s: float) -> float:
        """Seconds left, 0 when over."""
        return max(0.0, self.started_s + 60 * self.minutes - now_s)


@dataclass(frozen=True, slots=True)
class Glued:
    """The adhesive stage was entered."""

    seq: int
    at_s: float


@dataclass(frozen=True, slots=True)
class Window:
    """The last events, which may still be undone, and the state before them."""

    base: State | None = None
    """``None``: a new session."""
    recent: tuple[Event, ...] = ()
    undone: frozenset[int] = frozenset()
    """Entries among the recent ones that do not count."""
    base_s: float = 0.0
    """Session time of the last event before the recent ones."""


@dataclass(frozen=True, slots=True)
class State:
    """The bench as it stands. Tuples over stations are indexed by the station's number."""

    session: str = ""
    bench: str = ""
    facts: Facts = field(default_factory=Facts)
    practice: Practice = field(default_factory=Practice)
    briefing: Briefing = field(default_factory=Briefing)
    by_eye: GaugeChosen = BY_EYE
    """The gauge whose readings are keyed in or called out."""
    by_wire: GaugeChosen = BY_WIRE
    last_seq: int = 0
    at_s: float = 0.0
    """Session time of the last event."""
    stage: Stage = Stage.PREPARE
    stage_since_s: float = 0.0
    stage_seq: int = 0
    """``seq`` of the event that entered the stage."""
    along: tuple[Reading | None, ...] = NOTHING_READ
    """The last reading along at each station; off the stretcher, only those taken there."""
    across: tuple[Reading | None, ...] = NOTHING_READ
    """The last reading across at each station."""
    clicks: tuple[int, ...] = (0,) * 10
    """Net clicks of each roller."""
    slack_clicks: tuple[int, ...] | None = None
    """``clicks`` when first tensioning began; ``None`` before."""
    relief_mm: tuple[float, ...] = (0.0,) * 10
    """Mesh let back in at each corner."""
    trail: tuple[Step, ...] = ()
    """Readings, turns and reliefs in order, the last ``TRAIL_LENGTH``."""
    run: tuple[Station, int] | None = None
    """The roller turned last and its clicks in a row without another roller in between."""
    ticked: frozenset[str] = frozenset()
    glued: tuple[Glued, ...] = ()
    """Visits to the adhesive stage, the last ``GLUED_LENGTH``."""
    slipped: tuple[str, ...] = ()
    """What was left behind with neither an acknowledgement nor a reason: cautions, or the adhesive
    as a whole stage. ``decide`` refuses every way to that, so that only a journal written by other
    means can show any."""
    held: Held | None = None
    way_on: WayOn | None = None
    timer: Timer | None = None
    marks: int = 0
    closed: bool = False
    finished: bool = False
    window: Window = field(default_factory=Window)

    def readings(self, axis: Axis) -> tuple[Reading | None, ...]:
        """The last reading at each station on one axis."""
        return self.along if axis is Axis.ALONG else self.across

    def reading(self, station: Station, axis: Axis | None = None) -> Reading | None:
        """The last reading at a station; on its usual axis unless named."""
        return self.readings(axis or self.facts.usual_axis(station))[station]

    def net_clicks(self, station: Station) -> int:
        """Clicks of one roller since tension began (since the first click, before that)."""
        return self.clicks[station] - (self.slack_clicks[station] if self.slack_clicks else 0)

    def pair_clicks(self, pair: Pair) -> int:
        """Net clicks of both rollers of a pair since the first click."""
        first, second = ROLLERS_OF[pair]
        return self.clicks[first] + self.clicks[second]

    def clicks_since(self, reading: Reading) -> int:
        """Net clicks on a reading's axis since it was taken."""
        return self.pair_clicks(self.facts.pair_of(reading.axis)) - reading.pair_clicks

    def is_current(self, reading: Reading) -> bool:
        """Whether no roller that pulls a reading's axis, nor mesh at its corner, has moved since.

        Net clicks cannot tell: one on and one back on the opposite roller add up to none. A
        reading that the trail has forgotten is not current.
        """
        pair = self.facts.pair_of(reading.axis)
        remembered = False
        for step in reversed(self.trail):
            match step:
                case Reading():
                    remembered = remembered or step.seq == reading.seq
                case _ if step.seq < reading.seq:
                    return True
                case Turned(station=turned) if turned.pair is pair:
                    return False
                case Relief(station=corner) if corner is reading.station:
                    return False
        return remembered

    @property
    def relieved(self) -> bool:
        """Whether any corner has been eased."""
        return any(self.relief_mm[corner] > 0 for corner in CORNERS)
