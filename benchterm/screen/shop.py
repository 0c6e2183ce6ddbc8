"""What the live screens need to know of the shop, and how they open a desk."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from benchterm.core.bench import NotSaved
from benchterm.core.events import SessionOpened
from benchterm.core.facts import Facts
from benchterm.core.practice import Practice
from benchterm.desk import Clock, Desk, SystemClock
from benchterm.errors import BenchError
from benchterm.gauge.attached import Attached
from benchterm.gauge.calibrated import read_by_eye
from benchterm.phrases.grammar import Grammar
from benchterm.records.journal import read
from benchterm.records.sessions import SUFFIX, journal_path, new_session_id
from benchterm.safety.offered import Offer, offered
from benchterm.screen.ink import WARNING
from benchterm.screen.pane import Message
from benchterm.voice.talk import Talk


@dataclass(frozen=True)
class Shop:
    """One bench of a shop."""

    folder: Path
    """Where journals are kept."""
    grammar: Grammar | None = None
    """Words of entries that begin with a letter; ``None``: keys only."""
    name: str = "bench"
    practice: Practice = field(default_factory=Practice)
    rules_off: frozenset[str] = frozenset()
    clock: Clock = field(default_factory=SystemClock)
    facts: Facts | None = None
    """What a new session begins from; ``None``: the last session's facts."""
    attach: Callable[[], Attached | None] = lambda: None
    """The gauge on a wire, anew for each session; ``None``: there is none."""
    recalibrate_days: float = 180.0
    talk: Callable[[str], Talk | None] = lambda _: None
    """What the bench hears and speaks with, for an operator; ``None``: voice is off."""

    def begin(self, facts: Facts) -> Desk:
        """A desk with a new session.

        Raises:
            BenchError: another program writes the file.
            NotSaved: it cannot be written.
        """
        session = new_session_id(self.clock.utc(), self.name)
        return Desk.begin(
            facts,
            self.practice,
            session,
            self.name,
            journal_path(self.folder, session),
            self.clock,
            self.rules_off,
            self.folder,
        )

    def resume(self, path: Path) -> Desk:
        """A desk at an unfinished session.

        Raises:
            BenchError: it is damaged, or another program writes it.
            NotSaved: it cannot be written on.
        """
        return Desk.resume(path, self.clock, self.rules_off)

    def attach_to(self, desk: Desk) -> tuple[Attached | None, Message | None]:
        """The gauge on a wire for a desk, and what there is to be told of it.

        The record keeps which gauges there are, and under which calibration. A gauge that cannot
        be used never keeps the bench from opening.
        """
        with suppress(NotSaved):
            desk.use_gauge(read_by_eye(desk.bench.state.facts.gauge))
        try:
            attached = self.attach()
        except BenchError as error:
            return None, Message(str(error), "!", WARNING)
        if attached is None:
            return None, None
        with suppress(NotSaved):
            desk.use_gauge(attached.chosen)
        reminders = attached.reminders(self.clock.utc(), self.recalibrate_days)
        return attached, Message(" ".join(reminders), "!", WARNING) if reminders else None

    def offers(self, chosen: Sequence[str]) -> tuple[Offer, ...]:
        """The product files to choose from."""
        return offered(self.clock.utc().date(), chosen)

    def next_facts(self) -> Facts:
        """What the set-up form is filled with: the last screen's facts, its number one up."""
        if self.facts is not None:
            return self.facts
        last = self._last_facts()
        return replace(last, screen_id=next_id(last.screen_id)) if last else Facts()

    def _last_facts(self) -> Facts | None:
        for path in sorted(self.folder.glob(f"*{SUFFIX}"), reverse=True):
            try:
                what = next(iter(read(path))).what
            except (BenchError, StopIteration):
                continue
            if isinstance(what, SessionOpened):
                return what.facts
        return None


def next_id(screen_id: str) -> str:
    """The name with the number at its end one up: ``S-041`` gives ``S-042``."""
    found = re.fullmatch(r"(.*?)(\d+)", screen_id)
    if found is None:
        return screen_id
    head, digits = found.groups()
    return f"{head}{int(digits) + 1:0{len(digits)}d}"
