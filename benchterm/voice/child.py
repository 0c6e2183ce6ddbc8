"""The ear's own process, ``python -m benchterm.voice.child``: sound in, JSON lines out.

It opens the microphone, hears, and tells what was said; ``wire`` says what goes each way. It ends
when its standard input does, and so with whoever started it.
"""

from __future__ import annotations

import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import asdict
from typing import Any, Protocol

import numpy as np

from benchterm.errors import BenchError
from benchterm.voice.endpoint import FRAME
from benchterm.voice.engine import Samples
from benchterm.voice.hear import Hearing
from benchterm.voice.listener import Heard, Listener
from benchterm.voice.portaudio import BLOCK_S, Capture, NoSound, keep_apart, rescan
from benchterm.voice.prior import pending
from benchterm.voice.recordings import Tape
from benchterm.voice.resample import Resampler
from benchterm.voice.understand import Pending
from benchterm.voice.wire import (
    Began,
    Key,
    Level,
    Lines,
    Listening,
    Looking,
    Mute,
    Problem,
    Ready,
    Speaking,
    Tell,
    ToEar,
    Uttered,
    Waits,
    encode,
    says,
)

AFTER_SPEAKING_S = 0.2
"""Hearing stays shut so long after the bench has spoken: a room answers."""
LONGEST_SPEECH_S = 30.0
"""Whoever has not said by then that the bench is silent again will not say it."""
FIRST_BLOCK_S = 5.0
NO_BLOCK_S = 1.0
"""A device that sends nothing for so long is gone."""
LOOK_AGAIN_S = 2.0
LEVEL_S = 0.2
_QUEUED = round(10 / BLOCK_S)
_LOOK_S = 0.1


class Microphone(Protocol):
    """Where sound comes from."""

    def open(
        self, name: str, put: Callable[[bytes], object], over: Callable[[], object]
    ) -> tuple[str, int]:
        """Begin; see ``portaudio.Capture``."""
        ...

    def close(self) -> bool:
        """End; see ``portaudio.Capture``."""
        ...


