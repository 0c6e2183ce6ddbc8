"""An ear on its own, without a bench: for trying a microphone out."""

from __future__ import annotations

import queue
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from benchterm.config import Settings
from benchterm.core.stations import Station
from benchterm.voice.microphone import MODULE, Microphone, News
from benchterm.voice.wire import Listening, Problem, Ready, Uttered, Waits


@dataclass(frozen=True, slots=True)
class Listened:
    """It listens."""

    engine: str
    device: str


@dataclass(frozen=True, slots=True)
class NotReady:
    """It does not."""

    why: str


class Ear:
    """What was heard, one after the other."""

    def __init__(self, news: queue.SimpleQueue[News]) -> None:
        self._news = news

    def ready(self, within_s: float) -> Listened | NotReady:
        """Wait until it listens, or cannot."""
        for news in self._until(within_s):
            match news:
                case Ready(engine, device):
                    return Listened(engine, device)
                case Problem(_, what):
                    return NotReady(what)
        return NotReady("The ear is not ready in time.")

    def next(self, within_s: float) -> Uttered | None:
        """The next thing heard; ``None``: nothing in time."""
        return next((n for n in self._until(within_s) if isinstance(n, Uttered)), None)

    def _until(self, within_s: float) -> Iterator[News]:
        end_s = time.monotonic() + within_s
        while (left_s := end_s - time.monotonic()) > 0:
            try:
                yield self._news.get(timeout=left_s)
            except queue.Empty:
                return


@contextmanager
def listening(settings: Settings, module: str = MODULE) -> Iterator[Ear]:
    """An ear as the settings say; everything that can be said counts."""
    news: queue.SimpleQueue[News] = queue.SimpleQueue()
    voice = settings.voice
    given = Listening(
        language=settings.language,
        engine=voice.engine,
        model=voice.model,
        sha256=voice.sha256,
        device=voice.input,
    )
    microphone = Microphone(given, news.put, module)
    microphone.expect(Waits(int(Station.FAR), question=True))
    microphone.start()
    try:
        yield Ear(news)
    finally:
        microphone.stop()
