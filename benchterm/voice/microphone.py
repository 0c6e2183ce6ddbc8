"""The bench's side of hearing: keeps the ear's process, knows how it stands."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import Any

from benchterm.voice.process import Process
from benchterm.voice.wire import (
    Began,
    FromEar,
    Key,
    Level,
    Listening,
    Looking,
    Mute,
    Problem,
    Ready,
    Speaking,
    Uttered,
    Waits,
)

MODULE = "benchterm.voice.child"
SILENT_S = 20.0
"""The ear tells its level several times a second, or every look for what is missing; loading may
take seconds."""
DIED = "Hearing stopped and is started again. The keypad does everything."


class Standing(Enum):
    """How the microphone stands."""

    OFF = "off"
    STARTING = "starting"
    LISTENING = "listening"
    WAITING = "waits for its key"
    MUTED = "muted"
    SHUT = "shut: the bench speaks"
    NO_PORTAUDIO = "no PortAudio"
    NO_MICROPHONE = "no microphone"
    NO_EAR = "no ear"
    LOST = "gone"
    DIED = "stopped"


_MISSING = {
    "no portaudio": Standing.NO_PORTAUDIO,
    "no microphone": Standing.NO_MICROPHONE,
    "no ear": Standing.NO_EAR,
    "lost": Standing.LOST,
}

News = Uttered | Problem | Level | Began | Ready


class Microphone:
    """One microphone at one bench; all it is told is kept for the case that it must start again."""

    def __init__(
        self, given: Listening, tell: Callable[[News], object], module: str = MODULE
    ) -> None:
        """Nothing starts yet. ``tell`` is called from another thread."""
        self._given = given
        self._tell = tell
        self._waits = Waits()
        self._muted = False
        self._talking = False
        self._shut = False
        self._bare = Standing.OFF
        """How it stands, but for being shut or muted and its key."""
        self.level_db: float | None = None
        self.noise_db: float | None = None
        self.lost = 0
        """Blocks of sound lost for want of time."""
        self.speaking = False
        """Whether somebody is speaking at this moment."""
        self._has_died = False
        """Since it was ready last: it may die again and again, which is told once."""
        self._process = Process(
            module,
            FromEar,
            began=self._began,
            told=self._told,
            died=self._died,
            silent_s=SILENT_S,
        )

    @property
    def standing(self) -> Standing:
        """How it stands."""
        if self._bare is not Standing.LISTENING:
            return self._bare
        if self._shut:
            return Standing.SHUT
        if self._muted:
            return Standing.MUTED
        waiting = self._given.push_to_talk and not self._talking
        return Standing.WAITING if waiting else Standing.LISTENING

    @property
    def ready(self) -> bool:
        """Whether it could hear."""
        return self._bare is Standing.LISTENING

    @property
    def keeps(self) -> bool:
        """Whether what is heard is recorded."""
        return bool(self._given.recordings)

    @property
    def pid(self) -> int | None:
        """Number of the ear's process, if it runs."""
        return self._process.pid

    def start(self) -> None:
        """Begin."""
        self._bare = Standing.STARTING
        self._process.start()

    def stop(self) -> None:
        """End."""
        self._process.stop()
        self._bare = Standing.OFF

    def expect(self, waits: Waits) -> None:
        """Say what the bench waits for; only a change is sent."""
        if waits != self._waits:
            self._waits = waits
            self._process.send(waits)

    def mute(self, *, on: bool) -> None:
        """Hear nothing but the word that ends this, or all again."""
        self._muted = on
        self._process.send(Mute(on))

    def talk(self, *, down: bool) -> None:
        """The key to talk went down, or up."""
        self._talking = down
        self._process.send(Key(down))

    def shut(self, *, speaking: bool) -> None:
        """The bench speaks, or no longer."""
        self._shut = speaking
        self._process.send(Speaking(speaking))

    def _began(self) -> None:
        if not self._has_died:
            self._bare = Standing.STARTING
        for line in (self._given, self._waits, Mute(self._muted), Key(self._talking)):
            self._process.send(line)

    def _told(self, line: Any) -> None:
        match line:
            case Looking():
                return
            case Ready():
                self._bare = Standing.LISTENING
                self._has_died = False
            case Level(level, noise, lost):
                self.level_db, self.noise_db, self.lost = level, noise, lost
            case Began():
                self.speaking = True
            case Uttered():
                self.speaking = False
            case Problem(kind):
                self._bare = _MISSING.get(kind, Standing.DIED)
                self._silence()
        self._tell(line)

    def _died(self, _: int) -> None:
        again = self._has_died
        self._has_died = True
        self._bare = Standing.DIED
        self._silence()
        if not again:
            self._tell(Problem("died", DIED))

    def _silence(self) -> None:
        self.level_db = self.noise_db = None
        self.speaking = False
