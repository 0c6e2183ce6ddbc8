"""Counts what became of recordings of which it is known what they say."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from enum import Enum

import numpy as np

from benchterm.voice.accept import Decision
from benchterm.voice.hear import Listened, Utterance
from benchterm.voice.understand import Kind


class Outcome(Enum):
    """What became of a recording that holds one phrase."""

    TAKEN = "taken"
    """Believed, and right."""
    ASKED = "asked"
    """Asked back, and right."""
    ASKED_WRONG = "asked wrong"
    REJECTED = "rejected"
    WRONG = "wrong taken"


def outcome(listened: Listened) -> Outcome:
    """What became of a recording that holds one phrase; the worst that was taken counts."""
    sure = [one for one in listened.utterances if one.heard.verdict.decision is Decision.SURE]
    if sure:
        right = len(sure) == 1 and _right(sure[0], listened)
        return Outcome.TAKEN if right else Outcome.WRONG
    asked = [one for one in listened.standing if one.heard.verdict.decision is Decision.ASK]
    if asked:
        return Outcome.ASKED if _right(asked[-1], listened) else Outcome.ASKED_WRONG
    return Outcome.REJECTED


def _right(one: Utterance, listened: Listened) -> bool:
    return one.heard.ranked[0].slots == listened.recording.meaning


@dataclass(slots=True)
class Tally:
    """Counts of a group of recordings."""

    outcomes: list[Outcome] = field(default_factory=list)

    def share(self, *wanted: Outcome) -> float:
        """Part of the recordings with one of these outcomes, %."""
        return 100 * sum(o in wanted for o in self.outcomes) / len(self.outcomes)

    def row(self, name: str) -> str:
        """One line of a table."""
        parts = (
            self.share(Outcome.TAKEN, Outcome.ASKED),
            self.share(Outcome.TAKEN),
            self.share(Outcome.ASKED),
            self.share(Outcome.WRONG),
            self.share(Outcome.ASKED_WRONG),
            self.share(Outcome.REJECTED),
        )
        figures = "".join(f"{part:10.1f}" for part in parts)
        return f"{name:<18}{len(self.outcomes):>6}{figures}"


HEAD = (
    f"{'%':<18}{'files':>6}{'exact':>10}{'taken':>10}{'asked':>10}"
    f"{'wrong':>10}{'ask wrong':>10}{'rejected':>10}"
)
"""Exact: taken, or asked with the right proposal. Wrong: taken, and not what was said."""


def table(all_listened: Iterable[Listened]) -> Iterator[str]:
    """Tables by noise and by voice, false accepts, and times; of what is known."""
    listened = list(all_listened)
    spoken = [one for one in listened if one.recording.meaning is not None]
    empty = [one for one in listened if one.recording.known and one.recording.meaning is None]
    if spoken:
        yield HEAD
        yield from _rows(spoken, _noise)
        quiet = [one for one in spoken if (one.recording.snr_db or 99) >= 10]
        yield from _rows(quiet, lambda _: "10 dB and more")
        yield from _rows(spoken, lambda one: one.recording.voice or "-")
        yield from _rows(spoken, lambda _: "all")
    if empty:
        yield from _false(empty)
    yield from _times(listened)


def _noise(one: Listened) -> str:
    snr = one.recording.snr_db
    return "clean" if snr is None else f"{snr:2.0f} dB"


def _rows(spoken: list[Listened], group: Callable[[Listened], str]) -> Iterator[str]:
    groups: dict[str, Tally] = {}
    for one in spoken:
        groups.setdefault(group(one), Tally()).outcomes.append(outcome(one))
    for name in sorted(groups):
        yield groups[name].row(name)


def _false(empty: list[Listened]) -> Iterator[str]:
    hours = sum(one.length_s for one in empty) / 3600
    heard = [u.heard for one in empty for u in one.standing]
    for decision, name in ((Decision.SURE, "false accepts"), (Decision.ASK, "false questions")):
        found = [h for h in heard if h.verdict.decision is decision]
        placed = sum(h.ranked[0].kind is Kind.PLACED for h in found)
        yield (
            f"{name}: {len(found)} in {60 * hours:.1f} minutes "
            f"({len(found) / hours:.1f} an hour), with a station {placed}"
        )


def _times(listened: list[Listened]) -> Iterator[str]:
    length_s = sum(one.length_s for one in listened)
    busy_s = sum(one.busy_s for one in listened)
    if length_s:
        yield f"real-time factor {busy_s / length_s:.3f}"
    spoken = (
        one for one in listened if one.recording.meaning is not None or not one.recording.known
    )
    waits = [wait_s for one in spoken if (wait_s := _wait_s(one)) is not None]
    if waits:
        median, p95 = np.quantile(waits, [0.5, 0.95])
        yield f"end of speech to answer: median {median:.2f} s, 95 % within {p95:.2f} s"


def _wait_s(one: Listened) -> float | None:
    """From the end of speech, as known or as found, to the last answer to what was begun before."""
    known = one.recording.speech_end_s
    waits = [
        u.answered_s - (u.heard.end_s if known is None else known)
        for u in one.utterances
        if known is None or u.heard.begin_s < known
    ]
    return waits[-1] if waits else None
