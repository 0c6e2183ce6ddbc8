"""Values from the gauge one by one, for commands that ask for them at the terminal."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from types import TracebackType
from typing import Self

from benchterm.gauge.link import Inbox, Link
from benchterm.gauge.listener import Moved, Settled
from benchterm.gauge.profile import Profile
from benchterm.gauge.reading import GaugeReading, uncorrected
from benchterm.gauge.telling import told


class Wire:
    """A link that hands out each settled value once."""

    def __init__(
        self, address: str, profile: Profile, correct: Callable[[float], float] = uncorrected
    ) -> None:
        self._woken = threading.Event()
        self._inbox = Inbox(self._woken.set)
        self._link = Link(address, profile, self._inbox, correct)
        self._standing: GaugeReading | None = None

    def __enter__(self) -> Self:
        self._link.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._link.stop()

    def settled(self, wait_s: float) -> GaugeReading | None:
        """The value that stands still now, or the next one within the time."""
        until_s = time.monotonic() + wait_s
        while True:
            self._woken.clear()
            self._catch_up()
            left_s = until_s - time.monotonic()
            if self._standing is not None or left_s <= 0:
                reading, self._standing = self._standing, None
                return reading
            self._woken.wait(left_s)

    @property
    def why_not(self) -> str:
        """How the link stands, in a sentence."""
        return told(self._link.state, self._link.address, self._link.profile)

    def _catch_up(self) -> None:
        for news in self._inbox.fetch():
            match news:
                case Settled(reading):
                    self._standing = reading
                case Moved():
                    self._standing = None
