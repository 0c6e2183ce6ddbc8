"""The bench's side of speaking: keeps the mouth's process, knows when it speaks."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

from benchterm.voice.process import Process
from benchterm.voice.wire import FromMouth, Hush, Problem, Said, Say, Voice, Voiced

MODULE = "benchterm.voice.mouth"
NO_WORDS = "No engine for speech is there: tones only. pip install hibari-tts brings one."
DIED = "Speech stopped and is started again. Everything is on the screen."


class Speaking:
    """Says things, one after the other."""

    def __init__(
        self,
        given: Voice,
        *,
        speaking: Callable[[bool], object],
        trouble: Callable[[str], object],
        module: str = MODULE,
    ) -> None:
        """Nothing starts yet. Both are called from other threads.

        Args:
            given: how to speak.
            speaking: the bench begins to speak, or is silent again.
            trouble: one line on what is amiss.
            module: the program of the mouth.
        """
        self._given = given
        self._speaking = speaking
        self._trouble = trouble
        self._lock = threading.Lock()
        self._number = 0
        self._open: set[int] = set()
        self.engines: tuple[str, ...] | None = None
        """What it speaks with; ``None``: it is not ready."""
        self._has_died = False
        """Since it said something: it may die again and again, which is told once."""
        self._process = Process(
            module, FromMouth, began=self._began, told=self._told, died=self._died
        )

    @property
    def pid(self) -> int | None:
        """Number of the mouth's process, if it runs."""
        return self._process.pid

    def start(self) -> None:
        """Begin."""
        self._process.start()

    def stop(self) -> None:
        """End."""
        self._process.stop()

    def say(self, tone: str = "", text: str = "", language: str = "en") -> None:
        """Sound a tone, then words, after what was asked for before."""
        if self._given.engine == "tones":
            text = ""
        if self._given.engine == "none" or self.engines is None or not (tone or text):
            return
        with self._lock:
            self._number += 1
            number = self._number
            self._open.add(number)
        self._speaking(True)
        if not self._process.send(Say(number, tone, text, language)):
            self._told(Said(number))

    def hush(self) -> None:
        """Say no more."""
        if self._open:
            self._process.send(Hush())

    def _began(self) -> None:
        self._process.send(self._given)

    def _told(self, line: Any) -> None:
        match line:
            case Voiced(engines):
                self.engines = engines
                if not engines and self._given.engine not in ("tones", "none"):
                    self._trouble(NO_WORDS)
            case Said(number):
                self._has_died = False
                with self._lock:
                    self._open.discard(number)
                    silent = not self._open
                if silent:
                    self._speaking(False)
            case Problem(_, what, works, todo):
                self._trouble(" ".join(part for part in (what, works, todo) if part))

    def _died(self, _: int) -> None:
        self.engines = None
        with self._lock:
            self._open.clear()
        self._speaking(False)
        if not self._has_died:
            self._has_died = True
            self._trouble(DIED)
