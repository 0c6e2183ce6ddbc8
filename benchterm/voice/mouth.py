"""The mouth's own process, ``python -m benchterm.voice.mouth``: what to say in, sound out.

It ends when its standard input does.
"""

from __future__ import annotations

import os
import queue
import signal
import sys
import threading
from collections.abc import Callable, Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from benchterm.voice.portaudio import NoSound, Playback, keep_apart, rescan
from benchterm.voice.synths import SILENCE, Sound, Synth, synths
from benchterm.voice.tones import tone
from benchterm.voice.wire import (
    Hush,
    Lines,
    Problem,
    Said,
    Say,
    Tell,
    ToMouth,
    Voice,
    Voiced,
    encode,
)

_GAP_S = 0.08
"""Between a tone and the words after it."""


class Speaker(Protocol):
    """Where sound goes."""

    def play(self, samples: NDArray[np.float32], rate: int, hushed: threading.Event) -> None:
        """Play to the end; see ``portaudio.Playback``."""
        ...


class Mouth:
    """Says one thing after the other."""

    def __init__(
        self,
        given: Voice,
        tell: Tell,
        engines: Sequence[Synth],
        speaker: Speaker,
        look_again: Callable[[], object] = rescan,
    ) -> None:
        self._given = given
        self._tell = tell
        self._engines = engines
        self._speaker = speaker
        self._look_again = look_again
        self._wanted: queue.SimpleQueue[Say | None] = queue.SimpleQueue()
        self._hushed = threading.Event()
        self._hushed_to = 0
        """Nothing asked for up to this number is said any more."""
        self._newest = 0
        self._told = ""

    def order(self, order: Any) -> None:
        """Take an order, from any thread."""
        match order:
            case Say():
                self._newest = order.number
                self._wanted.put(order)
            case Hush():
                self._hushed_to = self._newest
                self._hushed.set()

    def stop(self) -> None:
        """End soon."""
        self._hushed.set()
        self._wanted.put(None)

    def run(self) -> int:
        """Speak until it is stopped; the exit code."""
        self._tell(Voiced(tuple(engine.name for engine in self._engines)))
        while (say := self._wanted.get()) is not None:
            self._hushed.clear()
            if say.number > self._hushed_to:
                self._say(say)
            self._tell(Said(say.number))
        return 0

    def _say(self, say: Say) -> None:
        sound, rate = self._sound(say)
        if not len(sound):
            return
        for again in (False, True):
            try:
                self._speaker.play(sound * np.float32(self._given.volume), rate, self._hushed)
            except NoSound as problem:
                self._look_again()
                if again and problem.kind != self._told:
                    self._tell(Problem(problem.kind, problem.what, problem.works, problem.todo))
                    self._told = problem.kind
            else:
                self._told = ""
                return

    def _sound(self, say: Say) -> Sound:
        """A tone and the words after it."""
        words, rate = self._words(say)
        sound = tone(say.tone, rate)
        if len(sound) and len(words):
            sound = np.concatenate((sound, np.zeros(round(_GAP_S * rate), np.float32), words))
        return (sound if len(sound) else words), rate

    def _words(self, say: Say) -> Sound:
        for engine in self._engines if say.text else ():
            samples, rate = engine.speak(say.text, say.language, self._given.speed)
            if len(samples):
                return samples, rate
        return SILENCE


def _read_orders(mouth: Mouth, lines: Lines, first: list[Any]) -> None:
    for order in first:
        mouth.order(order)
    while data := os.read(0, 1 << 16):
        for order in lines.feed(data):
            mouth.order(order)
    mouth.stop()


def main() -> int:
    """Speak until standard input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    lines = Lines(ToMouth)
    orders: list[Any] = []
    while not orders:
        data = os.read(0, 1 << 16)
        if not data:
            return 0
        orders = list(lines.feed(data))
    given = orders.pop(0)
    out = keep_apart()

    def tell(line: Any) -> None:
        try:
            os.write(out, encode(line))
        except OSError:
            os._exit(0)

    mouth = Mouth(given, tell, synths(given.engine), Playback(given.device))
    threading.Thread(target=_read_orders, args=(mouth, lines, orders), daemon=True).start()
    return mouth.run()


if __name__ == "__main__":
    sys.exit(main())
