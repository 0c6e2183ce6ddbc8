"""A bench worked by hand in memory: what is said to it, what it says, what it advises."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime, timedelta
from typing import Any

from benchterm.core.advice import Severity
from benchterm.core.advise import advise
from benchterm.core.bench import Bench, InMemory, Moment
from benchterm.core.decide import Refusal
from benchterm.core.events import Event, Happening, SessionOpened, Source, StageEntered
from benchterm.core.facts import Facts
from benchterm.core.intents import Intent
from benchterm.core.practice import Practice
from benchterm.core.stages import Stage
from benchterm.core.state import State

OPENED_AT = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)


def moment(at_s: float) -> Moment:
    """A session time with the wall clock that goes with it."""
    return Moment(at_s, OPENED_AT + timedelta(seconds=at_s))


def at(
    stage: Stage = Stage.PREPARE,
    *done: Intent,
    facts: Facts | None = None,
    practice: Practice | None = None,
) -> Bench:
    """A bench in a stage, entered by the bench itself, with these intents taken since."""
    bench = Bench(InMemory())
    opened = SessionOpened("s1", "bench", "0", facts or Facts(), practice or Practice())
    bench.note((opened,), moment(0), Source.BENCH)
    if stage is not Stage.PREPARE:
        bench.note((StageEntered(stage),), moment(0), Source.BENCH)
    for intent in done:
        said = say(bench, intent)
        assert not isinstance(said, str), f"{intent}: {said}"
    return bench


def say(bench: Bench, intent: Intent, after_s: float = 1) -> list[Happening] | str:
    """What happens when an intent is taken a little later, or the words of its refusal."""
    taken = bench.take(intent, moment(bench.state.at_s + after_s), Source.KEYPAD)
    return taken.why if isinstance(taken, Refusal) else [event.what for event in taken]


def figures(state: State) -> dict[str, Any]:
    """All that a state says of the work itself, and nothing of how it came about."""
    apart = {"last_seq", "at_s", "window"}
    return {f.name: getattr(state, f.name) for f in fields(State) if f.name not in apart}


def numbered(entries: Iterable[Sequence[Happening]], start: int = 1) -> list[Event]:
    """Entries as events: counted from ``start`` without gaps, one second apart."""
    found: list[Event] = []
    for happenings in entries:
        entry = start + len(found)
        for what in happenings:
            seq = start + len(found)
            found.append(Event(seq, entry, float(seq), "", Source.KEYPAD, what))
    return found


@dataclass(frozen=True)
class Scene:
    """A stage, and what has been done in it."""

    stage: Stage
    done: tuple[Intent, ...] = ()
    after_s: float = 0
    """How long after the last of it the advice is asked for."""
    facts: Facts = field(default_factory=Facts)
    practice: Practice = field(default_factory=Practice)

    def bench(self) -> Bench:
        """The bench as it stands then."""
        return at(self.stage, *self.done, facts=self.facts, practice=self.practice)


def told(scene: Scene, code: str) -> tuple[Severity, str, str, list[Happening]] | None:
    """What a rule says: how much it matters, what to do, why, and the happenings it rests on.

    ``None``: it is silent.
    """
    bench = scene.bench()
    given = advise(bench.state, bench.state.at_s + scene.after_s)
    found = next((a for a in given if a.code == code), None)
    if found is None:
        return None
    happened = {e.seq: e.what for e in bench._recorder.events}
    return found.severity, found.do, found.why, [happened[seq] for seq in found.rests_on]
