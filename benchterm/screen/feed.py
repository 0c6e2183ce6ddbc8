"""What a bench screen is fed from: a desk at work, or a session played again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from benchterm.core.decide import Refusal
from benchterm.core.events import Event, Heard, Source
from benchterm.core.intents import Intent
from benchterm.desk import Desk, Unsaved, View
from benchterm.gauge.attached import Attached
from benchterm.gauge.listener import LinkState
from benchterm.safety.offered import Offer, offered
from benchterm.training.player import Player
from benchterm.voice.microphone import Standing
from benchterm.voice.talk import Talk, noise_words


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


NO_ENTRY = "This is a replay: nothing is taken."
NO_MICROPHONE = Link("microphone", Light.NONE, "none")
NO_GAUGE = Link("gauge", Light.NONE, "none")

_MICROPHONE_LIGHTS = {
    Standing.STARTING: Light.WAITING,
    Standing.LISTENING: Light.GOOD,
    Standing.WAITING: Light.WAITING,
    Standing.MUTED: Light.WAITING,
    Standing.SHUT: Light.WAITING,
    Standing.LOST: Light.BROKEN,
    Standing.DIED: Light.BROKEN,
}
"""How the light shows it; what is not here is missing."""
_BARS = " ▁▂▃▄▅▆▇█"
_FLOOR_DB, _STEP_DB = -60.0, 7.0


def level_bar(level_db: float | None) -> str:
    """One character that grows with the level."""
    if level_db is None:
        return ""
    step = round((level_db - _FLOOR_DB) / _STEP_DB)
    return _BARS[min(len(_BARS) - 1, max(0, step))]


Taken = tuple[Event, ...] | Refusal | Unsaved


class Feed(Protocol):
    """Where views come from and where entries go."""

    @property
    def attached(self) -> Attached | None:
        """The gauge on a wire, if there is one."""
        ...

    @property
    def talk(self) -> Talk | None:
        """What the bench hears and speaks with, if voice is on."""
        ...

    def view(self) -> View:
        """How it stands now."""
        ...

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Take an entry; a refusal or an unsaved one has changed nothing."""
        ...

    def offers(self, chosen: Sequence[str]) -> tuple[Offer, ...]:
        """The product files that can be chosen from."""
        ...

    def use(self, products: tuple[str, ...]) -> Taken:
        """Go on with other glue; its cautions are asked anew."""
        ...

    def note_heard(self, heard: Heard) -> None:
        """Keep what was heard."""
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

    def __init__(
        self, desk: Desk, attached: Attached | None = None, talk: Talk | None = None
    ) -> None:
        self.desk = desk
        self.attached = attached
        self.talk = talk

    def view(self) -> View:
        """How it stands now."""
        return self.desk.view()

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:
        """Hand the entry to the desk."""
        return self.desk.take(intent, source, heard)

    def offers(self, chosen: Sequence[str]) -> tuple[Offer, ...]:
        """The shop's, and the invented ones."""
        return offered(self.desk.now().utc.date(), chosen)

    def use(self, products: tuple[str, ...]) -> Taken:
        """Hand it to the desk."""
        return self.desk.use(products, Source.KEYPAD)

    def note_heard(self, heard: Heard) -> None:
        """Hand it to the desk."""
        self.desk.note_heard(heard)

    def links(self) -> tuple[Link, ...]:
        """Journal first: it is the one that must not fail."""
        return (self._journal(), self._gauge(), self._microphone())

    def advance(self, dt_s: float) -> None:
        """Time passes by the desk's own clock."""

    def close(self) -> None:
        """Let go of voice, gauge and journal; the session can be resumed."""
        if self.talk is not None:
            self.talk.stop()
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

    def _microphone(self) -> Link:
        if self.talk is None:
            return NO_MICROPHONE
        microphone = self.talk.microphone
        standing = microphone.standing
        light = _MICROPHONE_LIGHTS.get(standing, Light.NONE)
        if light is Light.NONE:
            why = "" if standing is Standing.NO_MICROPHONE else f": {standing.value}"
            return Link("microphone", light, f"none{why}")
        if light is Light.BROKEN:
            return Link("microphone", light, f"MICROPHONE {standing.value}")
        words = [standing.value]
        if standing is Standing.LISTENING:
            words += [level_bar(microphone.level_db), noise_words(microphone.noise_db)]
        if microphone.keeps:
            words.append("RECORDING")
        return Link("microphone", light, " ".join(word for word in words if word))

    def _journal(self) -> Link:
        if self.desk.unsaved:
            return Link("journal", Light.BROKEN, "NOT SAVED")
        if self.desk.journal is None:
            return Link("journal", Light.NONE, "none")
        return Link("journal", Light.GOOD, "saved")


class ReplayFeed:
    """A session played again; it takes no entries."""

    attached = None
    talk = None

    def __init__(self, player: Player) -> None:
        self.player = player

    def view(self) -> View:
        """How it stood at the moment shown."""
        return self.player.view()

    def take(self, intent: Intent, source: Source, heard: str) -> Taken:  # noqa: ARG002
        """Refused: what happened has happened."""
        return Refusal(NO_ENTRY)

    def offers(self, chosen: Sequence[str]) -> tuple[Offer, ...]:  # noqa: ARG002
        """None."""
        return ()

    def use(self, products: tuple[str, ...]) -> Taken:  # noqa: ARG002
        """Refused, as any entry."""
        return Refusal(NO_ENTRY)

    def note_heard(self, heard: Heard) -> None:
        """Nothing is heard."""

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
