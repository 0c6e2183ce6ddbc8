"""One door for every intent: decide, write down, fold. What cannot be written did not happen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol

from benchterm.core.decide import Refusal, decide
from benchterm.core.events import Event, Happening, Source
from benchterm.core.fold import fold
from benchterm.core.intents import Intent
from benchterm.core.state import State


class NotSaved(Exception):
    """An entry could not be put on disk; nothing of it counts.

    Example scenarios: the disk is full; the stick was pulled out; the file system went read-only.
    """


class Recorder(Protocol):
    """Where events are kept."""

    def record(self, events: Sequence[Event]) -> None:
        """Keep all of these or none; return only when they are kept.

        Raises:
            NotSaved: they are not kept.
        """
        ...


class InMemory:
    """A recorder for a bench that leaves no file: pipes without one, replays, tests."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def record(self, events: Sequence[Event]) -> None:
        """Keep the events in memory."""
        self.events.extend(events)


@dataclass(frozen=True, slots=True)
class Moment:
    """When something is asked."""

    at_s: float
    """Session time, seconds since the session was opened."""
    utc: datetime
    """Wall clock, with its time zone."""


class Bench:
    """The one writer of a session: takes intents, keeps events, shows the state they amount to."""

    def __init__(self, recorder: Recorder, state: State | None = None) -> None:
        self._recorder = recorder
        self.state = state or State()

    def take(
        self, intent: Intent, moment: Moment, source: Source, heard: str = ""
    ) -> tuple[Event, ...] | Refusal:
        """Take what the operator asked for, or refuse it with a reason and change nothing.

        Raises:
            NotSaved: it was in order but could not be written; nothing has changed.
        """
        decision = decide(self.state, intent, moment.at_s)
        if isinstance(decision, Refusal):
            return decision
        return self.note(decision, moment, source, heard)

    def note(
        self, happenings: Sequence[Happening], moment: Moment, source: Source, heard: str = ""
    ) -> tuple[Event, ...]:
        """Write down what happened, as one entry, then count it.

        Raises:
            NotSaved: it could not be written; nothing has changed.
        """
        entry = self.state.last_seq + 1
        at_s = max(moment.at_s, self.state.at_s)
        utc = moment.utc.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        events = tuple(
            Event(entry + i, entry, at_s, utc, source, what, heard)
            for i, what in enumerate(happenings)
        )
        if events:
            self._recorder.record(events)
        for event in events:
            self.state = fold(self.state, event)
        return events