class Child:
    """Hears one microphone after the other for as long as it is wanted."""

    def __init__(
        self,
        given: Listening,
        tell: Tell,
        make_ready: Callable[[Listening], Hearing],
        microphone: Microphone,
        look_again: Callable[[], object] = rescan,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._given = given
        self._tell = tell
        self._make_ready = make_ready
        self._microphone = microphone
        self._look_again = look_again
        self._clock = clock
        self._stop = threading.Event()
        self._orders: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._blocks: queue.Queue[tuple[bytes, float]] = queue.Queue(_QUEUED)
        self._lost = 0
        self._over = threading.Event()
        self._hearing: Hearing | None = None
        self._pending = Pending()
        self._muted = False
        self._key_down = False
        self._shut_until_s = 0.0
        self._began = False
        self._level_s = 0.0

    def order(self, order: Any) -> None:
        """Take an order, from any thread."""
        self._orders.put(order)

    def stop(self) -> None:
        """End soon."""
        self._stop.set()

    def run(self) -> int:
        """Hear until it is stopped; the exit code."""
        told = ""
        while not self._stop.is_set():
            try:
                name, rate = self._open()
                hearing = self._hearing or self._make_ready(self._given)
            except NoSound as problem:
                told = self._trouble(problem, problem.kind, told)
                self._wait(LOOK_AGAIN_S)
                self._look_again()
                continue
            except BenchError as problem:
                self._microphone.close()
                told = self._trouble(problem, "no ear", told)
                self._wait(LOOK_AGAIN_S)
                continue
            self._hearing, told = hearing, ""
            self._tell(Ready(hearing.engine.name, name, rate))
            self._listen(hearing.listener(), rate)
            if not self._microphone.close():
                return 1  # It hangs; a fresh process does not.
            if not self._stop.is_set():
                told = "no microphone"  # It has just been told.
                self._tell(
                    Problem(
                        "lost",
                        f"The microphone is gone ({name}).",
                        "The keypad does everything.",
                        "Plug it in again: it is waited for.",
                    )
                )
                self._look_again()
        self._microphone.close()
        return 0

    def _open(self) -> tuple[str, int]:
        self._over.clear()
        while not self._blocks.empty():
            self._blocks.get_nowait()
        return self._microphone.open(self._given.device, self._put, self._over.set)

    def _put(self, data: bytes) -> None:
        try:
            self._blocks.put_nowait((data, self._clock()))
        except queue.Full:
            self._lost += 1

    def _trouble(self, problem: BenchError, kind: str, told: str) -> str:
        """Tell of it, but not again and again."""
        if kind != told:
            self._tell(Problem(kind, problem.what, problem.works, problem.todo))
        return kind

    def _wait(self, seconds: float) -> None:
        self._tell(Looking())
        until_s = self._clock() + seconds
        while not self._stop.is_set() and self._clock() < until_s:
            self._take_orders(None)
            self._stop.wait(_LOOK_S)

    def _listen(self, listener: Listener, rate: int) -> None:
        """Until the device is gone or it is stopped."""
        resampler = Resampler(rate)
        tape = Tape(self._given.recordings, self._given.keep_days)
        last_s, patience_s = self._clock(), FIRST_BLOCK_S
        while not self._stop.is_set() and not self._over.is_set():
            self._take_orders(listener, tape)
            try:
                data, came_s = self._blocks.get(timeout=_LOOK_S)
            except queue.Empty:
                if self._clock() - last_s > patience_s:
                    return
                continue
            last_s, patience_s = self._clock(), NO_BLOCK_S
            sound = resampler.feed(
                np.frombuffer(data, np.int16).astype(np.float32) / np.float32(32768)
            )
            if self._open_ear():
                self._feed(listener, tape, sound, came_s)
            self._tell_level(listener, sound)

    def _open_ear(self) -> bool:
        if self._clock() < self._shut_until_s:
            return False
        return self._key_down or not self._given.push_to_talk

    def _feed(self, listener: Listener, tape: Tape, sound: Samples, came_s: float) -> None:
        tape.add(sound)
        for heard in listener.feed(sound, self._pending):
            self._utter(heard, tape, came_s)
        speaking = listener.endpointer.speaking
        if speaking and not self._began and not self._muted:
            self._tell(Began())
        self._began = speaking

    def _utter(self, heard: Heard, tape: Tape, came_s: float) -> None:
        first = heard.ranked[0] if heard.ranked else None
        aloof = self._muted and not self._key_down
        if aloof and (first is None or first.slots.do != "listen"):
            return
        words = first.text if first else ""
        scores = (
            {name: round(v, 3) for name, v in asdict(heard.figures).items()}
            if heard.figures
            else {}
        )
        ended_s = came_s - (tape.length_s - heard.end_s)
        self._tell(
            Uttered(
                words=words,
                says=says(first.slots) if first else None,
                decision=heard.verdict.decision.value,
                why=heard.verdict.why,
                confidence=round(heard.confidence, 4),
                scores=scores,
                others=tuple(one.text for one in heard.ranked[1:3]),
                goes_on=heard.goes_on,
                begin_s=round(heard.begin_s, 3),
                end_s=round(heard.end_s, 3),
                closed_s=round(heard.closed_s, 3),
                decode_s=round(heard.decode_s, 3),
                behind_s=round(self._clock() - ended_s, 3),
                speech_db=round(heard.speech_db, 1),
                noise_db=round(heard.noise_db, 1),
                recording=tape.keep(heard.begin_s, heard.end_s),
            )
        )

    def _tell_level(self, listener: Listener, sound: Samples) -> None:
        now_s = self._clock()
        if now_s - self._level_s < LEVEL_S or not len(sound):
            return
        self._level_s = now_s
        power = float(np.mean(np.square(sound))) + 1e-9
        level_db = 10 * float(np.log10(power))
        self._tell(Level(round(level_db, 1), round(listener.endpointer.noise_db, 1), self._lost))

    def _take_orders(self, listener: Listener | None, tape: Tape | None = None) -> None:
        while not self._orders.empty():
            order = self._orders.get()
            match order:
                case Waits():
                    self._pending = pending(order)
                case Mute(on):
                    self._muted = on
                case Key(down):
                    self._key(down, listener, tape)
                case Speaking(on):
                    self._shut(on, listener, tape)

    def _key(self, down: bool, listener: Listener | None, tape: Tape | None) -> None:
        self._key_down = down
        if not down and listener is not None and tape is not None:
            for heard in listener.finish(self._pending):
                self._utter(heard, tape, self._clock())

    def _shut(self, speaking: bool, listener: Listener | None, tape: Tape | None) -> None:
        """While the bench speaks nothing is heard, and what was begun is not believed."""
        wait_s = LONGEST_SPEECH_S if speaking else AFTER_SPEAKING_S
        self._shut_until_s = self._clock() + wait_s
        if speaking and listener is not None and tape is not None:
            # A frame of silence, or what is left of the last one would be heard afterwards.
            still = np.zeros(FRAME, np.float32)
            tape.add(still)
            list(listener.feed(still, self._pending))
            if listener.endpointer.speaking:
                listener.endpointer.close()
            self._began = False


def _read_orders(child: Child, lines: Lines, first: list[Any]) -> None:
    for order in first:
        child.order(order)
    while data := os.read(0, 1 << 16):
        for order in lines.feed(data):
            child.order(order)
    child.stop()
    # Recognition that hangs must not outlive the bench.
    time.sleep(2.0)
    os._exit(0)


def main() -> int:
    """Hear until standard input ends."""
    from benchterm.voice.ready import ready  # noqa: PLC0415 - makes the ear, which takes a while

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    lines = Lines(ToEar)
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

    child = Child(given, tell, ready, Capture())
    threading.Thread(target=_read_orders, args=(child, lines, orders), daemon=True).start()
    return child.run()


if __name__ == "__main__":
    sys.exit(main())
