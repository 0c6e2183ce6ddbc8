"""A bench at work: one session, its journal, its clock. Screen and pipe both sit at a desk."""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import Protocol

from benchterm import __version__
from benchterm.core.advice import Advice
from benchterm.core.advise import advise
from benchterm.core.balance import Balance, balance
from benchterm.core.bench import Bench, InMemory, Moment, NotSaved
from benchterm.core.decide import Refusal
from benchterm.core.events import (
    Event,
    GaugeChosen,
    Happening,
    Heard,
    ProductsChosen,
    SessionOpened,
    SessionResumed,
    Source,
)
from benchterm.core.facts import Facts
from benchterm.core.fold import fold_all, rested
from benchterm.core.intents import Intent
from benchterm.core.practice import Practice
from benchterm.core.state import State
from benchterm.errors import BenchError
from benchterm.records.journal import Journal
from benchterm.records.memory import settled_practice
from benchterm.safety.briefing import briefing_for


class Clock(Protocol):
    """Where time comes from, so that tests and pipes can bring their own."""

    def utc(self) -> datetime:
        """Wall clock, with time zone."""
        ...

    def monotonic(self) -> float:
        """Seconds that never run backwards."""
        ...


class SystemClock:
    """The machine's own clock."""

    def utc(self) -> datetime:
        """Wall clock."""
        return datetime.now(UTC)

    def monotonic(self) -> float:
        """Seconds since some moment before the program began."""
        return time.monotonic()


@dataclass(frozen=True)
class View:
    """What a screen, a voice or a pipe shows at one moment, worked out when first looked at."""

    state: State
    now_s: float
    rules_off: frozenset[str] = frozenset()

    @cached_property
    def advice(self) -> tuple[Advice, ...]:
        """What to do now. The first time for a state it takes tens of milliseconds."""
        return advise(self.state, self.now_s, self.rules_off)

    @cached_property
    def balance(self) -> Balance:
        """How even the tension is."""
        return balance(self.state)


@dataclass(frozen=True, slots=True)
class Unsaved:
    """The entry was in order but is not on disk, so it does not count."""

    why: str


def view(state: State, now_s: float, rules_off: frozenset[str] = frozenset()) -> View:
    """What is shown of a state at a session time."""
    return View(rested(state, now_s), now_s, rules_off)


