"""The gauge for a bench without a screen: a place is named, and its value is waited for."""

from __future__ import annotations

import threading
import time
from types import TracebackType
from typing import Self

from benchterm.errors import BenchError
from benchterm.gauge.attached import Attached, Said, attach
from benchterm.gauge.offer import Place, Taken

WAIT_S = 20.0
"""How long a value is waited for."""


def asked_gauge(address: str, profile: str) -> AskedGauge:
    """The gauge of the settings, not yet open.

    Raises:
        BenchError: no address is set, or its profile cannot be used.
    """
    attached = attach(address, profile)
    if attached is None:
        raise BenchError(
            "The settings name no gauge.",
            works="Readings can be said and typed.",
            todo="Set gauge.port: benchterm gauge list shows what is plugged in.",
        )
    return AskedGauge(attached, WAIT_S)


class AskedGauge:
    """One gauge, listened to while open."""

    def __init__(self, attached: Attached, wait_s: float) -> None:
        self.attached = attached
        self._wait_s = wait_s
        self._woken = threading.Event()
        self._said = ""

    def __enter__(self) -> Self:
        self.attached.start(self._woken.set)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.attached.stop()

    def value_for(self, place: Place) -> Taken | str:
        """The value that stands still now, or the next one to do so; else why there is none."""
        until_s = time.monotonic() + self._wait_s
        self._fetch()
        taken = self.attached.name(place, time.monotonic())
        while taken is None and time.monotonic() < until_s:
            self._woken.wait(max(0.0, until_s - time.monotonic()))
            taken = self._fetch()
        if taken is not None:
            return taken
        why = self.attached.waiting if self.attached.ready else self._said
        self.attached.cancel()
        return f"No value stood still within {self._wait_s:g} s. {why}".strip()

    def _fetch(self) -> Taken | None:
        """Catch up with the news; the value that met the place, if one did."""
        self._woken.clear()
        found: Taken | None = None
        for one in self.attached.fetch(time.monotonic()):
            if isinstance(one, Said):
                self._said = one.text
            else:
                found = one
        return found
