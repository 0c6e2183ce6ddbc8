"""When a value stands still, when it has moved on, and when the gauge was lifted off."""

from __future__ import annotations

from enum import Enum

from benchterm.gauge.profile import GaugeUnit, Settle
from benchterm.gauge.reading import GaugeReading

LEAST_LINES = 3
"""Fewer can agree by chance."""
_HAIR = 1e-6
"""So that a spread of exactly one step of the display counts as one step."""


class Change(Enum):
    """What a reading changes."""

    SETTLED = "settled"
    """It has stood still for long enough: this reading may be offered."""
    MOVED = "moved"
    """The value that stood still does so no longer, and the gauge is on the mesh."""
    LIFTED = "lifted"
    """The gauge is off the mesh."""


class Settler:
    """Follows readings in order and tells when one stands still, once each time."""

    def __init__(self, settle: Settle) -> None:
        self._settle = settle
        self._unit: GaugeUnit | None = None
        self._since_s = self._last_s = 0.0
        self._low = self._high = 0.0
        self._lines = 0
        self._offered: float | None = None
        self._on_mesh = False

    def feed(self, at_s: float, reading: GaugeReading) -> Change | None:
        """Take the next reading; what it changes, if anything."""
        if reading.raw_n_cm < self._settle.lifted_below_n_cm:
            return self.lift()
        set_down, self._on_mesh = not self._on_mesh, True
        self._follow(at_s, reading)
        if self._has_left(reading) or set_down:
            self._offered = None
            return Change.MOVED
        still = at_s - self._since_s >= self._settle.for_s and self._lines >= LEAST_LINES
        if self._offered is None and still:
            self._offered = reading.number
            return Change.SETTLED
        return None

    def lift(self) -> Change | None:
        """The gauge is off the mesh."""
        was_on_mesh, self._on_mesh = self._on_mesh, False
        self._lines, self._offered = 0, None
        return Change.LIFTED if was_on_mesh else None

    def interrupt(self) -> None:
        """Readings were lost in between: what stood still before proves nothing now."""
        self._lines = 0

    def _has_left(self, reading: GaugeReading) -> bool:
        """Whether the value offered is no longer what the gauge shows, by over two steps."""
        if self._offered is None:
            return False
        far = abs(reading.number - self._offered) > 2 * self._settle.resolution * (1 + _HAIR)
        return far or reading.moving

    def _follow(self, at_s: float, reading: GaugeReading) -> None:
        """Keep the band the readings have been in, and since when."""
        gap = at_s - self._last_s > max(self._settle.for_s, 1.0)
        self._last_s = at_s
        if reading.moving:
            self._lines = 0
            return
        low, high = min(self._low, reading.number), max(self._high, reading.number)
        step = self._settle.resolution * (1 + _HAIR)
        if self._lines and not gap and reading.unit is self._unit and high - low <= step:
            self._low, self._high = low, high
            self._lines += 1
        else:
            self._unit, self._since_s, self._lines = reading.unit, at_s, 1
            self._low = self._high = reading.number
