"""What a bench screen is fed from: a desk at work, or a session played again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from benchterm.core.decide import Refusal
from benchterm.core.events import Event, Source
from benchterm.core.intents import Intent
from benchterm.desk import Desk, Unsaved, View
from benchterm.gauge.attached import Attached
from benchterm.gauge.listener import LinkState
from benchterm.training.player import Player


class Light(Enum):
    """How a link stands; the symbol says it without colour."""

    GOOD = "●"
    NONE = "○"
    WAITING = "◐"
    BROKEN = "■"


@dataclass(frozen=True, slots=True)
class Link:
    """One link light: what it is, how it stands, in a word or two."""

    name: str
    light: Light
    word: str

    @property
    def text(self) -> str:
        """As it is shown: ``● journal saved``; a broken link's word goes first."""
        if self.light is Light.BROKEN:
            return f"{self.light.value} {self.word}"
        return f"{self.light.value} {self.name} {self.word}"


NO_MICROPHONE = Link("microphone", Light.NONE, "none")
NO_GAUGE = Link("gauge", Light.NONE, "none")

Taken = tuple[Event, ...] | Refusal | Unsaved


class Feed(Protocol):
    """Where views come from and where entries go."""

    @property
    def attached(self) -> Attached | None:
        """The gauge on a wire, if there is one."""
        ...

    def view(self) -> View:
        """How it stands now."""
        ...

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Take an entry; a refusal or an unsaved one has changed nothing."""
        ...

    def links(self) -> tuple[Link, ...]:
        """The link lights."""
        ...

    def advance(self, dt_s: float) -> None:
        """So many seconds of watching went by."""
        ...

    def close(self) -> None:
        """The screen is left."""
        ...


class LiveFeed:
    """A desk at work."""

    def __init__(self, desk: Desk, attached: Attached | None = None) -> None:
        self.desk = desk
        self.attached = attached
        self.microphone = NO_MICROPHONE

    def view(self) -> View:
        """How it stands now."""
        return self.desk.view()

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Hand the entry to the desk."""
        return self.desk.take(intent, source, heard)

    def links(self) -> tuple[Link, ...]:
        """Journal first: it is the one that must not fail."""
        return (self._journal(), self._gauge(), self.microphone)

    def advance(self, dt_s: float) -> None:
        """Time passes by the desk's own clock."""

    def close(self) -> None:
        """Let go of gauge and journal; the session can be resumed."""
        if self.attached is not None:
            self.attached.stop()
        self.desk.close()

    def _gauge(self) -> Link:
        if self.attached is None:
            return NO_GAUGE
        state, showing = self.attached.state, self.attached.showing_n_cm
        word = state.value if showing is None else f"{showing:.1f}"
        if state is LinkState.READING:
            return Link("gauge", Light.GOOD, word)
        if state in (LinkState.OPEN, LinkState.OFF):
            return Link("gauge", Light.WAITING, word)
        return Link("gauge", Light.BROKEN, f"GAUGE {word}")

    def _journal(self) -> Link:
        if self.desk.unsaved:
            return Link("journal", Light.BROKEN, "NOT SAVED")
        if self.desk.journal is None:
            return Link("journal", Light.NONE, "none")
        return Link("journal", Light.GOOD, "saved")


class ReplayFeed:
    """A session played again; it takes no entries."""

    attached = None

    def __init__(self, player: Player) -> None:
        self.player = player

    def view(self) -> View:
        """How it stood at the moment shown."""
        return self.player.view()

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:  # noqa: ARG002
        """Refused: what happened has happened."""
        return Refusal("This is a replay: nothing is taken.")

    def links(self) -> tuple[Link, ...]:
        """One light that says how the player runs."""
        player = self.player
        if player.finished:
            return (Link("replay", Light.NONE, "at its end"),)
        if player.paused:
            return (Link("replay", Light.WAITING, "paused"),)
        return (Link("replay", Light.GOOD, f"running at {player.speed:g}x"),)

    def advance(self, dt_s: float) -> None:
        """Play on."""
        self.player.advance(dt_s)

    def close(self) -> None:
        """There is nothing to let go of."""
