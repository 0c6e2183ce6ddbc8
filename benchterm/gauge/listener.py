"""All that can be told from the bytes of a gauge and their times, without a port: pure.

Bytes go in with the moment at which they came, news comes out. The link's thread, the tests and
``benchterm gauge try`` all use this one listener.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum

from benchterm.gauge.lines import Splitter
from benchterm.gauge.profile import Profile, Sends
from benchterm.gauge.reading import GaugeReading, Reader, Unreadable, Why, uncorrected
from benchterm.gauge.settle import Change, Settler

HALF_LINE_S = 1.0
"""A gauge sends a line in one go: the beginning of one is no part of what comes so much later."""
JUDGED = 20
"""Lines looked back on to tell whether the gauge is understood."""
JUDGED_FROM = 6
UNREADABLE_SHARE = 0.8


class LinkState(Enum):
    """How the link stands, in plain words."""

    OFF = "off"
    ABSENT = "not plugged in"
    BUSY = "used by another program"
    DENIED = "not allowed"
    FAILED = "cannot be opened"
    OPEN = "connected"
    """Nothing has come yet."""
    READING = "reading"
    SILENT = "silent"
    GARBLED = "garbled"
    """Bytes come, but no characters: mostly a wrong speed."""
    UNFIT = "not understood"
    """Characters come, but they do not fit the profile."""

    @property
    def is_open(self) -> bool:
        """Whether the port is open."""
        return self in _OPEN


_OPEN = frozenset(
    (LinkState.OPEN, LinkState.READING, LinkState.SILENT, LinkState.GARBLED, LinkState.UNFIT)
)


@dataclass(frozen=True, slots=True)
class Showing:
    """The gauge shows a value; it may be passing."""

    reading: GaugeReading


@dataclass(frozen=True, slots=True)
class Settled:
    """A value that may be offered: it stands still, or the gauge's button sent it."""

    reading: GaugeReading


@dataclass(frozen=True, slots=True)
class Moved:
    """What was settled is so no longer."""

    lifted: bool
    """The gauge is off the mesh, so that its last value can still be spoken for."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that could not be read."""

    line: Unreadable


@dataclass(frozen=True, slots=True)
class Stands:
    """The link stands otherwise than before."""

    state: LinkState


@dataclass(frozen=True, slots=True)
class BatteryLow:
    """The gauge says that its battery is low; told once for each connection."""


News = Showing | Settled | Moved | Unread | Stands | BatteryLow


class Listener:
    """Follows one gauge."""

    def __init__(self, profile: Profile, correct: Callable[[float], float] = uncorrected) -> None:
        self._sends = profile.sends
        self._settle = profile.settle
        self._reader = Reader(profile, correct)
        self._splitter = Splitter(profile.line.ends_with, profile.line.longest)
        self._settler = Settler(profile.settle)
        self._judged: deque[Why | None] = deque(maxlen=JUDGED)
        self._heard_s = 0.0
        self._first_is_half = False
        self._battery_told = False
        self.state = LinkState.OFF

    def opened(self, at_s: float) -> Iterator[News]:
        """The port was opened."""
        self._splitter.drop()
        self._settler = Settler(self._settle)
        self._judged.clear()
        self._heard_s = at_s
        # A stream is cut into at any place: "22.5" may begin with "2.5".
        self._first_is_half = self._sends.how is Sends.STREAM
        self._battery_told = False
        yield from self._stands(LinkState.OPEN)

    def closed(self, state: LinkState) -> Iterator[News]:
        """The port is gone, or could not be opened."""
        if self.state.is_open:
            yield Moved(lifted=True)
        yield from self._stands(state)

    def hear(self, data: bytes, at_s: float) -> Iterator[News]:
        """Bytes came."""
        if self._splitter.partial and at_s - self._heard_s > HALF_LINE_S:
            self._splitter.drop()
        self._heard_s = at_s
        for line in self._splitter.feed(data):
            if self._first_is_half:
                self._first_is_half = False
            else:
                yield from self._line(line, at_s)

    def pass_time(self, at_s: float) -> Iterator[News]:
        """Nothing came up to now. A gauge with a button may be silent as long as it likes."""
        expects = self._sends.how is not Sends.BUTTON
        if expects and self.state.is_open and at_s - self._heard_s > self._sends.silent_after_s:
            self._settler.interrupt()
            if self.state is not LinkState.SILENT:
                yield Moved(lifted=True)
            yield from self._stands(LinkState.SILENT)

    def _line(self, line: bytes, at_s: float) -> Iterator[News]:
        read = self._reader.read(line)
        why = read.why if isinstance(read, Unreadable) else None
        self._judged.append(None if why is Why.CURVE else why)
        yield from self._stands(self._judgement())
        if isinstance(read, Unreadable):
            yield Unread(read)
            yield from self._no_value(read.why)
            return
        yield Showing(read)
        if read.battery_low and not self._battery_told:
            self._battery_told = True
            yield BatteryLow()
        yield from self._offer(read, at_s)

    def _no_value(self, why: Why) -> Iterator[News]:
        if why is not Why.CURVE:
            self._settler.interrupt()
        elif self._settler.lift():  # A dial in mm, off the mesh, stands beyond its curve.
            yield Moved(lifted=True)

    def _offer(self, read: GaugeReading, at_s: float) -> Iterator[News]:
        if self._sends.how is Sends.BUTTON:
            if not read.moving:
                yield Settled(read)
            return
        match self._settler.feed(at_s, read):
            case Change.SETTLED:
                yield Settled(read)
            case Change.MOVED:
                yield Moved(lifted=False)
            case Change.LIFTED:
                yield Moved(lifted=True)

    def _judgement(self) -> LinkState:
        """What the last lines say of the link; too few of them say nothing against it."""
        unread = [why for why in self._judged if why is not None]
        if len(unread) < UNREADABLE_SHARE * len(self._judged):
            return LinkState.READING
        if len(self._judged) < JUDGED_FROM:
            return LinkState.OPEN
        noise = sum(why.is_noise for why in unread)
        return LinkState.GARBLED if 2 * noise > len(unread) else LinkState.UNFIT

    def _stands(self, state: LinkState) -> Iterator[News]:
        if state is not self.state:
            self.state = state
            yield Stands(state)
