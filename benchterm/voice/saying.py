"""What the bench says aloud: entries read back in the words of the grammar, a few sentences.

Values are said digit by digit, so that fifteen and fifty cannot be taken for each other. In another
language than English only what the grammar has words for is said; the rest is shown, with a tone.
"""

from __future__ import annotations

from dataclasses import dataclass

from benchterm.core.events import (
    CheckTicked,
    CornerRelieved,
    Event,
    HeldReadingDropped,
    HeldReadingKept,
    MarkMade,
    ReadingHeld,
    ReadingTaken,
    RollerTurned,
    SessionClosed,
    StageEntered,
    TargetChanged,
    TimerStarted,
    TimerStopped,
    Undone,
)
from benchterm.core.facts import Facts
from benchterm.core.intents import Intent, Read, Relieve, Turn
from benchterm.core.stations import Axis, Station
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import Bare
from benchterm.phrases.numbers import LIMIT, NumberWords
from benchterm.phrases.wording import write


@dataclass(frozen=True, slots=True)
class Spoken:
    """A tone and words."""

    tone: str = ""
    text: str = ""
    language: str = "en"


class Wording:
    """Says entries in the words of one grammar."""

    def __init__(self, grammar: Grammar) -> None:
        """Take the first words of each station and number.

        Raises:
            BenchError: the grammar lacks a number.
        """
        self._numbers = NumberWords(grammar)
        self._stations: dict[Station, str] = {}
        for words, tags in grammar.sentences("station"):
            number = next(t.partition("=")[2] for t in tags if t.startswith("station="))
            self._stations.setdefault(Station(int(number)), " ".join(words))
        self.language = grammar.locale
        self._english = grammar.locale.partition("-")[0] == "en"

    def taken(self, events: tuple[Event, ...], before: tuple[Event, ...], facts: Facts) -> str:
        """An entry as it is read back; empty: there are no words for it.

        Args:
            events: what was taken.
            before: the events before it, for what an undo takes away.
            facts: the session's.
        """
        parts: list[str] = []
        place: Station | None = None
        for event in events:
            text, here = self._happened(event, (*before, *events), facts, place)
            place = here or place
            parts.append(text)
        return ", ".join(part for part in parts if part)

    def asked(self, intent: Intent | Bare, facts: Facts) -> str:
        """An intent as it is asked back."""
        match intent:
            case Read(station, value, axis):
                return f"{self._reading(station, axis, value, facts)}?"
            case Turn(station, clicks, then, axis):
                text = self._turned(station, clicks)
                if then is not None:
                    text += f", {self._value(then)}{self._axis(station, axis, facts)}"
                return f"{text}?"
            case Relieve(station, _) if self._english:
                return f"{self._stations[station]} relieved?"
            case Bare(value):
                return f"{self._value(value)}?"
            case _:
                return f"{write(intent)}?" if self._english else ""

    def held(self, held: ReadingHeld, facts: Facts) -> str:
        """The question about a reading that is out of line."""
        said = self._reading(held.station, held.axis, held.value_n_cm, facts)
        if not self._english:
            return f"{said}?"
        return f"{said}? expected {self._value(held.expected_n_cm)}"

    def _happened(  # noqa: C901, PLR0912 - a case a kind of event
        self, event: Event, known: tuple[Event, ...], facts: Facts, place: Station | None
    ) -> tuple[str, Station | None]:
        match event.what:
            case ReadingTaken(station, axis, value):
                if station is place:
                    return self._value(value) + self._axis(station, axis, facts), station
                return self._reading(station, axis, value, facts), station
            case RollerTurned(station, clicks):
                return self._turned(station, clicks), station
            case ReadingHeld():
                return self.held(event.what, facts), event.what.station
        if not self._english:
            return "", None
        match event.what:
            case CornerRelieved(station, _, _):
                return f"{self._stations[station]} relieved", station
            case HeldReadingKept(reading):
                return f"kept: {self._of_reading(reading, known, facts)}", None
            case HeldReadingDropped(reading):
                return f"dropped: {self._of_reading(reading, known, facts)}", None
            case CheckTicked():
                return "done", None
            case StageEntered(stage, _, _):
                return stage.label, None
            case TimerStarted(_, minutes):
                return f"timer, {self._count(round(minutes))} minutes", None
            case TimerStopped():
                return "timer stopped", None
            case MarkMade(number):
                return f"mark {self._count(number)}", None
            case TargetChanged(axis, value):
                return f"target {axis.value} {self._value(value)}", None
            case Undone(entry):
                gone = tuple(e for e in known if e.entry == entry)
                if gone and isinstance(gone[0].what, Undone):
                    back = tuple(e for e in known if e.entry == gone[0].what.entry)
                    return f"counts again: {self.taken(back, (), facts)}", None
                return f"undone: {self.taken(gone, (), facts)}", None
            case SessionClosed():
                return "the session is closed", None
        return "", None

    def _of_reading(self, seq: int, known: tuple[Event, ...], facts: Facts) -> str:
        for event in known:
            if event.seq == seq and isinstance(event.what, ReadingHeld):
                held = event.what
                return self._reading(held.station, held.axis, held.value_n_cm, facts)
        return "the reading"

    def _reading(self, station: Station, axis: Axis | None, value: float, facts: Facts) -> str:
        axis_said = self._axis(station, axis, facts)
        return f"{self._stations[station]}, {self._value(value)}{axis_said}"

    def _axis(self, station: Station, axis: Axis | None, facts: Facts) -> str:
        """The axis, where it is not the usual one."""
        if axis is None or axis is facts.usual_axis(station) or not self._english:
            return ""
        return f" {axis.value}"

    def _turned(self, station: Station, clicks: int) -> str:
        text = f"{self._stations[station]}, {self._count(abs(clicks))}"
        if not self._english:
            return text
        unit = "click" if abs(clicks) == 1 else "clicks"
        return f"{text} {unit}{' back' if clicks < 0 else ''}"

    def _count(self, number: int) -> str:
        return self._numbers.count(number) if 0 <= number < LIMIT else str(number)

    def _value(self, value: float) -> str:
        try:
            return self._numbers.reading(value)
        except ValueError:
            return f"{value:.1f}"