class Desk:
    """One open session: takes intents, stamps them with the time, says how it stands."""

    def __init__(
        self,
        bench: Bench,
        clock: Clock,
        journal: Journal | None,
        rules_off: frozenset[str] = frozenset(),
    ) -> None:
        self.bench = bench
        self.journal = journal
        """``None``: nothing is kept on disk."""
        self.unsaved = ""
        """Why the last entry could not be kept; empty: it was."""
        self._rules_off = rules_off
        self._clock = clock
        self._zero_s = clock.monotonic() - bench.state.at_s

    @classmethod
    def begin(
        cls,
        facts: Facts,
        practice: Practice,
        session: str,
        bench_name: str,
        path: Path | None,
        clock: Clock | None = None,
        rules_off: frozenset[str] = frozenset(),
        shop: Path | None = None,
    ) -> Desk:
        """Open a new session, journalled at ``path`` if given.

        What sessions in the folder ``shop`` tell of this mesh's settling is gone by and noted.

        Raises:
            BenchError: the journal cannot be made, or another program writes there.
            NotSaved: its first line cannot be written.
        """
        journal = Journal.create(path) if path else None
        desk = cls(Bench(journal or InMemory()), clock or SystemClock(), journal, rules_off)
        today = desk.now().utc.date()
        desk._note_or_close(*opening(session, bench_name, facts, practice, today, shop))
        return desk

    @classmethod
    def resume(
        cls, path: Path, clock: Clock | None = None, rules_off: frozenset[str] = frozenset()
    ) -> Desk:
        """Take a session up again where its journal ends, with what its products ask for today.

        Raises:
            BenchError: it cannot be opened, is damaged or empty, or another program writes it.
            NotSaved: it cannot be written on.
        """
        clock = clock or SystemClock()
        journal, events, repaired = Journal.resume(path)
        if not events:
            journal.close()
            raise BenchError(
                f"{path.name} holds no session: the program stopped before its first line.",
                works="Other sessions can be resumed.",
                todo="Begin a new one.",
            )
        state = fold_all(events)
        away_s = _away_s(events, clock.utc())
        desk = cls(Bench(journal, state), clock, journal, rules_off)
        desk._zero_s -= away_s + events[-1].at_s - state.at_s
        if repaired is not None:
            desk._note_or_close(repaired)
        desk._note_or_close(SessionResumed(__version__, away_s))
        products = state.facts.products
        briefing = briefing_for(products, state.practice, desk.now().utc.date())
        if not state.closed and briefing != state.briefing:
            desk._note_or_close(ProductsChosen(products, briefing))
        return desk

    def use(self, products: tuple[str, ...], source: Source) -> tuple[Event, ...] | Unsaved:
        """Go on with other glue: its own cautions are asked, whatever was acknowledged before."""
        moment = self.now()
        briefing = briefing_for(products, self.bench.state.practice, moment.utc.date())
        try:
            taken = self.bench.note([ProductsChosen(products, briefing)], moment, source)
        except NotSaved as error:
            self.unsaved = str(error)
            return Unsaved(self.unsaved)
        self.unsaved = ""
        return taken

    def use_gauge(self, chosen: GaugeChosen) -> None:
        """Readings come from this gauge from here on; written down if it is news.

        Raises:
            NotSaved: it cannot be written; readings count as before.
        """
        state = self.bench.state
        if not state.closed and chosen != (state.by_wire if chosen.wired else state.by_eye):
            self.bench.note([chosen], self.now(), Source.BENCH)

    def now(self) -> Moment:
        """This moment, in session time and by the wall clock."""
        return Moment(self._clock.monotonic() - self._zero_s, self._clock.utc())

    def view(self) -> View:
        """How it stands now."""
        return view(self.bench.state, self.now().at_s, self._rules_off)

    def take(
        self, intent: Intent, source: Source, heard: str = ""
    ) -> tuple[Event, ...] | Refusal | Unsaved:
        """Take an intent; what cannot be written down does not count."""
        try:
            taken = self.bench.take(intent, self.now(), source, heard)
        except NotSaved as error:
            self.unsaved = str(error)
            return Unsaved(self.unsaved)
        if not isinstance(taken, Refusal) and taken:
            self.unsaved = ""
        return taken

    def note_heard(self, heard: Heard) -> None:
        """Keep what was heard, as long as the session is open."""
        if self.bench.state.closed:
            return
        try:
            self.bench.note([heard], self.now(), Source.VOICE, heard.words)
        except NotSaved as error:
            self.unsaved = str(error)

    def close(self) -> None:
        """Let go of the journal; the session can be resumed."""
        if self.journal is not None:
            self.journal.close()

    def _note_or_close(self, *happenings: Happening) -> None:
        try:
            self.bench.note(happenings, self.now(), Source.BENCH)
        except NotSaved:
            self.close()
            raise


def opening(
    session: str, bench: str, facts: Facts, practice: Practice, today: date, shop: Path | None
) -> tuple[Happening, ...]:
    """What a new session begins with. All that replay needs is in it."""
    briefing = briefing_for(facts.products, practice, today)
    practice, notes = settled_practice(shop, facts.mesh, practice)
    return SessionOpened(session, bench, __version__, facts, practice, briefing), *notes


def _away_s(events: tuple[Event, ...], now: datetime) -> float:
    """Wall-clock seconds since the last event; a clock set back counts as no time."""
    last = max(datetime.fromisoformat(event.utc) for event in events)
    return max(0.0, (now - last).total_seconds())
