"""The headless bench: one phrase a line in, one JSON object a line out.

A phrase may be led by ``@SECONDS``, which sets session time; from then on time stands still until
the next ``@``. Without any, session time is real time. Blank lines and lines that begin with ``#``
are passed over. An answer is printed when its entry is on the disk, never before.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

import msgspec

from benchterm.answers import answer
from benchterm.config import Settings
from benchterm.core.bench import Bench
from benchterm.core.decide import Refusal
from benchterm.core.events import SessionResumed, Source
from benchterm.core.facts import Facts
from benchterm.core.intents import Ask, Choose, Intent
from benchterm.desk import Clock, Desk, SystemClock, Unsaved, opening
from benchterm.errors import BenchError
from benchterm.figures import VERSION, advice_shown, event_shown, figures
from benchterm.gauge.asked import AskedGauge
from benchterm.gauge.calibrated import read_by_eye
from benchterm.gauge.offer import Place
from benchterm.phrases.grammar import Grammar
from benchterm.phrases.meanings import NO_GAUGE, Bare, Named
from benchterm.phrases.phrase import Misheard, parse
from benchterm.records.journal import Journal
from benchterm.records.sessions import Standing, new_session_id, summarise

LINE_LENGTH = 10_000
"""The longest line taken, bytes."""
LONGEST_S = 1e8
"""The latest session time taken: about three years."""


class PipeClock:
    """Time that stands still until it is let run, then runs or stands where it is put."""

    def __init__(self, clock: Clock | None = None) -> None:
        self._clock = clock or SystemClock()
        self._began_s = self._clock.monotonic()
        self._held_s: float | None = 0.0

    def utc(self) -> datetime:
        """Wall clock."""
        return self._clock.utc()

    def monotonic(self) -> float:
        """Seconds since the pipe was opened, or whatever they were set to."""
        if self._held_s is not None:
            return self._held_s
        return self._clock.monotonic() - self._began_s

    def run(self) -> None:
        """Let real time pass."""
        self._held_s = None

    def stand_at(self, seconds: float) -> None:
        """Stand still from here on."""
        self._held_s = seconds


class Pipe:
    """A desk spoken to in lines of text. ``clock`` is the desk's own and has stood still so far.

    With a gauge, a station said without a value is read by it.
    """

    def __init__(
        self, desk: Desk, clock: PipeClock, grammar: Grammar, gauge: AskedGauge | None = None
    ) -> None:
        self._desk = desk
        self._gauge = gauge
        self._clock = clock
        self._grammar = grammar
        self._at_s = desk.now().at_s
        self._zero_s = clock.monotonic() - self._at_s
        recent = desk.bench.state.window.recent
        self.resumed = any(isinstance(event.what, SessionResumed) for event in recent)
        """The session is an unfinished one, with the set-up that it was opened with."""
        desk.use_gauge(read_by_eye(desk.bench.state.facts.gauge))
        if gauge is not None:
            desk.use_gauge(gauge.attached.chosen)
        clock.run()

    def opening(self) -> dict[str, object]:
        """The first line: which session this is, and how it stands."""
        state, journal = self._desk.bench.state, self._desk.journal
        return {
            "v": VERSION,
            "at": round(self._at_s, 3),
            "session": state.session,
            "bench": state.bench,
            "resumed": self.resumed,
            "seq": state.last_seq,
            "journal": str(journal.path) if journal else None,
            **self._standing(),
        }

    def answer(self, line: bytes) -> dict[str, object] | None:
        """The answer to a line; ``None`` for one that says nothing."""
        if len(line) > LINE_LENGTH:
            why = f"This line is too long: {LINE_LENGTH} bytes are taken."
            return self._answered("", {"refused": why})
        try:
            text = line.decode().strip()
        except UnicodeDecodeError:
            return self._answered("", {"refused": "This line is not text in UTF-8."})
        if not text or text.startswith("#"):
            return None
        phrase = text
        if text.startswith("@"):
            when, _, phrase = text[1:].partition(" ")
            why = self._set_time(when)
            if why:
                return self._answered(phrase.strip(), {"refused": why})
        phrase = phrase.strip()
        return self._answered(phrase, self._take(phrase) if phrase else {"taken": []})

    def _set_time(self, when: str) -> str:
        """Set session time; why not, if it cannot be."""
        try:
            at_s = float(when)
        except ValueError:
            at_s = math.nan
        if not 0 <= at_s <= LONGEST_S:
            return f"@{when} is no session time: write seconds since the session was opened."
        if at_s < self._at_s:
            return f"@{when} is over: it is {self._at_s:.3f} s, and time never runs backwards."
        self._clock.stand_at(at_s + self._zero_s)
        return ""

    def _take(self, phrase: str) -> dict[str, object]:
        intent = parse(phrase, self._grammar)
        match intent:
            case Misheard(_, why):
                return {"refused": why}
            case Named(station, axis) if self._gauge is not None:
                return self._read_by(self._gauge, Place(station, axis))
            case Named():
                return {"refused": NO_GAUGE}
            case Bare(value) if self._desk.bench.state.way_on and value.is_integer():
                intent = Choose(int(value))
            case Bare():
                return {"refused": "At which station? Say it before the number."}
            case Ask():
                return {"answer": answer(self._desk.view(), intent.topic)}
        return self._outcome(intent, Source.PIPE, phrase)

    def _read_by(self, gauge: AskedGauge, place: Place) -> dict[str, object]:
        found = gauge.value_for(place)
        if isinstance(found, str):
            return {"refused": found}
        return self._outcome(found.read, Source.GAUGE, found.reading.raw)

    def _outcome(self, intent: Intent, source: Source, heard: str) -> dict[str, object]:
        match self._desk.take(intent, source, heard):
            case Refusal(why):
                return {"refused": why}
            case Unsaved(why):
                return {"unsaved": why}
            case events:
                return {"taken": [event_shown(event) for event in events]}

    def _answered(self, heard: str, outcome: dict[str, object]) -> dict[str, object]:
        standing = self._standing()
        return {"v": VERSION, "at": round(self._at_s, 3), "heard": heard, **outcome, **standing}

    def _standing(self) -> dict[str, object]:
        view = self._desk.view()
        self._at_s = max(self._at_s, view.now_s)
        return {"state": figures(view), "advice": advice_shown(view.advice)}


def open_desk(
    file: Path | None, facts: Facts, settings: Settings, clock: Clock, shop: Path | None = None
) -> Desk:
    """A desk with a new session, or with the unfinished one of a file.

    ``shop`` as in ``Desk.begin``.

    Raises:
        BenchError: the file's session is closed, damaged, or written by another program.
        NotSaved: the file cannot be written.
    """
    session = new_session_id(clock.utc(), settings.bench)
    standing = summarise(file).standing if file and file.exists() else None
    if file is None or standing is None:
        return Desk.begin(
            facts, settings.practice, session, settings.bench, file, clock, settings.rules_off, shop
        )
    if standing in (Standing.FINISHED, Standing.GIVEN_UP):
        raise BenchError(
            f"The session in {file} is closed ({standing.value}).",
            works="It can be replayed.",
            todo="Name another file for a new session.",
        )
    if standing is not Standing.EMPTY:
        return Desk.resume(file, clock, settings.rules_off)
    # The program was stopped before the session's first line was whole.
    journal, _, repaired = Journal.resume(file)
    desk = Desk(Bench(journal), clock, journal, settings.rules_off)
    today = clock.utc().date()
    begun = opening(session, settings.bench, facts, settings.practice, today, shop)
    desk.bench.note([*begun, *([repaired] if repaired else [])], desk.now(), Source.BENCH)
    return desk


def run(pipe: Pipe, lines: BinaryIO, answers: BinaryIO) -> None:
    """Answer every line until there are no more.

    Raises:
        BrokenPipeError: nobody reads the answers.
    """
    _print(answers, pipe.opening())
    for line in _lines(lines):
        said = pipe.answer(line)
        if said is not None:
            _print(answers, said)


def _print(answers: BinaryIO, said: dict[str, object]) -> None:
    answers.write(msgspec.json.encode(said) + b"\n")
    answers.flush()


def _lines(lines: BinaryIO) -> Iterator[bytes]:
    """Each line; of one that is too long, its beginning and no more."""
    while line := lines.readline(LINE_LENGTH + 1):
        yield line
        while not line.endswith(b"\n") and len(line) > LINE_LENGTH:
            line = lines.readline(LINE_LENGTH + 1)
